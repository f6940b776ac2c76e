#include "ui/tone.h"

#include <assert.h>
#include <math.h>
#include <string.h>

/* Loudest of both voices together stays below full scale: 0.55 + 0.3. */
#define CLICK_AMPLITUDE 0.55
#define CLICK_HZ        1175.0
#define CLICK_FADE_S    0.007
#define CLICK_RISE_S    0.0004
#define SIGN_AMPLITUDE  0.30
#define SIGN_LOW_HZ     392.0
#define SIGN_HIGH_HZ    587.0
#define GAIN_S          0.004 /* a change of volume is taken up in so long */

static const double tone_two_pi = 6.283185307179586;

void
tone_init(struct tone *t, int rate_hz)
{
    assert(rate_hz > 0);
    memset(t, 0, sizeof *t);
    t->rate_hz = rate_hz;
    t->beat_spm = (double) NAN;
    t->click_at = -1;
    t->gain = t->gain_goal = 1.0;
}

/* Sample at which click k of the grid begins. */
static double
tone_click_sample(const struct tone *t, uint64_t k)
{
    return t->origin + (double) k * (t->rate_hz * 60.0 / t->beat_spm);
}

void
tone_set_beat(struct tone *t, double spm, bool is_heard)
{
    t->beat_is_heard = is_heard;
    if (!(spm >= TONE_BEAT_MIN_SPM && spm <= TONE_BEAT_MAX_SPM)) {
        t->beat_spm = (double) NAN;
        return;
    }
    if (spm == t->beat_spm)
        return;
    if (isnan(t->beat_spm) || t->n_clicks == 0) { /* a new grid begins at once */
        t->beat_spm = spm;
        t->origin = (double) t->n_made;
        t->n_clicks = 0;
        t->next_click = t->n_made;
        return;
    }
    t->origin = tone_click_sample(t, t->n_clicks - 1);
    t->beat_spm = spm;
    t->n_clicks = 1;
    const double next = tone_click_sample(t, 1);
    t->next_click = next > (double) t->n_made ? (uint64_t) llround(next) : t->n_made;
    if (next < (double) t->n_made) /* a much quicker beat was due already: it begins here */
        t->origin += (double) t->n_made - next;
}

void
tone_set_volume(struct tone *t, double volume)
{
    t->gain_goal = fmin(1.0, fmax(0.0, volume));
}

void
tone_signal(struct tone *t, enum tone_sign sign)
{
    if (t->sign != TONE_NONE || sign == TONE_NONE)
        return;
    t->sign = sign;
    t->sign_at = 0;
    t->phase_rad = 0.0;
}

/* A struck sound: up at once, away within some ms. */
static double
tone_click(struct tone *t)
{
    const double s = (double) t->click_at / t->rate_hz;
    if (++t->click_at >= t->rate_hz * TONE_CLICK_MS / 1000)
        t->click_at = -1;
    return CLICK_AMPLITUDE * fmin(1.0, s / CLICK_RISE_S) * exp(-s / CLICK_FADE_S) *
           sin(tone_two_pi * CLICK_HZ * s);
}

/* A note that glides, under half a turn of a sine: no edge at either end. */
static double
tone_glide(struct tone *t)
{
    const int n = t->rate_hz * TONE_SIGN_MS / 1000;
    const double share = (double) t->sign_at / n, up = t->sign == TONE_RISE ? share : 1.0 - share;
    const double out = SIGN_AMPLITUDE * sin(0.5 * tone_two_pi * share) * sin(t->phase_rad);
    t->phase_rad += tone_two_pi * (SIGN_LOW_HZ + (SIGN_HIGH_HZ - SIGN_LOW_HZ) * up) / t->rate_hz;
    if (++t->sign_at >= n)
        t->sign = TONE_NONE;
    return out;
}

/* Begins the click that is due at this sample, if any. */
static void
tone_step_grid(struct tone *t)
{
    if (isnan(t->beat_spm) || t->n_made < t->next_click)
        return;
    if (t->beat_is_heard)
        t->click_at = 0;
    t->next_click = (uint64_t) llround(tone_click_sample(t, ++t->n_clicks));
}

void
tone_render(struct tone *t, int16_t *sample, int n)
{
    const double gain_step = 1.0 / (GAIN_S * t->rate_hz);
    for (int i = 0; i < n; i++) {
        tone_step_grid(t);
        t->n_made++;
        t->gain += fmin(gain_step, fmax(-gain_step, t->gain_goal - t->gain));
        double sum = 0.0;
        if (t->click_at >= 0)
            sum += tone_click(t);
        if (t->sign != TONE_NONE)
            sum += tone_glide(t);
        sample[i] = (int16_t) lround(32767.0 * t->gain * sum);
    }
}
