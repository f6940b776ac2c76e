/* message.h - something to be told, as a code with typed parameters: below the edge nobody writes a sentence.
 *
 * In:  a code of a folder's list (messages_FOLDER.inc) and its parameters, in the order of its signature.
 * Out: a plain struct, passed by value, that base/message_words.h turns into words where people read them.
 * How: message_tell(why, MESSAGE_STORE_LACKS_TABLE, message_path(path), name); one without parameters: message_init().
 *      A signature has one letter a parameter:
 *
 *      t  text       a name, a value that was refused, another program's own words   a string
 *      w  word       of ours, looked up in the reader's language                     message_word(N_("mat"))
 *      i  integer                                                                    a whole number
 *      r  real       with its digits and unit; NAN is told as a dash                 a double, message_real()
 *      p  path       of a file or folder                                             message_path()
 *      f  file:line  a line of a file                                                message_place()
 *      e  errno      why the system refused                                          message_errno()
 *      m  message    the cause, itself a message; one a message at most              message_of()
 *
 * Texts are copied. A part longer than MESSAGE_PART_MAX is cut and says so: a text keeps its beginning, a path its end,
 * and the words show where something is missing. A parameter that does not fit the signature is our own mistake (assert).
 *
 * Memory: the struct, nothing else.   Threads: one at a time per message.   Errors: none.
 */
#ifndef BASE_MESSAGE_H
#define BASE_MESSAGE_H

#include "base/err.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Each line of the lists: MESSAGE(code, severity, signature, English), or MESSAGE_COUNT with English for one and for all
 * other counts, which its first integer decides. What a language says stands in assets/languages. */
enum message_code {
    MESSAGE_NONE,
#define MESSAGE(id, severity, signature, english) MESSAGE_##id,
#define MESSAGE_COUNT(id, severity, signature, one, many) MESSAGE_##id,
#include "base/messages.inc"
#undef MESSAGE
#undef MESSAGE_COUNT
    MESSAGE_N_CODES
};

enum message_severity {
    MESSAGE_IS_NOTE,    /* worth knowing */
    MESSAGE_IS_WARNING, /* something is to be looked at */
    MESSAGE_IS_REFUSAL, /* what was asked for did not happen */
};

enum message_unit {
    MESSAGE_UNIT_NONE,
    MESSAGE_UNIT_NEWTON,
    MESSAGE_UNIT_PCT,
    MESSAGE_UNIT_MM,
    MESSAGE_UNIT_CM,
    MESSAGE_UNIT_M,
    MESSAGE_UNIT_MS,
    MESSAGE_UNIT_S,
    MESSAGE_UNIT_MIN,
    MESSAGE_UNIT_KG,
    MESSAGE_UNIT_MB,
    MESSAGE_UNIT_GB,
    MESSAGE_UNIT_HZ,
    MESSAGE_UNIT_M_S,
    MESSAGE_UNIT_KM_H,
    MESSAGE_UNIT_BW,
    MESSAGE_UNIT_BW_S,
    MESSAGE_UNIT_STEPS_MIN,
    MESSAGE_N_UNITS
};

enum message_kind {
    MESSAGE_TEXT = 't',
    MESSAGE_WORD = 'w',
    MESSAGE_INTEGER = 'i',
    MESSAGE_REAL = 'r',
    MESSAGE_PATH = 'p',
    MESSAGE_PLACE = 'f',
    MESSAGE_ERRNO = 'e',
    MESSAGE_INNER = 'm',
};

#define MESSAGE_MAX_PARTS 6
#define MESSAGE_MAX_DEPTH 4  /* of a message with its cause, and the cause's, and so on */
#define MESSAGE_PART_MAX 510 /* bytes of one text, without its end */
#define MESSAGE_TEXT_CAP 1536 /* bytes of all texts of a message and its causes, ends included */
#define MESSAGE_DIGITS_AS_NEEDED (-1) /* as many as the value has, six at most */

struct message_part {
    enum message_kind kind;
    bool is_signed;         /* of a real: with its sign when above 0 */
    bool is_cut;            /* of text, path, place: it was longer; of a cause: there was no room */
    int text_at;            /* of text, word, path, place, cause: where it begins in the message's text */
    int line;               /* of a place; from 1 */
    int digits;             /* of a real, after the point; or MESSAGE_DIGITS_AS_NEEDED */
    enum message_unit unit; /* of a real */
    int64_t integer;        /* an errno too */
    double real;
};

struct message {
    enum message_code code;
    int n_parts;
    int text_len; /* used of text, ends included */
    struct message_part part[MESSAGE_MAX_PARTS];
    char text[MESSAGE_TEXT_CAP];
};

/* A parameter on its way into a message. */
struct message_arg {
    enum message_kind kind;
    const char *text;
    int line, digits;
    bool is_signed;
    enum message_unit unit;
    int64_t integer;
    double real;
    const struct message *inner;
};

struct message_arg message_text(const char *text);
struct message_arg message_word(const char *english);
struct message_arg message_integer(int64_t value);
struct message_arg message_unsigned(uint64_t value);
struct message_arg message_plain(double value); /* digits as needed, no unit */
struct message_arg message_real(double value, int digits, enum message_unit unit);
struct message_arg message_signed(double value, int digits, enum message_unit unit); /* the same, "+" when above 0 */
struct message_arg message_path(const char *path);
struct message_arg message_place(const char *path, int line);
struct message_arg message_errno(int number);
struct message_arg message_of(const struct message *inner);
struct message_arg message_same(struct message_arg arg);

/* Makes m a message with its parameters, one to six. Precondition: they are what the signature says. m may be what a
 * parameter stands in: the new one is made beside it. */
#define message_tell(m, code, ...)                                                                                     \
    message_put((m), (code), (const struct message_arg[]) { MESSAGE_ARGS_(__VA_ARGS__) }, MESSAGE_N_ARGS_(__VA_ARGS__))
void message_put(struct message *m, enum message_code code, const struct message_arg *arg, int n);

/* Makes m a message that has no parameters (yet). */
void message_init(struct message *m, enum message_code code);

/* Adds the next parameter. Precondition: the signature has one there, and of that kind. */
void message_add(struct message *m, struct message_arg arg);

/* True when every parameter of its signature is there: what may be turned into words. */
bool message_is_whole(const struct message *m);

/* True for MESSAGE_NONE: there is nothing to tell. */
bool message_is_none(const struct message *m);

/* True when both tell the same. */
bool message_is_same(const struct message *a, const struct message *b);

enum message_severity message_severity(enum message_code code);

/* The kinds of a code's parameters, a letter each. */
const char *message_signature(enum message_code code);

/* MESSAGE_SAID with a finished sentence: of a library, or what a recording holds. */
void message_say(struct message *m, const char *sentence);

/* The message in English, in one of a few buffers of the thread's own. For what is kept or logged in English, and for tests. */
const char *message_english(const struct message *m);

/* The cause that is part i of m. false: there was no room for it, and inner is none. */
bool message_inner(const struct message *m, int i, struct message *inner);

#define MESSAGE_ARG_(x)                                                                                                \
    _Generic((x),                                                                                                      \
        char *: message_text,                                                                                          \
        const char *: message_text,                                                                                    \
        int: message_integer,                                                                                          \
        long: message_integer,                                                                                         \
        long long: message_integer,                                                                                    \
        unsigned: message_unsigned,                                                                                    \
        unsigned long: message_unsigned,                                                                               \
        unsigned long long: message_unsigned,                                                                          \
        float: message_plain,                                                                                          \
        double: message_plain,                                                                                         \
        struct message_arg: message_same)(x)
#define MESSAGE_ARGS_1_(a)      MESSAGE_ARG_(a)
#define MESSAGE_ARGS_2_(a, ...) MESSAGE_ARG_(a), MESSAGE_ARGS_1_(__VA_ARGS__)
#define MESSAGE_ARGS_3_(a, ...) MESSAGE_ARG_(a), MESSAGE_ARGS_2_(__VA_ARGS__)
#define MESSAGE_ARGS_4_(a, ...) MESSAGE_ARG_(a), MESSAGE_ARGS_3_(__VA_ARGS__)
#define MESSAGE_ARGS_5_(a, ...) MESSAGE_ARG_(a), MESSAGE_ARGS_4_(__VA_ARGS__)
#define MESSAGE_ARGS_6_(a, ...) MESSAGE_ARG_(a), MESSAGE_ARGS_5_(__VA_ARGS__)
#define MESSAGE_SEVENTH_(a, b, c, d, e, f, g, ...) g
#define MESSAGE_N_ARGS_(...) MESSAGE_SEVENTH_(__VA_ARGS__, 6, 5, 4, 3, 2, 1, 0)
#define MESSAGE_ARGS_(...)                                                                                             \
    MESSAGE_SEVENTH_(__VA_ARGS__, MESSAGE_ARGS_6_, MESSAGE_ARGS_5_, MESSAGE_ARGS_4_, MESSAGE_ARGS_3_, MESSAGE_ARGS_2_, \
                     MESSAGE_ARGS_1_, 0)                                                                               \
    (__VA_ARGS__)

#endif
