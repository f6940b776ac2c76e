/* phrase.h - what a report says, in the language it is asked for: sentences, figures, moments, lists.
 *
 * In:  a catalogue (base/catalogue.h; NULL: English), an English text that stands in the code or in a mark of base/mark.h.
 * Out: its words, with {1} {2} .. filled in; figures with the language's decimal sign, moments in its order of day and month,
 *      as its .po file has them (contexts "runner" and "paper"). Machines get theirs elsewhere: number.h, local_time.h, csv.h, json.h.
 * Memory: the caller's.   Threads: what is loaded is only read.   Errors: none; what does not fit ends with "…".
 */
#ifndef PAPER_PHRASE_H
#define PAPER_PHRASE_H

#include "base/catalogue.h"
#include "base/mark.h"
#include "paper/number.h"

#include <stdint.h>
#include <stdio.h>

#define PHRASE_MAX 2048 /* bytes of the longest sentence in any language */
#define PHRASE_TIME_MAX 64

/* The words alone. */
const char *phrase(const struct catalogue *w, const char *english);
const char *phrase_in(const struct catalogue *w, const char *context, const char *english);

/* words with the parts in the places {1} .. {9}; parts end with NULL. Gives out. */
char *phrase_fill(char *out, size_t cap, const char *words, ...) __attribute__((sentinel));

/* Into the array out: a sentence and its parts; and one whose form hangs on a count, given by NP_(one, many). */
#define PHRASE(w, out, english, ...)            phrase_fill((out), sizeof(out), phrase((w), (english)), __VA_ARGS__, (char *) NULL)
#define PHRASE_COUNT(w, out, n, one_many, ...)  phrase_fill((out), sizeof(out), phrase_count((w), (n), one_many), __VA_ARGS__, (char *) NULL)
const char *phrase_count(const struct catalogue *w, int n, const char *one, const char *many);

/* value with so many digits, or a dash for what is not known; signed: with a plus too. Gives out. */
const char *phrase_number(const struct catalogue *w, char out[NUMBER_MAX], double value, int digits);
const char *phrase_signed(const struct catalogue *w, char out[NUMBER_MAX], double value, int digits);
const char *phrase_int(char out[NUMBER_MAX], int64_t value);

/* The day and minute of a stored moment, in the zone where it happened. Gives out. */
const char *phrase_time(const struct catalogue *w, char out[PHRASE_TIME_MAX], int64_t utc_ms, int zone_offset_min);

/* One more into a list that is "" at first. */
void phrase_list(const struct catalogue *w, char *out, size_t cap, const char *item);
/* One more sentence behind others. */
void phrase_sentence(char *out, size_t cap, const char *sentence);

/* Columns that a text takes on a terminal. */
int phrase_columns(const char *text);
/* Prints text in at least so many columns: at the left, or, width below 0, at the right of -width. */
void phrase_put(FILE *f, int width, const char *text);
/* A figure, or a dash of one byte, at the right of so many columns. */
void phrase_put_number(FILE *f, const struct catalogue *w, int width, double value, int digits);
/* A table's heads, each at the right of its column; widens those that are too narrow for their head. */
void phrase_put_heads(FILE *f, const struct catalogue *w, const char *const *english, int *width, int n);

#endif
