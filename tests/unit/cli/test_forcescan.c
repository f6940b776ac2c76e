#include "cli/forcescan.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

static struct forcescan S;
static char PATH[64];

/* Half sines of 250 ms with 110 ms between them at 500 Hz; each peaks 40 N higher than the one before. */
static void
write_trace(double clip_n, double cop_scale)
{
    snprintf(PATH, sizeof PATH, "/tmp/forcescan-%ld.csv", (long) getpid());
    FILE *f = fopen(PATH, "w");
    cr_assert_not_null(f);
    fprintf(f, "t,fz,copy\n");
    for (int i = 0; i < 2500; i++) {
        double t_s = i / 500.0, phase_s = fmod(t_s, 0.36);
        double peak_n = 1600 + 40 * floor(t_s / 0.36);
        double fz = phase_s < 0.25 ? fmin(clip_n, peak_n * sin(3.14159265358979 * phase_s / 0.25)) : 0;
        fprintf(f, "%.6f,%.2f,%.4f\n", t_s, fz, cop_scale * (300 - 2500 * phase_s));
    }
    fclose(f);
}

static void
remove_trace(void)
{
    unlink(PATH);
}

TestSuite(forcescan, .fini = remove_trace);

Test(forcescan, sound_trace_is_said_to_be_sound)
{
    write_trace(1e9, 1);
    cr_assert_eq(forcescan_run(&S, PATH, NAN), ERR_OK, "%s", message_english(&S.why));
    cr_assert_eq(S.n_rows, 2500);
    cr_assert_float_eq(S.rate_by_t_hz, 500, 1e-6);
    cr_assert(isnan(S.clip_n));
    cr_assert_eq(forcescan_run(&S, PATH, 500), ERR_OK);
    cr_assert_eq(forcescan_run(&S, PATH, 503), ERR_OK);
}

Test(forcescan, clipped_force_is_found_where_it_is_cut)
{
    write_trace(1500, 1);
    cr_assert_eq(forcescan_run(&S, PATH, NAN), ERR_OK, "%s", message_english(&S.why));
    cr_assert_float_eq(S.clip_n, 1500, 1e-9);
}

Test(forcescan, rate_that_contradicts_t_is_a_usage_error)
{
    write_trace(1e9, 1);
    cr_assert_eq(forcescan_run(&S, PATH, 250), ERR_USAGE);
    cr_assert(strstr(message_english(&S.why), "column t gives 500"), "%s", message_english(&S.why));
}

Test(forcescan, force_that_no_body_makes_is_not_in_newtons)
{
    write_trace(1e9, 1);
    FILE *f = fopen(PATH, "a");
    fprintf(f, "6.0,1e33,0\n");
    fclose(f);
    cr_assert_eq(forcescan_run(&S, PATH, NAN), ERR_FORMAT);
    cr_assert(strstr(message_english(&S.why), "not in newtons"), "%s", message_english(&S.why));
}

/* The same trace on an offset, or as a walk's: two humps that meet in a valley. */
static void
write_offset(double offset_n, bool is_walk)
{
    snprintf(PATH, sizeof PATH, "/tmp/forcescan-%ld.csv", (long) getpid());
    FILE *f = fopen(PATH, "w");
    cr_assert_not_null(f);
    fprintf(f, "t,fz\n");
    for (int i = 0; i < 5000; i++) {
        double t_s = i / 500.0, phase_s = fmod(t_s, 0.36);
        double run_n = phase_s < 0.25 ? 1650 * sin(3.14159265358979 * phase_s / 0.25) : 0;
        double walk_n = 700 + 200 * sin(2 * 3.14159265358979 * t_s / 0.3) + 60 * sin(2 * 3.14159265358979 * t_s / 0.6);
        fprintf(f, "%.6f,%.2f\n", t_s, offset_n + (is_walk ? walk_n : run_n));
    }
    fclose(f);
    cr_assert_eq(forcescan_run(&S, PATH, NAN), ERR_OK, "%s", message_english(&S.why));
    remove_trace();
}

Test(forcescan, run_on_an_offset_shows_its_flights_and_a_walk_none)
{
    static const double offsets_n[] = { -300, 0, 500, 1000, 1500 };
    for (size_t i = 0; i < sizeof offsets_n / sizeof *offsets_n; i++) {
        write_offset(offsets_n[i], false);
        cr_expect(S.has_flights, "offset %g", offsets_n[i]);
        cr_expect_float_eq(S.floor_n, offsets_n[i], 5, "offset %g: %g", offsets_n[i], S.floor_n);
        write_offset(offsets_n[i], true);
        cr_expect_not(S.has_flights, "walk, offset %g", offsets_n[i]);
    }
}

Test(forcescan, metres_are_not_taken_for_millimetres)
{
    write_trace(1e9, 1e-3);
    cr_assert_eq(forcescan_run(&S, PATH, NAN), ERR_FORMAT);
    cr_assert(strstr(message_english(&S.why), "metres"), "%s", message_english(&S.why));
}

Test(forcescan, missing_rows_do_not_contradict_the_rate)
{
    snprintf(PATH, sizeof PATH, "/tmp/forcescan-%ld.csv", (long) getpid());
    FILE *f = fopen(PATH, "w");
    cr_assert_not_null(f);
    fprintf(f, "t,fz\n");
    for (int i = 0; i < 1000; i++)
        if (i % 5 != 0)
            fprintf(f, "%.6f,%d\n", i / 500.0, i % 7);
    fclose(f);
    cr_assert_eq(forcescan_run(&S, PATH, 500), ERR_OK, "%s", message_english(&S.why));
}
