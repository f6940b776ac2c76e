#include "report/measured.h"

#include "base/str.h"
#include "report/local_time.h"

enum err
measured_is_current(struct store *s, const struct measurement_scope *scope, bool *is)
{
    const struct metric_definitions today = metric_definitions_today();
    int n_without = 0;
    const enum err err = measurement_count_without(s, scope, &today, &n_without);
    *is = err == ERR_OK && n_without == 0;
    return err;
}

enum err
measured_of_visit(struct store *s, int64_t visit_id, bool is_current, struct measurement *out)
{
    const struct metric_definitions today = metric_definitions_today();
    const enum err err = is_current ? measurement_newest(s, visit_id, &today, out) : ERR_GONE;
    return err == ERR_GONE ? measurement_first(s, visit_id, out) : err;
}

/* The number that most figures have. */
static int
usual_of(const struct metric_definitions *d)
{
    int usual = 1, n_most = 0;
    for (int m = 0; m < METRIC_COUNT; m++) {
        int n = 0;
        for (int k = 0; k < METRIC_COUNT; k++)
            n += d->of[k] == d->of[m];
        if (n > n_most) {
            n_most = n;
            usual = d->of[m];
        }
    }
    return usual;
}

/* Those that are not as usual: before the first, before each other, between name and number. */
static const char *
add_unusual(const struct metric_definitions *d, const char *first, const char *next, const char *is, char out[MEASURED_TEXT_MAX])
{
    char word[80];
    const int usual = usual_of(d);
    for (int m = 0; m < METRIC_COUNT; m++)
        if (d->of[m] != usual) {
            snprintf(word, sizeof word, "%s%s%s%d", first, metric_info((enum metric) m)->name, is, d->of[m]);
            str_append(out, MEASURED_TEXT_MAX, word);
            first = next;
        }
    return out;
}

const char *
measured_definitions_text(const struct metric_definitions *d, char out[MEASURED_TEXT_MAX])
{
    snprintf(out, MEASURED_TEXT_MAX, "definition %d of every figure", usual_of(d));
    return add_unusual(d, " but ", ", ", " ", out);
}

const char *
measured_definitions_word(const struct metric_definitions *d, char out[MEASURED_TEXT_MAX])
{
    snprintf(out, MEASURED_TEXT_MAX, "%d", usual_of(d));
    return add_unusual(d, ";", ";", "=", out);
}

const char *
measured_text(const struct measurement *m, int zone_offset_min, char out[MEASURED_TEXT_MAX])
{
    char definitions[MEASURED_TEXT_MAX], when[LOCAL_TIME_MAX];
    if (m->id == 0)
        str_copy(out, MEASURED_TEXT_MAX, "at the visit");
    else
        snprintf(out, MEASURED_TEXT_MAX, "again from its recording, %s, by %s",
                 local_time_short(when, m->made_utc_ms, zone_offset_min), m->software);
    str_append(out, MEASURED_TEXT_MAX, "; ");
    str_append(out, MEASURED_TEXT_MAX, measured_definitions_text(&m->definitions, definitions));
    return out;
}

void
measured_json(struct json *j, const struct measurement *m, int zone_offset_min)
{
    char when[LOCAL_TIME_MAX];
    json_open_object(j, "measurement");
    json_bool(j, "is_first", m->id == 0);
    json_text(j, "made", local_time_iso(when, m->made_utc_ms, zone_offset_min));
    json_text(j, "software", m->software);
    json_close(j);
}
