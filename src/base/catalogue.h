/* catalogue.h - the words of one language, from a compiled catalogue of gettext's (.mo).
 *
 * In:  a file as msgfmt writes it, UTF-8; layout as the GNU gettext manual has it ("The Format of GNU MO Files").
 * Out: for an English text, and for the context in which it stands, its words; else that English text itself.
 * How: the C library's own look-up gives one language a process, and none at all where only the C locale is installed;
 *      runner, panel and page need theirs side by side. So a catalogue is an object. All places and lengths in the
 *      file are checked at load, once: a look-up then can't leave it. Texts are sorted in the file, and found by halving.
 *
 * Memory: what the file takes, from catalogue_load() to catalogue_close(). What a look-up returns lives as long, or
 *         is the caller's own English.
 * Threads: what is loaded is only read.
 * Errors: ERR_GONE (no such file), ERR_OS, ERR_FORMAT, with one sentence in why; then every look-up gives English.
 */
#ifndef BASE_CATALOGUE_H
#define BASE_CATALOGUE_H

#include "base/err.h"
#include "base/message.h"
#include "base/plural.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define CATALOGUE_BYTES_MAX (4 << 20) /* a language of ours takes about 100 kB */

struct catalogue {
    char *bytes; /* the file; NULL: English */
    size_t len;
    uint32_t n;                /* texts, sorted */
    uint32_t id_at, words_at;  /* where the two tables stand */
    bool is_swapped;           /* written on a machine of the other byte order */
    struct plural plural;
};

/* English alone, as after a failed load. */
void catalogue_init(struct catalogue *c);

/* Loads path into c, which is then to be closed. */
enum err catalogue_load(struct catalogue *c, const char *path, struct message *why);

/* Gives the memory back; c is English then. Accepts one that was never loaded, after catalogue_init(). */
void catalogue_close(struct catalogue *c);

/* The words for an English text. context NULL: none; c NULL: English. */
const char *catalogue_of(const struct catalogue *c, const char *context, const char *english);

/* The words for count of a thing, of which English has a form for one and one for all else. */
const char *catalogue_count(const struct catalogue *c, const char *context, const char *one, const char *many,
                            uint64_t count);

/* The words of text i, its first form; NULL from the last on, and for English. For who wants to see them all. */
const char *catalogue_at(const struct catalogue *c, uint32_t i);

/* The value of a line of the catalogue's head, such as "Language"; false when it has none. */
bool catalogue_head(const struct catalogue *c, const char *name, char *out, size_t cap);

#endif
