#include "report/visit_sensor.h"

#include "base/str.h"
#include "report/local_time.h"
#include "report/number.h"

#include <math.h>

const char *
visit_sensor_text(const struct store_visit *v, char *out, size_t cap)
{
    char number[NUMBER_MAX], part[64];
    str_copy(out, cap, v->sensor_kind[0] ? v->sensor_kind : "-");
    if (v->sensor_name[0]) {
        str_append(out, cap, ", ");
        str_append(out, cap, v->sensor_name);
    }
    str_append(out, cap, v->check_grade[0] ? "; check " : "; not checked");
    str_append(out, cap, v->check_grade);
    if (v->calibration[0]) {
        str_append(out, cap, "; calibration: ");
        str_append(out, cap, v->calibration);
    }
    if (!isnan(v->gain_drift_pct)) {
        snprintf(part, sizeof part, "; gain drift %s%s %%", v->gain_drift_pct > 0 ? "+" : "",
                 number_fixed(number, v->gain_drift_pct, 1));
        str_append(out, cap, part);
    }
    if (v->n_lost_packets > 0) {
        snprintf(part, sizeof part, "; %lld packets lost", (long long) v->n_lost_packets);
        str_append(out, cap, part);
    }
    if (v->n_dropped > 0) {
        snprintf(part, sizeof part, "; %lld records lost", (long long) v->n_dropped);
        str_append(out, cap, part);
    }
    return out;
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
