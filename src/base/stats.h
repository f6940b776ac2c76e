/* stats.h - mean, spread and median of the last N numbers, in fixed memory.
 *
 * In:  numbers one by one; NAN is skipped (missing is not a value).
 * Out: statistics over the newest N of them, computed afresh at each call: no running sums that drift,
 *      and N is small, so a reader can see that they are right.
 * Memory: the struct, nothing else. Pure: no clock, no allocation.
 */
#ifndef BASE_STATS_H
#define BASE_STATS_H

#define STATS_MAX 256

struct stats {
    int span;   /* how many newest numbers count, 1..STATS_MAX */
    int n;      /* numbers held, <= span */
    int head;   /* where the next one goes */
    double value[STATS_MAX];
};

/* Precondition: 1 <= span <= STATS_MAX. */
void stats_init(struct stats *s, int span);

void stats_reset(struct stats *s);

/* Pushes one number in; NAN is ignored. */
void stats_feed(struct stats *s, double x);

/* NAN when nothing is held. */
double stats_mean(const struct stats *s);

/* Median; the mean of the middle two of an even count. NAN when nothing is held. */
double stats_median(const struct stats *s);

/* Sample standard deviation (n - 1). NAN below two numbers. */
double stats_sd(const struct stats *s);

/* Median absolute deviation from the median, times 1.4826 (the normal distribution's factor). NAN when
 * nothing is held. */
double stats_robust_sd(const struct stats *s);

/* The same for a plain array. The first two leave it alone; the median sorts a copy, n <= STATS_MAX. */
double stats_mean_of(const double *x, int n);
double stats_sd_of(const double *x, int n);
double stats_median_of(const double *x, int n);

#endif
