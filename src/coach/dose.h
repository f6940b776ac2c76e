/* dose.h - how much was run, and whether it grew fast since an earlier visit (which one: report/course.h).
 *
 * In:  running steps, or counts of two visits.   Out: counts; a note.
 * Rule: a note when running minutes or steps grew by more than DOSE_GROWTH_PCT since the last visit, or
 *      steps that do not land on the heel by as much and by at least DOSE_FORE_MIN_STEPS.
 *      Those are mid- and forefoot steps, and at most the ones too near a border to be told as well: both counts are kept
 *      and shown, the note judges the higher one.
 * Source: more than 30 % in two weeks went with more injuries of distance (Nielsen RO et al. 2014, J Orthop
 *      Sports Phys Ther 44:739-747, 873 novices; read in summaries). That was in two weeks, not from visit to visit:
 *      the transfer is ours. The rule of 10 % a week brought no fewer injuries (Buist I et al. 2008, Am J
 *      Sports Med 36:33-39), so it is not used. They are counted apart, since they load calf and
 *      Achilles tendon more (Almonroeder T et al. 2013, Ann Biomed Eng 41:1758-1766); DOSE_FORE_MIN_STEPS
 *      is common practice, no source.
 * Pure.
 */
#ifndef COACH_DOSE_H
#define COACH_DOSE_H

#include "gait/step.h"

#include <stdbool.h>

#define DOSE_GROWTH_PCT 30.0
#define DOSE_FORE_MIN_STEPS 200
#define DOSE_COUNT_MAX 32

struct dose {
    int n_steps;                    /* running steps */
    int n_fore_least, n_fore_most;  /* those that land on mid- or forefoot; with those near a border */
    double minutes;                 /* of running, by the steps' own times */
};

/* One running step, settled. Others are passed over. */
void dose_feed(struct dose *d, const struct step *s);

/* "120", or "100-120" where some steps were too near a border. */
void dose_fore_text(const struct dose *d, char out[DOSE_COUNT_MAX]);

enum dose_growth {
    DOSE_IS_STEADY = 0,
    DOSE_FORE_GREW, /* steps on mid- and forefoot */
    DOSE_GREW,      /* minutes or steps */
};

/* Whether it grew fast by that rule; the first that holds. */
enum dose_growth dose_grew(const struct dose *now, const struct dose *last);

#endif
