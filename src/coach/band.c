#include "coach/band.h"

#include <assert.h>
#include <math.h>

void
band_init(struct band *b, double low, double high)
{
    assert(!(low >= high));
    *b = (struct band){ .low = low, .high = high };
}

static enum verdict_side
plain_side(const struct band *b, double value)
{
    if (value < b->low)
        return VERDICT_BELOW;
    return value > b->high ? VERDICT_ABOVE : VERDICT_IN;
}

/* The side that value speaks for, given the side we are on: each edge is moved away by the margin. */
static enum verdict_side
side_seen_from(const struct band *b, double value)
{
    const double margin = BAND_MARGIN_SHARE * (b->high - b->low);
    const double low = b->side == VERDICT_BELOW ? b->low + margin : b->low - margin;
    const double high = b->side == VERDICT_ABOVE ? b->high - margin : b->high + margin;
    if (value < low)
        return VERDICT_BELOW;
    return value > high ? VERDICT_ABOVE : VERDICT_IN;
}

enum verdict_side
band_feed(struct band *b, double value)
{
    if (isnan(value) || isnan(b->low) || isnan(b->high)) {
        b->side = VERDICT_UNKNOWN;
        b->n_next = 0;
        return b->side;
    }
    if (b->side == VERDICT_UNKNOWN) {
        b->side = plain_side(b, value);
        b->n_next = 0;
        return b->side;
    }
    const enum verdict_side seen = side_seen_from(b, value);
    if (seen == b->side) {
        b->n_next = 0;
        return b->side;
    }
    b->n_next = seen == b->next ? b->n_next + 1 : 1;
    b->next = seen;
    if (b->n_next >= BAND_HOLD_STEPS) {
        b->side = seen;
        b->n_next = 0;
    }
    return b->side;
}

double
band_distance(const struct band *b, double value)
{
    if (isnan(value) || isnan(b->low) || isnan(b->high))
        return 0;
    if (value < b->low)
        return (value - b->low) / (b->high - b->low);
    return value > b->high ? (value - b->high) / (b->high - b->low) : 0;
}
