#include "report/visit_sensor.h"

#include "base/str.h"
#include "paper/local_time.h"

#include <math.h>
#include <string.h>

/* One more part of the line. */
static void
add(const struct catalogue *w, char out[PHRASE_MAX], const char *part)
{
    str_append(out, PHRASE_MAX, out[0] ? phrase_in(w, "paper", "; ") : "");
    str_append(out, PHRASE_MAX, part);
}

const char *
visit_sensor_text(const struct catalogue *w, const struct store_visit *v, char out[PHRASE_MAX])
{
    char part[2 * STORE_TEXT_MAX], number[NUMBER_MAX];
    out[0] = '\0';
    phrase_list(w, out, PHRASE_MAX, v->sensor_kind[0] ? visit_sensor_kind(w, v->sensor_kind) : "-");
    if (v->sensor_name[0])
        phrase_list(w, out, PHRASE_MAX, v->sensor_name);
    add(w, out, v->check_grade[0] ? PHRASE(w, part, N_("check: {1}"), phrase(w, v->check_grade)) : phrase(w, N_("not checked")));
    if (v->calibration[0])
        add(w, out, PHRASE(w, part, N_("calibration: {1}"), v->calibration));
    if (!isnan(v->gain_drift_pct))
        add(w, out, PHRASE(w, part, N_("gain drift {1} %"), phrase_signed(w, number, v->gain_drift_pct, 1)));
    if (v->n_lost_packets > 0)
        add(w, out, PHRASE_COUNT(w, part, (int) v->n_lost_packets, NP_("{1} packet lost", "{1} packets lost"),
                                 phrase_int(number, v->n_lost_packets)));
    if (v->n_dropped > 0)
        add(w, out, PHRASE_COUNT(w, part, (int) v->n_dropped, NP_("{1} record lost", "{1} records lost"),
                                 phrase_int(number, v->n_dropped)));
    return out;
}

const char *
visit_sensor_kind(const struct catalogue *w, const char *kind)
{
    static const char *const kinds[] = { NC_("sensor", "mat"), NC_("sensor", "cells"), NC_("sensor", "switches") };
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++)
        if (strcmp(kind, kinds[i]) == 0)
            return phrase_in(w, "sensor", kinds[i]);
    return kind;
}

static const char *
or_null(const char *text)
{
    return text[0] ? text : NULL;
}

void
visit_sensor_json(struct json *j, const struct store_visit *v)
{
    char text[LOCAL_TIME_MAX];
    json_text(j, "sensor", or_null(v->sensor_kind));
    json_text(j, "sensor_name", or_null(v->sensor_name));
    json_text(j, "sensor_check", or_null(v->check_grade));
    json_text(j, "sensor_checked", v->check_utc_ms == 0 ? NULL : local_time_iso(text, v->check_utc_ms, v->zone_offset_min));
    json_text(j, "calibration", or_null(v->calibration));
    json_number(j, "gain_drift_pct", v->gain_drift_pct);
    json_int(j, "lost_packets", v->n_lost_packets);
    json_int(j, "dropped_records", v->n_dropped);
}
