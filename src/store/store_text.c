/* store_text.c - what a person typed is judged before it becomes a row, whoever gives it. */
#include "store/store_parts.h"

#include "base/message_words.h"
#include "base/utf8.h"

enum err
store_text_check(struct store *s, const char *text, size_t cap, bool has_lines, const char *what)
{
    struct message m;
    const enum err err = utf8_enter(text, cap, has_lines, what, &m);

    if (err != ERR_OK)
        message_words(&m, s->why, sizeof s->why);
    return err;
}
