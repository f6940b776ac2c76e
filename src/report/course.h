/* course.h - the visits of a runner lined up: figures of each block and visit, what changed, and by more than chance.
 *
 * In:  the store.   Out: struct course.
 * How: running steps alone count. Blocks fall in three kinds: baseline; held (coached, silent, free: where targets are
 *      meant to be met); and the rest. Each block is judged by the targets that it was run with.
 *
 *      shown, withheld   share of held steps in the band while feedback was on offer, and while not: carry-over
 *      change            of a visit's held mean, and of its own baseline, from the course's first baseline, and from the
 *                        visit before
 *      real              a change larger than MDC95 (repeat.h), from the parts of COURSE_PART_S of baseline and silent
 *                        blocks of COURSE_MIN_REPEAT_S or longer, of this visit and of others. Two such blocks are
 *                        needed: within one there is no telling whether it was a quiet one. Never less than the last
 *                        digit that is shown; unknown for a figure that did not move at all (a yes or no that was
 *                        always yes wanders, but not where one could see it)
 *
 * Order: as the visits were begun (by id), so that a clock set back or another time zone changes nothing.
 * Memory: course_destroy() gives it back.   Errors: enum err, s->why.
 */
#ifndef REPORT_COURSE_H
#define REPORT_COURSE_H

#include "coach/dose.h"
#include "coach/tally.h"
#include "report/repeat.h"
#include "store/store.h"

#include <stdio.h>

#define COURSE_MAX_BLOCKS     48
#define COURSE_PART_S         60.0
#define COURSE_MIN_PART_STEPS 20
#define COURSE_MIN_REPEAT_S   110.0 /* two parts, nearly: a block of two minutes may end some steps early */
#define COURSE_MIN_REPEATS    2     /* blocks */
#define COURSE_NOTES_MAX      1200
#define COURSE_TREND_S        10.0
#define COURSE_N_TREND        720 /* two hours */

struct course_figure {
    int n;
    double mean, sd; /* NAN when n is too small: 1, 2 */
};

struct course_band {
    bool has_target;
    double low, high, baseline; /* NAN = open, none */
    int n_shown, n_shown_in, n_withheld, n_withheld_in;
    double shown_pct, withheld_pct; /* NAN without such steps */
};

struct course_block {
    struct store_block block;
    double run_s; /* of running, by the steps' own times */
    int n_steps;
    struct course_figure figure[METRIC_COUNT];
    struct course_band band[METRIC_COUNT];
};

/* NAN where unknown; is_real false then. */
struct course_change {
    double by, pct;
    bool is_real;
};

/* Means of the leading metric over COURSE_TREND_S each; NAN where nobody ran. */
struct course_trend {
    double mean;
    int n;
    bool is_shown; /* feedback was on offer in most steps */
    int n_shown;
};

struct course_visit {
    struct store_visit visit;
    struct store_target_set targets; /* n = 0: none */
    int n_blocks;
    struct course_block block[COURSE_MAX_BLOCKS];
    struct course_figure baseline[METRIC_COUNT], held[METRIC_COUNT];
    struct course_band band[METRIC_COUNT]; /* of all held blocks; low and high of the last targets */
    struct course_change held_from_first[METRIC_COUNT];     /* held mean, from the course's first baseline */
    struct course_change baseline_from_first[METRIC_COUNT]; /* own baseline: what stayed */
    struct course_change held_from_last[METRIC_COUNT];      /* held mean, from the last visit's */
    enum metric leads; /* the targets' focus; else cadence */
    int n_trend;
    struct course_trend trend[COURSE_N_TREND]; /* from device time 0 */
    struct dose dose;
    char dose_note[DOSE_TEXT_MAX]; /* "" = did not grow fast */
    struct tally tally;
    double pain_before, pain_worst, pain_after, effort; /* NAN = not asked */
    int n_marks;
    char notes[COURSE_NOTES_MAX]; /* joined by newlines, cut when longer */
};

struct course {
    struct store_runner runner;
    char plan[64];      /* "" = visits by any plan or none */
    int n_visits;
    struct course_visit *visit;
    struct repeat repeat[METRIC_COUNT];
    double mdc[METRIC_COUNT]; /* smallest change that is real; NAN = too few repeats; never 0 */
};

/* A runner's visits by a plan; plan NULL: the plan of the newest visit that has one, or all when none has.
 * ERR_GONE: no visits. */
enum err course_of_runner(struct store *s, const char *code, const char *plan, struct course *out);

/* One visit and what it is to be compared with: the course up to it. The visit asked for is the last one. */
enum err course_of_visit(struct store *s, int64_t visit_id, struct course *out);

void course_destroy(struct course *c);

/* Metrics that have a figure in any visit and are worth a place, the leading ones first. Returns how many. */
int course_metrics(const struct course *c, enum metric out[METRIC_COUNT]);

/* How a figure of a metric is written: shares as per cent, and so many digits behind the point. */
double course_scale(enum metric m);
int course_digits(enum metric m);

/* report/course_text.c: plain text. */
void course_print_visit(FILE *f, const struct course *c);
void course_print(FILE *f, const struct course *c);

#endif
