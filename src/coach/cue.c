#include "coach/cue.h"

#include <math.h>
#include <stddef.h>

static const struct {
    enum metric metric;
    enum verdict_cue below, above;
} CUES[] = {
    { METRIC_CADENCE_SPM, VERDICT_CUE_QUICKER_STEPS, VERDICT_CUE_SLOWER_STEPS },
    { METRIC_LANDING_AHEAD_MM, VERDICT_CUE_REACH_MORE, VERDICT_CUE_LAND_NEARER },
    { METRIC_LOAD_RATE_BW_S, VERDICT_CUE_NONE, VERDICT_CUE_LAND_SOFTER },
    { METRIC_CONTACT_MS, VERDICT_CUE_LONGER_CONTACT, VERDICT_CUE_SHORTER_CONTACT },
    { METRIC_STRIKE_INDEX_PCT, VERDICT_CUE_FLATTER_FOOT, VERDICT_CUE_HEEL_DOWN },
    { METRIC_BRAKING_IMPULSE_BW_S, VERDICT_CUE_NONE, VERDICT_CUE_BRAKE_LESS },
    { METRIC_PEAK_BRAKING_BW, VERDICT_CUE_NONE, VERDICT_CUE_BRAKE_LESS },
};

void
cue_init(struct cue *c)
{
    *c = (struct cue){ .shown = VERDICT_CUE_NONE };
}

void
cue_silence(struct cue *c)
{
    c->shown = VERDICT_CUE_NONE;
}

enum verdict_cue
cue_for(enum metric metric, enum verdict_side side)
{
    for (size_t i = 0; i < sizeof CUES / sizeof *CUES; i++)
        if (CUES[i].metric == metric)
            return side == VERDICT_BELOW ? CUES[i].below : side == VERDICT_ABOVE ? CUES[i].above : VERDICT_CUE_NONE;
    return VERDICT_CUE_NONE;
}

enum verdict_cue
cue_feed(struct cue *c, struct dev_time now, const struct verdict_bar *bar, const struct band *band, int n_bars)
{
    if (c->shown != VERDICT_CUE_NONE && units_dev_since_us(now, c->since) < CUE_HOLD_US)
        return c->shown;
    enum verdict_cue best = VERDICT_CUE_NONE;
    double furthest = -1;
    for (int i = 0; i < n_bars; i++) {
        const enum verdict_cue mine = cue_for(bar[i].metric, bar[i].side);
        const double distance = fabs(band_distance(&band[i], bar[i].value));
        if (mine != VERDICT_CUE_NONE && distance > furthest) {
            best = mine;
            furthest = distance;
        }
    }
    if (best != c->shown) {
        c->shown = best;
        c->since = now;
    }
    return c->shown;
}
