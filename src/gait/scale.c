#include "gait/scale.h"

#include "gait/condition.h"
#include "gait/order.h"

#include <math.h>

/* Peaks that the scale rests on: the last four strides. common practice, no source */
#define PEAK_SPAN 8
/* Fewer differences tell no noise. common practice, no source */
#define NOISE_MIN_SAMPLES 8
/* Of a sensor without any noise: above 0, whatever its unit. */
#define THRESHOLD_LEAST 1e-6
/* The quantile of the differences that lies in flights or an empty belt's rest. */
#define NOISE_AT 0.2
/* Lower fifth of the absolute differences of two values with standard deviation 1: 0.2533 x sqrt 2. */
#define FIFTH_OF_DIFFERENCE 0.358

void
scale_init(struct scale *s)
{
    stats_init(&s->peaks, PEAK_SPAN);
    s->greatest_n = s->seen_n = 0;
    s->noise_n = s->looked_us = NAN;
    s->is_new = false;
}

static bool
is_known(const struct scale *s)
{
    return s->peaks.n >= SCALE_MIN_PEAKS;
}

static double
noise_of(const struct trace *t, double now_us, double period_us, double *scratch)
{
    uint64_t lag = (uint64_t) fmax(1, round(SCALE_LAG_US / period_us));
    uint64_t first = trace_find(t, now_us - SCALE_WINDOW_US);
    uint64_t stride = (t->n_fed - first) / CONDITION_SCRATCH + 1;
    int n = 0;
    for (uint64_t i = first + lag; i < t->n_fed && n < CONDITION_SCRATCH; i += stride)
        scratch[n++] = fabs(trace_at(t, i)->force_n - trace_at(t, i - lag)->force_n);
    if (n < NOISE_MIN_SAMPLES)
        return NAN;
    order_sort(scratch, n);
    return order_quantile(scratch, n, NOISE_AT) / FIFTH_OF_DIFFERENCE;
}

/* What was measured with the threshold so far does not count. */
static enum scale_change
see_again(struct scale *s)
{
    stats_reset(&s->peaks);
    s->seen_n = s->greatest_n;
    return SCALE_SEE_AGAIN;
}

enum scale_change
scale_feed(struct scale *s, const struct trace *t, double now_us, double period_us, double load_n, double *scratch)
{
    if (is_known(s)) {
        if (load_n <= SCALE_WRONG * stats_median(&s->peaks))
            return SCALE_AS_BEFORE;
        stats_reset(&s->peaks);
        s->greatest_n = s->seen_n = load_n;
        return SCALE_WAS_WRONG;
    }
    s->greatest_n = fmax(s->greatest_n, load_n);
    if (isnan(s->looked_us))
        s->looked_us = now_us;
    if (now_us - s->looked_us >= SCALE_LOOK_US) {
        bool is_first = isnan(s->noise_n);
        double noise_n = noise_of(t, now_us, period_us, scratch);
        s->looked_us = now_us;
        if (!isnan(noise_n))
            s->noise_n = noise_n;
        if (is_first && !isnan(s->noise_n)) {
            return see_again(s);
        }
    }
    if (isnan(s->noise_n) || s->greatest_n <= SCALE_GROWTH * s->seen_n)
        return SCALE_AS_BEFORE;
    return see_again(s);
}

bool
scale_peak(struct scale *s, double peak_n)
{
    bool was_known = is_known(s);
    stats_feed(&s->peaks, peak_n);
    s->is_new = s->is_new || (!was_known && is_known(s));
    return !was_known && is_known(s);
}

double
scale_threshold_n(const struct scale *s)
{
    if (is_known(s))
        return SCALE_SHARE * stats_median(&s->peaks);
    if (isnan(s->noise_n))
        return NAN;
    return fmax(THRESHOLD_LEAST, fmax(SCALE_SHARE * s->greatest_n, SCALE_NOISE_FACTOR * s->noise_n));
}
