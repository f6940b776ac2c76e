#include "gait/condition.h"

#include "gait/order.h"

#include <math.h>

#define PI 3.14159265358979323846
/* The part of a flight that shows the zero: before it the foot's last push fades below the threshold, after it the landing
 * begins. Of a long flight only the last of it: a zero drifts. common practice, no source */
#define FLIGHT_FROM 0.35
#define FLIGHT_TO 0.85
#define FLIGHT_MOST_US 300000.0
/* Fewer samples have no median worth the name; fewer no floor. common practice, no source */
#define FLIGHT_MIN_SAMPLES 4
#define FLOOR_MIN_SAMPLES 32
/* Half of what lies between them is the standard deviation, if the noise is normal (84.1 and 15.9 %). */
#define SPREAD_LOW 0.16
#define SPREAD_HIGH 0.84
/* Floor and peak of some strides, so that spikes of up to 2 % and dips of up to 8 % of the time are neither. A running
 * stride flies for a fifth of it and more (facts E). common practice, no source */
#define FLOOR_AT 0.08
#define PEAK_AT 0.98
/* The peak stands out by twice the usual threshold, else nobody runs there. common practice, no source */
#define SWING_MIN_N 100.0
/* Samples this far up from the floor, as a share of the way to the peak, are the floor's own. common practice, no source */
#define FLOOR_BAND 0.05
/* Two times that differ by less than this are the same sample's: microseconds are what the clock counts in. */
#define SAME_US 1e-6
/* A flight's halves that lie farther apart than this, and than so many standard errors, are a slope: a third of the usual
 * threshold; no recorded flight of 65 ms or more does. fitted on the recorded runs */
#define SLOPE_N 15.0
#define SLOPE_SD 4.0

enum field {
    FIELD_FORCE,
    FIELD_MOMENT_FWD,
    FIELD_MOMENT_RIGHT,
};

static double
field_of(const struct trace_sample *s, enum field field)
{
    return field == FIELD_FORCE ? s->force_n : field == FIELD_MOMENT_FWD ? s->moment_fwd_n_mm : s->moment_right_n_mm;
}

/* Raw values of [from, to], thinned to fit; returns how many. */
static int
collect(const struct trace *t, double from_us, double to_us, enum field field, double *scratch)
{
    uint64_t first = trace_find(t, from_us), end = trace_find(t, to_us);
    uint64_t stride = (end - first) / CONDITION_SCRATCH + 1;
    int n = 0;
    for (uint64_t i = first; i < end && n < CONDITION_SCRATCH; i += stride)
        scratch[n++] = field_of(trace_at(t, i), field);
    return n;
}

/* Sorted values of the middle of a flight; returns how many. */
static int
middle_of_flight(const struct trace *t, double toe_off_us, double touchdown_us, enum field field, double *scratch)
{
    double start_us = fmax(toe_off_us, touchdown_us - FLIGHT_MOST_US);
    double length_us = touchdown_us - start_us;
    int n = collect(t, start_us + FLIGHT_FROM * length_us, start_us + FLIGHT_TO * length_us, field, scratch);
    order_sort(scratch, n);
    return n;
}

/* Whether the middle of a flight falls or rises: its halves' means lie farther apart than noise lays them, and by more
 * than SLOPE_N. */
static bool
is_sloped(const struct trace *t, double toe_off_us, double touchdown_us)
{
    double start_us = fmax(toe_off_us, touchdown_us - FLIGHT_MOST_US);
    double length_us = touchdown_us - start_us;
    double from_us = start_us + FLIGHT_FROM * length_us, to_us = start_us + FLIGHT_TO * length_us;
    double sum[2] = { 0, 0 }, squares = 0;
    int n[2] = { 0, 0 };
    for (uint64_t i = trace_find(t, from_us); i < t->n_fed && trace_at(t, i)->time_us < to_us; i++) {
        double v = trace_at(t, i)->force_n;
        int half = trace_at(t, i)->time_us >= 0.5 * (from_us + to_us);
        sum[half] += v;
        squares += v * v;
        n[half]++;
    }
    if (n[0] < 2 || n[1] < 2)
        return false;
    double mean0 = sum[0] / n[0], mean1 = sum[1] / n[1];
    double inside = fmax(0, squares - n[0] * mean0 * mean0 - n[1] * mean1 * mean1) / (n[0] + n[1] - 2);
    return fabs(mean1 - mean0) > SLOPE_N + SLOPE_SD * sqrt(inside * (1.0 / n[0] + 1.0 / n[1]));
}

double
condition_flight_moment(const struct trace *t, double toe_off_us, double touchdown_us, bool is_right, double *scratch)
{
    enum field field = is_right ? FIELD_MOMENT_RIGHT : FIELD_MOMENT_FWD;
    uint64_t last = trace_find(t, touchdown_us);
    if (last == 0 || !trace_has(t, last - 1) || isnan(field_of(trace_at(t, last - 1), field)))
        return NAN;
    int n = middle_of_flight(t, toe_off_us, touchdown_us, field, scratch);
    return n < FLIGHT_MIN_SAMPLES ? (double) NAN : order_quantile(scratch, n, 0.5);
}

struct condition_floor
condition_flight_zero(const struct trace *t, double toe_off_us, double touchdown_us, double *scratch)
{
    struct condition_floor f = { NAN, NAN };
    double flight_us = touchdown_us - toe_off_us;
    if (flight_us < CONDITION_LONG_FLIGHT_US)
        return f;
    if (flight_us < 2 * CONDITION_LONG_FLIGHT_US && is_sloped(t, toe_off_us, touchdown_us))
        return f;
    int n = middle_of_flight(t, toe_off_us, touchdown_us, FIELD_FORCE, scratch);
    if (n < FLIGHT_MIN_SAMPLES)
        return f;
    f.zero_n = order_quantile(scratch, n, 0.5);
    f.spread_n = 0.5 * (order_quantile(scratch, n, SPREAD_HIGH) - order_quantile(scratch, n, SPREAD_LOW));
    return f;
}

struct condition_floor
condition_find_floor(const struct trace *t, double from_us, double to_us, double *scratch)
{
    struct condition_floor f = { NAN, NAN };
    int n = collect(t, from_us, to_us, FIELD_FORCE, scratch);
    if (n < FLOOR_MIN_SAMPLES)
        return f;
    double sum = 0;
    for (int i = 0; i < n; i++)
        sum += scratch[i];
    order_sort(scratch, n);
    double floor_n = order_quantile(scratch, n, FLOOR_AT), peak_n = order_quantile(scratch, n, PEAK_AT);
    double mean_n = sum / n;
    if (floor_n > CONDITION_FLOOR_SHARE * mean_n || peak_n - floor_n < SWING_MIN_N + fabs(floor_n))
        return f;
    /* The floor's own samples. Their median is the zero. */
    double top_n = floor_n + FLOOR_BAND * (peak_n - floor_n);
    int n_floor = 0;
    while (n_floor < n && scratch[n_floor] <= top_n)
        n_floor++;
    f.zero_n = order_quantile(scratch, n_floor, 0.5);
    f.spread_n = 0.5 * (order_quantile(scratch, n_floor, SPREAD_HIGH) - order_quantile(scratch, n_floor, SPREAD_LOW));
    return f;
}

struct biquad {
    double b0, b1, b2, a1, a2;
};

/* 2nd-order Butterworth by the bilinear transform with pre-warping. */
static struct biquad
butterworth(double rate_hz, double cutoff_hz)
{
    double k = tan(PI * cutoff_hz / rate_hz);
    double norm = 1 / (1 + sqrt(2.0) * k + k * k);
    return (struct biquad) {
        .b0 = k * k * norm,
        .b1 = 2 * k * k * norm,
        .b2 = k * k * norm,
        .a1 = 2 * (k * k - 1) * norm,
        .a2 = (1 - sqrt(2.0) * k + k * k) * norm,
    };
}

/* One pass; starts settled on the first value, so that a flat beginning stays flat. */
static void
run(const struct biquad *q, double *value, int n, int step)
{
    double *v = step > 0 ? value : value + n - 1;
    /* cppcheck-suppress duplicateAssignExpression -- meant: settled on the first value */
    double x1 = *v, x2 = *v, y1 = *v, y2 = *v;
    for (int i = 0; i < n; i++, v += step) {
        double y = q->b0 * *v + q->b1 * x1 + q->b2 * x2 - q->a1 * y1 - q->a2 * y2;
        x2 = x1;
        x1 = *v;
        y2 = y1;
        y1 = y;
        *v = y;
    }
}

void
condition_lowpass(double *value, int n, double rate_hz, double cutoff_hz)
{
    if (!(rate_hz >= CONDITION_MIN_RATE_HZ))
        return;
    struct biquad q = butterworth(rate_hz, cutoff_hz);
    run(&q, value, n, +1);
    run(&q, value, n, -1);
}

int
condition_resample(const struct trace *t, const struct trace_zero *z, double start_us, double period_us,
                   double *value, int n)
{
    uint64_t i = trace_find(t, start_us);
    for (int k = 0; k < n; k++) {
        double at_us = start_us + k * period_us;
        while (i < t->n_fed && trace_at(t, i)->time_us < at_us - SAME_US)
            i++;
        if (i == t->n_fed)
            return k;
        const struct trace_sample *b = trace_at(t, i);
        double force_n = b->force_n;
        if (b->time_us > at_us + SAME_US && i > 0 && trace_has(t, i - 1)) {
            const struct trace_sample *a = trace_at(t, i - 1);
            force_n = a->force_n + (at_us - a->time_us) / (b->time_us - a->time_us) * (b->force_n - a->force_n);
        }
        value[k] = force_n - trace_zero_at(z, at_us);
    }
    return n;
}
