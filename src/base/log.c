#include "base/log.h"

#include "base/utf8.h"

#include <errno.h>
#include <stdarg.h>
#include <stdio.h>

void
log_note(const char *format, ...)
{
    const int errno_before = errno;
    char line[4096];
    va_list words;
    va_start(words, format);
    vsnprintf(line, sizeof line, format, words);
    va_end(words);
    utf8_print(stderr, "underfoot: %s\n", line); /* one call: stdio's lock keeps the line whole */
    errno = errno_before;
}

void
log_tell(const struct message *m)
{
    if (!message_is_none(m))
        log_note("%s", message_english(m));
}
