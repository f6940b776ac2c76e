/* sound.h - the sound device: SDL asks tone.h for samples, in a thread of SDL's own.
 *
 * In:  a beat, a sign, a volume, from the main thread.   Out: sound.
 * How: each call holds the device's lock for as long as it takes to copy a number, no longer.
 *
 * Memory: taken in sound_open, none later.  Threads: main only; the samples are made in SDL's thread under
 * the device's lock.  Errors: sound_open: ERR_OS with s->why; every other call on a sound that is not open
 * does nothing, so that a missing device is a note and no more.
 */
#ifndef UI_SOUND_H
#define UI_SOUND_H

#include <stdbool.h>
#include <stdint.h>

#include "base/err.h"
#include "base/message.h"
#include "ui/tone.h"

#define SOUND_RATE_HZ 48000
#define SOUND_BLOCK   512 /* samples a call: 11 ms from a sign to its sound */

struct sound {
    uint32_t device; /* 0: not open */
    bool is_muted;
    double volume;    /* 0..1 */
    struct tone tone; /* under the device's lock */
    struct message why;
};

/* Opens the default device, silent. */
enum err sound_open(struct sound *s, double volume);

/* The beat from now on; NAN: none. */
void sound_set_beat(struct sound *s, double spm, bool is_heard);

/* One sign; TONE_NONE does nothing. */
void sound_signal(struct sound *s, enum tone_sign sign);

void sound_set_muted(struct sound *s, bool is_muted);

/* False when the device was taken away since: told once by the caller. */
bool sound_is_there(const struct sound *s);

/* Accepts a zeroed struct. */
void sound_close(struct sound *s);

#endif
