#include "gait/scale.h"

#include "gait/condition.h"

#include <criterion/criterion.h>
#include <math.h>

#define PERIOD_US 2000.0 /* 500 Hz */

static struct trace TRACE;
static struct scale SCALE;
static double SCRATCH[CONDITION_SCRATCH];
static double now_us;
static unsigned seed;

static void
start(void)
{
    trace_init(&TRACE);
    scale_init(&SCALE);
    now_us = 0;
    seed = 1;
}

TestSuite(scale, .init = start);

/* About normal, standard deviation 1: twelve uniform numbers. */
static double
noise(void)
{
    double sum = -6;
    for (int i = 0; i < 12; i++) {
        seed = seed * 1103515245u + 12345u;
        sum += (double) (seed >> 8 & 0xffff) / 65536;
    }
    return sum;
}

static enum scale_change
feed(double load_n)
{
    struct trace_sample s = { now_us, load_n, NAN, NAN, NAN, NAN, 0 };
    trace_feed(&TRACE, &s);
    enum scale_change c = scale_feed(&SCALE, &TRACE, now_us, PERIOD_US, load_n, SCRATCH);
    now_us += PERIOD_US;
    return c;
}

static double
feed_noise(double seconds, double sd)
{
    double greatest = 0;
    for (int i = 0; i < seconds * 500; i++) {
        double n = sd * noise();
        greatest = fmax(greatest, n);
        feed(n);
    }
    return greatest;
}

Test(scale, nothing_is_told_before_the_first_look_and_then_all_is_seen_again) /* case 1 */
{
    enum scale_change c = SCALE_AS_BEFORE;
    int n = 0;
    while (c == SCALE_AS_BEFORE && n < 1000) {
        cr_assert(isnan(scale_threshold_n(&SCALE)));
        c = feed(noise());
        n++;
    }
    cr_assert_eq(c, SCALE_SEE_AGAIN);
    cr_assert_float_eq(n * PERIOD_US, SCALE_LOOK_US, 2 * PERIOD_US);
    cr_assert(!isnan(scale_threshold_n(&SCALE)));
}

Test(scale, threshold_stays_above_the_noise) /* case 2 */
{
    for (double sd = 0.5; sd < 100; sd *= 4) {
        start();
        double greatest = feed_noise(4, sd);
        cr_assert_float_eq(SCALE.noise_n / sd, 1, 0.2, "sd %g: %g", sd, SCALE.noise_n);
        cr_assert_gt(scale_threshold_n(&SCALE), greatest);
    }
}

Test(scale, load_that_outgrows_all_before_asks_to_see_again) /* case 3 */
{
    feed_noise(1, 1);
    int n_again = 0;
    for (double load_n = 5; load_n < 1700; load_n *= 1.05)
        n_again += feed(load_n) == SCALE_SEE_AGAIN;
    cr_assert_geq(n_again, 10);
    cr_assert_leq(n_again, 30);
    /* The last look had nearly the whole load: what was less than a step's threshold then is gone. */
    cr_assert_gt(SCALE.seen_n * SCALE_GROWTH, 1600);
    cr_assert_float_eq(scale_threshold_n(&SCALE), SCALE_SHARE * SCALE.greatest_n, 1e-9);
}

Test(scale, two_peaks_make_it_known_and_say_so_once) /* case 4 */
{
    feed_noise(1, 1);
    cr_assert(!scale_peak(&SCALE, 1700));
    cr_assert(scale_peak(&SCALE, 1800));
    cr_assert(!scale_peak(&SCALE, 1750));
    cr_assert_float_eq(scale_threshold_n(&SCALE), SCALE_SHARE * 1750, 1e-9);
    cr_assert_eq(feed(2400), SCALE_AS_BEFORE); /* a hard step is no other scale */
    cr_assert_float_eq(scale_threshold_n(&SCALE), SCALE_SHARE * 1750, 1e-9);
}

Test(scale, load_four_times_as_high_shows_that_it_was_wrong) /* case 5 */
{
    feed_noise(1, 1);
    scale_peak(&SCALE, 24);
    scale_peak(&SCALE, 26);
    cr_assert_eq(feed(99), SCALE_AS_BEFORE);
    cr_assert_eq(feed(101), SCALE_WAS_WRONG);
    cr_assert_float_eq(scale_threshold_n(&SCALE), fmax(SCALE_SHARE * 101, SCALE_NOISE_FACTOR * SCALE.noise_n), 1e-9);
    cr_assert(!scale_peak(&SCALE, 1700), "what was known is forgotten");
}

Test(scale, noise_is_told_while_somebody_runs)
{
    for (int i = 0; i < 2500; i++) {
        double phase_s = fmod(i / 500.0, 0.36);
        feed((phase_s < 0.25 ? 1700 * sin(3.14159265 * phase_s / 0.25) : 0) + 5 * noise());
    }
    /* Up to four times too much, since a fifth of the differences is more than the flights hold: the threshold is then
     * still far under a step's sure load, and two contacts later it does not matter. */
    cr_assert(SCALE.noise_n > 4 && SCALE.noise_n < 20, "%g", SCALE.noise_n);
}
