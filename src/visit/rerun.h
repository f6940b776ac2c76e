/* rerun.h - a recording through a session once more: the same inputs in the same order, so the same steps, blocks, shown
 * shares and verdicts, bit for bit.
 *
 *      rerun_file()                              all at once, no screen: replay without one, remeasure, tests
 *      rerun_open(), rerun_set_up(), rerun_next(), rerun_pass()    one input at a time: a paced replay (reader.h)
 *
 *      case 1   version 1                        its bytes and what its notes say; it knew no commands
 *      case 2   damaged                          a gap where something is missing; told at the end
 *      case 3   cut                              up to the cut; told likewise
 *      case 4   a command or mark of a later version   passed over and counted: what comes after may differ
 *
 * What the run held back or dropped before its visit began, the rerun does, too (the mark `begin`, run_record.h).
 * Memory: the recording's, a session and a profile, from open to close.  Threads: one at a time.
 * Errors: enum err, a sentence in why. What the session notes goes to the operator as in a run.
 */
#ifndef VISIT_RERUN_H
#define VISIT_RERUN_H

#include "base/message.h"
#include "link/recording.h"
#include "live/session.h"
#include "store/store.h"

struct rerun {
    struct recording recording;
    struct recording_item item; /* the next input; valid when has_item */
    bool has_item, is_open;
    bool is_held;          /* the session waits for the mark `begin` */
    bool is_early_dropped; /* as session_config has it; valid when is_held */
    bool has_begun;        /* it came */
    int64_t visit_id;   /* in the store that it was run with; 0: not stored, or not begun; as far as it was read */
    uint64_t n_refused; /* commands and marks that are not known here */
    char runner_code[STORE_CODE_MAX];
    char software[64];  /* that recorded it; "": not said */
    struct sense_profile *profile; /* of the recording, when set_up used it */
    char text[STORE_NOTE_MAX + 64]; /* of the last mark, or what the screen was told */
    struct message why;
};

enum err rerun_open(struct rerun *r, const char *path);

/* Fills what the configuration leaves open (NAN, no targets, no plan, no profile) with what the run began with. The
 * profile stays the rerun's: until close. Version 1 names its profile's file: ERR_GONE, ERR_FORMAT when it can't be read. */
enum err rerun_set_up(struct rerun *r, struct session_config *c);

/* Holds the session where the run did. Before the first pass. */
void rerun_hold(struct rerun *r, struct session *s);

/* Fetches the next input into r->item. False at the end; then why says what is missing, or is "". */
bool rerun_next(struct rerun *r);

/* Passes it to the session, at that time. A mark's text other than `begin` comes back, valid until the next; else NULL. */
const char *rerun_pass(struct rerun *r, struct session *s, struct host_time at);

/* Accepts one that was never opened, when zeroed. Keeps why. */
void rerun_close(struct rerun *r);

struct rerun_config {
    struct session_config session; /* what is open is filled from the recording; its hooks and context are called */
    void (*on_verdict)(void *context, const struct verdict *v);       /* each one; NULL: none, as below */
    void (*on_mark)(void *context, const char *text);                 /* pain and notes, as run_record.h has them */
    void (*on_end)(void *context, const struct session *s);           /* after all steps: health, weight, gain */
    bool (*should_stop)(void *context);
};
struct rerun_config rerun_config_default(void);

/* The whole recording, which is open; c->session is set up. ERR_FORMAT: no sensor data in it. Damage and cuts are no
 * error: recording_has_lost(&r->recording) and r->why tell. */
enum err rerun_play(struct rerun *r, const struct rerun_config *c);

/* The same with opening and setting up. Close it after, whatever the answer. */
enum err rerun_file(struct rerun *r, const char *path, const struct rerun_config *c);

#endif
