/* band.h - below, in or above a target band, without flicker at its edges.
 *
 * In:  the rolling median, once a step.   Out: enum verdict_side.
 * How: an edge must be passed by BAND_MARGIN_SHARE of the band's width, and be so BAND_HOLD_STEPS steps in
 *      a row, before the side changes.
 *
 *      case 1   first value: its plain side, at once
 *      case 2   noise across an edge within the margin: no change          (test: noise_at_an_edge_...)
 *      case 3   one outlier beyond the margin: no change                   (test: one_outlier_...)
 *      case 4   beyond the margin, twice: the new side, also below -> above (test: a_real_change_...)
 *      case 5   NAN: unknown at once, and the next value is case 1
 *
 * Delay: BAND_HOLD_STEPS - 1 steps. Memory: the struct, nothing else. Pure.
 */
#ifndef COACH_BAND_H
#define COACH_BAND_H

#include "coach/verdict.h"

#define BAND_MARGIN_SHARE 0.10
#define BAND_HOLD_STEPS 2

struct band {
    double low, high; /* NAN: no band, the side is always unknown */
    enum verdict_side side;
    enum verdict_side next; /* where the newest values point */
    int n_next;             /* how many in a row */
};

void band_init(struct band *b, double low, double high);

/* One rolling median. Returns the side, also kept in b->side. */
enum verdict_side band_feed(struct band *b, double value);

/* How far value lies outside, in band-widths: 0 inside, positive above, negative below; 0 when unknown. */
double band_distance(const struct band *b, double value);

#endif
