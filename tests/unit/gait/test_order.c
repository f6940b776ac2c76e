#include "gait/order.h"

#include "sim/random.h"

#include <criterion/criterion.h>

Test(order, sorts_any_numbers_of_any_count)
{
    static double x[3000];
    struct random r;
    random_init(&r, 1);
    for (int n = 0; n < 3000; n = n < 20 ? n + 1 : 2 * n + 1)
        for (int kind = 0; kind < 4; kind++) {
            double sum = 0, sorted_sum = 0;
            for (int i = 0; i < n; i++) {
                static const double few[] = { 3, -1, 3, 0 };
                x[i] = kind == 0 ? random_normal(&r) : kind == 1 ? i : kind == 2 ? -i : few[i % 4];
                sum += x[i];
            }
            order_sort(x, n);
            for (int i = 0; i < n; i++)
                sorted_sum += x[i];
            cr_assert_float_eq(sorted_sum, sum, 1e-9);
            for (int i = 1; i < n; i++)
                cr_assert(x[i - 1] <= x[i]);
        }
}

Test(order, quantiles_lie_between_neighbours)
{
    static const double x[] = { 1, 2, 4, 8 };
    cr_assert_float_eq(order_quantile(x, 4, 0), 1, 0);
    cr_assert_float_eq(order_quantile(x, 4, 1), 8, 0);
    cr_assert_float_eq(order_quantile(x, 4, 0.5), 3, 1e-12);
    cr_assert_float_eq(order_quantile(x, 4, 0.9), 4 + 0.7 * 4, 1e-12);
    cr_assert_float_eq(order_quantile(x, 1, 0.3), 1, 0);
}
