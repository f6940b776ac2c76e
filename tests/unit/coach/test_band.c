#include "coach/band.h"
#include "coach/cue.h"
#include "coach/run_median.h"

#include <criterion/criterion.h>
#include <math.h>

/* Reproducible noise, uniform in -1..1. */
static double
noise(uint32_t *state)
{
    *state = *state * 1664525u + 1013904223u;
    return (double) (*state >> 8) / 8388608.0 - 1.0;
}

Test(band, the_first_value_counts_at_once)
{
    struct band b;
    band_init(&b, 170, 180);
    cr_assert_eq(band_feed(&b, 169.9), VERDICT_BELOW);
    band_init(&b, 170, 180);
    cr_assert_eq(band_feed(&b, 170), VERDICT_IN);
    band_init(&b, 170, 180);
    cr_assert_eq(band_feed(&b, 180.1), VERDICT_ABOVE);
}

/* case 2: both edges, from both sides: noise inside the margin never changes the side. */
Test(band, noise_at_an_edge_changes_nothing)
{
    static const double edges[] = { 170, 180 };
    for (int e = 0; e < 2; e++)
        for (int start = 0; start < 2; start++) {
            struct band b;
            uint32_t seed = 7;
            band_init(&b, 170, 180);
            const enum verdict_side first = band_feed(&b, edges[e] + (start ? 0.5 : -0.5));
            for (int i = 0; i < 2000; i++)
                cr_assert_eq(band_feed(&b, edges[e] + 0.99 * noise(&seed)), first, "edge %g step %d", edges[e], i);
        }
}

/* case 3 */
Test(band, one_outlier_beyond_the_margin_changes_nothing)
{
    struct band b;
    band_init(&b, 170, 180);
    for (int i = 0; i < 20; i++) {
        cr_assert_eq(band_feed(&b, 175), VERDICT_IN);
        cr_assert_eq(band_feed(&b, i % 2 ? 150 : 200), VERDICT_IN);
    }
}

/* case 4 */
Test(band, a_real_change_is_told_after_two_steps)
{
    struct band b;
    band_init(&b, 170, 180);
    band_feed(&b, 160);
    cr_assert_eq(band_feed(&b, 190), VERDICT_BELOW);
    cr_assert_eq(band_feed(&b, 190), VERDICT_ABOVE);
    cr_assert_eq(band_feed(&b, 175), VERDICT_ABOVE);
    cr_assert_eq(band_feed(&b, 175), VERDICT_IN);
    /* an edge counts as passed only beyond the margin, 10 % of 10 */
    band_feed(&b, 169.1);
    cr_assert_eq(band_feed(&b, 169.1), VERDICT_IN);
    band_feed(&b, 168.9);
    cr_assert_eq(band_feed(&b, 168.9), VERDICT_BELOW);
    band_feed(&b, 170.9);
    cr_assert_eq(band_feed(&b, 170.9), VERDICT_BELOW);
    band_feed(&b, 171.1);
    cr_assert_eq(band_feed(&b, 171.1), VERDICT_IN);
}

/* case 5 */
Test(band, a_missing_value_is_unknown_at_once_and_no_band_always)
{
    struct band b;
    band_init(&b, 170, 180);
    band_feed(&b, 160);
    cr_assert_eq(band_feed(&b, NAN), VERDICT_UNKNOWN);
    cr_assert_eq(band_feed(&b, 175), VERDICT_IN);
    band_init(&b, NAN, NAN);
    cr_assert_eq(band_feed(&b, 175), VERDICT_UNKNOWN);
    cr_assert_eq(band_distance(&b, 175), 0);
}

Test(band, distance_is_in_band_widths)
{
    struct band b;
    band_init(&b, 170, 180);
    cr_assert_float_eq(band_distance(&b, 165), -0.5, 1e-12);
    cr_assert_float_eq(band_distance(&b, 200), 2.0, 1e-12);
    cr_assert_eq(band_distance(&b, 175), 0);
    cr_assert_eq(band_distance(&b, NAN), 0);
}

/* A runner right on the edge, 2 % step-to-step spread, through the rolling median: hardly ever a change. */
Test(band, a_noisy_runner_on_the_edge_does_not_flicker)
{
    struct band b;
    struct run_median r;
    uint32_t seed = 3;
    int n_changes = 0;
    band_init(&b, 170, 180);
    run_median_reset(&r);
    enum verdict_side side = VERDICT_UNKNOWN;
    for (int i = 0; i < 1700; i++) { /* ten minutes */
        run_median_feed(&r, i % 2 ? STEP_FOOT_LEFT : STEP_FOOT_RIGHT, 170 + 3.4 * noise(&seed));
        const enum verdict_side now = band_feed(&b, run_median_of(&r.both));
        n_changes += side != VERDICT_UNKNOWN && now != side;
        side = now;
    }
    cr_assert_leq(n_changes, 60, "%d changes in ten minutes", n_changes); /* one in ten seconds at worst */
}

Test(run_median, is_unknown_until_warm_and_then_the_median_of_the_last_eight)
{
    struct run_median r;
    run_median_reset(&r);
    for (int i = 1; i <= 12; i++) {
        run_median_feed(&r, i % 2 ? STEP_FOOT_LEFT : STEP_FOOT_RIGHT, i);
        if (i < RUN_MEDIAN_MIN_STEPS)
            cr_assert(isnan(run_median_of(&r.both)));
    }
    run_median_feed(&r, STEP_FOOT_LEFT, NAN);
    cr_assert_eq(run_median_of(&r.both), 8.5); /* 5..12 */
    cr_assert_eq(run_median_of(&r.left), 6);   /* 1 3 5 7 9 11 */
    cr_assert_eq(run_median_of(&r.right), 7);
    run_median_feed(&r, STEP_FOOT_UNKNOWN, 100);
    cr_assert_eq(run_median_of(&r.right), 7);
}

static struct verdict_bar
bar_of(enum metric m, enum verdict_side side, double value)
{
    return (struct verdict_bar){ .metric = m, .side = side, .value = value };
}

Test(cue, comes_from_the_metric_furthest_outside_in_band_widths)
{
    struct band band[2];
    struct cue c;
    band_init(&band[0], 170, 180);
    band_init(&band[1], 150, 200);
    cue_init(&c);
    /* cadence half a band-width out, landing a whole one, though by fewer tenths of its value */
    const struct verdict_bar bars[2] = { bar_of(METRIC_CADENCE_SPM, VERDICT_BELOW, 165),
                                         bar_of(METRIC_LANDING_AHEAD_MM, VERDICT_ABOVE, 250) };
    cr_assert_eq(cue_feed(&c, (struct dev_time){ 0 }, bars, band, 2), VERDICT_CUE_LAND_NEARER);
}

Test(cue, stays_five_seconds_even_if_another_is_worse_or_all_is_well)
{
    struct band band[2];
    struct cue c;
    band_init(&band[0], 170, 180);
    band_init(&band[1], 150, 200);
    cue_init(&c);
    const struct verdict_bar slow[2] = { bar_of(METRIC_CADENCE_SPM, VERDICT_BELOW, 165),
                                         bar_of(METRIC_LANDING_AHEAD_MM, VERDICT_IN, 180) };
    const struct verdict_bar far[2] = { bar_of(METRIC_CADENCE_SPM, VERDICT_BELOW, 165),
                                        bar_of(METRIC_LANDING_AHEAD_MM, VERDICT_ABOVE, 400) };
    const struct verdict_bar well[2] = { bar_of(METRIC_CADENCE_SPM, VERDICT_IN, 175),
                                         bar_of(METRIC_LANDING_AHEAD_MM, VERDICT_IN, 180) };
    cr_assert_eq(cue_feed(&c, (struct dev_time){ 1000000 }, slow, band, 2), VERDICT_CUE_QUICKER_STEPS);
    cr_assert_eq(cue_feed(&c, (struct dev_time){ 5999999 }, far, band, 2), VERDICT_CUE_QUICKER_STEPS);
    cr_assert_eq(cue_feed(&c, (struct dev_time){ 6000000 }, far, band, 2), VERDICT_CUE_LAND_NEARER);
    cr_assert_eq(cue_feed(&c, (struct dev_time){ 10999999 }, well, band, 2), VERDICT_CUE_LAND_NEARER);
    cr_assert_eq(cue_feed(&c, (struct dev_time){ 11000000 }, well, band, 2), VERDICT_CUE_NONE);
    cr_assert_eq(cue_feed(&c, (struct dev_time){ 11000001 }, slow, band, 2), VERDICT_CUE_QUICKER_STEPS);
    cue_silence(&c);
    cr_assert_eq(c.shown, VERDICT_CUE_NONE);
}

Test(cue, a_low_loading_rate_is_nothing_to_change)
{
    cr_assert_eq(cue_for(METRIC_LOAD_RATE_BW_S, VERDICT_BELOW), VERDICT_CUE_NONE);
    cr_assert_eq(cue_for(METRIC_LOAD_RATE_BW_S, VERDICT_ABOVE), VERDICT_CUE_LAND_SOFTER);
    cr_assert_eq(cue_for(METRIC_CADENCE_SPM, VERDICT_IN), VERDICT_CUE_NONE);
    cr_assert_eq(cue_for(METRIC_TOE_OUT_DEG, VERDICT_ABOVE), VERDICT_CUE_NONE);
}
