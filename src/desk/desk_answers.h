/* desk_answers.h - the worker's answers, until the main thread takes them.
 *
 *      messages      every one, in order, DESK_N_MESSAGES of them; the oldest of more goes to the log, where it is read too
 *      begun, ended  kept until taken; the panel asks for the next only then
 *      the sensor    the newest opening's: the panel asks for one only when it gave up the one before
 *      what is kept  each, DESK_N_KEPT of them: more stand on their page once the case is read again
 *      a code taken  kept until taken, a second one meanwhile as a message
 *      the others    the newest of its kind: each says all that is so. Of calibrations, "changed" and "refused" stay
 *
 * Threads: put by the worker, take by the main one, which never waits: what is not there now is there at the next turn.
 * Errors: none.
 */
#ifndef DESK_DESK_ANSWERS_H
#define DESK_DESK_ANSWERS_H

#include "panel/panel.h"

#include <pthread.h>

#define DESK_N_MESSAGES 16
#define DESK_N_KEPT      8

struct desk_answer {
    bool has_runners, has_case, has_sensor, is_begun, is_begin_refused, has_calibration, has_refused;
    struct panel_calibration calibration;
    enum panel_sensor sensor;
    int n_marked;       /* marks that the worker kept */
    int n_kept;         /* what else it kept since the case was read */
    struct panel_kept kept[DESK_N_KEPT];
    unsigned n_sensors; /* how many openings were tried so far: an older one's answer is told apart by it */
    struct message sensor_told;
    struct panel_runner refused; /* its code is another's: not saved */
    struct panel_runners runners;
    struct panel_case kase;
};

struct desk_answers {
    pthread_mutex_t guard;
    struct desk_answer waiting;
    struct message message[DESK_N_MESSAGES];
    int n_messages;
};

void desk_answers_init(struct desk_answers *a);
void desk_answers_destroy(struct desk_answers *a);

/* By the worker. */
void desk_answers_say(struct desk_answers *a, const struct message *m);
void desk_answers_note(struct desk_answers *a, enum message_code code); /* one that has no parameters */
void desk_answers_sensor(struct desk_answers *a, enum panel_sensor sensor, const struct message *told);
void desk_answers_runners(struct desk_answers *a, const struct panel_runners *r);
void desk_answers_refused(struct desk_answers *a, const struct panel_runner *r);
void desk_answers_case(struct desk_answers *a, const struct panel_case *k);
void desk_answers_calibration(struct desk_answers *a, const struct panel_calibration *c);
/* A pain, an effort, a note or a mark is on disc. */
void desk_answers_kept(struct desk_answers *a, const struct panel_request *q);
void desk_answers_begun(struct desk_answers *a, bool is_begun);

/* By the main thread: all but messages since the last call; the next message. False when there is none. */
bool desk_answers_take(struct desk_answers *a, struct desk_answer *out);
bool desk_answers_take_message(struct desk_answers *a, struct message *out);

#endif
