/* words.h - every word on the runner's screen, in the runner's language, from assets/languages/LANGUAGE.po.
 *
 * In:  a language.   Out: fixed strings by cue, gait, block, sensor state, metric.
 * How: the English stands in words.c; its words in another language are those of the context "runner" of that language's
 *      catalogue (base/catalogue.h). Cues are said to a runner in full stride: at most three words. %s is where the
 *      number goes. What a language lacks is English.
 * Where: languages/ in the folder given; else in $UNDERFOOT_ASSETS; ../assets and assets beside the program's own file;
 *        ../share/underfoot/assets; /usr/share and /usr/local/share likewise; last, assets in the folder
 *        that one works in.
 * Memory: the struct.  Threads: what is loaded is only read.
 * Errors: ERR_USAGE (no language), ERR_GONE (no file), ERR_OS, ERR_FORMAT, with one sentence in why.
 */
#ifndef RUNNER_WORDS_H
#define RUNNER_WORDS_H

#include <stddef.h>

#include "base/catalogue.h"
#include "base/err.h"
#include "base/message.h"
#include "base/metric.h"
#include "coach/verdict.h"

#define WORDS_MAX          96
#define WORDS_SENTENCE_MAX 160

enum words_id {
    WORDS_OFF = 0,
    WORDS_STANDING,
    WORDS_WALKING,
    WORDS_COUNTING, /* gait */
    WORDS_WARM_UP,
    WORDS_BASELINE,
    WORDS_COACHED,
    WORDS_SILENT,
    WORDS_COOL_DOWN,
    WORDS_PAUSED,
    WORDS_ENDED,
    WORDS_WAITING,
    WORDS_QUIET,
    WORDS_GONE,
    WORDS_GARBLED, /* sensor: whole sentences */
    WORDS_LEFT,
    WORDS_RIGHT,
    WORDS_AHEAD, /* of the landings: which way is up */
    WORDS_BODY,  /* their line at 0 */
    WORDS_BELT,
    WORDS_LAST_MINUTES,
    WORDS_AGO_S,
    WORDS_STEPS,
    WORDS_STEP_OFF,
    WORDS_PAIN,
    WORDS_NOT_SAVED,
    WORDS_KEPT_ASIDE, /* not in its store, but in another place meanwhile */
    WORDS_DECIMAL, /* the decimal sign */
    WORDS_COUNT
};

struct words {
    char language[8];
    char cue[VERDICT_CUE_COUNT][WORDS_MAX];
    char metric[METRIC_COUNT][WORDS_MAX]; /* label under a bar */
    char unit[METRIC_COUNT][WORDS_MAX];   /* as said to a runner; "" = none */
    char word[WORDS_COUNT][WORDS_SENTENCE_MAX];
    struct message why;
};

/* Loads language (two letters). dir NULL = the usual places. */
enum err words_load(struct words *w, const char *language, const char *dir);

/* Loads the catalogue of a language, to be closed; English has none and needs no file. */
enum err words_catalogue(struct catalogue *c, const char *language, const char *dir, struct message *why);

/* The languages that there are words for, in order, as "de en es". English is always there. */
#define WORDS_LANGUAGES_MAX 64
void words_languages(const char *dir, char out[WORDS_LANGUAGES_MAX]);

/* The first language that the environment asks for (LANGUAGE, LC_ALL, LC_MESSAGES, LANG, in the order that gettext reads them)
 * and that there are words for; "en" when there is none. */
void words_of_environment(const char *dir, char out[3]);

#endif
