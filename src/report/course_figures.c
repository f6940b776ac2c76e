/* course_figures.c - course.h's figures: sums over steps, block by block. */
#include "report/course_parts.h"

#include "coach/baseline.h"

#include <math.h>
#include <string.h>

enum { MAX_PARTS = 16, MAX_GROUP = 64 };

static const double UNKNOWN = (double) NAN;

/* Sums on the way to a mean and a spread: two passes would need the steps twice, so Welford's update. */
static void
feed(struct course_figure *f, double x)
{
    if (!isfinite(x))
        return;
    if (f->n == 0)
        f->mean = f->sd = 0;
    f->n++;
    const double off = x - f->mean;
    f->mean += off / f->n;
    f->sd += off * (x - f->mean); /* a sum of squares until finish() */
}

static void
finish(struct course_figure *f)
{
    if (f->n == 0)
        f->mean = UNKNOWN;
    f->sd = f->n > 1 ? sqrt(f->sd / (f->n - 1)) : UNKNOWN;
}

static double
value_of(const struct step *s, int m)
{
    return s->standing[m] == METRIC_MISSING ? UNKNOWN : s->value[m];
}

/* Counts a step in a block's band, judged by the targets that were in force. */
static void
count_band(struct course_band *b, const struct store_target *judge, double value, bool is_shown)
{
    if (!judge || !isfinite(value))
        return;
    const bool is_in = !(value < judge->low) && !(value > judge->high); /* an open side (NAN) lets all through */
    if (is_shown) {
        b->n_shown++;
        b->n_shown_in += is_in;
    } else {
        b->n_withheld++;
        b->n_withheld_in += is_in;
    }
}

static void
set_bands(struct course_band band[METRIC_COUNT], const struct store_target_set *set)
{
    for (int m = 0; m < METRIC_COUNT; m++)
        band[m] = (struct course_band){ .low = UNKNOWN, .high = UNKNOWN, .baseline = UNKNOWN };
    for (int i = 0; i < set->n; i++) {
        const struct store_target *t = &set->target[i];
        band[t->metric] = (struct course_band){
            .has_target = true, .low = t->low, .high = t->high, .baseline = t->baseline
        };
    }
}

static void
finish_band(struct course_band *b)
{
    b->shown_pct = b->n_shown > 0 ? 100.0 * b->n_shown_in / b->n_shown : UNKNOWN;
    b->withheld_pct = b->n_withheld > 0 ? 100.0 * b->n_withheld_in / b->n_withheld : UNKNOWN;
}

/* How long the block had been run when a piece of it began: what lay between two pieces does not count. */
static double
run_before_s(const struct course_visit *v, const struct piece *p)
{
    double sum_s = 0;
    for (const struct piece *q = v->piece; q < p; q++)
        if (q->of == p->of)
            sum_s += units_s_from_us(q->row.end.us - q->row.start.us);
    return sum_s;
}

/* Means of the parts of a visit's blocks of one kind: one group of repeats a metric. */
struct parts {
    int n_blocks;
    int n[METRIC_COUNT];
    double mean[METRIC_COUNT][MAX_GROUP];
};

static void
add_parts(struct course_visit *v, int at, const struct course_steps *steps, struct parts *out)
{
    struct course_figure part[MAX_PARTS][METRIC_COUNT] = { 0 };
    const struct course_block *b = &v->block[at];
    int n_parts = (int) (b->length_s / COURSE_PART_S);
    n_parts = n_parts < 2 ? 2 : n_parts > MAX_PARTS ? MAX_PARTS : n_parts;
    for (size_t i = 0; i < steps->n; i++) {
        const struct step *s = &steps->step[i].step;
        const struct piece *p = piece_find(v->piece, v->n_pieces, steps->step[i].block);
        if (!p || p->of != at || s->gait != STEP_GAIT_RUNNING)
            continue;
        const double into_s = run_before_s(v, p) + units_s_from_us(s->touchdown.us - p->row.start.us);
        const int k = (int) floor(into_s / b->length_s * n_parts);
        for (int m = 0; k >= 0 && k < n_parts && m < METRIC_COUNT; m++)
            feed(&part[k][m], value_of(s, m));
    }
    for (int k = 0; k < n_parts; k++)
        for (int m = 0; m < METRIC_COUNT; m++)
            if (part[k][m].n >= COURSE_MIN_PART_STEPS && out->n[m] < MAX_GROUP)
                out->mean[m][out->n[m]++] = part[k][m].mean;
    out->n_blocks++;
}

static void
feed_repeats(struct course_visit *v, const struct course_steps *steps, enum verdict_block kind, struct course *c)
{
    struct parts parts = { 0 };
    for (int i = 0; i < v->n_blocks; i++)
        if (v->block[i].kind == kind && v->block[i].length_s >= COURSE_MIN_REPEAT_S)
            add_parts(v, i, steps, &parts);
    for (int m = 0; m < METRIC_COUNT; m++)
        if (parts.n[m] >= 2 && v->measurement.definitions.of[m] == course_definitions(c)->of[m]) {
            repeat_feed(&c->repeat[m], parts.mean[m], parts.n[m]);
            c->n_repeat_blocks[m] += parts.n_blocks;
        }
}

static bool
is_baseline(const struct course_visit *v, const struct coached_step *s)
{
    const struct piece *p = piece_find(v->piece, v->n_pieces, s->block);
    return p && p->row.kind == VERDICT_BLOCK_BASELINE;
}

/* The newest of them alone: what the targets were made from. */
static void
feed_baseline(struct course_visit *v, const struct course_steps *steps)
{
    int n = 0;
    for (size_t i = steps->n; i > 0 && n < COURSE_BASELINE_STEPS; i--) {
        const struct coached_step *s = &steps->step[i - 1];
        if (s->step.gait != STEP_GAIT_RUNNING || !is_baseline(v, s))
            continue;
        n++;
        for (int m = 0; m < METRIC_COUNT; m++)
            feed(&v->baseline[m], value_of(&s->step, m));
    }
    if (n < BASELINE_MIN_STEPS) /* skipped: no baseline */
        memset(v->baseline, 0, sizeof v->baseline);
}

static void
feed_step(struct course_visit *v, const struct coached_step *s)
{
    const struct piece *p = piece_find(v->piece, v->n_pieces, s->block);
    struct course_block *b = p ? &v->block[p->of] : NULL;
    if (!b && v->n_pieces > 0)
        return;
    const enum verdict_block kind = b ? b->kind : VERDICT_BLOCK_FREE;
    if (b) {
        b->n_steps++;
        b->n_shown_steps += s->is_feedback_shown;
        const double step_s = s->step.value[METRIC_STEP_TIME_S];
        b->run_s += step_s > 0 ? step_s : 0;
    }
    for (int m = 0; m < METRIC_COUNT; m++) {
        const double value = value_of(&s->step, m);
        if (b)
            feed(&b->figure[m], value);
        if (b && piece_is_held(kind) && course_is_judged(v, (enum metric) m))
            count_band(&b->band[m], piece_target(p, (enum metric) m), value, s->is_feedback_shown);
        if (piece_is_held(kind))
            feed(&v->held[m], value);
    }
}

static void
feed_trend(struct course_visit *v, const struct coached_step *s)
{
    const double value = value_of(&s->step, v->leads);
    const int slot = (int) (units_s_from_us(s->step.touchdown.us - v->begin.us) / COURSE_TREND_S);
    if (!isfinite(value) || slot < 0 || slot >= COURSE_N_TREND)
        return;
    struct course_trend *t = &v->trend[slot];
    t->n++;
    t->mean += (value - t->mean) / t->n;
    t->n_shown += s->is_feedback_shown;
    t->is_shown = 2 * t->n_shown > t->n;
    v->n_trend = slot + 1 > v->n_trend ? slot + 1 : v->n_trend;
}

static enum metric
leading_metric(const struct store_target_set *set)
{
    for (int i = 0; i < set->n; i++)
        if (set->target[i].is_focus)
            return set->target[i].metric;
    return METRIC_CADENCE_SPM;
}

static void
sum_bands(struct course_visit *v)
{
    set_bands(v->band, &v->targets);
    for (int i = 0; i < v->n_blocks; i++)
        for (int m = 0; m < METRIC_COUNT; m++) {
            struct course_band *b = &v->block[i].band[m], *all = &v->band[m];
            finish_band(b);
            all->n_shown += b->n_shown;
            all->n_shown_in += b->n_shown_in;
            all->n_withheld += b->n_withheld;
            all->n_withheld_in += b->n_withheld_in;
        }
    for (int m = 0; m < METRIC_COUNT; m++)
        finish_band(&v->band[m]);
}

/* The tally is of how the runner runs unasked: of the baseline, else of all that was held. */
static void
make_tally(struct course_visit *v, const struct course_steps *steps, const struct store_runner *runner)
{
    const struct course_figure *f = v->baseline[METRIC_CADENCE_SPM].n > 0 ? v->baseline : v->held;
    int n_zone = 0, n_rear = 0;
    enum tally_state ticks[TALLY_COUNT];
    for (size_t i = 0; i < steps->n; i++) {
        n_zone += steps->step[i].step.zone != STEP_ZONE_UNKNOWN;
        n_rear += steps->step[i].step.zone == STEP_ZONE_REAR;
    }
    const struct tally_figures figures = {
        .cadence_spm = f[METRIC_CADENCE_SPM].mean,
        .landing_ahead_mm = f[METRIC_LANDING_AHEAD_MM].mean,
        .transient_share = f[METRIC_IMPACT_TRANSIENT].mean,
        .load_rate_bw_s = f[METRIC_LOAD_RATE_BW_S].mean,
        .heel_to_fore_ms = f[METRIC_HEEL_TO_FORE_MS].mean,
        .ahead_at_load_mm = f[METRIC_AHEAD_AT_LOAD_MM].mean,
        .braking_impulse_bw_s = f[METRIC_BRAKING_IMPULSE_BW_S].mean,
        .peak_braking_bw = f[METRIC_PEAK_BRAKING_BW].mean,
        .n_braking = f[METRIC_BRAKING_IMPULSE_BW_S].n,
        .rear_share = n_zone > 0 ? (double) n_rear / n_zone : UNKNOWN,
        .leg_length_mm = runner->leg_length_mm,
        .foot_length_mm = runner->foot_length_mm,
    };
    tally_ticks_from_text(v->visit.ticks, ticks);
    tally_make(&figures, ticks, &v->tally);
}

/* A block's band is that of its last piece's targets. */
static void
set_block_bands(struct course_visit *v)
{
    for (int i = 0; i < v->n_pieces; i++)
        set_bands(v->block[v->piece[i].of].band, &v->piece[i].targets);
}

void
course_figures(struct course_visit *v, const struct course_steps *steps, struct course *c)
{
    v->leads = leading_metric(&v->targets);
    set_block_bands(v);
    for (size_t i = 0; i < steps->n; i++)
        if (steps->step[i].step.gait == STEP_GAIT_RUNNING) {
            feed_step(v, &steps->step[i]);
            feed_trend(v, &steps->step[i]);
            dose_feed(&v->dose, &steps->step[i].step);
        }
    feed_baseline(v, steps);
    for (int m = 0; m < METRIC_COUNT; m++) {
        finish(&v->baseline[m]);
        finish(&v->held[m]);
        for (int i = 0; i < v->n_blocks; i++)
            finish(&v->block[i].figure[m]);
    }
    for (int i = 0; i < v->n_blocks; i++)
        if (v->block[i].figure[METRIC_BELT_SPEED_M_S].n > 0)
            v->block[i].belt_speed_m_s = v->block[i].figure[METRIC_BELT_SPEED_M_S].mean;
    feed_repeats(v, steps, VERDICT_BLOCK_BASELINE, c);
    feed_repeats(v, steps, VERDICT_BLOCK_SILENT, c);
    sum_bands(v);
    make_tally(v, steps, &c->runner);
}
