#include "report/repeat.h"

#include <math.h>

void
repeat_feed(struct repeat *r, const double *value, int n)
{
    double mean = 0;

    if (n < 2)
        return;
    for (int i = 0; i < n; i++)
        mean += value[i] / n;
    for (int i = 0; i < n; i++)
        r->squares += (value[i] - mean) * (value[i] - mean);
    r->n_free += n - 1;
    r->n_groups++;
}

double
repeat_sem(const struct repeat *r)
{
    return r->n_free > 0 ? sqrt(r->squares / r->n_free) : (double) NAN;
}

double
repeat_mdc95(const struct repeat *r)
{
    return REPEAT_MDC_PER_SEM * repeat_sem(r);
}
