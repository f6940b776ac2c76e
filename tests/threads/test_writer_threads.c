/* The writer under load: one thread gives steps and blocks, the main thread gives notes and asks for the
 * status, and another connection holds the store busy for a while. All that was accepted is on disc
 * afterwards; what was not is counted in the visit's row. Plain main, so that it also runs under the thread
 * sanitizer. */
#include "store/writer.h"

#include "aid/plain_check.h"
#include "aid/store_rig.h"

#include <stdio.h>
#include <time.h>
#include <unistd.h>

enum { N_STEPS = 3000, N_NOTES = 20 };

struct giver {
    struct writer *writer;
    int n_refused;
};

static void
rest(long us)
{
    struct timespec t = { 0, us * 1000 };

    nanosleep(&t, NULL);
}

/* Each step live, then settled four later, as the engine does; faster than the disc at first. */
static void *
give_steps(void *argument)
{
    struct giver *g = argument;
    struct store_block block = { .planned_s = NAN, .belt_speed_m_s = 2.5, .shown_share = NAN };

    for (uint32_t i = 1; i <= N_STEPS + 4; i++) {
        struct coached_step live = store_rig_step(i, false), settled = store_rig_step(i - 4, true);
        if (i <= N_STEPS)
            g->n_refused += !writer_put_step(g->writer, &live);
        if (i > 4)
            g->n_refused += !writer_put_step(g->writer, &settled);
        if (i % 500 == 0) {
            block.index++;
            g->n_refused += !writer_put_block(g->writer, &block);
        }
        if (i % 20 == 0)
            rest(1000);
    }
    return NULL;
}

struct counted {
    uint32_t n, n_settled, n_wrong;
};

static bool
count(void *context, const struct coached_step *s)
{
    struct counted *c = context;
    struct coached_step want = store_rig_step(s->step.number, s->step.is_settled);

    c->n++;
    c->n_settled += s->step.is_settled;
    c->n_wrong += !store_rig_same_step(s, &want);
    return true;
}

static bool
count_note(void *context, const struct store_note *n)
{
    *(int *) context += strcmp(n->text, "mark") == 0;
    return true;
}

static int
begin_visit(struct store *store, int64_t *visit)
{
    struct store_runner runner;

    CHECK(store_runner_ensure(store, "R-014", &runner) == ERR_OK);
    struct store_visit v = store_visit_default(runner.id);
    CHECK(store_visit_begin(store, &v) == ERR_OK);
    *visit = v.id;
    return 0;
}

/* The main thread's part while the steps come. */
static int
give_notes(struct writer *writer, struct store *store)
{
    struct store_note note = { .at = { 5 }, .text = "mark" };
    struct store_pain impossible = { .pain = 11, .effort = NAN };
    struct writer_status status;

    CHECK(writer_put_pain(writer, &impossible));
    for (int i = 0; i < N_NOTES; i++) {
        CHECK(writer_put_note(writer, &note));
        if (i == 5) { /* another program writes, longer than one period */
            CHECK(store_begin(store) == ERR_OK);
            rest(600000);
            CHECK(store_commit(store) == ERR_OK);
        }
        rest(10000);
        writer_get_status(writer, &status);
        CHECK(status.err == ERR_OK || status.err == ERR_USAGE);
    }
    return 0;
}

static int
run(const struct store_rig *rig)
{
    struct store store;
    static struct writer writer;
    struct giver giver = { &writer, 0 };
    struct store_visit_end end = { .is_finished = true, .body_weight_n = 700, .ended_utc_ms = 0 };
    struct counted c = { 0, 0, 0 };
    struct store_visit v;
    pthread_t thread;
    int64_t visit;
    int n_notes = 0;

    CHECK(store_open(&store, rig->path, 0) == ERR_OK);
    CHECK(begin_visit(&store, &visit) == 0);
    CHECK(writer_start(&writer, rig->path, visit) == ERR_OK);
    struct store_target_set targets = { .runner_id = 1, .reason = "from this baseline", .n = 1 };
    targets.target[0] = (struct store_target){ METRIC_CADENCE_SPM, 165, 175, 158, true, true, 0 };
    CHECK(writer_put_targets(&writer, &targets));
    CHECK(pthread_create(&thread, NULL, give_steps, &giver) == 0);
    CHECK(give_notes(&writer, &store) == 0);
    pthread_join(thread, NULL);
    /* The impossible pain was refused long ago; the last batch may be the one that says so. */
    enum err err = writer_stop(&writer, &end);
    CHECK(err == ERR_OK || err == ERR_USAGE);
    CHECK(writer.status.n_waiting == 0);
    CHECK(writer.status.n_dropped == (uint64_t) giver.n_refused + 1);

    CHECK(store_steps(&store, visit, count, &c) == ERR_OK);
    CHECK(c.n_wrong == 0);
    CHECK(c.n <= N_STEPS && c.n_settled <= c.n);
    /* A step is lost only when both of its records were refused. */
    CHECK(2 * (N_STEPS - c.n) <= (uint32_t) giver.n_refused);
    CHECK(N_STEPS - c.n_settled <= (uint32_t) giver.n_refused);
    CHECK(store_notes(&store, visit, count_note, &n_notes) == ERR_OK);
    CHECK(n_notes == N_NOTES);
    CHECK(store_visit_get(&store, visit, &v) == ERR_OK);
    CHECK(v.is_finished);
    CHECK(store_target_set_get(&store, v.target_set_id, 0, &targets) == ERR_OK);
    CHECK(targets.version == 1 && targets.target[0].low == 165 && targets.target[0].baseline == 158);
    CHECK(v.n_dropped == giver.n_refused + 1);
    store_close(&store);
    return 0;
}

int
main(void)
{
    struct store_rig rig;

    if (store_rig_make(&rig) != 0)
        return 77;
    int code = run(&rig);
    store_rig_remove(&rig);
    return code;
}
