/* dose.h - how much was run, and whether it grew fast since an earlier visit (which one: report/course.h).
 *
 * In:  running steps, or counts of two visits.   Out: counts; a note.
 * Rule: a note when running minutes or steps grew by more than DOSE_GROWTH_PCT since the last visit, or
 *      forefoot-first steps by as much and by at least DOSE_FORE_MIN_STEPS.
 * Source: more than 30 % in two weeks went with more injuries of distance (Nielsen RO et al. 2014, J Orthop
 *      Sports Phys Ther 44:739-747, 873 novices; read in summaries). That was in two weeks, not from visit to visit:
 *      the transfer is ours. The rule of 10 % a week brought no fewer injuries (Buist I et al. 2008, Am J
 *      Sports Med 36:33-39), so it is not used. Forefoot-first steps are counted apart, since they load calf and
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
#define DOSE_TEXT_MAX 240

struct dose {
    int n_steps, n_fore_steps; /* running steps; those that land on the forefoot first */
    double minutes;            /* of running, by the steps' own times */
};

/* One running step, settled. Others are passed over. */
void dose_feed(struct dose *d, const struct step *s);

/* True, and a sentence with figures and source in out, when it grew fast; else false and "". */
bool dose_note(const struct dose *now, const struct dose *last, char out[DOSE_TEXT_MAX]);

#endif
