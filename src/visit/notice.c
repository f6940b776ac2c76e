#include "visit/notice.h"

#include "base/log.h"

/* So many behind the point that three stand there in all, as far as they are needed. */
static int
digits_of(double number)
{
    return number >= 100.0 ? 0 : number >= 10.0 ? 1 : 2;
}

void
notice_say(void *context, enum session_notice notice, double number)
{
    struct message m;
    (void) context;
    message_init(&m, MESSAGE_NONE);
    switch (notice) {
    case SESSION_SEES_BEYOND:
        message_tell(&m, MESSAGE_SENSOR_SEES_BEYOND, message_real(number, 0, MESSAGE_UNIT_NEWTON));
        break;
    case SESSION_FOUND_NO_STEP:
        message_tell(&m, MESSAGE_FOUND_NO_STEP, message_real(number, digits_of(number), MESSAGE_UNIT_NEWTON));
        break;
    case SESSION_FOUND_NO_STEP_BY_GUESS:
        message_tell(&m, MESSAGE_FOUND_NO_STEP_BY_GUESS, message_real(number, digits_of(number), MESSAGE_UNIT_NEWTON));
        break;
    case SESSION_LOST_HELD:
        message_tell(&m, MESSAGE_STEPS_BEFORE_STORE, (int64_t) number);
        break;
    }
    log_tell(&m);
}
