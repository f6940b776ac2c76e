/* number.h - numbers as text, the same in every locale.
 *
 * A point, never a comma; no "-0.00"; NAN and infinities are the caller's affair.
 */
#ifndef PAPER_NUMBER_H
#define PAPER_NUMBER_H

#include <stdio.h>

#define NUMBER_MAX 48

/* value with so many digits after the point (0-12). Values beyond 1e15 come in exponent form, so that they
 * fit. Gives out. Precondition: value is finite. */
const char *number_fixed(char out[NUMBER_MAX], double value, int digits);

/* value as number_fixed() gives it, or a dash for what is not known (one byte, so that columns stay aligned for every tool),
 * at the right of so many columns. */
void number_print(FILE *f, int width, double value, int digits);

/* value with up to 10 significant digits, the shortest form (as %g). Precondition: value is finite. */
const char *number_short(char out[NUMBER_MAX], double value);

#endif
