/* panel_words.h - the panel's words in the physio's language, from assets/panel-LANGUAGE.ini.
 *
 * In:  one UTF-8 INI file a language.   Out: the words for an English text, or that text itself.
 * How: the code says what it shows in English; the key of a text is its letters and digits, in lower case
 *      but for the first, and the rest as single _, at most PANEL_WORDS_KEY_MAX - 1 signs: "Pain now, 0 to 10?" is
 *      Pain_now_0_to_10, "{1} of the {2}" is x1_of_the_x2. In a text {1}, {2} .. stand for
 *      what is filled in, in any order. A text that a file leaves out is shown in English: nothing is ever blank. What a
 *      person typed (codes, notes, shoes) and plan names are not words and are never looked up.
 *      A line that begins with a blank goes on the one before.
 * Memory: the struct.   Threads: what is loaded is only read.
 * Errors: ERR_USAGE (no language), ERR_OS (no file), ERR_FORMAT (line in why); then all words are English.
 */
#ifndef PAGES_PANEL_WORDS_H
#define PAGES_PANEL_WORDS_H

#include "base/err.h"

#include <stdbool.h>
#include <stddef.h>

#define PANEL_WORDS_N_MAX   512
#define PANEL_WORDS_KEY_MAX 41
#define PANEL_WORDS_MAX     320 /* bytes of one text */

struct panel_words {
    int n;
    bool is_spaced; /* words are parted by blanks: not in Japanese */
    bool is_english;
    struct {
        char key[PANEL_WORDS_KEY_MAX];
        char text[PANEL_WORDS_MAX];
    } row[PANEL_WORDS_N_MAX]; /* by key */
    char why[ERR_WHY_MAX];
};

/* Loads language (two letters). dir NULL = the usual places of words.h. */
enum err panel_words_load(struct panel_words *w, const char *language, const char *dir);

/* True for NULL too. */
bool panel_words_are_english(const struct panel_words *w);

/* The key of an English text. */
void panel_words_key(const char *english, char out[PANEL_WORDS_KEY_MAX]);

/* w NULL: English. Returns english itself when there is nothing else. */
const char *panel_words_of(const struct panel_words *w, const char *english);

/* The words for a text with {1} .. in it, filled with part[0..n-1]. Returns out. */
char *panel_words_fill(const struct panel_words *w, char *out, size_t cap, const char *english, const char *const *part,
                       int n);

#endif
