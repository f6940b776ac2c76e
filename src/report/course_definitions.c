/* course_definitions.c - which measurement of each visit a course is made of, and what of it may be lined up. */
#include "report/course_parts.h"

#include "base/str.h"

#include <math.h>

static const double UNKNOWN = (double) NAN;

const struct metric_definitions *
course_definitions(const struct course *c)
{
    return &c->visit[c->n_visits - 1].measurement.definitions;
}

enum err
course_choose_measurements(struct store *s, struct course *c, int64_t until_id)
{
    const struct measurement_scope scope = { .runner_id = c->runner.id, .until_id = until_id, .plan = c->plan };
    struct measurement first;
    bool is_current = false;
    enum err err = measured_is_current(s, &scope, &is_current);
    for (int i = 0; i < c->n_visits && err == ERR_OK; i++) {
        struct course_visit *v = &c->visit[i];
        err = measured_of_visit(s, v->visit.id, is_current, &v->measurement);
        if (err == ERR_OK)
            err = measurement_first(s, v->visit.id, &first);
        if (err == ERR_OK)
            v->run_with = first.definitions;
    }
    return err;
}

bool
course_is_judged(const struct course_visit *v, enum metric m)
{
    return v->measurement.definitions.of[m] == v->run_with.of[m];
}

static void
leave_out_band(struct course_band *b)
{
    b->n_shown = b->n_shown_in = b->n_withheld = b->n_withheld_in = 0;
    b->shown_pct = b->withheld_pct = UNKNOWN;
}

static void
leave_out(struct course_visit *v, int m)
{
    static const struct course_figure NONE = { .mean = (double) NAN, .sd = (double) NAN };
    static const struct course_change UNLIKE = { .by = (double) NAN, .pct = (double) NAN, .is_other_definition = true };
    v->is_left_out[m] = v->held[m].n > 0 || v->baseline[m].n > 0;
    v->held[m] = v->baseline[m] = NONE;
    v->held_from_first[m] = v->baseline_from_first[m] = v->held_from_last[m] = UNLIKE;
    leave_out_band(&v->band[m]);
    for (int i = 0; i < v->n_blocks; i++) {
        v->block[i].figure[m] = NONE;
        leave_out_band(&v->block[i].band[m]);
    }
    if ((int) v->leads == m)
        v->n_trend = 0;
}

void
course_leave_out(struct course *c)
{
    for (int i = 0; i < c->n_visits; i++)
        for (int m = 0; m < METRIC_COUNT; m++)
            if (c->visit[i].measurement.definitions.of[m] != course_definitions(c)->of[m])
                leave_out(&c->visit[i], m);
}

const char *
course_other_definitions(const struct course *c, enum metric m, char out[COURSE_VISITS_TEXT_MAX])
{
    char word[32];
    out[0] = '\0';
    for (int i = 0; i < c->n_visits; i++)
        if (c->visit[i].is_left_out[m]) {
            snprintf(word, sizeof word, "%s%d", out[0] ? ", " : "", course_visit_number(c, i));
            if (!str_append(out, COURSE_VISITS_TEXT_MAX - 8, word)) {
                str_append(out, COURSE_VISITS_TEXT_MAX, ", ...");
                break;
            }
        }
    return out;
}
