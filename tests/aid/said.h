/* said.h - a sentence as a message, for tests of what hands messages on. */
#ifndef AID_SAID_H
#define AID_SAID_H

#include "base/message.h"

#include <stdarg.h>
#include <stdio.h>

/* Valid until the next call. */
static inline const struct message *
said(const char *sentence)
{
    static struct message m;
    message_say(&m, sentence);
    return &m;
}

/* Makes m a message of a sentence as printf makes it. */
__attribute__((format(printf, 2, 3))) static inline void
said_put(struct message *m, const char *format, ...)
{
    char sentence[MESSAGE_PART_MAX + 1];
    va_list args;
    va_start(args, format);
    vsnprintf(sentence, sizeof sentence, format, args);
    va_end(args);
    message_say(m, sentence);
}

#endif
