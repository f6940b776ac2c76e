/* check_judge.c - the sums of a check to figures, grades, sentences. Limits and advice: check_limits.c. */
#include "base/str.h"
#include "sense/sense.h"
#include "setup/check_parts.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
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
        message_tell(&f->says, MESSAGE_CHECK_RATE_UNKNOWN, message_real(hz, 1, MESSAGE_UNIT_NONE));
    else
        message_tell(&f->says, MESSAGE_CHECK_RATE_IS, message_real(hz, 1, MESSAGE_UNIT_NONE),
                     message_signed(off_pct, 1, MESSAGE_UNIT_PCT), c->nominal_hz);
    f = check_grade(j, CHECK_JITTER, sd_us * 1e-3, sd_us / mean_us * 100);
    message_tell(&f->says, MESSAGE_CHECK_JITTER_IS, message_real(mean_us * 1e-3, 3, MESSAGE_UNIT_MS),
                 message_real(sd_us * 1e-3, 3, MESSAGE_UNIT_NONE), message_real(c->interval_max_us * 1e-3, 3, MESSAGE_UNIT_NONE));
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
        message_tell(&f->says, MESSAGE_CHECK_CLOCK_IS, message_signed(off_pct, 2, MESSAGE_UNIT_PCT));
    }
    if (c->n_restarts > 0) {
        f->grade = CHECK_BAD;
        message_tell(&f->says, MESSAGE_CHECK_RESTARTED, c->n_restarts);
    }
}

static void
judge_line(struct check_judging *j, const struct check_line *line)
{
    const struct check *c = j->c;
    const uint64_t n_came = c->n_empty + c->n_loaded;
    const double lost_pct = 100.0 * (double) c->n_lost / (double) (c->n_lost + n_came);
    struct check_finding *f = check_grade(j, CHECK_LOST, lost_pct, lost_pct);
    message_tell(&f->says, MESSAGE_CHECK_LOST_IS, c->n_lost, c->n_lost + n_came);
    /* One damaged unit is what a reader that comes in the middle of a packet sees. */
    const double n_damaged = line->n_damaged > 1 ? (double) line->n_damaged : 0;
    f = check_grade(j, CHECK_LINE, n_damaged, n_damaged);
    if (n_damaged > 0.01 * (double) n_came)
        f->grade = CHECK_BAD;
    message_tell(&f->says, MESSAGE_CHECK_LINE_IS, line->n_bytes, (int64_t) n_damaged, line->n_repeated);
    if (line->board_says != NULL) {
        f->grade = CHECK_BAD;
        message_tell(&f->says, MESSAGE_CHECK_BOARD_SAYS, message_word(line->board_says));
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

/* To two digits: more says nothing of what would have been seen. */
static double
rounded(double v)
{
    char text[32];
    snprintf(text, sizeof text, "%.2g", v);
    return strtod(text, NULL);
}

/* How a drift is told: in newtons, in the uncalibrated sensor's own, or as a share. */
static const struct drift_words {
    double scale;
    enum message_unit unit;
    enum message_code none, is;
} DRIFT_IN_NEWTONS = { 1, MESSAGE_UNIT_NEWTON, MESSAGE_CHECK_DRIFT_NONE, MESSAGE_CHECK_DRIFT_IS },
  DRIFT_IN_OWN = { 1, MESSAGE_UNIT_NEWTON, MESSAGE_CHECK_DRIFT_NONE_RELATIVE, MESSAGE_CHECK_DRIFT_IS_RELATIVE },
  DRIFT_OF_FULL = { 100, MESSAGE_UNIT_PCT, MESSAGE_CHECK_DRIFT_NONE_OF_FULL, MESSAGE_CHECK_DRIFT_IS_OF_FULL };

/* A time that is too short to tell a drift that matters leaves it untested. */
static void
judge_drift(struct check_judging *j, double slope, double least, const struct drift_words *words)
{
    const struct check_limits *l = check_limits(CHECK_DRIFT);
    struct check_finding *f = &j->out->finding[CHECK_DRIFT];
    const double seconds = j->c->seconds_empty;
    if (j->is_occupied)
        message_init(&f->says, MESSAGE_CHECK_NOT_EMPTY);
    else if (seconds < DRIFT_MIN_S || (slope == 0.0 && least > (j->is_switches ? l->mind_switches : l->mind)))
        message_tell(&f->says, MESSAGE_CHECK_DRIFT_NOT_SEEN, message_real(seconds, 0, MESSAGE_UNIT_S));
    else if (slope == 0.0)
        message_tell(&check_grade(j, CHECK_DRIFT, 0, 0)->says, words->none,
                     message_real(rounded(least * words->scale), MESSAGE_DIGITS_AS_NEEDED, words->unit),
                     message_real(seconds, 0, MESSAGE_UNIT_S));
    else
        message_tell(&check_grade(j, CHECK_DRIFT, slope, slope)->says, words->is,
                     message_signed(slope * words->scale, 1, words->unit));
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
    /* Where the profile says what is usual: more is to be minded, twice as much is bad. */
    const double mind = check_limits(CHECK_NOISE)->mind, by = j->p->noise_n < mind ? sd / j->p->noise_n * mind : sd;
    struct check_finding *f = check_grade(j, CHECK_NOISE, sd, by);
    const bool is_stood_on = j->p->kind == FRAME_KIND_MAT && mean > STOOD_ON_N && n_loaded(j) >= STOOD_ON_ELEMENTS;
    j->is_occupied = sd > SWING_N || is_stood_on;
    if (j->is_occupied && sd > SENSE_BEYOND_N && !c->is_relative)
        message_tell(&f->says, MESSAGE_CHECK_SWINGS_BEYOND, message_real(sd, 0, MESSAGE_UNIT_NEWTON));
    else if (is_stood_on && sd <= SWING_N)
        message_tell(&f->says, c->is_relative ? MESSAGE_CHECK_STOOD_ON_RELATIVE : MESSAGE_CHECK_STOOD_ON,
                     message_real(mean, 0, MESSAGE_UNIT_NEWTON));
    else if (j->is_occupied)
        message_tell(&f->says, c->is_relative ? MESSAGE_CHECK_SWINGS_RELATIVE : MESSAGE_CHECK_SWINGS,
                     message_real(sd, 0, MESSAGE_UNIT_NEWTON));
    else
        message_tell(&f->says, c->is_relative ? MESSAGE_CHECK_NOISE_IS_RELATIVE : MESSAGE_CHECK_NOISE_IS,
                     message_real(sd, 2, MESSAGE_UNIT_NEWTON));
    f = &j->out->finding[CHECK_OFFSET];
    if (j->is_occupied)
        message_init(&f->says, MESSAGE_CHECK_NOT_EMPTY);
    else
        message_tell(&check_grade(j, CHECK_OFFSET, mean, mean)->says,
                     c->is_relative ? MESSAGE_CHECK_OFFSET_IS_RELATIVE : MESSAGE_CHECK_OFFSET_IS,
                     message_real(mean, 1, MESSAGE_UNIT_NEWTON));
    judge_drift(j, slope, least, c->is_relative ? &DRIFT_IN_OWN : &DRIFT_IN_NEWTONS);
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
        message_init(&f->says, MESSAGE_CHECK_ZONES_WALK);
    else
        message_tell(&f->says, MESSAGE_CHECK_ZONE_NOISE_IS, message_real(sd * 100, 1, MESSAGE_UNIT_PCT));
    f = &j->out->finding[CHECK_OFFSET];
    if (j->is_occupied)
        message_init(&f->says, MESSAGE_CHECK_NOT_EMPTY);
    else
        message_tell(&check_grade(j, CHECK_OFFSET, mean, mean)->says, MESSAGE_CHECK_ZONE_OFFSET_IS,
                     message_real(mean * 100, 1, MESSAGE_UNIT_PCT));
    judge_drift(j, slope, least, &DRIFT_OF_FULL);
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
        message_tell(&noise->says, MESSAGE_CHECK_ELEMENTS_FLICKER, noise->n_elements);
    }
    if (offset->n_elements > 0) {
        check_at_least(offset, CHECK_MIND);
        message_tell(&offset->says, MESSAGE_CHECK_ELEMENTS_ON, offset->n_elements);
    }
    struct check_finding *f = check_grade(j, CHECK_STUCK, stuck.n_elements, stuck.n_elements);
    f->n_elements = stuck.n_elements;
    memcpy(f->element, stuck.element, sizeof f->element);
    if (stuck.n_elements == 0)
        message_init(&f->says, MESSAGE_CHECK_STUCK_NONE);
    else
        message_tell(&f->says, MESSAGE_CHECK_STUCK_SOME, stuck.n_elements);
}

/* ------------------------------------------------------------------ all of it */

/* "3:17 3:18 5:2 and 4 more"; of cells "cell 1 3". */
static void
put_names(const struct sense_profile *p, struct check_finding *f)
{
    char names[CHECK_AT_MAX] = "", name[16];
    int i = 0;
    for (; i < f->n_elements && i < CHECK_MAX_NAMED; i++) {
        check_element_name(p, f->element[i], name, sizeof name);
        const char *own = p->kind == FRAME_KIND_CELLS ? name + strlen("cell ") : name;
        if (strlen(names) + 1 + strlen(own) >= sizeof names)
            break;
        str_append(names, sizeof names, i > 0 ? " " : "");
        str_append(names, sizeof names, own);
    }
    message_init(&f->at, MESSAGE_NONE);
    if (i > 0 && i < f->n_elements)
        message_tell(&f->at, MESSAGE_CHECK_AT_MORE, names, f->n_elements - i);
    else if (i > 0)
        message_tell(&f->at, p->kind == FRAME_KIND_CELLS ? MESSAGE_CHECK_AT_CELLS : MESSAGE_CHECK_AT, names);
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
            message_init(&f->says, MESSAGE_CHECK_ONLY_MAT_HAS_CROSSTALK);
        else if (f->grade == CHECK_UNTESTED && message_is_none(&f->says))
            message_init(&f->says, i >= CHECK_DEAD ? MESSAGE_CHECK_NEEDS_LOAD : MESSAGE_CHECK_LITTLE_HEARD);
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
        message_tell(&f->says, MESSAGE_CHECK_FEW_FRAMES, c->n_empty + c->n_loaded);
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
