#include "gait/zero.h"

#include "gait/condition.h"

#include <math.h>

/* How fast the zero follows the flights' own zeros: half way at each, so that one flight's noise goes in by half, and a
 * drift of 10 N/s (3 N a step) leaves it behind by one step's drift. common practice, no source */
#define ZERO_GAIN 0.5
/* The noise changes slower than the zero: a mean over about five flights. common practice, no source */
#define NOISE_GAIN 0.2
/* An empty sensor is steadier than the threshold over this; else somebody is on it. common practice, no source */
#define EMPTY_NOISE_PART 3
/* A floor nearer to the zero than this share of the threshold is the zero. common practice, no source */
#define FLOOR_NEAR_SHARE 0.3

void
zero_init(struct zero *z)
{
    *z = (struct zero) { .noise_n = NAN };
}

void
zero_learn_flight(struct zero *z, const struct trace *t, double from_us, double touchdown_us, double *scratch)
{
    struct condition_floor f = condition_flight_zero(t, from_us, touchdown_us, scratch);
    if (isnan(f.zero_n))
        return;
    /* The first flights of all bring it there at once. */
    double gain = isnan(z->noise_n) ? 1 : ZERO_GAIN;
    double fwd = condition_flight_moment(t, from_us, touchdown_us, false, scratch);
    double right = condition_flight_moment(t, from_us, touchdown_us, true, scratch);
    if (!isnan(fwd) && !isnan(right)) {
        z->moment_fwd_n_mm += gain * (fwd - z->moment_fwd_n_mm);
        z->moment_right_n_mm += gain * (right - z->moment_right_n_mm);
    }
    z->force_n += gain * (f.zero_n - z->force_n);
    z->noise_n = isnan(z->noise_n) ? f.spread_n : z->noise_n + NOISE_GAIN * (f.spread_n - z->noise_n);
}

void
zero_learn_empty(struct zero *z, const struct trace *t, double from_us, double to_us, double on_n, double *scratch)
{
    struct condition_floor f = condition_flight_zero(t, from_us, to_us, scratch);
    if (f.spread_n < on_n / EMPTY_NOISE_PART && fabs(f.zero_n - z->force_n) < on_n) {
        z->force_n = f.zero_n;
        z->noise_n = f.spread_n;
    }
}

bool
zero_learn_floor(struct zero *z, const struct trace *t, double from_us, double to_us, double on_n, double *scratch)
{
    struct condition_floor f = condition_find_floor(t, from_us, to_us, scratch);
    if (!(fabs(f.zero_n - z->force_n) > FLOOR_NEAR_SHARE * on_n))
        return false;
    z->force_n = f.zero_n;
    z->noise_n = NAN; /* the floor's edges are in its spread; the first flight tells better */
    return true;
}
