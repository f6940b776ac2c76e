#include "report/measured.h"

#include "base/str.h"
#include "paper/local_time.h"
#include "paper/phrase.h"

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

const char *
measured_definitions_text(const struct catalogue *w, const struct metric_definitions *d, char out[MEASURED_TEXT_MAX])
{
    char number[NUMBER_MAX], others[MEASURED_TEXT_MAX] = "", word[80];
    const int usual = usual_of(d);
    for (int m = 0; m < METRIC_COUNT; m++)
        if (d->of[m] != usual) {
            snprintf(word, sizeof word, "%s %d", metric_info((enum metric) m)->name, d->of[m]);
            phrase_list(w, others, sizeof others, word);
        }
    return phrase_fill(out, MEASURED_TEXT_MAX,
                       phrase(w, others[0] ? N_("definition {1} of every figure but {2}") : N_("definition {1} of every figure")),
                       phrase_int(number, usual), others, (char *) NULL);
}

const char *
measured_definitions_word(const struct metric_definitions *d, char out[MEASURED_TEXT_MAX])
{
    char word[80];
    const int usual = usual_of(d);
    snprintf(out, MEASURED_TEXT_MAX, "%d", usual);
    for (int m = 0; m < METRIC_COUNT; m++)
        if (d->of[m] != usual) {
            snprintf(word, sizeof word, ";%s=%d", metric_info((enum metric) m)->name, d->of[m]);
            str_append(out, MEASURED_TEXT_MAX, word);
        }
    return out;
}

const char *
measured_text(const struct catalogue *w, const struct measurement *m, int zone_offset_min, char out[MEASURED_TEXT_MAX])
{
    char definitions[MEASURED_TEXT_MAX], when[PHRASE_TIME_MAX];
    measured_definitions_text(w, &m->definitions, definitions);
    if (m->id == 0)
        return phrase_fill(out, MEASURED_TEXT_MAX, phrase(w, N_("at the visit; {1}")), definitions, (char *) NULL);
    return phrase_fill(out, MEASURED_TEXT_MAX, phrase(w, N_("again from its recording, {1}, by {2}; {3}")),
                       phrase_time(w, when, m->made_utc_ms, zone_offset_min), m->software, definitions, (char *) NULL);
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
