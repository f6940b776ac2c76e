/* run_record.h - the recording of a run: all that its session gets, in order, beside what it began with (link/recording.h).
 *
 *      kept     a stored visit's, beside its store; under a passing name until the visit has begun, gone when it never did
 *      asked    one that was asked for by name (live --record); a run that can't have it is refused
 *
 * Items: bytes, ticks, gone and back, gaps as the session gets them; commands as live/command_code.h has them; marks,
 * each a line of text:
 *
 *      begin ID                                the visit of that number in the store began; 0: not stored
 *      pain WHEN AT_US PAIN EFFORT             as it was said; WHEN as in enum store_pain_when; nan: not asked
 *      note AT_US TEXT
 *
 * Head: notes (made, program, runner, plan, course_visit, the body's figures, targets, profile, calibration, early), texts
 * `profile` and `coach` (begun_text.h).
 *
 * A kept recording that can't be made, or ends early (disc full or too slow), is told; the run goes on.
 * Memory: taken in begin, given back in end.  Threads: begin, name, end as run.h says, input by the feeding one, mark and
 * take_told by the drawing one.   Errors: enum err, a sentence in why.
 */
#ifndef VISIT_RUN_RECORD_H
#define VISIT_RUN_RECORD_H

#include "base/fileio.h"
#include "base/message.h"
#include "link/recorder.h"
#include "live/session.h"
#include "visit/visit.h"

#define RUN_RECORD_N_MARKS 8
#define RUN_RECORD_MARK_MAX (STORE_NOTE_MAX + 64)

struct run_record_config {
    const struct session_config *session; /* what it begins with */
    const struct visit_config *visit;
    const char *asked_path; /* NULL: none */
    bool is_asked_forced;   /* a recording that is there already makes room */
    bool is_kept;
    bool is_virtual;        /* fed faster than a disc writes: put waits for it */
};

struct run_record {
    struct recorder asked, kept;
    bool is_virtual;
    char kept_path[FILEIO_PATH_MAX]; /* "": none */
    bool is_place_new;               /* the store's folder was made for it */
    int64_t visit_id, started_utc_ms; /* once named; read by the feeding thread after the session's release */
    struct ring marks;               /* drawing thread -> feeding thread */
    char (*mark_slots)[RUN_RECORD_MARK_MAX];
    struct host_time last;           /* of the last input */
    bool is_unmade;                  /* one was to be kept, and can't be */
    bool is_told;                    /* that, or that it ended early */
    struct mailbox told;             /* a message; from begin, then from the feeding thread */
    struct message told_slots[MAILBOX_N_BUFFERS];
    struct message why; /* after a refusal of begin, or why there is none kept */
};

/* Starts what is wanted. Refused only where the asked one is; a kept one that can't be is logged and told. */
enum err run_record_begin(struct run_record *r, const struct run_record_config *config);

/* The visit has begun under that number, at that time. */
void run_record_name(struct run_record *r, int64_t visit_id, int64_t started_utc_ms);

/* One input of the session. Never waits, but in virtual time. */
void run_record_input(struct run_record *r, const struct session_input *input);

/* The visit is kept in that folder meanwhile: a kept recording that is lost where it was goes on there. Never waits. */
void run_record_follow(struct run_record *r, const char *folder);

/* A mark, in place before the next bytes or tick. */
void run_record_pain(struct run_record *r, const struct store_pain *pain);
void run_record_note(struct run_record *r, const struct store_note *note);

/* True once: why there is no recording, or not to the end. */
bool run_record_take_told(struct run_record *r, struct message *out);

/* Accepts one that never began, when zeroed. A kept one whose visit never began is taken away. */
void run_record_end(struct run_record *r);

/* Fills what a recording says of how it was made, where the configuration leaves it open (NAN, no targets).
 * note(context, name, out, cap) gives a provenance value. */
void run_record_notes(struct session_config *c,
                      bool (*note)(const void *context, const char *name, char *out, size_t cap), const void *context);

#endif
