/* check_judge.c - the sums of a check to figures, grades, sentences. Limits and advice: check_limits.c. */
#include "sense/sense.h"
#include "setup/check_parts.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#define STOOD_ON_N 100.0 /* a mat: a child standing weighs more (cells may carry a deck), */
#define STOOD_ON_ELEMENTS 8 /* and on more elements than are broken */
#define SWING_N    50.0 /* no noise: the sensor is not empty */
#define PRESSED    0.02 /* likewise of a foot zone that is down in that share of the frames */
#define DRIFT_MIN_S 4.5 /* less says nothing of a drift */

/* ------------------------------------------------------------------ time and line */

static void
judge_rate(struct check_judging *j)
{
    const struct check *c = j->c;
    if (c->n_intervals < 2)
        return;
    const double n = (double) c->n_intervals, mean_us = c->interval_sum_us / n;
    const double var = c->interval_sum_sq / n - mean_us * mean_us, sd_us = var > 0 ? sqrt(var) : 0;
    const double hz = 1e6 / mean_us;
    const double off_pct = isnan(c->nominal_hz) ? 0 : (hz / c->nominal_hz - 1) * 100;
    struct check_finding *f = check_grade(j, CHECK_RATE, hz, off_pct);
    if (isnan(c->nominal_hz))
        check_say(f, "%.1f frames/s; neither board nor profile says how many there should be", hz);
    else
        check_say(f, "%.1f frames/s, %+.1f %% off the nominal %g", hz, off_pct, c->nominal_hz);
    f = check_grade(j, CHECK_JITTER, sd_us * 1e-3, sd_us / mean_us * 100);
    check_say(f, "frames come every %.3f ms, give or take %.3f; the longest took %.3f", mean_us * 1e-3,
        sd_us * 1e-3, c->interval_max_us * 1e-3);
}

static void
judge_clock(struct check_judging *j)
{
    const struct check *c = j->c;
    const double dev_s = units_s_from_us(c->last.us - c->first_us);
    const double host_s = units_s_from_us(c->last_arrived_us - c->first_arrived_us);
    struct check_finding *f = &j->out->finding[CHECK_CLOCK];
    if (host_s >= 2) {
        const double off_pct = (dev_s / host_s - 1) * 100;
        f = check_grade(j, CHECK_CLOCK, off_pct, off_pct);
        check_say(f, "its clock goes %+.2f %% against this computer's", off_pct);
    }
    if (c->n_restarts > 0) {
        f->grade = CHECK_BAD;
        check_say(f, "the board restarted, or its clock jumped, %" PRIu64 " times: check its supply",
            c->n_restarts);
    }
}

static void
judge_line(struct check_judging *j, const struct check_line *line)
{
    const struct check *c = j->c;
    const uint64_t n_came = c->n_empty + c->n_loaded;
    const double lost_pct = 100.0 * (double) c->n_lost / (double) (c->n_lost + n_came);
    struct check_finding *f = check_grade(j, CHECK_LOST, lost_pct, lost_pct);
    check_say(f, "%" PRIu64 " of %" PRIu64 " frames are missing", c->n_lost, c->n_lost + n_came);
    /* One damaged unit is what a reader that comes in the middle of a packet sees. */
    const double n_damaged = line->n_damaged > 1 ? (double) line->n_damaged : 0;
    f = check_grade(j, CHECK_LINE, n_damaged, n_damaged);
    if (n_damaged > 0.01 * (double) n_came)
        f->grade = CHECK_BAD;
    check_say(f, "%" PRIu64 " bytes, %.0f damaged packets, %" PRIu64 " repeated or late", line->n_bytes, n_damaged,
        line->n_repeated);
    if (line->board_says != NULL) {
        f->grade = CHECK_BAD;
        check_say(f, "the board says: %s", line->board_says);
    }
}

/* ------------------------------------------------------------------ empty */

static double
zone_range(const struct sense_profile *p, int i)
{
    return p->zone[i].full_counts - p->zone[i].offset_counts;
}

static double
element_sd(const struct check *c, int i)
{
    const struct check_element *e = &c->element[i];
    const double n = (double) c->n_empty, mean = e->sum / n, var = e->sum_sq / n - mean * mean;
    return var > 0 ? sqrt(var) : 0;
}

/* Slope a minute of a trend, and 0 where it is within four standard errors of none; so many a minute in *least. */
static double
slope_per_min(const struct check *c, double sum, double sum_sq, double sum_tx, double *least)
{
    const double n = (double) c->n_empty;
    const double s_tt = c->sum_tt - c->sum_t * c->sum_t / n;
    const double s_tx = sum_tx - c->sum_t * sum / n;
    const double s_xx = sum_sq - sum * sum / n;
    *least = INFINITY;
    if (!(s_tt > 0))
        return 0;
    const double slope = s_tx / s_tt, rest = s_xx - slope * s_tx;
    const double error = sqrt((rest > 0 ? rest : 0) / (n - 2) / s_tt);
    *least = 4 * error * 60;
    return fabs(slope) > 4 * error ? slope * 60 : 0;
}

/* scale: of what is shown. A time that is too short to tell a drift that matters leaves it untested. */
static void
judge_drift(struct check_judging *j, double slope, double least, double scale, const char *unit)
{
    const struct check_limits *l = check_limits(CHECK_DRIFT);
    struct check_finding *f = &j->out->finding[CHECK_DRIFT];
    const double seconds = j->c->seconds_empty;
    if (j->is_occupied)
        check_say(f, "not judged: the sensor was not empty");
    else if (seconds < DRIFT_MIN_S || (slope == 0.0 && least > (j->is_switches ? l->mind_switches : l->mind)))
        check_say(f, "not seen yet: it takes longer than %.0f s with nobody on", seconds);
    else if (slope == 0.0)
        check_say(check_grade(j, CHECK_DRIFT, 0, 0), "none above %.2g %s a minute, within %.0f s", least * scale, unit, seconds);
    else
        check_say(check_grade(j, CHECK_DRIFT, slope, slope), "the empty reading moves by %+.1f %s a minute", slope * scale, unit);
}

/* Elements of a mat that showed a load most of the time. */
static int
n_loaded(const struct check_judging *j)
{
    int n = 0;
    for (int i = 0; i < j->p->n_rows * j->p->n_cols; i++)
        n += 2 * (uint64_t) j->c->element[i].n_above > j->c->n_empty;
    return n;
}

static void
judge_whole(struct check_judging *j)
{
    const struct check *c = j->c;
    const struct check_trend *t = &c->force;
    const double n = (double) c->n_empty, mean_d = t->sum / n, var = t->sum_sq / n - mean_d * mean_d;
    double least;
    const double slope = slope_per_min(c, t->sum, t->sum_sq, t->sum_tx, &least);
    const double sd = var > 0 ? sqrt(var) : 0, mean = t->first + mean_d;
    const char *own = c->is_relative ? ", uncalibrated" : "";
    /* Where the profile says what is usual: more is to be minded, twice as much is bad. */
    const double mind = check_limits(CHECK_NOISE)->mind, by = j->p->noise_n < mind ? sd / j->p->noise_n * mind : sd;
    struct check_finding *f = check_grade(j, CHECK_NOISE, sd, by);
    const bool is_stood_on = j->p->kind == FRAME_KIND_MAT && mean > STOOD_ON_N && n_loaded(j) >= STOOD_ON_ELEMENTS;
    j->is_occupied = sd > SWING_N || is_stood_on;
    if (j->is_occupied && sd > SENSE_BEYOND_N && !c->is_relative)
        check_say(f, "the force swings by %.0f N, more than any runner: is the gain in N a count?", sd);
    else if (is_stood_on && sd <= SWING_N)
        check_say(f, "%.0f N lie on it%s: does somebody stand on it?", mean, own);
    else if (j->is_occupied)
        check_say(f, "the force swings by %.0f N%s: was somebody on it, or the belt moving?", sd, own);
    else
        check_say(f, "the empty sensor's force spreads by %.2f N (standard deviation%s)", sd, own);
    f = &j->out->finding[CHECK_OFFSET];
    if (j->is_occupied)
        check_say(f, "not judged: the sensor was not empty");
    else
        check_say(check_grade(j, CHECK_OFFSET, mean, mean), "the empty sensor reads %.1f N%s", mean, own);
    judge_drift(j, slope, least, 1, c->is_relative ? "N, uncalibrated," : "N");
}

/* A foot zone that goes down and up again: somebody wears it. */
static bool
is_worn(const struct check *c)
{
    for (int i = 0; i < c->n_elements; i++) {
        const double down = (double) c->element[i].n_above / (double) c->n_empty;
        if (down > PRESSED && down < 1 - PRESSED)
            return true;
    }
    return false;
}

static void
judge_zones(struct check_judging *j)
{
    const struct check *c = j->c;
    double sd = 0, mean = 0, slope = 0, least = 0;
    for (int i = 0; i < c->n_elements; i++) {
        const struct check_element *e = &c->element[i];
        const double range = zone_range(j->p, i);
        const double own = (check_element_mean(c, i) - j->p->zone[i].offset_counts) / range;
        double own_least;
        const double own_slope = slope_per_min(c, e->sum, e->sum_sq, e->sum_tx, &own_least) / range;
        sd = fmax(sd, element_sd(c, i) / range);
        mean = fabs(own) > fabs(mean) ? own : mean;
        slope = fabs(own_slope) > fabs(slope) ? own_slope : slope;
        least = fmax(least, own_least / range);
    }
    j->is_occupied = is_worn(c);
    struct check_finding *f = check_grade(j, CHECK_NOISE, sd, sd);
    if (j->is_occupied)
        check_say(f, "zones go down and up again: did somebody walk in them?");
    else
        check_say(f, "the noisiest empty zone spreads by %.1f %% of its full reading", sd * 100);
    f = &j->out->finding[CHECK_OFFSET];
    if (j->is_occupied)
        check_say(f, "not judged: the sensor was not empty");
    else
        check_say(check_grade(j, CHECK_OFFSET, mean, mean), "the empty zone farthest from 0 reads %.1f %% of full", mean * 100);
    judge_drift(j, slope, least, 100, "% of full");
}

/* Stuck: at full scale all the time; the same loaded value all the time; of a cell, whose converter always
 * shows its last bits moving, the same value at all. */
static bool
is_stuck(const struct check *c, int i)
{
    const struct check_element *e = &c->element[i];
    const bool is_same =
        e->low == e->high && (c->n_loaded == 0 || (e->loaded_low == e->low && e->loaded_high == e->high));
    if (c->profile->kind == FRAME_KIND_CELLS)
        return is_same || fabs(check_element_mean(c, i)) >= c->profile->saturation_counts;
    return is_same && e->n_above == c->n_empty;
}

static void
judge_elements(struct check_judging *j)
{
    const struct check *c = j->c;
    struct check_finding *noise = &j->out->finding[CHECK_NOISE], *offset = &j->out->finding[CHECK_OFFSET];
    struct check_finding stuck = { .grade = CHECK_GOOD };
    for (int i = 0; i < c->n_elements; i++) {
        const double above = (double) c->element[i].n_above / (double) c->n_empty;
        if (check_is_dead(j->p, i))
            continue;
        if (is_stuck(c, i))
            check_name(&stuck, i);
        else if (j->is_occupied)
            continue; /* what feet did is no fault of an element */
        else if (above > 0.5)
            check_name(offset, i);
        else if (above > 0.001)
            check_name(noise, i);
    }
    if (noise->n_elements > 0) {
        check_at_least(noise, noise->n_elements * 20 > c->n_elements ? CHECK_BAD : CHECK_MIND);
        check_say(noise, "%d element%s show%s a load now and then with nobody on", noise->n_elements,
            noise->n_elements == 1 ? "" : "s", noise->n_elements == 1 ? "s" : "");
    }
    if (offset->n_elements > 0) {
        check_at_least(offset, CHECK_MIND);
        check_say(offset, "%d element%s show%s a load all the time with nobody on", offset->n_elements,
            offset->n_elements == 1 ? "" : "s", offset->n_elements == 1 ? "s" : "");
    }
    struct check_finding *f = check_grade(j, CHECK_STUCK, stuck.n_elements, stuck.n_elements);
    f->n_elements = stuck.n_elements;
    memcpy(f->element, stuck.element, sizeof f->element);
    check_say(f, stuck.n_elements == 0 ? "none is stuck" : "%d read the same all the time", stuck.n_elements);
}

/* ------------------------------------------------------------------ all of it */

/* "3:17 3:18 5:2 and 4 more". */
static void
put_names(const struct sense_profile *p, struct check_finding *f)
{
    size_t len = 0;
    int i = 0;
    for (; i < f->n_elements && i < CHECK_MAX_NAMED; i++) {
        char name[16];
        check_element_name(p, f->element[i], name, sizeof name);
        if (len + strlen(name) + 16 > sizeof f->at) /* "and N more" fits behind */
            break;
        len += (size_t) snprintf(f->at + len, sizeof f->at - len, "%s%s", i > 0 ? " " : "", name);
    }
    if (i < f->n_elements)
        snprintf(f->at + len, sizeof f->at - len, " and %d more", f->n_elements - i);
}

static void
sum_up(struct check_judging *j)
{
    struct check_report *out = j->out;
    for (int i = 0; i < CHECK_N_ITEMS; i++) {
        struct check_finding *f = &out->finding[i];
        put_names(j->p, f);
        f->todo = f->grade >= CHECK_MIND
                      ? check_todo((enum check_item) i, j->p->kind,
                                   f->n_elements > 0 && f->n_elements <= CHECK_FEW_ELEMENTS,
                                   i == CHECK_NOISE && j->is_occupied)
                      : "";
        if (f->grade > out->grade)
            out->grade = f->grade;
        if (i == CHECK_CROSSTALK && j->p->kind != FRAME_KIND_MAT)
            check_say(f, "only a mat's rows and columns can talk to each other");
        else if (f->grade == CHECK_UNTESTED && f->says[0] == '\0')
            check_say(f, i >= CHECK_DEAD ? "needs somebody to load the sensor" : "too little was heard to tell");
    }
}

void
check_judge(const struct check *c, const struct check_line *line, struct check_report *out)
{
    struct check_judging j = { c, c->profile, out, c->profile->kind == FRAME_KIND_SWITCHES, false };
    memset(out, 0, sizeof *out);
    out->seconds_empty = c->seconds_empty;
    out->seconds_loaded = c->seconds_loaded;
    out->is_relative = c->is_relative;
    for (int i = 0; i < CHECK_N_ITEMS; i++)
        out->finding[i].value = NAN;
    if (c->n_empty + c->n_loaded < CHECK_MIN_FRAMES) {
        struct check_finding *f = check_grade(&j, CHECK_LOST, NAN, INFINITY);
        check_say(f, "only %" PRIu64 " frames came: too few to tell anything", c->n_empty + c->n_loaded);
        sum_up(&j);
        return;
    }
    judge_rate(&j);
    judge_clock(&j);
    judge_line(&j, line);
    if (c->n_empty >= CHECK_MIN_FRAMES) {
        if (j.is_switches)
            judge_zones(&j);
        else
            judge_whole(&j);
        judge_elements(&j);
    }
    if (c->n_loaded >= CHECK_MIN_FRAMES)
        check_judge_loaded(&j);
    out->is_occupied = j.is_occupied;
    sum_up(&j);
}
