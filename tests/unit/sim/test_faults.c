#include "sim/faults.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

static struct faults FAULTS;

static void
start(const struct faults_config *c)
{
    faults_init(&FAULTS, c);
}

Test(faults, none_changes_nothing)
{
    struct faults_config c = faults_config_default();
    uint8_t bytes[4] = { 1, 2, 3, 4 };
    start(&c);
    for (int i = 0; i < 1000; i++) {
        cr_assert_eq(faults_count(&FAULTS, i, i, i * 0.1), i);
        cr_assert_eq(faults_arrivals(&FAULTS), 1);
        cr_assert(!faults_damage(&FAULTS, bytes, sizeof bytes));
        cr_assert_eq(faults_deck_n(&FAULTS, i * 0.01, i * 30), 0);
        cr_assert_eq(faults_switch(&FAULTS, 0, i % 2, i * 0.1), i % 2);
        cr_assert(!faults_is_resetting(&FAULTS, i));
    }
}

Test(faults, noise_has_its_standard_deviation_and_no_offset)
{
    struct faults_config c = faults_config_default();
    double sum = 0, squares = 0;
    c.noise_counts = 5;
    start(&c);
    for (int i = 0; i < 40000; i++) {
        double d = faults_count(&FAULTS, 0, 1000, 0) - 1000;
        sum += d;
        squares += d * d;
    }
    cr_assert_float_eq(sum / 40000, 0, 0.4); /* the table of 1024 has an error of its own: 5 / 32 */
    cr_assert_float_eq(sqrt(squares / 40000), 5, 0.4);
}

Test(faults, drift_grows_with_time)
{
    struct faults_config c = faults_config_default();
    c.drift_counts_per_s = 2;
    start(&c);
    cr_assert_eq(faults_count(&FAULTS, 0, 100, 30), 160);
}

Test(faults, saturation_and_stuck_elements)
{
    struct faults_config c = faults_config_default();
    c.saturation_counts = 4095;
    c.n_stuck = 2;
    c.stuck_element[0] = 7;
    c.stuck_counts[0] = 0;
    c.stuck_element[1] = 9;
    c.stuck_counts[1] = 777;
    start(&c);
    cr_assert_eq(faults_count(&FAULTS, 1, 9000, 0), 4095);
    cr_assert_eq(FAULTS.n_saturated, 1);
    cr_assert_eq(faults_count(&FAULTS, 7, 2000, 0), 0);
    cr_assert_eq(faults_count(&FAULTS, 9, 2000, 0), 777);
    cr_assert_eq(faults_count(&FAULTS, 8, 2000, 0), 2000);
}

Test(faults, shares_of_lost_and_repeated_packets_are_kept)
{
    struct faults_config c = faults_config_default();
    int n[3] = { 0 };
    c.lost_share = 0.05;
    c.duplicate_share = 0.02;
    start(&c);
    for (int i = 0; i < 20000; i++)
        n[faults_arrivals(&FAULTS)]++;
    cr_assert_float_eq(n[0] / 20000.0, 0.05, 0.005);
    cr_assert_float_eq(n[2] / 20000.0, 0.02 * 0.95, 0.004);
    cr_assert_eq(FAULTS.n_lost, (uint64_t) n[0]);
    cr_assert_eq(FAULTS.n_duplicates, (uint64_t) n[2]);
}

Test(faults, damage_changes_exactly_one_bit)
{
    struct faults_config c = faults_config_default();
    c.corrupt_share = 1;
    start(&c);
    for (int k = 0; k < 200; k++) {
        uint8_t bytes[16] = { 0 };
        int n_bits = 0;
        cr_assert(faults_damage(&FAULTS, bytes, sizeof bytes));
        for (int i = 0; i < 16 * 8; i++)
            n_bits += bytes[i / 8] >> (i % 8) & 1;
        cr_assert_eq(n_bits, 1);
    }
}

Test(faults, chatter_ends_after_its_time)
{
    struct faults_config c = faults_config_default();
    int n_wrong_early = 0, n_wrong_late = 0;
    c.chatter_ms = 6;
    start(&c);
    for (int i = 0; i < 10000; i++) {
        double t_s = i * 1e-3;
        bool is_down = i / 250 % 2;
        bool is_wrong = faults_switch(&FAULTS, 0, is_down, t_s) != is_down;
        n_wrong_early += is_wrong && i % 250 < 6;
        n_wrong_late += is_wrong && i % 250 > 6;
    }
    cr_assert(n_wrong_early > 60);
    cr_assert_eq(n_wrong_late, 0);
}

Test(faults, clock_wraps_and_restarts)
{
    struct faults_config c = faults_config_default();
    c.clock_start_us = 4294000000U;
    c.reset_at_s = 5;
    c.reset_for_s = 0.5;
    start(&c);
    cr_assert_eq(faults_clock_us(&FAULTS, 0), 4294000000U);
    cr_assert_eq(faults_clock_us(&FAULTS, 1), 4294000000U + 1000000U); /* wrapped: unsigned */
    cr_assert_lt(faults_clock_us(&FAULTS, 1), 100000U);
    cr_assert(faults_is_resetting(&FAULTS, 5.2));
    cr_assert(!faults_is_resetting(&FAULTS, 5.5));
    cr_assert_eq(faults_clock_us(&FAULTS, 5.75), 250000U);
}

Test(faults, seam_passes_once_a_belt_length)
{
    struct faults_config c = faults_config_default();
    int n_bumps = 0;
    double highest_n = 0;
    bool was_up = false;
    c.seam_bump_n = 30;
    c.belt_length_mm = 3000;
    start(&c);
    for (int i = 0; i < 20000; i++) { /* 20 s at 3 m/s: 20 belt lengths */
        double load_n = faults_deck_n(&FAULTS, i * 1e-3, i * 3.0);
        n_bumps += load_n > 15 && !was_up;
        was_up = load_n > 15;
        highest_n = fmax(highest_n, load_n);
    }
    cr_assert_eq(n_bumps, 20);
    cr_assert_float_eq(highest_n, 30, 0.5);
}

Test(faults, vibration_stays_in_its_band)
{
    struct faults_config c = faults_config_default();
    c.vibration_n = 8;
    c.vibration_hz = 120;
    start(&c);
    double last_n = 0, last_s = 0;
    int n_crossings = 0;
    for (int i = 0; i < 200000; i++) {
        double t_s = i * 5e-5, load_n = faults_deck_n(&FAULTS, t_s, 0);
        cr_assert(fabs(load_n) <= 8.0001);
        if (last_n < 0 && load_n >= 0) {
            if (n_crossings++ > 0)
                cr_assert(1 / (t_s - last_s) > 100 && 1 / (t_s - last_s) < 140);
            last_s = t_s;
        }
        last_n = load_n;
    }
    cr_assert(n_crossings > 1100);
}

Test(faults, equal_seeds_give_equal_faults)
{
    struct faults_config c = faults_config_default();
    int32_t first[100];
    c.noise_counts = 50;
    for (int round = 0; round < 2; round++) {
        start(&c);
        for (int i = 0; i < 100; i++) {
            int32_t counts = faults_count(&FAULTS, i, 500, 0);
            if (round)
                cr_assert_eq(counts, first[i]);
            first[i] = counts;
        }
    }
}
