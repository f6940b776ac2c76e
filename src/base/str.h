/* str.h - the few string jobs that C's library does badly: copies that end, numbers that are whole. */
#ifndef BASE_STR_H
#define BASE_STR_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Copies text into out[cap], always ended by a zero; false when it had to be cut. cap >= 1. */
bool str_copy(char *out, size_t cap, const char *text);

/* Appends likewise to what is in out. */
bool str_append(char *out, size_t cap, const char *text);

/* The point of a number as printf writes it becomes the language's sign, of any length; false, and as it was, when there is
 * no room for that. */
bool str_set_decimal(char *text, size_t cap, const char *sign);

/* True when text begins with prefix. */
bool str_begins_with(const char *text, const char *prefix);

/* True when text ends with suffix. */
bool str_ends_with(const char *text, const char *suffix);

/* A plain decimal (sign, digits, point, exponent), spaces around it allowed, nothing else: no hex, no
 * nan, no infinity, no overflow. false leaves *out alone. */
bool str_to_double(const char *text, double *out);

/* A whole decimal number, spaces around it allowed. false leaves *out alone. */
bool str_to_i64(const char *text, int64_t *out);

#endif
