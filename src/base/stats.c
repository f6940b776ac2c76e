#include "base/stats.h"

#include <assert.h>
#include <math.h>
#include <string.h>

void
stats_init(struct stats *s, int span)
{
    assert(span >= 1 && span <= STATS_MAX);
    s->span = span;
    stats_reset(s);
}

void
stats_reset(struct stats *s)
{
    s->n = 0;
    s->head = 0;
}

void
stats_feed(struct stats *s, double x)
{
    if (isnan(x))
        return;
    s->value[s->head] = x;
    s->head = (s->head + 1) % s->span;
    if (s->n < s->span)
        s->n++;
}

double
stats_mean_of(const double *x, int n)
{
    if (n == 0)
        return NAN;
    double sum = 0;
    for (int i = 0; i < n; i++)
        sum += x[i];
    return sum / n;
}

double
stats_sd_of(const double *x, int n)
{
    if (n < 2)
        return NAN;
    const double mean = stats_mean_of(x, n);
    double sum = 0;
    for (int i = 0; i < n; i++)
        sum += (x[i] - mean) * (x[i] - mean);
    return sqrt(sum / (n - 1));
}

double
stats_median_of(const double *x, int n)
{
    assert(n <= STATS_MAX);
    if (n == 0)
        return NAN;
    double sorted[STATS_MAX];
    /* cppcheck-suppress uninitvar -- the first n of x are the caller's */
    memcpy(sorted, x, (size_t) n * sizeof *x);
    for (int i = 1; i < n; i++) { /* insertion: n is small and mostly 8 */
        const double moved = sorted[i];
        int at = i;
        for (; at > 0 && sorted[at - 1] > moved; at--)
            sorted[at] = sorted[at - 1];
        sorted[at] = moved;
    }
    return n % 2 ? sorted[n / 2] : 0.5 * (sorted[n / 2 - 1] + sorted[n / 2]);
}

/* The numbers held stand in value[0..n-1] whatever the head: order does not matter to any of these. */
double
stats_mean(const struct stats *s)
{
    return stats_mean_of(s->value, s->n);
}

double
stats_sd(const struct stats *s)
{
    return stats_sd_of(s->value, s->n);
}

double
stats_median(const struct stats *s)
{
    return stats_median_of(s->value, s->n);
}

double
stats_robust_sd(const struct stats *s)
{
    const double median = stats_median(s);
    double away[STATS_MAX];
    for (int i = 0; i < s->n; i++)
        away[i] = fabs(s->value[i] - median);
    return 1.4826 * stats_median_of(away, s->n);
}
