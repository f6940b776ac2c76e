/* footside.h - which foot each contact was, from where it landed across the belt.
 *
 * One contact against a midline is not enough: one recorded runner in five crosses it. Feet alternate, so
 * the question is asked once for a whole run of contacts: are the even ones left, or the odd ones? Every contact
 * votes with how far to the right of its two neighbours' mean it landed; votes are bounded, and old ones fade
 * slowly (half-life about 27 contacts), so that one wrong count of contacts is found out and mended.
 * Where a contact landed: the mean of the COP early in it (5-20 % of the contact) and that of all of it. Forefoot
 * landers meet the ground with the foot's outer border, so the early COP parts their feet best (a recorded runner
 * with both feet on one line: mean vote 2.2 standard deviations, against 0.2 for the whole contact). Heel landers
 * whose toes point outwards may cross their heels, and there the whole contact is right. The mean serves both.
 * A foot that missed the sensor is counted in by time: the caller says how many steps passed.
 */
#ifndef GAIT_FOOTSIDE_H
#define GAIT_FOOTSIDE_H

#include "gait/step.h"

#define FOOTSIDE_FROM_SHARE 0.05
#define FOOTSIDE_TO_SHARE 0.20 /* measured: worse from 0.3 on, useless from 0.5 on */

struct footside {
    double score_mm;        /* > 0: even ranks are right feet */
    double weight_mm2;      /* faded sum of squared votes: the score's spread under pure chance */
    int n_contacts;         /* in this run */
    double place_mm[3];     /* newest last */
    int rank[3];
};

void footside_init(struct footside *f);

/* Feeds a contact. rank: number of steps since the run's first contact (goes up by one a step, by more when a
 * contact was missed). right_mm: where it landed, to the right; NAN when unknown. */
void footside_feed(struct footside *f, int rank, double right_mm);

/* Foot of the contact with this rank as known now. */
enum step_foot footside_foot(const struct footside *f, int rank);

/* Whether the votes would be unlikely by chance (2.5 standard deviations). */
bool footside_is_sure(const struct footside *f);

#endif
