/* say_options.h - a command's words read, its help and its refusals told (base/options.h, cli/say.h).
 *
 * A number that one is to type stands in them as it is typed, with a point in every language.
 */
#ifndef CLI_SAY_OPTIONS_H
#define CLI_SAY_OPTIONS_H

#include "base/options.h"
#include "cli/say.h"

/* Reads the words as options_parse(), and tells: the help on standard output, or what is wrong with them, one line on standard
 * error. Returns as options_parse(); the caller ends with 0 after OPTIONS_HELP, with 2 after OPTIONS_BAD. */
int say_options(const struct options_spec *spec, int argc, char **argv, const char **positional, int max_positional);

/* For what a command finds wrong in its words itself: one line on standard error, and where the help is. Returns 2, the exit code. */
#define say_refuse(spec, ...) say_refuse_put((spec), SAY_PUT_(__VA_ARGS__))
int say_refuse_put(const struct options_spec *spec, enum message_code code, const struct message_arg *arg, int n);
int say_refuse_of(const struct options_spec *spec, const struct message *m);

#endif
