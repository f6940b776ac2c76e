#include "gait/edge.h"

#include "aid/gait_trace.h"

#include <criterion/criterion.h>

static struct trace T;
static const struct trace_zero NONE = { 0 };

/* One character a millisecond: '#' or '-' 100 N, '_' 0 N, ' ' lost. At 50 N a row of n is n ms long. */
static void
draw(const char *picture)
{
    trace_init(&T);
    for (int i = 0; picture[i] != '\0'; i++)
        if (picture[i] != ' ')
            gait_trace_put(&T, 1e3 * i, picture[i] == '_' ? 0 : 100);
}

static uint64_t
index_at_ms(double ms)
{
    return trace_find(&T, ms * 1e3);
}

Test(edge, clean_crossing_is_the_linear_interpolation)
{
    trace_init(&T);
    static const double force_n[] = { 0, 3, 20, 170, 600, 900, 620, 130, 10, 0 };
    for (int i = 0; i < 10; i++)
        gait_trace_put(&T, 2500.0 * i, force_n[i]);
    struct edge down = edge_touchdown(&T, &NONE, 5, 50), up = edge_toe_off(&T, &NONE, 5, 50);
    cr_assert_float_eq(down.time_us, 2500 * (2 + (50.0 - 20) / (170 - 20)), 1e-9);
    cr_assert_float_eq(up.time_us, 2500 * (7 + (130.0 - 50) / (130 - 10)), 1e-9);
    cr_assert_float_eq(down.spacing_us, 2500, 1e-9);
    cr_assert_float_eq(up.spacing_us, 2500, 1e-9);
}

Test(edge, where_it_starts_within_the_contact_does_not_matter)
{
    draw("_____--###########--_____");
    double down_us = edge_touchdown(&T, &NONE, 12, 50).time_us,
           up_us = edge_toe_off(&T, &NONE, 12, 50).time_us;
    for (uint64_t i = 5; i <= 19; i++) {
        cr_assert_float_eq(edge_touchdown(&T, &NONE, i, 50).time_us, down_us, 0);
        cr_assert_float_eq(edge_toe_off(&T, &NONE, i, 50).time_us, up_us, 0);
    }
    cr_assert_float_eq(down_us, 4500, 1e-9);
    cr_assert_float_eq(up_us, 19500, 1e-9);
}

/* Time above is counted, time below is not. */
Test(edge, islands_near_an_edge_are_joined_to_it_by_their_time_above)
{
    static const struct {
        const char *picture;
        double down_ms, up_ms;
    } row[] = {
        { "_____________#########______________", 12.5, 21.5 },
        { "__________--_#########_-____________", 12.5 - 2, 21.5 + 1 },
        { "_____--___-__#########___--__-______", 12.5 - 3, 21.5 + 3 },
        { "_-___________#########___________--_", 12.5, 21.5 },         /* over 10 ms: not joined */
        { "___-_________#########_________--___", 12.5 - 1, 21.5 + 2 }, /* 9 ms: joined */
    };
    for (int i = 0; i < 5; i++) {
        draw(row[i].picture);
        cr_assert_float_eq(edge_touchdown(&T, &NONE, 16, 50).time_us, row[i].down_ms * 1e3, 1e-6, "row %d",
                           i);
        cr_assert_float_eq(edge_toe_off(&T, &NONE, 16, 50).time_us, row[i].up_ms * 1e3, 1e-6, "row %d", i);
    }
}

Test(edge, hole_in_the_data_shows_as_spacing)
{
    draw("_____      ##########      ____");
    struct edge down = edge_touchdown(&T, &NONE, index_at_ms(15), 50),
                up = edge_toe_off(&T, &NONE, index_at_ms(15), 50);
    cr_assert_float_eq(down.spacing_us, 7000, 1e-9);
    cr_assert_float_eq(up.spacing_us, 7000, 1e-9);
    cr_assert(down.time_us > 4000 && down.time_us < 11000);
    cr_assert(up.time_us > 20000 && up.time_us < 27000);
}

Test(edge, outside_the_data_is_not_known)
{
    draw("########________");
    cr_assert(isnan(edge_touchdown(&T, &NONE, 4, 50).time_us));
    cr_assert(!isnan(edge_toe_off(&T, &NONE, 4, 50).time_us));
    draw("____########");
    cr_assert(isnan(edge_toe_off(&T, &NONE, 8, 50).time_us));
    cr_assert(isnan(edge_toe_off(&T, &NONE, 99, 50).time_us)); /* no such sample */
    trace_init(&T);
    for (int i = 0; i < TRACE_CAP + 100; i++) /* the crossing has been overwritten */
        gait_trace_put(&T, 1e3 * i, i < 50 ? 0 : 1000);
    cr_assert(isnan(edge_touchdown(&T, &NONE, TRACE_CAP, 50).time_us));
}

Test(edge, threshold_stands_on_the_sensors_zero)
{
    struct gait_train g = gait_train_default();
    trace_init(&T);
    gait_train_feed(&T, &g, 1000, 0, 0.48);
    double down_us = edge_touchdown(&T, &NONE, 200, 50).time_us,
           up_us = edge_toe_off(&T, &NONE, 200, 50).time_us;
    g.zero_n = 300;
    g.drift_n_s = 200;
    const struct trace_zero z = { 0, 300, 1e6, 500 };
    trace_init(&T);
    gait_train_feed(&T, &g, 1000, 0, 0.48);
    cr_assert_float_eq(edge_touchdown(&T, &z, 200, 50).time_us, down_us, 1e-3);
    cr_assert_float_eq(edge_toe_off(&T, &z, 200, 50).time_us, up_us, 1e-3);
}

/* Facts E: half sine, 70 kg, 2.5 body weights, 250 ms; time above a threshold, +-0.02 ms. */
Test(edge, time_above_a_threshold_of_a_half_sine_is_as_calculated)
{
    static const double threshold_n[] = { 5, 10, 20, 30, 50, 100 };
    static const double contact_ms[] = { 249.54, 249.07, 248.15, 247.22, 245.36, 240.72 };
    static const double rate_hz[] = { 200, 300, 500, 1000, 2000 };
    /* Where the curve leaves 0 between two samples, the chord is late: by less than a tenth of a sample a
     * side. */
    struct gait_train g = gait_train_default();
    g.peak_n = 2.5 * 70 * 9.81;
    for (int r = 0; r < 5; r++) {
        double tolerance_ms = rate_hz[r] == 2000 ? 0.02 : 200 / rate_hz[r];
        trace_init(&T);
        gait_train_feed(&T, &g, rate_hz[r], 0, 0.45);
        for (int i = 0; i < 6; i++) {
            uint64_t middle = trace_find(&T, 235000);
            double ms = 1e-3 * (edge_toe_off(&T, &NONE, middle, threshold_n[i]).time_us -
                                edge_touchdown(&T, &NONE, middle, threshold_n[i]).time_us);
            cr_assert_float_eq(ms, contact_ms[i], tolerance_ms, "%g N at %g Hz: %.3f ms", threshold_n[i],
                               rate_hz[r], ms);
        }
    }
}

/* Computed: a flight of 8 ms between two ramps; joined they are one edge, the nearest crossings are its own. */
Test(edge, nearest_crossings_join_nothing)
{
    trace_init(&T);
    for (int ms = 0; ms < 300; ms++) {
        double force_n = ms < 100 ? 10.0 * (100 - ms) : ms < 108 ? 0 : 10.0 * (ms - 108);
        gait_trace_put(&T, ms * 1e3, force_n);
    }
    cr_assert_float_eq(edge_nearest(&T, &NONE, 50, 50, +1).time_us, 95e3, 1e-6);
    cr_assert_float_eq(edge_nearest(&T, &NONE, 150, 50, -1).time_us, 113e3, 1e-6);
}
