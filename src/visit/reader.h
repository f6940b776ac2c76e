/* reader.h - the reading thread: source -> session, for as long as the visit lasts.
 *
 * Waits on the source alone, never on the screen or the store. When the source is unplugged, says so in the
 * verdict, and tries the same path again every READER_RETRY_MS until it is back. It may come back under another name: where
 * it was found by "auto", every port is asked meanwhile, and where a real port was named, the ports that are new, once it has
 * stayed away for some seconds (away.h). It is known by its hello. Asks a live board for its
 * hello after each opening, and until frames come.
 * A pseudo-terminal's name is given to the next program that asks for one. What comes back there is heard only once it
 * has said the same hello as before; another sensor is told and left alone.
 * A recording may be rerun instead (rerun.h): at its pace, with all that the run got.
 * Threads: start, stop and wait_ready by the main thread; the rest runs in its own.
 */
#ifndef VISIT_READER_H
#define VISIT_READER_H

#include "link/source.h"
#include "visit/away.h"
#include "visit/rerun.h"

#include <pthread.h>
#include <stdatomic.h>

#define READER_BUFFER_LEN 4096
#define READER_FIRST_LEN 256
#define READER_WAIT_MS 40
#define READER_RETRY_MS 250
#define READER_STRANGER_MS 2000 /* between two tries while another sensor is there: its owner may be at work with it */
#define READER_PROBE_MS 700 /* so long all ports together may take to say hello, when one is looked for again */
#define READER_ASK_MS 500

struct reader {
    struct source source;        /* open */
    struct source_config config; /* to open it again */
    struct session *session;
    bool is_any;                 /* "auto": the port may change its name */
    struct away away;            /* since when it is lost, and what was said of it */
    bool is_on_trial;            /* came back, has not said its hello yet */
    bool is_stranger;            /* another sensor came back, and that was told */
    struct wire_decoder trial;   /* what it says meanwhile */
    struct host_time asked;      /* when the board was last asked for its hello */
    struct rerun rerun;          /* valid with is_rerun; the source is closed then, and has only path and why */
    bool is_rerun;
    struct host_time begun, first; /* paced: this computer's clock as the first input was due, and that input's own time */
    pthread_t thread;
    bool is_running;
    atomic_bool is_stopping;     /* main sets, reader reads */
    atomic_bool has_ended;       /* reader sets, main reads: a recording or file is at its end */
};

/* Opens the source. On refusal r->source.why says why. Main thread. */
enum err reader_open(struct reader *r, const char *path, const struct source_config *config,
                     struct session *session);

/* Opens a recording to be rerun. Likewise. */
enum err reader_open_rerun(struct reader *r, const char *path, const struct source_config *config,
                           struct session *session);

/* Reads until frames come, at most timeout_ms, or until stop is asked. Before reader_start(). On refusal
 * r->source.why says what came instead. ERR_GONE: silence or the end; ERR_FORMAT: nothing that can be read. */
enum err reader_wait_ready(struct reader *r, int timeout_ms);

/* Starts the thread. ERR_OS with a sentence in r->source.why. */
enum err reader_start(struct reader *r);

/* Ends the thread (if it runs), closes the source. */
void reader_stop(struct reader *r);

#endif
