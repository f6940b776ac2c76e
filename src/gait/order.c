#include "gait/order.h"

/* Lets value[root] sink to its place in the heap value[0..n-1]. */
static void
sink(double *value, int root, int n)
{
    double moved = value[root];
    for (int child; (child = 2 * root + 1) < n; root = child) {
        if (child + 1 < n && value[child + 1] > value[child])
            child++;
        if (value[child] <= moved)
            break;
        value[root] = value[child];
    }
    value[root] = moved;
}

void
order_sort(double *value, int n)
{
    for (int i = n / 2 - 1; i >= 0; i--)
        sink(value, i, n);
    for (int i = n - 1; i > 0; i--) {
        double top = value[0];
        value[0] = value[i];
        value[i] = top;
        sink(value, 0, i);
    }
}

double
order_quantile(const double *sorted, int n, double q)
{
    double at = q * (n - 1);
    int i = (int) at;
    return i + 1 < n ? sorted[i] + (at - i) * (sorted[i + 1] - sorted[i]) : sorted[n - 1];
}
