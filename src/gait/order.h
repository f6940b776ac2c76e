/* order.h - puts numbers in order without asking for memory.
 *
 * The C library's qsort() may allocate for its copy (glibc does from 1 kB on), which nothing here may do while a
 * runner runs. Heap sort: in place, n log n in the worst case too.
 */
#ifndef GAIT_ORDER_H
#define GAIT_ORDER_H

/* Ascending, in place. Precondition: no NAN. */
void order_sort(double *value, int n);

/* The q-quantile (0..1) of sorted[0..n-1], linear between neighbours. Precondition: n >= 1. */
double order_quantile(const double *sorted, int n, double q);

#endif
