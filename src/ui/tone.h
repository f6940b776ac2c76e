/* tone.h - what is heard, as samples: a metronome's clicks on an exact grid, and two soft signs.
 *
 * In:  steps a minute, whether the beat is heard, a sign now and then.   Out: 16-bit samples, one channel.
 * How: the clock is the number of samples made. Click k starts at the sample nearest to
 *      origin + k * rate * 60 / spm, worked out from k each time: an error never adds up.
 *
 *      case 1   another tempo     the next click comes one new interval after the last one
 *      case 2   not heard         the grid goes on in silence; when heard again the clicks are where they
 *                                 would have been (a sound once begun is finished)
 *      case 3   a sign            two notes that glide up (TONE_RISE: the value is too low) or down
 *                                 (TONE_FALL); a second one while the first sounds is dropped
 *
 * Pure: no library, no clock, no allocation.  Threads: one at a time per struct.  Errors: none.
 */
#ifndef UI_TONE_H
#define UI_TONE_H

#include <stdbool.h>
#include <stdint.h>

#define TONE_BEAT_MIN_SPM 60.0
#define TONE_BEAT_MAX_SPM 300.0
#define TONE_CLICK_MS     45
#define TONE_SIGN_MS      140

enum tone_sign {
    TONE_NONE = 0,
    TONE_RISE,
    TONE_FALL,
};

struct tone {
    int rate_hz;
    uint64_t n_made; /* samples ever made: the clock */
    double beat_spm; /* NAN: no grid */
    bool beat_is_heard;
    double origin;       /* sample of click 0 of the grid; fractional */
    uint64_t n_clicks;   /* of the grid, begun or passed in silence */
    uint64_t next_click; /* sample it begins at; valid when there is a grid */
    int click_at;        /* samples into the click that sounds; -1: none */
    enum tone_sign sign; /* that sounds */
    int sign_at;
    double phase_rad;       /* of the gliding note */
    double gain, gain_goal; /* 0..1; the gain follows within a few ms, so that nothing cracks */
};

/* Silent, full volume. rate_hz: samples a second. */
void tone_init(struct tone *t, int rate_hz);

/* Steps a minute; NAN takes the grid away. Out of TONE_BEAT_MIN_SPM..TONE_BEAT_MAX_SPM counts as NAN. */
void tone_set_beat(struct tone *t, double spm, bool is_heard);

/* 0..1; 0 mutes. */
void tone_set_volume(struct tone *t, double volume);

/* Starts a sign now. */
void tone_signal(struct tone *t, enum tone_sign sign);

/* Makes the next n samples. */
void tone_render(struct tone *t, int16_t *sample, int n);

#endif
