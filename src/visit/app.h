/* app.h - a run (run.h) with the runner's screen, or without one, from its opening to its summary.
 *
 *      open    run: source -> recording -> first frame -> reading thread | screen | run: store, writer thread
 *      run     reading thread | recorder thread | writer thread | main: screen, signals, time
 *      stop    run: reading -> recording -> writer | summary | screen
 *
 * Everything that can be refused is refused before the loop, with one line on stderr. Steps made before the
 * store is ready wait in the session.
 *
 * Memory: taken before the loop, given back after it.  Threads: app_run() by the main one; config.on_verdict is
 * called in it.  Errors: the exit code, after one line on stderr.
 */
#ifndef VISIT_APP_H
#define VISIT_APP_H

#include "runner/caution.h"
#include "runner/show.h"
#include "visit/run.h"

#define APP_CAUTION_S 20.0
#define APP_END_S     10.0 /* so long a visit that nobody takes is tried to be written */

struct app_config {
    const char *path;            /* port, recording or file */
    struct source_config source;
    struct session_config session; /* its hooks as run.h says */
    const char *record_path;     /* NULL: not recorded */
    bool is_record_forced;       /* a recording that is there already makes room */
    bool is_stored;
    bool is_rerun;               /* path is a recording, rerun with all that it was run with */
    struct visit_config visit;   /* sensor and rate are filled in */
    bool has_screen;
    bool lacks_display;          /* has_screen is false because there is no display, though one was wanted */
    struct show_config show;
    const char *shot_path;       /* NULL: no picture */
    double shot_at_s;            /* NAN: at the end */
    double seconds;              /* INFINITY: until stopped */
    const struct caution_case *cautions; /* NULL: none; else shown first, APP_CAUTION_S at most, until a key or running steps */
    void (*on_open)(const struct app_config *c); /* main thread, once all is open; NULL: none */
    void (*on_verdict)(void *context, const struct verdict *v); /* main thread; NULL: none */
    void *on_verdict_context;
};

struct app_config app_config_default(void);

/* Says that there is no display, where one is lacking: once nothing was refused, so that a refusal is one line. */
void app_note_screen(const struct app_config *c);

/* Runs it. Returns the exit code: 0 fine, 1 the work failed, 2 the operator's words are off. */
int app_run(const struct app_config *c);

#endif
