/* notice.h - what a session notes on the way (live/session.h), in words, to the operator. */
#ifndef VISIT_NOTICE_H
#define VISIT_NOTICE_H

#include "live/session.h"

/* As session_config.on_notice; context is not used. */
void notice_say(void *context, enum session_notice notice, double number);

#endif
