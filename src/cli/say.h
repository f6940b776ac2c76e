/* say.h - the one place where a command's sentences are made: all that it tells people, in their language.
 *
 * In:  codes of messages (base/message.h) with their parameters, messages of the modules below, words marked N_() or,
 *      of a table's heads and labels, NC_("table", …).
 * Out: whole lines on standard output, or on standard error with "underfoot: " before them.
 * How: the language is the clinic's choice (store/settings.h, of the user's own data folder), else that of the environment
 *      (runner/words.h). Its catalogue is loaded once, before the command; what can't be loaded is told once, and all is
 *      English then. Figures have the language's decimal sign.
 *      What is for machines is not said here, but printed: CSV, JSON, paths, a command's last line that scripts read.
 *
 * Memory: one catalogue, from say_open() to say_close().   Threads: any, between the two.   Errors: none.
 */
#ifndef CLI_SAY_H
#define CLI_SAY_H

#include "base/catalogue.h"
#include "base/mark.h"
#include "base/message.h"
#include "paper/number.h"

#include <stdio.h>

#define SAY_MAX 2048      /* bytes that hold any message's words */
#define SAY_NUMBER_MAX NUMBER_MAX

/* Before the command, and after it. */
void say_open(void);
void say_close(void);

/* For those that print tables of their own (report/summary.h). */
const struct catalogue *say_catalogue(void);

/* The words of an English text. The second: of a table's head or label. */
const char *say_word(const char *english);
const char *say_table_word(const char *english);

/* value with so many digits and the language's decimal sign; "-" of what is not known. Returns out. */
const char *say_number(char out[SAY_NUMBER_MAX], double value, int digits);

/* A number as one types it, with a point in every language. Returns out. */
const char *say_typed(char out[SAY_NUMBER_MAX], double value);

/* The words of a message, "" of none. Returns out. */
const char *say_text_of(const struct message *m, char out[SAY_MAX]);

/* A line on standard error. */
void say_note_of(const struct message *m);

/* The same, with "underfoot COMMAND: " before it. */
void say_as_of(const char *command, const struct message *m);

/* Each of these takes a code and its parameters, none to six. */
#define say_text(out, ...)   say_text_put((out), SAY_PUT_(__VA_ARGS__))
#define say_line(f, ...)     say_line_put((f), SAY_PUT_(__VA_ARGS__)) /* with its newline */
#define say_note(...)        say_note_put(SAY_PUT_(__VA_ARGS__))
#define say_as(command, ...) say_as_put((command), SAY_PUT_(__VA_ARGS__))

const char *say_text_put(char out[SAY_MAX], enum message_code code, const struct message_arg *arg, int n);
void say_line_put(FILE *f, enum message_code code, const struct message_arg *arg, int n);
void say_note_put(enum message_code code, const struct message_arg *arg, int n);
void say_as_put(const char *command, enum message_code code, const struct message_arg *arg, int n);

/* Makes m of a code and its parameters, of which there may be none. */
#define say_fill(m, ...) say_fill_put((m), SAY_PUT_(__VA_ARGS__))
void say_fill_put(struct message *m, enum message_code code, const struct message_arg *arg, int n);

#define SAY_NONE_(code)      (code), NULL, 0
#define SAY_SOME_(code, ...) (code), (const struct message_arg[]) { MESSAGE_ARGS_(__VA_ARGS__) }, MESSAGE_N_ARGS_(__VA_ARGS__)
#define SAY_EIGHTH_(a, b, c, d, e, f, g, h, ...) h
#define SAY_PUT_(...)                                                                                                  \
    SAY_EIGHTH_(__VA_ARGS__, SAY_SOME_, SAY_SOME_, SAY_SOME_, SAY_SOME_, SAY_SOME_, SAY_SOME_, SAY_NONE_, 0)           \
    (__VA_ARGS__)

#endif
