#include "report/remeasure.h"

#include "paper/number.h"

#include <math.h>
#include <string.h>

enum { LABEL = 20, WIDE = 12 };

static const double UNKNOWN = (double) NAN;

/* One step of each list, or one alone: the other is NULL. */
struct match {
    const struct coached_step *then;
    struct coached_step *now;
};

/* Walks both lists by time. False at the end. */
struct walk {
    struct remeasure_steps then;
    struct coached_step *now;
    size_t n_now, i, k;
};

static bool
next_match(struct walk *w, struct match *out)
{
    const bool has_then = w->i < w->then.n, has_now = w->k < w->n_now;
    *out = (struct match){ NULL, NULL };
    if (!has_then && !has_now)
        return false;
    const int64_t apart_us = has_then && has_now
                                 ? w->now[w->k].step.touchdown.us - w->then.step[w->i].step.touchdown.us
                                 : 0;
    if (has_then && (!has_now || apart_us >= -REMEASURE_MATCH_US))
        out->then = &w->then.step[w->i];
    if (has_now && (!has_then || apart_us <= REMEASURE_MATCH_US))
        out->now = &w->now[w->k];
    w->i += out->then != NULL;
    w->k += out->now != NULL;
    return true;
}

/* As the store keeps it: what is missing has no value, whatever stands there. */
static double
number_of(const struct step *s, int field)
{
    if (field < METRIC_COUNT)
        return s->standing[field] != METRIC_MISSING && isfinite(s->value[field]) ? s->value[field] : UNKNOWN;
    switch (field) {
    case REMEASURE_TOUCHDOWN_MS:
        return (double) s->touchdown.us * 1e-3;
    case REMEASURE_TOE_OFF_MS:
        return (double) s->toe_off.us * 1e-3;
    case REMEASURE_COP_FWD_MM:
        return s->cop_fwd_mm;
    case REMEASURE_COP_RIGHT_MM:
        return s->cop_right_mm;
    case REMEASURE_BODY_WEIGHT_N:
        return s->body_weight_n;
    default:
        return UNKNOWN;
    }
}

static bool
has_same_standing(const struct step *a, const struct step *b)
{
    bool is_same = a->is_settled == b->is_settled;
    for (int m = 0; m < METRIC_COUNT && is_same; m++)
        is_same = isnan(number_of(a, m)) || isnan(number_of(b, m)) || a->standing[m] == b->standing[m];
    return is_same;
}

static bool
has_same_word(const struct step *a, const struct step *b, int field)
{
    switch (field) {
    case REMEASURE_SIDE:
        return a->foot == b->foot;
    case REMEASURE_GAIT:
        return a->gait == b->gait;
    case REMEASURE_STRIKE_ZONE:
        return a->zone == b->zone;
    case REMEASURE_FLAGS:
        return a->flags == b->flags;
    default:
        return has_same_standing(a, b);
    }
}

/* mean holds a sum until finish(). */
static void
differ(struct remeasure_figure *f, double by)
{
    f->n_differing++;
    f->mean += by;
    if (isnan(f->largest) || fabs(by) > fabs(f->largest))
        f->largest = by;
}

static bool
compare_numbers(const struct step *then, const struct step *now, struct remeasure *out)
{
    bool is_same = true;
    for (int i = 0; i < REMEASURE_SIDE; i++) {
        const double x = then ? number_of(then, i) : UNKNOWN, y = now ? number_of(now, i) : UNKNOWN;
        struct remeasure_figure *f = &out->figure[i];
        const bool is_lost = !isnan(x) && isnan(y), is_new = isnan(x) && !isnan(y);
        f->n_lost += is_lost;
        f->n_new += is_new;
        if (!isnan(x) && !isnan(y) && x != y) {
            differ(f, y - x);
            is_same = false;
        }
        is_same = is_same && !is_lost && !is_new;
    }
    return is_same;
}

static bool
compare_words(const struct step *then, const struct step *now, struct remeasure *out)
{
    bool is_same = true;
    for (int i = REMEASURE_SIDE; i < REMEASURE_N_FIELDS; i++)
        if (!has_same_word(then, now, i)) {
            out->figure[i].n_differing++;
            is_same = false;
        }
    return is_same;
}

static void
finish(struct remeasure *r)
{
    for (int i = 0; i < REMEASURE_N_FIELDS; i++) {
        struct remeasure_figure *f = &r->figure[i];
        f->mean = i < REMEASURE_SIDE && f->n_differing > 0 ? f->mean / f->n_differing : UNKNOWN;
    }
}

void
remeasure_compare(struct remeasure_steps then, struct remeasure_steps now, struct remeasure *out)
{
    /* next_match() hands out what it is given; nothing is written here. */
    struct walk w = { .then = then, .now = (struct coached_step *) now.step, .n_now = now.n };
    struct match m;
    memset(out, 0, sizeof *out);
    for (int i = 0; i < REMEASURE_N_FIELDS; i++)
        out->figure[i].largest = UNKNOWN;
    while (next_match(&w, &m)) {
        const struct step *a = m.then ? &m.then->step : NULL, *b = m.now ? &m.now->step : NULL;
        bool is_same = compare_numbers(a, b, out);
        if (a && b)
            is_same = compare_words(a, b, out) && is_same;
        out->n_steps++;
        out->n_same += a && b && is_same;
        out->n_lost += !b;
        out->n_new += !a;
    }
    finish(out);
}

void
remeasure_add(struct remeasure *a, const struct remeasure *b)
{
    a->n_steps += b->n_steps;
    a->n_same += b->n_same;
    a->n_lost += b->n_lost;
    a->n_new += b->n_new;
    for (int i = 0; i < REMEASURE_N_FIELDS; i++) {
        struct remeasure_figure *f = &a->figure[i];
        const struct remeasure_figure *g = &b->figure[i];
        const int n = f->n_differing + g->n_differing;
        if (g->n_differing > 0 && !isnan(g->mean)) {
            f->mean = f->n_differing > 0 ? (f->mean * f->n_differing + g->mean * g->n_differing) / n : g->mean;
            f->largest = f->n_differing > 0 && fabs(f->largest) > fabs(g->largest) ? f->largest : g->largest;
        }
        f->n_differing = n;
        f->n_lost += g->n_lost;
        f->n_new += g->n_new;
    }
}

/* The block whose time holds the touchdown; one that was left open goes on. -1: none. */
static int
block_at(const struct store_block *block, int n_blocks, struct dev_time at)
{
    int found = -1;
    for (int i = 0; i < n_blocks; i++) {
        const bool is_open = block[i].end.us < block[i].start.us;
        if (at.us >= block[i].start.us && (is_open || at.us < block[i].end.us))
            found = block[i].index;
    }
    return found;
}

void
remeasure_carry_over(struct remeasure_steps then, const struct store_block *block, int n_blocks, struct coached_step *now,
                     size_t n_now)
{
    struct walk w = { .then = then, .now = now, .n_now = n_now };
    const struct coached_step *last = NULL;
    struct match m;
    while (next_match(&w, &m)) {
        if (m.then)
            last = m.then;
        if (!m.now)
            continue;
        if (m.then) {
            m.now->block = m.then->block;
            m.now->is_feedback_shown = m.then->is_feedback_shown;
        } else {
            m.now->block = block_at(block, n_blocks, m.now->step.touchdown);
            m.now->is_feedback_shown = last && last->block == m.now->block && last->is_feedback_shown;
        }
    }
}

static const char *
name_of(int field)
{
    static const char *const names[] = { "touchdown_ms", "toe_off_ms", "cop_fwd_mm",  "cop_right_mm", "body_weight_n",
                                         "side",         "gait",       "strike_zone", "flags",        "standing" };
    return field < METRIC_COUNT ? metric_info((enum metric) field)->name : names[field - METRIC_COUNT];
}

void
remeasure_print(FILE *f, const struct remeasure *r)
{
    bool has_head = false;
    for (int i = 0; i < REMEASURE_N_FIELDS; i++) {
        const struct remeasure_figure *x = &r->figure[i];
        const int digits = i < METRIC_COUNT ? metric_info((enum metric) i)->digits + 2 : 3;
        if (x->n_differing == 0 && x->n_lost == 0 && x->n_new == 0)
            continue;
        if (!has_head)
            fprintf(f, "%-*s%*s%*s%*s%*s%*s\n", LABEL, "figure", WIDE - 2, "differing", WIDE, "largest", WIDE, "mean", WIDE - 4,
                    "lost", WIDE - 4, "new");
        has_head = true;
        fprintf(f, "%-*s%*d", LABEL, name_of(i), WIDE - 2, x->n_differing);
        number_print(f, WIDE, x->largest, digits);
        number_print(f, WIDE, x->mean, digits);
        fprintf(f, "%*d%*d\n", WIDE - 4, x->n_lost, WIDE - 4, x->n_new);
    }
    if (has_head)
        fprintf(f, "now minus then, of the steps that differ; %d steps are lost, %d are new\n", r->n_lost, r->n_new);
}
