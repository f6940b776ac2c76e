/* panel_words.h - the panel's words in the physio's language, from assets/languages/LANGUAGE.po.
 *
 * In:  a language.   Out: the words for an English text, or that text itself.
 * How: the code says what it shows in English, which is also what its words are found by (base/catalogue.h). In a text
 *      {1}, {2} .. stand for what is filled in, in any order. What a language lacks is shown in English: nothing
 *      is ever blank. What a person typed (codes, notes, shoes) and plan names are not words and are never looked up.
 * Memory: the catalogue's, from panel_words_load() to panel_words_close().   Threads: what is loaded is only read.
 * Errors: ERR_USAGE (no language), ERR_GONE (no file), ERR_OS, ERR_FORMAT, with a sentence in why; then all words are English.
 */
#ifndef PAGES_PANEL_WORDS_H
#define PAGES_PANEL_WORDS_H

#include "base/catalogue.h"
#include "base/err.h"
#include "base/message.h"

#include <stdbool.h>
#include <stddef.h>

#define PANEL_WORDS_MAX 320 /* bytes of one text */

struct panel_words {
    struct catalogue catalogue;
    struct message why;
};

/* Loads language (two letters). dir NULL = the usual places of words.h. English needs no file. */
enum err panel_words_load(struct panel_words *w, const char *language, const char *dir);

/* Accepts one that is all zero. */
void panel_words_close(struct panel_words *w);

/* True for NULL too. */
bool panel_words_are_english(const struct panel_words *w);

/* w NULL: English. Returns english itself when there is nothing else. */
const char *panel_words_of(const struct panel_words *w, const char *english);

/* The decimal sign: "." or ",". */
const char *panel_words_decimal(const struct panel_words *w);

/* The words for a text with {1} .. in it, filled with part[0..n-1]. Returns out. */
char *panel_words_fill(const struct panel_words *w, char *out, size_t cap, const char *english, const char *const *part,
                       int n);

#endif
