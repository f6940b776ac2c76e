/* The belt's speed as the prints of the last contacts show it. Expected: belt.h's words, computed by hand. */
#include "gait/belt.h"

#include <criterion/criterion.h>
#include <math.h>

Test(belt, from_the_fifth_contact_on_an_odd_one_is_not_believed)
{
    for (int n_before = 3; n_before <= 4; n_before++) {
        struct belt b;
        belt_init(&b, NAN);
        for (int i = 0; i < n_before; i++)
            cr_assert_eq(belt_feed(&b, 3), 3);
        const double seen_m_s = belt_feed(&b, 3.3); /* 10 % off */
        cr_expect(n_before == 4 ? isnan(seen_m_s) : seen_m_s == 3.3, "after %d: %g", n_before, seen_m_s);
        cr_expect_eq(belt_speed_m_s(&b), 3);
    }
}

Test(belt, the_entered_speed_stands_whatever_the_prints_show)
{
    struct belt b;
    belt_init(&b, 2.5);
    belt_feed(&b, 3);
    cr_expect_eq(belt_speed_m_s(&b), 2.5);
    belt_init(&b, NAN);
    cr_expect(isnan(belt_speed_m_s(&b)), "nothing was seen");
}
