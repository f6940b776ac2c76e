#include "care/next_visit.h"

#include <math.h>
#include <string.h>

struct looking {
    const struct plan_file *plan;
    struct next_visit *out;
    int64_t target_set_id, targets_of_id, speed_of_id; /* newest visits that have some */
    int highest;   /* course number */
    bool is_whole; /* any visit of that number was */
};

/* Newest is who has the highest id: the order in which they were begun, whatever the clock said. */
static bool
look(void *context, const struct store_visit *v)
{
    struct looking *l = context;
    struct next_visit *out = l->out;

    if (v->id > out->last_visit_id)
        out->last_visit_id = v->id;
    if (v->target_set_id != 0 && v->id > l->targets_of_id) {
        l->targets_of_id = v->id;
        l->target_set_id = v->target_set_id;
    }
    if (!isnan(v->belt_speed_m_s) && v->id > l->speed_of_id) {
        l->speed_of_id = v->id;
        out->usual_speed_m_s = v->belt_speed_m_s;
    }
    if (l->plan == NULL || strcmp(v->plan, l->plan->id) != 0 || v->course_visit < 1)
        return true;
    bool is_whole = v->is_finished && !v->is_cut_short;
    out->n_done += is_whole;
    if (v->course_visit > l->highest) {
        l->highest = v->course_visit;
        l->is_whole = false;
    }
    if (v->course_visit == l->highest)
        l->is_whole = l->is_whole || is_whole;
    return true;
}

bool
next_visit_is_of_today(const struct store_target *t)
{
    return t->definition == metric_info(t->metric)->definition;
}

int
next_visit_targets(const struct store_target_set *set, struct target out[VERDICT_MAX_BARS], enum metric *focus)
{
    int n = 0;

    *focus = METRIC_COUNT;
    for (int i = 0; i < set->n && n < VERDICT_MAX_BARS; i++) {
        const struct store_target *t = &set->target[i];
        if (!(t->low < t->high) || !next_visit_is_of_today(t)) /* also when a side is open */
            continue;
        if (t->is_focus)
            *focus = t->metric;
        out[n++] = (struct target){ t->metric, t->low, t->high, t->baseline, t->is_change };
    }
    return n;
}

enum err
next_visit_find(struct store *s, int64_t runner_id, const struct plan_file *plan, struct next_visit *out)
{
    struct looking l = { .plan = plan, .out = out };
    struct store_target_set set;

    *out = (struct next_visit){ .usual_speed_m_s = (double) NAN, .focus = METRIC_COUNT };
    enum err err = runner_id == 0 ? ERR_OK : store_visits(s, runner_id, look, &l); /* 0 would be everybody */
    if (err != ERR_OK)
        return err;
    if (plan != NULL) {
        out->visit = plan_file_next_visit(plan, l.highest, l.is_whole);
        out->is_repeat = l.highest > 0 && !l.is_whole;
    }
    if (l.target_set_id == 0)
        return ERR_OK;
    err = store_target_set_get(s, l.target_set_id, runner_id, &set);
    if (err != ERR_OK)
        return err;
    out->n_targets = next_visit_targets(&set, out->target, &out->focus);
    for (int i = 0; i < set.n; i++)
        out->n_put_off += !next_visit_is_of_today(&set.target[i]);
    return ERR_OK;
}
