/* message_words.h - the one place where a message becomes a sentence: commands and panel alike call it.
 *
 * English stands in the lists (messages_FOLDER.inc), with {1} {2} .. where the parameters go, in any order and as often
 * as a language needs; what a language says, in its catalogue. What a catalogue lacks is told in English. Numbers have
 * the language's decimal sign. Only the edge includes this header (tests/house/layers.txt).
 *
 * Memory: none of its own.   Threads: any.   Errors: none; words that do not fit are cut, and end with "…".
 */
#ifndef BASE_MESSAGE_WORDS_H
#define BASE_MESSAGE_WORDS_H

#include "base/catalogue.h"
#include "base/message.h"

#include <stddef.h>

#define MESSAGE_WORDS_MAX 2048 /* bytes that hold any message's words */

/* The message in the words of c (NULL: English); "" for MESSAGE_NONE. Precondition: it is whole. cap >= 4. Returns out. */
char *message_words(const struct message *m, const struct catalogue *c, char *out, size_t cap);

/* The English of a code as it stands in its list, with its {n}: the form for all counts but one. */
const char *message_words_template(enum message_code code);

#endif
