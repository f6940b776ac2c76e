#include "visit/notice.h"

#include "base/log.h"

void
notice_say(void *context, enum session_notice notice, double number)
{
    (void) context;
    switch (notice) {
    case SESSION_SEES_BEYOND:
        log_note("mind: the sensor reads %.0f N, more than any runner: is its gain in N a count, and the profile this "
                 "sensor's?",
                 number);
        break;
    case SESSION_FOUND_NO_STEP:
        log_note("no step was found; the largest load was %.3g N", number);
        break;
    case SESSION_FOUND_NO_STEP_BY_GUESS:
        log_note("no step was found; the largest load was %.3g N by a gain that is only guessed", number);
        break;
    case SESSION_LOST_HELD:
        log_note("%.0f step records came before the store was ready and are lost", number);
        break;
    }
}
