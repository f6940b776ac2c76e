/* show_as.h - how a runner likes the screen: key=value words, read, said, and what is allowed in them.
 *
 *      theme=dark|light     language=de     distance=0.3..10 (metres)
 *      sound=on|off         metronome=100..260|target|off          volume=0..100
 *
 * In:  words apart by blanks, in any order; the last of a key counts.   Out: struct show_as.
 * A wrong word is left out and named; the others hold. The words that say what is allowed are in no language, so that
 * they need none. A comma is a decimal sign in half of the world.
 * Pure.  Memory: the struct.  Errors: false, the first wrong word in wrong.
 */
#ifndef RUNNER_SHOW_AS_H
#define RUNNER_SHOW_AS_H

#include "ui/theme.h"

#include <stdbool.h>

#define SHOW_AS_TEXT_MAX 96 /* all six words fit */
#define SHOW_AS_BEAT_MIN_SPM 100.0
#define SHOW_AS_BEAT_MAX_SPM 260.0

enum show_as_key {
    SHOW_AS_THEME = 0,
    SHOW_AS_LANGUAGE,
    SHOW_AS_DISTANCE,
    SHOW_AS_SOUND,
    SHOW_AS_METRONOME,
    SHOW_AS_VOLUME,
    SHOW_AS_N_KEYS
};

struct show_as {
    unsigned has; /* bits 1u << enum show_as_key: which were said; the rest is as shipped */
    enum theme_kind theme;
    char language[3];
    double distance_m;
    bool has_signs;      /* a tone for a step out of its band */
    bool beat_is_target; /* metronome=target */
    double beat_spm;     /* else this; NAN: off */
    double volume;       /* 0..1 */
    char wrong[SHOW_AS_TEXT_MAX]; /* "": none */
    enum show_as_key wrong_key;   /* of it; SHOW_AS_N_KEYS: no such key */
};

/* languages: those that there are, as "de en fr"; NULL or "": any two small letters. */
bool show_as_parse(const char *text, const char *languages, struct show_as *out);

/* What may stand in a word of that key, "theme=dark|light"; for SHOW_AS_N_KEYS all keys. languages as above. */
const char *show_as_allowed(enum show_as_key key, const char *languages, char out[SHOW_AS_TEXT_MAX]);

/* The words again, in the order above; "" when nothing was said. */
void show_as_text(const struct show_as *s, char out[SHOW_AS_TEXT_MAX]);

#endif
