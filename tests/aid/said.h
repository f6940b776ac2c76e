/* said.h - a sentence as a message, for tests of what hands messages on. */
#ifndef AID_SAID_H
#define AID_SAID_H

#include "base/message.h"

/* Valid until the next call. */
static inline const struct message *
said(const char *sentence)
{
    static struct message m;
    message_say(&m, sentence);
    return &m;
}

#endif
