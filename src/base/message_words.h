/* message_words.h - the one place where a message becomes a sentence: commands and panel alike call it.
 *
 * The sentences of a language are one table, by code, with {1} {2} {3} where the parameters go, in any order and as
 * often as a language needs. English is built in; a row is a struct, so that plural forms and a translator's context
 * can stand beside the sentence when catalogues come. Only the edge includes this header (tests/house/layers.txt).
 *
 * Memory: none of its own.   Threads: any.   Errors: none; words that do not fit are cut, and end with "…".
 */
#ifndef BASE_MESSAGE_WORDS_H
#define BASE_MESSAGE_WORDS_H

#include "base/message.h"

#include <stddef.h>

#define MESSAGE_WORDS_MAX 1024 /* bytes that hold any message's words */

/* The message in words; "" for MESSAGE_NONE. Precondition: it is whole. cap >= 4. Returns out. */
char *message_words(const struct message *m, char *out, size_t cap);

/* The sentence of a code as it stands in the table, with its {n}. */
const char *message_words_template(enum message_code code);

#endif
