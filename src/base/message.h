/* message.h - something to be told, as a code with typed parameters: below the edge nobody writes a sentence.
 *
 * In:  a code of MESSAGE_LIST and its parameters, in the order of its signature.
 * Out: a plain struct, passed by value, that base/message_words.h turns into words where people read them.
 * How: a signature has one letter a parameter:
 *
 *      t  text       a name, a value that was refused, the operating system's own words
 *      i  integer
 *      r  real       with its digits and unit; NAN is told as a dash
 *      p  path       of a file or folder
 *      f  file:line  a line of a file
 *
 * Texts are copied. A part longer than MESSAGE_PART_MAX is cut and says so: a text keeps its beginning, a path its end,
 * and the words show where something is missing. A parameter that does not fit the signature is our own mistake (assert).
 *
 * Memory: the struct, nothing else.   Threads: one at a time per message.   Errors: none.
 */
#ifndef BASE_MESSAGE_H
#define BASE_MESSAGE_H

#include <stdbool.h>
#include <stdint.h>

/* X(code, severity, signature). The words of each stand in message_words.c. */
#define MESSAGE_LIST(X)                                                                                                \
    X(NONE, NOTE, "")                                                                                                  \
    X(SAID, REFUSAL, "t") /* the sentence of a module that has no codes yet */                                         \
    X(COPIES_NO_ROOM, WARNING, "rr")                                                                                   \
    X(COPIES_TOO_LARGE, WARNING, "rr")                                                                                 \
    X(COPIES_OLD_WENT, NOTE, "ip")                                                                                     \
    X(TEXT_TOO_LONG, REFUSAL, "tii") /* what it is; its bytes; how many there may be */                                \
    X(TEXT_NO_UTF8, REFUSAL, "t")                                                                                      \
    X(TEXT_HAS_CONTROL, REFUSAL, "t")                                                                                  \
    X(STORE_HAS_FOREIGN, REFUSAL, "ptt") /* trigger, view; its name */                                                 \
    X(STORE_LACKS_TABLE, REFUSAL, "pt")                                                                                \
    X(STORE_FOLDER_IS_OPEN, WARNING, "pp") /* twice: what to do names it again */                                      \
    X(RESTORE_NO_FILE, REFUSAL, "pt")                                                                                  \
    X(RESTORE_IS_ITSELF, REFUSAL, "p")                                                                                 \
    X(RESTORE_NOT_OURS, REFUSAL, "p")                                                                                  \
    X(RESTORE_NEWER, REFUSAL, "p")                                                                                     \
    X(RESTORE_IN_USE, REFUSAL, "p")                                                                                    \
    X(RESTORE_NOT_MOVED, REFUSAL, "pt")                                                                                \
    X(RESTORE_NOT_CONFIRMED, REFUSAL, "")                                                                              \
    X(REPAIR_NO_STORE, REFUSAL, "p")                                                                                   \
    X(STORE_IS_DAMAGED, WARNING, "p")                                                                                  \
    X(REPAIR_NO_FIRST_PAGE, REFUSAL, "p")                                                                              \
    X(CALIB_NOT_OPENED, REFUSAL, "pt")                                                                                 \
    X(CALIB_NOT_READ, REFUSAL, "p")                                                                                    \
    X(CALIB_NO_FOLDER, REFUSAL, "p")                                                                                   \
    X(CALIB_LINE_IS_NO_INI, REFUSAL, "f")                                                                              \
    X(CALIB_NO_SECTION, REFUSAL, "ft")                                                                                 \
    X(CALIB_NO_KEY, REFUSAL, "ft")                                                                                     \
    X(CALIB_NO_NUMBER, REFUSAL, "ft")                                                                                  \
    X(CALIB_NO_WHAT, REFUSAL, "ft")                                                                                    \
    X(CALIB_NO_TIME, REFUSAL, "ft")                                                                                    \
    X(CALIB_WHAT_IS_LATE, REFUSAL, "ft")                                                                               \
    X(CALIB_WHAT_IS_MISSING, REFUSAL, "f")                                                                             \
    X(CALIB_WRONG_COUNT, REFUSAL, "ft")                                                                                \
    X(CALIB_ONLY_MAT, REFUSAL, "f")                                                                                    \
    X(CALIB_BAD_ELEMENTS, REFUSAL, "ftt")                                                                              \
    X(CALIB_NONE_TO_UNDO, REFUSAL, "")                                                                                 \
    X(CALIB_SOMEBODY_ON, WARNING, "r")                                                                                 \
    X(CALIB_GAIN_WAS_OFF, WARNING, "r")                                                                                \
    X(SPILL_TAKEN, NOTE, "itp")                                                                                        \
    X(SPILL_NOT_TAKEN, WARNING, "pt")                                                                                  \
    X(SPILL_HAS_NO_RUNNER, WARNING, "tp")                                                                              \
    X(SPILL_IS_WHOLE, WARNING, "p")

#define MESSAGE_CODE_(id, severity, signature) MESSAGE_##id,
enum message_code { MESSAGE_LIST(MESSAGE_CODE_) MESSAGE_N_CODES };
#undef MESSAGE_CODE_

enum message_severity {
    MESSAGE_IS_NOTE,    /* worth knowing */
    MESSAGE_IS_WARNING, /* something is to be looked at */
    MESSAGE_IS_REFUSAL, /* what was asked for did not happen */
};

/* A unit's sign is the same in every language. */
enum message_unit { MESSAGE_UNIT_NONE, MESSAGE_UNIT_NEWTON, MESSAGE_UNIT_PCT, MESSAGE_N_UNITS };

enum message_kind {
    MESSAGE_TEXT = 't',
    MESSAGE_INTEGER = 'i',
    MESSAGE_REAL = 'r',
    MESSAGE_PATH = 'p',
    MESSAGE_PLACE = 'f',
};

#define MESSAGE_MAX_PARTS 3
#define MESSAGE_PART_MAX 510      /* bytes of one text, without its end; an old sentence of ERR_WHY_MAX fits */
#define MESSAGE_TEXT_CAP 768      /* bytes of all texts of a message, ends included */
#define MESSAGE_DIGITS_AS_NEEDED (-1) /* as many as the value has, six at most */

struct message_part {
    enum message_kind kind;
    bool is_cut;            /* of text, path, place: it was longer */
    int text_at;            /* of text, path, place: where it begins in the message's text */
    int line;               /* of a place; from 1 */
    int digits;             /* of a real, after the point; or MESSAGE_DIGITS_AS_NEEDED */
    enum message_unit unit; /* of a real */
    int64_t integer;
    double real;
};

struct message {
    enum message_code code;
    int n_parts;
    int text_len; /* used of text, ends included */
    struct message_part part[MESSAGE_MAX_PARTS];
    char text[MESSAGE_TEXT_CAP];
};

/* Begins a message that has no parameters yet. */
void message_init(struct message *m, enum message_code code);

/* Adds the next parameter. Precondition: the signature has one there, and of that kind. */
void message_add_text(struct message *m, const char *text);
void message_add_integer(struct message *m, int64_t value);
void message_add_real(struct message *m, double value, int digits, enum message_unit unit);
void message_add_path(struct message *m, const char *path);
void message_add_place(struct message *m, const char *path, int line);

/* True when every parameter of its signature is there: what may be turned into words. */
bool message_is_whole(const struct message *m);

enum message_severity message_severity(enum message_code code);

/* The kinds of a code's parameters, a letter each. */
const char *message_signature(enum message_code code);

/* MESSAGE_SAID with a sentence that an older module left in its why[]. */
void message_say(struct message *m, const char *sentence);

#endif
