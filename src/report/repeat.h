/* repeat.h - how far a figure of one runner wanders by itself, and so which change is more than that.
 *
 * In:  groups of repeats (parts of blocks in which nothing was asked of the runner).
 * Out: the standard error of measurement and the smallest change that is real.
 *
 *      SEM   = square root of the mean variance within the groups, each weighted by its degrees of freedom; for pairs the
 *              root mean square of their standard deviations
 *      MDC95 = 1.96 * sqrt(2) * SEM
 *
 * Source: Weir JP 2005, J Strength Cond Res 19:231-240, doi 10.1519/15184.1. SEM from repeats rather than from an ICC,
 * since one runner has no between-person spread. Repeats within a visit say nothing of the difference from day to
 * day, which is larger (Ferber R et al. 2002, J Orthop Res 20:1139-1145): a change that only just passes is not sure.
 * Pure.
 */
#ifndef REPORT_REPEAT_H
#define REPORT_REPEAT_H

#define REPEAT_MDC_PER_SEM 2.77185858

struct repeat {
    double squares; /* sum of squared deviations from each group's mean */
    int n_free;     /* degrees of freedom */
    int n_groups;
};

/* One group of n repeats; fewer than two say nothing. */
void repeat_feed(struct repeat *r, const double *value, int n);

/* NAN without repeats. */
double repeat_sem(const struct repeat *r);
double repeat_mdc95(const struct repeat *r);

#endif
