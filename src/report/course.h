/* course.h - the visits of a runner lined up: figures of each block and visit, what changed, and by more than chance.
 *
 * In:  the store.   Out: struct course.
 * How: running steps alone count. Blocks fall in three kinds: baseline; held (coached, silent, free: where targets are
 *      meant to be met); and the rest. New targets, another belt speed and a pause cut a block in pieces: each piece is
 *      judged by the targets that it was run with, and the pieces are summed up as the block that they were. A step
 *      outside any block counts for the dose alone (in a visit without blocks: as held).
 *
 *      baseline          of the newest COURSE_BASELINE_STEPS in its blocks: as many as targets are proposed from
 *                        (coach/baseline.h); what came before, while it was not steady yet, is left out
 *      shown, withheld   share of held steps in the band while feedback was on offer, and while not: carry-over
 *      change            of a visit's held mean, and of its own baseline, from the first baseline of the visits by its
 *                        plan, and of its held mean from the visit before, by whatever plan
 *      real              a change larger than MDC95 (repeat.h), from baseline and silent blocks of COURSE_MIN_REPEAT_S or
 *                        longer, of this visit and of others, in parts of COURSE_PART_S. The parts of all silent blocks
 *                        of a visit are one group of repeats, those of its baseline another, so that wandering from
 *                        block to block counts as well as that within one; a change that was asked for does not. Two
 *                        such blocks are needed: within one there is no telling whether it was a quiet one. Never less
 *                        than the last digit that is shown; unknown for a figure that did not move at all (a yes or no
 *                        that was always yes wanders, but not where one could see it)
 *
 *      other speed       belt speeds that differ by more than COURSE_SPEED_PCT (common practice, no source): cadence, contact
 *                        time and loading rate all move with speed, so such a change says nothing of the runner
 *
 *      definitions       which measurement of a visit is read, and that figures of unlike definitions are never compared: see
 *                        measured.h. What a visit has of another definition than the newest one is left out of it here, of
 *                        figures, shares, changes and repeats alike; course_other_definitions() says which
 *
 *      dose              compared with the largest of the COURSE_DOSE_DAYS before (dose.h's source counts in two weeks),
 *                        else with the last
 *
 * Order: as the visits were begun (by id), so that a clock set back or another time zone changes nothing.
 * Memory: course_destroy() gives it back.   Errors: enum err, s->why.
 */
#ifndef REPORT_COURSE_H
#define REPORT_COURSE_H

#include "base/catalogue.h"
#include "base/mark.h"
#include "base/stats.h"
#include "coach/dose.h"
#include "coach/tally.h"
#include "report/measured.h"
#include "report/piece.h"
#include "report/repeat.h"
#include "store/store.h"

#include <stdio.h>

#define COURSE_PART_S         60.0
#define COURSE_MIN_PART_STEPS 20
#define COURSE_MIN_REPEAT_S   110.0 /* two parts, nearly: a block of two minutes may end some steps early */
#define COURSE_MIN_REPEATS    2     /* blocks */
#define COURSE_BASELINE_STEPS STATS_MAX
#define COURSE_DOSE_DAYS      14
#define COURSE_SPEED_PCT      3.0
#define COURSE_MAX_MARKS      64 /* with their time; more are counted */
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
    enum verdict_block kind;
    struct dev_time start, end; /* of its first and last piece: a pause may lie between */
    int n_pieces;
    double length_s;            /* of its pieces together */
    double planned_s;           /* as it began; NAN = free */
    double belt_speed_m_s;      /* of its steps; without any, mean of what was said of its pieces; NAN = not known */
    double shown_share;         /* planned; NAN = not planned */
    int64_t target_set_id;      /* of its last piece; 0 = none */
    double run_s; /* of running, by the steps' own times */
    int n_steps, n_shown_steps; /* the latter: with feedback on offer */
    struct course_figure figure[METRIC_COUNT];
    struct course_band band[METRIC_COUNT]; /* low and high of its last targets; counts by those of each piece */
};

/* NAN where unknown; is_real false then. */
struct course_change {
    double by, pct;
    bool is_real;
    bool is_other_speed; /* the belt ran at another speed: not like with like, and so not called real */
    bool is_other_definition; /* there is something to compare with, but it is of another definition: by is NAN */
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
    struct measurement measurement;      /* whose steps all figures are of */
    struct metric_definitions run_with;  /* definitions of the first one: what targets and shares were run with */
    bool is_left_out[METRIC_COUNT];      /* had the figure, by another definition than the newest visit's: it is not here */
    struct store_target_set targets; /* n = 0: none */
    struct dev_time begin; /* of its first block or step, whichever came first: where its minutes are counted from */
    int n_pieces;
    struct piece *piece; /* as they were run */
    int n_target_sets; /* different ones that its held blocks were run with: shares are by all of them */
    int n_blocks;
    struct course_block *block; /* as they were planned, in the order begun */
    struct course_figure baseline[METRIC_COUNT], held[METRIC_COUNT];
    struct course_band band[METRIC_COUNT]; /* of all held blocks; low and high of the last targets */
    struct course_change held_from_first[METRIC_COUNT];     /* held mean, from the course's first baseline */
    struct course_change baseline_from_first[METRIC_COUNT]; /* own baseline: what stayed */
    struct course_change held_from_last[METRIC_COUNT];      /* held mean, from the last visit's */
    enum metric leads; /* the targets' focus; else cadence */
    int n_trend;
    struct course_trend trend[COURSE_N_TREND]; /* from begin */
    struct dose dose;
    struct dose dose_before;       /* that it is compared with; n_steps 0: none */
    enum dose_growth dose_grew;
    struct tally tally;
    double pain_before, pain_worst, pain_after, effort; /* NAN = not asked */
    int n_marks, n_mark_times;
    struct dev_time mark[COURSE_MAX_MARKS];
    char *notes; /* all of them, joined by newlines; NULL: none; given back by course_destroy() */
};

struct course {
    struct store_runner runner;
    char plan[64];      /* "" = visits by any plan or none */
    int n_others;       /* visits of the runner that are left out: by another plan, or none */
    int n_visits;
    struct course_visit *visit;
    struct repeat repeat[METRIC_COUNT];
    int n_repeat_blocks[METRIC_COUNT]; /* that they come from */
    double mdc[METRIC_COUNT]; /* smallest change that is real; NAN = too few repeats; never 0 */
};

/* A runner's visits by a plan; plan "": all; NULL: the plan of the newest visit that has one, or all when none has.
 * ERR_GONE: no visits. */
enum err course_of_runner(struct store *s, const char *code, const char *plan, struct course *out);

/* One visit and what it is to be compared with: all visits of the runner up to it, by whatever plan. The visit asked for is the last one. */
enum err course_of_visit(struct store *s, int64_t visit_id, struct course *out);

void course_destroy(struct course *c);

/* What visit i is called: its number in its plan, among visits by one plan; else its place in the row. */
int course_visit_number(const struct course *c, int i);

/* Share of a block's steps with feedback on offer, per cent; NAN without steps. */
double course_shown_pct(const struct course_block *b);

/* Which of v's blocks a step's block row belongs to; -1: none. */
int course_block_of(const struct course_visit *v, int row_index);

/* Metrics that have a figure in any visit and are worth a place, the leading ones first. Returns how many. */
int course_metrics(const struct course *c, enum metric out[METRIC_COUNT]);

/* Whether v's share in the band of a metric can be told: its figures are of the definition that it was run with. */
bool course_is_judged(const struct course_visit *v, enum metric m);

/* The visits whose figure is of another definition than the newest one's, as "2, 3", by number; "" when there are none, and
 * so no dash to explain. Gives out. */
#define COURSE_VISITS_TEXT_MAX 256
const char *course_other_definitions(const struct course *c, enum metric m, char out[COURSE_VISITS_TEXT_MAX]);

/* Whether quicker steps or nearer landing went with less braking: the newest visit's changes since the first baseline, each with
 * its 95 % interval (report/course_braking.c); "" without braking. Gives out. */
#define COURSE_BRAKING_MAX 1024
const char *course_braking_text(const struct catalogue *w, const struct course *c, char out[COURSE_BRAKING_MAX]);

/* Said once on a page that has braking. */
#define COURSE_BRAKING_NOTE                                                                                                  \
    N_("Braking is estimated from the vertical load, for change within this runner. The 0.27 BW of the studies on injury was " \
       "measured with a force plate, between people: no border here.")

/* Said once below figures and their changes. */
#define COURSE_REAL_NOTE                                                                                                  \
    N_("Change: of the run, from the first baseline of the course. *: larger than this runner's own wandering within a visit " \
       "(MDC95 = 1.96 × √2 × SEM; Weir 2005), from two silent or baseline blocks of two minutes or more; a dash " \
       "before that. From day to day it is larger still. ~: at another belt speed, not like with like.")

/* How a figure of a metric is written: shares as per cent, and so many digits behind the point. */
double course_scale(enum metric m);
int course_digits(enum metric m);

/* report/course_text.c: plain text, in words (phrase.h). */
void course_print_visit(FILE *f, const struct catalogue *w, const struct course *c);
void course_print(FILE *f, const struct catalogue *w, const struct course *c);

#endif
