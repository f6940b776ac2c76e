/* The metronome and the signs, measured in the samples themselves; time is the number of samples. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <criterion/criterion.h>

#include "aid/click_meter.h"
#include "ui/tone.h"

enum { RATE_HZ = 48000, BLOCK = 512, HALF_HOUR_S = 1800 };

/* Renders so long and tells the meter; returns the loudest sample. */
static int
listen(struct tone *t, struct click_meter *m, double seconds)
{
    int16_t block[BLOCK];
    int loudest = 0;
    for (int64_t left = (int64_t) (seconds * RATE_HZ); left > 0;) {
        int n = left < BLOCK ? (int) left : BLOCK;
        tone_render(t, block, n);
        if (m != NULL)
            click_meter_feed(m, block, n);
        for (int i = 0; i < n; i++)
            loudest = abs(block[i]) > loudest ? abs(block[i]) : loudest;
        left -= n;
    }
    return loudest;
}

Test(tone, in_thirty_minutes_no_click_is_off_by_more_than_a_sample, .timeout = 500)
{
    static const double spms[] = { 170.0, 187.3 };
    for (size_t i = 0; i < sizeof spms / sizeof spms[0]; i++) {
        struct tone t;
        struct click_meter m;
        tone_init(&t, RATE_HZ);
        tone_set_beat(&t, spms[i], true);
        click_meter_init(&m, RATE_HZ, spms[i]);
        listen(&t, &m, HALF_HOUR_S);
        cr_assert_eq(m.n_clicks, (uint64_t) ceil(HALF_HOUR_S * spms[i] / 60.0), "%g: %llu", spms[i],
                     (unsigned long long) m.n_clicks);
        cr_assert(m.worst_interval <= 1.0, "%g: an interval is off by %g samples", spms[i], m.worst_interval);
        cr_assert(m.worst_place <= 1.0, "%g: drifts by %g samples", spms[i], m.worst_place);
    }
}

Test(tone, another_tempo_counts_from_the_last_click)
{
    struct tone t;
    struct click_meter m;
    tone_init(&t, RATE_HZ);
    tone_set_beat(&t, 160.0, true); /* clicks at 0, 18000, 36000 */
    listen(&t, NULL, 40000.0 / RATE_HZ);
    tone_set_beat(&t, 180.0, true);
    click_meter_init(&m, RATE_HZ, 180.0);
    listen(&t, &m, 5.0);
    cr_assert(llabs((int64_t) m.first + 40000 - 52000) <= 2, "16000 after 36000: %llu",
              (unsigned long long) m.first);
    cr_assert(m.worst_place <= 1.0);
    /* The same again changes nothing. */
    uint64_t next = t.next_click;
    tone_set_beat(&t, 180.0, true);
    cr_assert_eq(t.next_click, next);
}

Test(tone, a_beat_much_quicker_than_before_does_not_make_up_for_the_past)
{
    struct tone t;
    struct click_meter m;
    tone_init(&t, RATE_HZ);
    tone_set_beat(&t, 60.0, true);
    listen(&t, NULL, 0.9);
    tone_set_beat(&t, 240.0, true);
    click_meter_init(&m, RATE_HZ, 240.0);
    listen(&t, &m, 5.0);
    cr_assert_eq(m.n_clicks, 20);
    cr_assert(m.worst_place <= 1.0, "%g", m.worst_place);
}

Test(tone, a_beat_that_is_withheld_comes_back_where_it_would_have_been)
{
    struct tone t;
    struct click_meter m;
    tone_init(&t, RATE_HZ);
    tone_set_beat(&t, 171.0, true);
    listen(&t, NULL, 1.0);
    tone_set_beat(&t, 171.0, false);
    listen(&t, NULL, 0.1); /* what had begun is over */
    cr_assert_eq(listen(&t, NULL, 7.77), 0, "silence");
    tone_set_beat(&t, 171.0, true);
    uint64_t then = t.n_made;
    click_meter_init(&m, RATE_HZ, 171.0);
    listen(&t, &m, 5.0);
    double beats = (double) (then + m.first) / m.interval;
    cr_assert(fabs(beats - round(beats)) * m.interval <= 12.0, "on the old grid: %g", beats);
}

Test(tone, no_beat_no_sound)
{
    struct tone t;
    tone_init(&t, RATE_HZ);
    cr_assert_eq(listen(&t, NULL, 2.0), 0);
    tone_set_beat(&t, 170.0, true);
    cr_assert(listen(&t, NULL, 2.0) > 8000);
    tone_set_beat(&t, (double) NAN, true);
    listen(&t, NULL, 0.1);
    cr_assert_eq(listen(&t, NULL, 2.0), 0);
    tone_set_beat(&t, 4000.0, true);
    cr_assert_eq(listen(&t, NULL, 2.0), 0, "no such cadence");
}

/* Crossings of zero upwards in a part of a sign: its pitch. */
static int
crossings(const int16_t *sample, int from, int to)
{
    int n = 0;
    for (int i = from + 1; i < to; i++)
        n += sample[i - 1] < 0 && sample[i] >= 0;
    return n;
}

Test(tone, a_sign_glides_up_for_too_low_and_down_for_too_high)
{
    enum { N = RATE_HZ * TONE_SIGN_MS / 1000 };
    static int16_t sample[2 * N];
    for (int sign = TONE_RISE; sign <= TONE_FALL; sign++) {
        struct tone t;
        tone_init(&t, RATE_HZ);
        tone_signal(&t, (enum tone_sign) sign);
        tone_render(&t, sample, 2 * N);
        int early = crossings(sample, 0, N / 2), late = crossings(sample, N / 2, N);
        cr_assert(sign == TONE_RISE ? late >= early + 5 : early >= late + 5, "%d then %d", early, late);
        for (int i = N; i < 2 * N; i++)
            cr_assert_eq(sample[i], 0, "over after its time");
        cr_assert(abs(sample[1]) < 300 && abs(sample[N - 1]) < 300, "no edge at its ends");
    }
}

Test(tone, a_sign_while_one_sounds_is_dropped)
{
    struct tone t;
    tone_init(&t, RATE_HZ);
    tone_signal(&t, TONE_RISE);
    listen(&t, NULL, 0.05);
    tone_signal(&t, TONE_FALL);
    cr_assert_eq(t.sign, TONE_RISE);
    listen(&t, NULL, 0.2);
    cr_assert_eq(t.sign, TONE_NONE);
}

Test(tone, both_at_once_do_not_clip_and_a_change_of_volume_does_not_crack)
{
    struct tone t;
    tone_init(&t, RATE_HZ);
    tone_set_beat(&t, 200.0, true);
    int16_t last = 0, block[64];
    int jump = 0, loudest = 0;
    for (int i = 0; i < 30000; i++) {
        if (i % 40 == 0)
            tone_signal(&t, i % 80 ? TONE_FALL : TONE_RISE);
        if (i % 7 == 0)
            tone_set_volume(&t, i % 14 ? 0.0 : 1.0);
        tone_render(&t, block, 64);
        for (int k = 0; k < 64; k++) {
            jump = abs(block[k] - last) > jump ? abs(block[k] - last) : jump;
            loudest = abs(block[k]) > loudest ? abs(block[k]) : loudest;
            last = block[k];
        }
    }
    cr_assert(loudest < 32000, "%d", loudest);
    cr_assert(jump < 4500, "from one sample to the next: %d", jump);
}

Test(tone, muted_is_silent_and_half_volume_is_half_as_loud)
{
    struct tone t;
    tone_init(&t, RATE_HZ);
    tone_set_beat(&t, 170.0, true);
    int full = listen(&t, NULL, 2.0);
    tone_set_volume(&t, 0.5);
    listen(&t, NULL, 0.1);
    int half = listen(&t, NULL, 2.0);
    cr_assert(abs(2 * half - full) < 20, "%d, %d", full, half);
    tone_set_volume(&t, 0.0);
    listen(&t, NULL, 0.1);
    cr_assert_eq(listen(&t, NULL, 2.0), 0);
}
