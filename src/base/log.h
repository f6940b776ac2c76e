/* log.h - notes for the operator: one line on stderr each, "underfoot: ..." in front, whole lines even
 * when two threads speak at once. Log once, where the trouble is discovered. */
#ifndef BASE_LOG_H
#define BASE_LOG_H

#include "base/message.h"

/* A message, in English; MESSAGE_NONE: nothing. Keeps errno. */
void log_tell(const struct message *m);

/* One sentence, no newline at its end; longer than 4000 bytes is cut. Keeps errno. */
void log_note(const char *format, ...) __attribute__((format(printf, 1, 2)));

#endif
