/* store_text.c - what a person typed is judged before it becomes a row, whoever gives it. */
#include "store/store_parts.h"

#include "base/utf8.h"

enum err
store_text_check(struct store *s, const char *text, size_t cap, bool has_lines, const char *what)
{
    return utf8_enter(text, cap, has_lines, what, &s->why);
}
