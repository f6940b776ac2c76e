#include "coach/target_edit.h"

#include <assert.h>
#include <math.h>
#include <string.h>

void
target_edit_init(struct target_edit *e, const struct target_set *set, const double *spread)
{
    assert(set->n >= 0 && set->n <= VERDICT_MAX_BARS);
    memset(e, 0, sizeof *e);
    e->now = *set;
    for (int i = 0; i < VERDICT_MAX_BARS; i++)
        e->spread[i] = spread && i < set->n ? spread[i] : (double) NAN;
}

/* Keeps what stands now, before it changes; what was undone is gone. */
static void
keep(struct target_edit *e)
{
    if (e->n_kept == TARGET_EDIT_N_KEPT) {
        memmove(e->kept, e->kept + 1, (TARGET_EDIT_N_KEPT - 1) * sizeof *e->kept);
        e->n_kept--;
    }
    e->kept[e->n_kept++] = e->now;
    e->n_undone = 0;
    e->run.is_on = false;
}

void
target_edit_begin_drag(struct target_edit *e)
{
    keep(e);
    e->is_dragging = true;
}

static bool
is_same_set(const struct target_set *a, const struct target_set *b)
{
    bool is_same = a->n == b->n && a->focus == b->focus;
    for (int i = 0; is_same && i < a->n; i++)
        is_same = a->target[i].metric == b->target[i].metric && a->target[i].low == b->target[i].low &&
                  a->target[i].high == b->target[i].high && a->target[i].is_change == b->target[i].is_change;
    return is_same;
}

void
target_edit_end_drag(struct target_edit *e)
{
    /* A touch that moved nothing is no edit. */
    if (e->is_dragging && is_same_set(&e->kept[e->n_kept - 1], &e->now))
        e->n_kept--;
    e->is_dragging = false;
}

static void
put(struct target_edit *e, const struct target_set *next)
{
    if (is_same_set(next, &e->now))
        return;
    if (!e->is_dragging)
        keep(e);
    e->now = *next;
}

/* The edges in order and apart. */
static void
set_band(struct target *t, double low, double high)
{
    const double middle = 0.5 * (low + high);
    const double least = fmax(fabs(middle) * TARGET_EDIT_MIN_SHARE, 1e-6);
    t->low = fmin(low, high);
    t->high = fmax(low, high);
    if (t->high - t->low < least) {
        t->low = middle - 0.5 * least;
        t->high = middle + 0.5 * least;
    }
    if (!isnan(t->baseline))
        t->is_change = t->baseline < t->low || t->baseline > t->high;
}

void
target_edit_band(struct target_edit *e, int which, double low, double high)
{
    assert(which >= 0 && which < e->now.n);
    if (!isfinite(low) || !isfinite(high))
        return;
    struct target_set next = e->now;
    set_band(&next.target[which], low, high);
    put(e, &next);
}

void
target_edit_rest(struct target_edit *e)
{
    e->run.is_on = false;
}

void
target_edit_nudge(struct target_edit *e, int which, int part, double low, double high, struct host_time now)
{
    const struct target_edit_run *r = &e->run;
    const bool goes_on = r->is_on && !e->is_dragging && r->which == which && r->part == part &&
                         units_host_since_us(now, r->last) <= TARGET_EDIT_PAUSE_US;
    if (!goes_on) {
        const struct target_set was = e->now;
        target_edit_band(e, which, low, high);
        e->run = (struct target_edit_run){ !is_same_set(&was, &e->now), which, part, now };
        return;
    }
    if (isfinite(low) && isfinite(high))
        set_band(&e->now.target[which], low, high);
    e->run.last = now;
    if (is_same_set(&e->kept[e->n_kept - 1], &e->now)) { /* back where it began: no edit */
        e->n_kept--;
        e->run.is_on = false;
    }
}

void
target_edit_shift(struct target_edit *e, int which, double by)
{
    assert(which >= 0 && which < e->now.n);
    target_edit_band(e, which, e->now.target[which].low + by, e->now.target[which].high + by);
}

void
target_edit_focus(struct target_edit *e, enum metric focus)
{
    struct target_set next = e->now;
    next.focus = focus;
    put(e, &next);
}

void
target_edit_replace(struct target_edit *e, const struct target_set *set)
{
    assert(set->n >= 0 && set->n <= VERDICT_MAX_BARS);
    put(e, set);
}

/* The sets around now form one line: kept before it, undone after it, in the same array. */
bool
target_edit_undo(struct target_edit *e)
{
    e->run.is_on = false;
    if (e->n_kept == 0 || e->is_dragging)
        return false;
    const struct target_set next = e->now;
    e->now = e->kept[--e->n_kept];
    e->kept[e->n_kept] = next;
    e->n_undone++;
    return true;
}

bool
target_edit_redo(struct target_edit *e)
{
    e->run.is_on = false;
    if (e->n_undone == 0 || e->is_dragging)
        return false;
    const struct target_set before = e->now;
    e->now = e->kept[e->n_kept];
    e->kept[e->n_kept++] = before;
    e->n_undone--;
    return true;
}

unsigned
target_edit_warnings(const struct target_edit *e, int which)
{
    return target_warnings(e->now.target, e->now.n, which, e->spread[which]);
}

bool
target_edit_is_warned(const struct target_edit *e)
{
    for (int i = 0; i < e->now.n; i++)
        if (target_edit_warnings(e, i))
            return true;
    return false;
}

struct command
target_edit_command(const struct target_edit *e)
{
    struct command c = { .kind = COMMAND_TARGETS, .n_targets = e->now.n, .focus = e->now.focus };
    memcpy(c.target, e->now.target, sizeof c.target);
    return c;
}
