#include "gait/footside.h"

#include "sim/random.h"

#include <criterion/criterion.h>
#include <math.h>

/* Places of contacts: right feet on odd ranks, `half_mm` to the right of a middle line that drifts, noise on
 * it. */
struct walkway {
    struct random random;
    double half_mm, noise_mm, drift_mm;
};

static double
place_mm(struct walkway *w, int rank)
{
    return (rank % 2 == 1 ? w->half_mm : -w->half_mm) + w->drift_mm * rank +
           w->noise_mm * random_normal(&w->random);
}

static struct walkway
walkway(uint64_t seed, double half_mm, double noise_mm, double drift_mm)
{
    struct walkway w = { .half_mm = half_mm, .noise_mm = noise_mm, .drift_mm = drift_mm };
    random_init(&w.random, seed);
    return w;
}

static bool
is_right_about(const struct footside *f, int rank)
{
    return footside_foot(f, rank) == (rank % 2 == 1 ? STEP_FOOT_RIGHT : STEP_FOOT_LEFT);
}

Test(footside, two_contacts_are_enough_for_an_answer_and_three_for_a_vote)
{
    struct footside f;
    footside_init(&f);
    cr_assert_eq(footside_foot(&f, 0), STEP_FOOT_UNKNOWN);
    footside_feed(&f, 0, -40);
    cr_assert_eq(footside_foot(&f, 0), STEP_FOOT_UNKNOWN);
    cr_assert(!footside_is_sure(&f));
    footside_feed(&f, 1, 40);
    cr_assert(is_right_about(&f, 0) && is_right_about(&f, 1));
    cr_assert(!footside_is_sure(&f));
    footside_feed(&f, 2, -40);
    cr_assert(is_right_about(&f, 2));
}

Test(footside, alternating_feet_are_told_apart_in_noise)
{
    for (uint64_t seed = 1; seed <= 50; seed++) {
        struct walkway w = walkway(seed, 30, 12, 0);
        struct footside f;
        footside_init(&f);
        for (int k = 0; k < 200; k++) {
            footside_feed(&f, k, place_mm(&w, k));
            if (k >= 3)
                cr_assert(is_right_about(&f, k), "seed %d, contact %d", (int) seed, k);
        }
        cr_assert(footside_is_sure(&f));
    }
}

/* The runner wanders over the belt: every contact may be on either side of any fixed line. */
Test(footside, crossing_the_middle_line_does_not_matter)
{
    for (int sign = -1; sign <= 1; sign += 2) {
        struct walkway w = walkway(3, 15, 4, sign * 4.0);
        struct footside f;
        footside_init(&f);
        for (int k = 0; k < 100; k++) {
            footside_feed(&f, k, place_mm(&w, k));
            if (k >= 3)
                cr_assert(is_right_about(&f, k));
        }
        cr_assert(footside_is_sure(&f));
    }
}

/* A narrow base: the vote's mean is 2 of its standard deviations. A vote of one contact against the mean of
 * two: noise sd sqrt(1.5), so half_mm * 2 / (sqrt(1.5) noise) = 2. */
Test(footside, narrow_base_is_right_within_ten_contacts)
{
    int n_right = 0, n_false_sure = 0;
    for (uint64_t seed = 1; seed <= 500; seed++) {
        struct walkway w = walkway(seed, 10, 10 / sqrt(1.5), 0);
        struct footside f;
        footside_init(&f);
        for (int k = 0; k < 10; k++)
            footside_feed(&f, k, place_mm(&w, k));
        n_right += is_right_about(&f, 9);
        n_false_sure += footside_is_sure(&f) && !is_right_about(&f, 9);
    }
    cr_assert_geq(n_right, 499);
    cr_assert_eq(n_false_sure, 0);
}

/* A foot that missed the sensor: rank goes up by two, the feet stay what they were. */
Test(footside, missed_contact_is_counted_in_by_rank)
{
    struct walkway w = walkway(5, 25, 8, 0);
    struct footside f;
    footside_init(&f);
    for (int k = 0; k < 100; k++) {
        if (k % 9 == 4)
            continue;
        footside_feed(&f, k, place_mm(&w, k));
        if (k >= 3)
            cr_assert(is_right_about(&f, k), "contact %d", k);
    }
}

/* Only one foot ever meets the sensor: there is nothing to compare it with. */
Test(footside, one_foot_alone_is_unknown)
{
    struct walkway w = walkway(4, 25, 8, 0);
    struct footside f;
    footside_init(&f);
    for (int k = 0; k < 60; k += 2)
        footside_feed(&f, k, place_mm(&w, k));
    cr_assert_eq(footside_foot(&f, 58), STEP_FOOT_UNKNOWN);
    cr_assert(!footside_is_sure(&f));
}

/* The count slipped by one: the votes turn the answer within some 30 contacts, and it passes through not
 * sure. */
Test(footside, wrong_count_is_found_out_and_mended)
{
    struct walkway w = walkway(6, 25, 8, 0);
    struct footside f;
    int mended = -1, n_unsure = 0;
    footside_init(&f);
    for (int k = 0; k < 150; k++)
        footside_feed(&f, k, place_mm(&w, k));
    cr_assert(footside_is_sure(&f));
    for (int k = 150; k < 250; k++) {
        footside_feed(&f, k, place_mm(&w, k + 1));
        bool is_mended = footside_foot(&f, k) == ((k + 1) % 2 == 1 ? STEP_FOOT_RIGHT : STEP_FOOT_LEFT);
        n_unsure += !footside_is_sure(&f);
        if (is_mended && mended < 0)
            mended = k - 150;
        cr_assert(mended < 0 || is_mended);
    }
    cr_assert(mended > 0 && mended <= 35, "after %d", mended);
    cr_assert(n_unsure >= 3);
    cr_assert(footside_is_sure(&f));
}

Test(footside, without_places_the_foot_is_unknown)
{
    struct footside f;
    footside_init(&f);
    for (int k = 0; k < 50; k++)
        footside_feed(&f, k, NAN);
    cr_assert_eq(footside_foot(&f, 49), STEP_FOOT_UNKNOWN);
    cr_assert(!footside_is_sure(&f));
}

Test(footside, places_missing_now_and_then_are_passed_over)
{
    struct walkway w = walkway(8, 25, 8, 0);
    struct footside f;
    footside_init(&f);
    for (int k = 0; k < 100; k++) {
        double mm = place_mm(&w, k);
        footside_feed(&f, k, k % 5 == 2 ? (double) NAN : mm);
    }
    cr_assert(is_right_about(&f, 99));
    cr_assert(footside_is_sure(&f));
}

/* One contact far off - a stumble, a foot of somebody stepping on - has one bounded vote. */
Test(footside, outlier_has_one_vote)
{
    struct walkway w = walkway(9, 25, 5, 0);
    struct footside f;
    footside_init(&f);
    for (int k = 0; k < 40; k++) {
        footside_feed(&f, k, k == 20 ? 3000 : place_mm(&w, k));
        if (k >= 3)
            cr_assert(is_right_about(&f, k), "contact %d", k);
    }
}
