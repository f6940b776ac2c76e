/* stop.h - Ctrl-C, SIGTERM and a closed terminal end a visit cleanly.
 *
 * The signal handler may only set a flag; this is the one changing static of the program. A second signal
 * of the same kind ends the program at once.
 */
#ifndef BASE_STOP_H
#define BASE_STOP_H

#include <stdbool.h>

/* SIGINT, SIGTERM and SIGHUP set the flag; SIGPIPE is ignored (a closed stdout shows as a failed write). */
void stop_catch_signals(void);

bool stop_is_asked(void);

/* Blocks those signals in the calling thread and those it starts; false unblocks. Start the threads with
 * them blocked, so that the main thread alone is interrupted. Returns whether they were blocked before. */
bool stop_block_signals(bool is_blocked);

#endif
