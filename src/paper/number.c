#include "paper/number.h"

#include <assert.h>
#include <locale.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

/* printf writes the locale's point, which may be several bytes. */
static void
use_point(char *text)
{
    const char *point = localeconv()->decimal_point;
    char *at = strstr(text, point);
    size_t len = strlen(point);

    if (at == NULL || strcmp(point, ".") == 0)
        return;
    *at = '.';
    memmove(at + 1, at + len, strlen(at + len) + 1);
}

static void
drop_minus_of_zero(char *text)
{
    if (text[0] == '-' && strpbrk(text, "123456789") == NULL)
        memmove(text, text + 1, strlen(text));
}

const char *
number_fixed(char out[NUMBER_MAX], double value, int digits)
{
    assert(isfinite(value) && digits >= 0 && digits <= 12);
    snprintf(out, NUMBER_MAX, fabs(value) < 1e15 ? "%.*f" : "%.*e", digits, value);
    use_point(out);
    drop_minus_of_zero(out);
    return out;
}

void
number_print(FILE *f, int width, double value, int digits)
{
    char text[NUMBER_MAX];
    fprintf(f, "%*s", width, isfinite(value) ? number_fixed(text, value, digits) : "-");
}

const char *
number_short(char out[NUMBER_MAX], double value)
{
    assert(isfinite(value));
    snprintf(out, NUMBER_MAX, "%.10g", value);
    use_point(out);
    drop_minus_of_zero(out);
    return out;
}
