#include "report/summary.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

struct summary_config
summary_config_default(void)
{
    return (struct summary_config){ .body_weight_n = NAN,
                                    .rate_hz = NAN,
                                    .definitions = metric_definitions_today(),
                                    .run_with = metric_definitions_today() };
}

void
summary_maker_init(struct summary_maker *m)
{
    memset(m, 0, sizeof *m);
}

void
summary_maker_destroy(struct summary_maker *m)
{
    free(m->steps);
    memset(m, 0, sizeof *m);
}

/* The place of the step with that number, n when there is none. The settled record follows the live one by a
 * few steps, so the search begins at the end. */
static size_t
find_number(const struct summary_maker *m, uint32_t number)
{
    if (m->n > 0 && m->steps[m->n - 1].step.number < number)
        return m->n;
    for (size_t i = m->n; i > 0; i--)
        if (m->steps[i - 1].step.number == number)
            return i - 1;
    return m->n;
}

enum err
summary_maker_feed(struct summary_maker *m, const struct coached_step *s)
{
    size_t at = find_number(m, s->step.number);

    if (at < m->n) {
        if (s->step.is_settled || !m->steps[at].step.is_settled)
            m->steps[at].step = s->step; /* block and feedback stay: they belong to the moment of the step */
        return ERR_OK;
    }
    if (m->n == m->cap) {
        size_t cap = m->cap == 0 ? 256 : 2 * m->cap;
        struct coached_step *steps = realloc(m->steps, cap * sizeof *steps);
        if (steps == NULL)
            return ERR_MEMORY;
        m->steps = steps;
        m->cap = cap;
    }
    m->steps[m->n++] = *s;
    return ERR_OK;
}

enum err
summary_maker_feed_step(struct summary_maker *m, const struct step *s)
{
    struct coached_step with_coach = { .step = *s, .block = -1 };

    return summary_maker_feed(m, &with_coach);
}

double
summary_symmetry_index_pct(double right, double left)
{
    double sum = right + left;

    /* Also false for NAN. Signed values have no symmetry index: the two could cancel out below the line. */
    if (!(right >= 0 && left >= 0 && sum > 0))
        return NAN;
    return (right - left) / (0.5 * sum) * 100;
}

static int
by_value(const void *a, const void *b)
{
    double x = *(const double *) a, y = *(const double *) b;

    return (x > y) - (x < y);
}

/* Sorts x. */
static struct summary_stat
stat_of(double *x, int n)
{
    struct summary_stat s = { .n = n, .mean = NAN, .sd = NAN, .median = NAN };
    double sum = 0, squares = 0;

    if (n == 0)
        return s;
    for (int i = 0; i < n; i++)
        sum += x[i];
    s.mean = sum / n;
    for (int i = 0; i < n; i++)
        squares += (x[i] - s.mean) * (x[i] - s.mean);
    if (n > 1)
        s.sd = sqrt(squares / (n - 1));
    qsort(x, (size_t) n, sizeof *x, by_value);
    s.median = n % 2 == 1 ? x[n / 2] : 0.5 * (x[n / 2 - 1] + x[n / 2]);
    return s;
}

static void
count_steps(const struct summary_maker *m, struct summary *out)
{
    int64_t end_us = INT64_MIN, start_us = INT64_MAX;

    for (size_t i = 0; i < m->n; i++) {
        const struct step *s = &m->steps[i].step;
        out->n_steps++;
        out->n_by_gait[s->gait]++;
        out->n_by_zone[s->zone]++;
        out->n_by_foot[s->foot]++;
        out->n_unsettled += s->is_settled ? 0 : 1;
        if (s->touchdown.us < start_us)
            start_us = s->touchdown.us;
        if (s->touchdown.us > end_us)
            end_us = s->touchdown.us;
        if (s->toe_off.us > end_us)
            end_us = s->toe_off.us;
    }
    out->duration_s = m->n > 0 ? units_s_from_us(end_us - start_us) : (double) NAN;
    out->gait = STEP_GAIT_UNKNOWN;
    for (int g = STEP_GAIT_OFF; g <= STEP_GAIT_RUNNING; g++)
        if (out->n_by_gait[g] > 0 &&
            out->n_by_gait[g] >= out->n_by_gait[out->gait] * (out->gait != STEP_GAIT_UNKNOWN))
            out->gait = (enum step_gait) g;
}

static bool
counts(const struct summary *s, const struct step *step)
{
    return step->gait == s->gait || step->gait == STEP_GAIT_UNKNOWN;
}

static bool
has_value(const struct step *s, enum metric m)
{
    return s->standing[m] != METRIC_MISSING && isfinite(s->value[m]);
}

/* foot STEP_FOOT_UNKNOWN: of both. x: room for every step. */
static struct summary_stat
stat_of_metric(const struct summary_maker *m, const struct summary *s, enum metric metric,
               enum step_foot foot, double *x)
{
    int n = 0;

    for (size_t i = 0; i < m->n; i++) {
        const struct step *step = &m->steps[i].step;
        if (counts(s, step) && has_value(step, metric) && (foot == STEP_FOOT_UNKNOWN || step->foot == foot))
            x[n++] = step->value[metric];
    }
    return stat_of(x, n);
}

static bool
has_symmetry_index(enum metric metric)
{
    switch ((int) metric) {
    case METRIC_LANDING_AHEAD_MM: /* measured from a moving point: 0 is nothing special */
    case METRIC_AHEAD_AT_LOAD_MM:
    case METRIC_TRANSIENT_LEAD_MS:
    case METRIC_TOE_OUT_DEG:
    case METRIC_HEEL_TO_FORE_MS:
    case METRIC_ASYM_STEP_TIME_PCT:
    case METRIC_ASYM_CONTACT_PCT:
    case METRIC_ASYM_LOAD_RATE_PCT:
    case METRIC_IMPACT_TRANSIENT: /* a share: one odd step among few would read as 200 % */
    case METRIC_WHOLE_FOOT_AT_LOAD:
    case METRIC_STEP_VAR_PCT: /* of both feet together */
    case METRIC_BELT_SPEED_M_S:
        return false;
    default:
        return true;
    }
}

static double
share_pct(int part, int whole)
{
    return whole > 0 ? 100.0 * part / whole : (double) NAN;
}

/* The target that a step was run with; NULL: none, or in no block that is held to targets. */
static const struct store_target *
judge_of(const struct summary_config *c, int block, const struct store_target *target)
{
    if (c->n_pieces == 0)
        return target;
    const struct piece *p = piece_find(c->piece, c->n_pieces, block);
    return p && piece_is_held(p->row.kind) ? piece_target(p, target->metric) : NULL;
}

static void
count_band(const struct summary_maker *m, const struct summary_config *c, const struct summary *s,
           const struct store_target *target, struct summary_band *out)
{
    out->has_target = true;
    out->low = target->low;
    out->high = target->high;
    if (c->definitions.of[target->metric] != c->run_with.of[target->metric])
        return; /* another figure than the one that the band is of */
    for (size_t i = 0; i < m->n; i++) {
        const struct step *step = &m->steps[i].step;
        const struct store_target *judge = judge_of(c, m->steps[i].block, target);
        if (!judge || !counts(s, step) || !has_value(step, target->metric))
            continue;
        /* A comparison with an open side (NAN) is false: never outside there. */
        int is_in = !(step->value[target->metric] < judge->low) && !(step->value[target->metric] > judge->high);
        if (m->steps[i].is_feedback_shown) {
            out->n_shown++;
            out->n_shown_in += is_in;
        } else {
            out->n_withheld++;
            out->n_withheld_in += is_in;
        }
    }
    out->shown_pct = share_pct(out->n_shown_in, out->n_shown);
    out->withheld_pct = share_pct(out->n_withheld_in, out->n_withheld);
}

static void
fill_metric(const struct summary_maker *m, enum metric metric, struct summary *s, double *x)
{
    struct summary_metric *out = &s->metric[metric];

    out->all = stat_of_metric(m, s, metric, STEP_FOOT_UNKNOWN, x);
    out->left = stat_of_metric(m, s, metric, STEP_FOOT_LEFT, x);
    out->right = stat_of_metric(m, s, metric, STEP_FOOT_RIGHT, x);
    out->asymmetry_pct = has_symmetry_index(metric)
                             ? summary_symmetry_index_pct(out->right.mean, out->left.mean)
                             : (double) NAN;
    out->band = (struct summary_band){ .low = NAN, .high = NAN, .shown_pct = NAN, .withheld_pct = NAN };
    for (size_t i = 0; i < m->n; i++) {
        const struct step *step = &m->steps[i].step;
        if (counts(s, step) && has_value(step, metric) && step->standing[metric] == METRIC_ESTIMATED)
            out->n_estimated++;
    }
}

static double
last_weight_n(const struct summary_maker *m)
{
    for (size_t i = m->n; i > 0; i--)
        if (m->steps[i - 1].step.body_weight_n > 0) /* false for NAN */
            return m->steps[i - 1].step.body_weight_n;
    return NAN;
}

enum err
summary_make(const struct summary_maker *m, const struct summary_config *c, struct summary *out)
{
    double *x = malloc((m->n + 1) * sizeof *x);

    if (x == NULL)
        return ERR_MEMORY;
    memset(out, 0, sizeof *out);
    count_steps(m, out);
    for (int i = 0; i < METRIC_COUNT; i++)
        fill_metric(m, (enum metric) i, out, x);
    for (int i = 0; c->targets != NULL && i < c->targets->n; i++)
        count_band(m, c, out, &c->targets->target[i], &out->metric[c->targets->target[i].metric].band);
    out->body_weight_n = isnan(c->body_weight_n) ? last_weight_n(m) : c->body_weight_n;
    out->body_weight_from = c->body_weight_from;
    out->rate_hz = c->rate_hz;
    out->definitions = c->definitions;
    free(x);
    return ERR_OK;
}
