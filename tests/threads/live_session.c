/* live_session.c - the threads of a live session at work together, for the thread sanitizer: simulated sensor,
 * reader, recorder, writer, and this thread as the screen. Plain main: exit 0 fine, 1 not. */
#include "aid/store_rig.h"
#include "cli/demo.h"
#include "visit/app.h"

#include <math.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#define RUN_S 5.0

struct sensor {
    struct mimic mimic;
    int fd;
    atomic_bool is_stopping;
    struct mailbox box;
    struct mimic_feedback slots[MAILBOX_N_BUFFERS], newest;
};

static bool
should_stop(void *user)
{
    return atomic_load(&((struct sensor *) user)->is_stopping);
}

static void
ask(void *user, struct mimic_feedback *out)
{
    struct sensor *s = user;
    mailbox_take(&s->box, &s->newest);
    *out = s->newest;
}

static void
tell(void *context, const struct verdict *v)
{
    const struct mimic_feedback f = demo_feedback(v);
    mailbox_put(&((struct sensor *) context)->box, &f);
}

static void *
run_sensor(void *context)
{
    struct sensor *s = context;
    return mimic_run(&s->mimic, s->fd) == ERR_OK ? NULL : context;
}

static bool
count_visit(void *context, const struct store_visit *v)
{
    *(int64_t *) context = v->is_finished ? v->n_steps : -1;
    return true;
}

int
main(void)
{
    static struct store_rig rig;
    static char record[128], path[MIMIC_PATH_MAX];
    static struct message why;
    struct sensor *s = calloc(1, sizeof *s);
    struct mimic_config c = mimic_config_default();
    pthread_t thread;
    if (!s || store_rig_make(&rig) != 0)
        return 1;
    snprintf(record, sizeof record, "%s/visit.rec", rig.folder);
    c.pace_ratio = 2;
    c.ask = ask;
    c.should_stop = should_stop;
    c.user = s;
    mailbox_init(&s->box, s->slots, sizeof s->slots[0]);
    if (!demo_board("cells", "binary", &c.board, &why) || mimic_open_pty(&s->fd, path, &why) != ERR_OK) {
        fprintf(stderr, "%s\n", message_english(&why));
        return 1;
    }
    mimic_init(&s->mimic, &c);
    if (pthread_create(&thread, NULL, run_sensor, s) != 0)
        return 1;
    struct app_config app = app_config_default();
    app.path = path;
    app.is_stored = true;
    app.record_path = record;
    app.visit.store_path = rig.path;
    app.visit.runner_code = "R-014";
    app.session.pipeline.coach.baseline_s = 3;
    app.seconds = RUN_S;
    app.on_verdict = tell;
    app.on_verdict_context = s;
    int code = app_run(&app);
    atomic_store(&s->is_stopping, true);
    pthread_join(thread, NULL);
    close(s->fd);
    struct store store;
    int64_t n_steps = -1;
    if (store_open(&store, rig.path, STORE_READ_ONLY) != ERR_OK || store_visits(&store, 0, count_visit, &n_steps) != ERR_OK)
        code = 1;
    store_close(&store);
    if (n_steps < 5) {
        fprintf(stderr, "%lld steps in the store\n", (long long) n_steps);
        code = 1;
    }
    store_rig_remove(&rig);
    free(s);
    return code;
}
