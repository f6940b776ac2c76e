/* run_record.h - what of a run goes into its recording, and how a recording says with what it was made.
 *
 * Threads: begin and end as run.h says, input by the feeding one.   Errors: enum err, a sentence in r->why.
 */
#ifndef VISIT_RUN_RECORD_H
#define VISIT_RUN_RECORD_H

#include "visit/run.h"

/* Starts the recording; its notes hold what a replay needs to come out the same. */
enum err run_record_begin(struct run *r);

/* One input of the session. Never waits. */
void run_record_input(struct run *r, const struct session_input *input);

/* Accepts one that never began. */
void run_record_end(struct run *r);

/* Fills what a recording says of how it was made, where the configuration leaves it open (NAN, no targets).
 * note(context, name, out, cap) gives a provenance value. */
void run_record_notes(struct session_config *c,
                      bool (*note)(const void *context, const char *name, char *out, size_t cap), const void *context);

#endif
