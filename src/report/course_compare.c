/* course_compare.c - visits against each other: what changed, by more than chance or not, and which figures there are. */
#include "report/course_parts.h"

#include <math.h>
#include <string.h>

static const double UNKNOWN = (double) NAN;

/* Whether two groups of steps were run at belt speeds that are known and differ. */
static bool
is_other_speed(const struct course_figure *now, const struct course_figure *then)
{
    const double a = now[METRIC_BELT_SPEED_M_S].mean, b = then[METRIC_BELT_SPEED_M_S].mean;
    return now[METRIC_BELT_SPEED_M_S].n > 0 && then[METRIC_BELT_SPEED_M_S].n > 0 &&
           fabs(a - b) > COURSE_SPEED_PCT / 100 * b;
}

/* What a visit is compared with; figure NULL when there is nothing. */
struct measure_of {
    const struct course_figure *figure;
    const struct course_visit *visit;
};

static struct course_change
change(const struct course_visit *v, const struct course_figure *now, struct measure_of with, int m, double mdc)
{
    const bool is_like = !with.figure || with.visit->measurement.definitions.of[m] == v->measurement.definitions.of[m];
    const struct course_figure *then = is_like ? with.figure : NULL;
    const double x = now[m].mean, y = then ? then[m].mean : UNKNOWN;
    struct course_change c = { .by = x - y, .pct = y != 0 ? 100 * (x - y) / fabs(y) : UNKNOWN };
    c.is_other_speed = then && isfinite(c.by) && is_other_speed(now, then);
    c.is_other_definition = !is_like && now[m].n > 0;
    c.is_real = fabs(c.by) > mdc && !c.is_other_speed; /* false when any is NAN */
    return c;
}

/* Shares are written as per cent. */
double
course_scale(enum metric m)
{
    return m == METRIC_IMPACT_TRANSIENT || m == METRIC_WHOLE_FOOT_AT_LOAD ? 100 : 1;
}

int
course_digits(enum metric m)
{
    const int digits = metric_info(m)->digits;
    return course_scale(m) > 1 ? 0 : digits > 4 ? 4 : digits > 2 ? digits : digits > 0 ? digits - 1 : 0;
}

static double
smallest_real(const struct repeat *r, int n_blocks, enum metric m)
{
    const double mdc = repeat_mdc95(r), last_digit = pow(10, -course_digits(m)) / course_scale(m);
    if (n_blocks < COURSE_MIN_REPEATS || !(mdc > 0))
        return UNKNOWN;
    return fmax(mdc, last_digit);
}

/* What visit i is compared with: the first baseline of its own course; of a free run, that of the course it fell into. */
static struct measure_of
first_baseline(const struct course *c, int i, int m)
{
    const char *plan = c->visit[i].visit.plan;
    for (int k = i; k > 0 && plan[0] == '\0'; k--)
        plan = c->visit[k - 1].visit.plan;
    for (int k = 0; k <= i; k++)
        if ((plan[0] == '\0' || strcmp(c->visit[k].visit.plan, plan) == 0) && c->visit[k].baseline[m].n > 0)
            return (struct measure_of){ c->visit[k].baseline, &c->visit[k] };
    return (struct measure_of){ NULL, NULL };
}

/* A dose counts steps by their time and by what touched first. */
static bool
is_like_dose(const struct course_visit *a, const struct course_visit *b)
{
    const struct metric_definitions *x = &a->measurement.definitions, *y = &b->measurement.definitions;
    return x->of[METRIC_STEP_TIME_S] == y->of[METRIC_STEP_TIME_S] &&
           x->of[METRIC_STRIKE_INDEX_PCT] == y->of[METRIC_STRIKE_INDEX_PCT];
}

/* What visit i's dose is compared with: the largest of the two weeks before it, so that a short free run in between is no
 * new measure; without any in that time, the last one. NULL: none of the same definitions. */
static const struct dose *
dose_before(const struct course *c, int i)
{
    const struct dose *most = NULL;
    for (int k = i - 1; k >= 0 && !most; k--)
        most = is_like_dose(&c->visit[i], &c->visit[k]) ? &c->visit[k].dose : NULL;
    for (int k = 0; k < i && most; k++) {
        if (!is_like_dose(&c->visit[i], &c->visit[k]))
            continue;
        const int64_t ago_ms = c->visit[i].visit.started_utc_ms - c->visit[k].visit.started_utc_ms;
        if (ago_ms >= 0 && ago_ms <= COURSE_DOSE_DAYS * INT64_C(86400000) && c->visit[k].dose.minutes > most->minutes)
            most = &c->visit[k].dose;
    }
    return most;
}

void
course_compare(struct course *c)
{
    for (int m = 0; m < METRIC_COUNT; m++) {
        struct measure_of last = { NULL, NULL }; /* of the newest visit before that has the metric */
        c->mdc[m] = smallest_real(&c->repeat[m], c->n_repeat_blocks[m], (enum metric) m);
        for (int i = 0; i < c->n_visits; i++) {
            struct course_visit *v = &c->visit[i];
            const struct measure_of first = first_baseline(c, i, m);
            v->held_from_first[m] = change(v, v->held, first, m, c->mdc[m]);
            v->baseline_from_first[m] = change(v, v->baseline, first, m, c->mdc[m]);
            v->held_from_last[m] = change(v, v->held, last, m, c->mdc[m]);
            if (v->held[m].n > 0)
                last = (struct measure_of){ v->held, v };
        }
    }
    for (int i = 1; i < c->n_visits; i++) {
        const struct dose *before = dose_before(c, i);
        if (before) {
            c->visit[i].dose_before = *before;
            c->visit[i].dose_grew = dose_grew(&c->visit[i].dose, before);
        }
    }
}

int
course_visit_number(const struct course *c, int i)
{
    return c->plan[0] && c->visit[i].visit.course_visit > 0 ? c->visit[i].visit.course_visit : i + 1;
}

static bool
has_figure(const struct course *c, int m)
{
    for (int i = 0; i < c->n_visits; i++)
        if (c->visit[i].held[m].n > 0 || c->visit[i].baseline[m].n > 0)
            return true;
    return false;
}

int
course_metrics(const struct course *c, enum metric out[METRIC_COUNT])
{
    static const enum metric order[] = {
        METRIC_CADENCE_SPM,      METRIC_LANDING_AHEAD_MM,  METRIC_LOAD_RATE_BW_S,  METRIC_CONTACT_MS,
        METRIC_IMPACT_TRANSIENT, METRIC_BRAKING_IMPULSE_BW_S, METRIC_PEAK_BRAKING_BW,
        METRIC_AHEAD_AT_LOAD_MM, METRIC_STRIKE_INDEX_PCT,  METRIC_PEAK_FORCE_BW,
        METRIC_COM_DROP_MM,      METRIC_STIFFNESS_KN_M,    METRIC_FLIGHT_MS,        METRIC_HEEL_TO_FORE_MS,
        METRIC_STEP_WIDTH_MM,    METRIC_ASYM_CONTACT_PCT,  METRIC_STEP_VAR_PCT,
    };
    int n = 0;
    for (size_t i = 0; i < sizeof order / sizeof *order; i++)
        if (has_figure(c, order[i]))
            out[n++] = order[i];
    return n;
}
