#include "store/writer.h"

#include "base/str.h"
#include "store/running.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum reader_kind { READER_STEP, READER_BLOCK, READER_TARGETS };
enum main_kind { MAIN_PAIN, MAIN_NOTE };

struct reader_item {
    enum reader_kind kind;
    union {
        struct coached_step step;
        struct store_block block;
        struct store_target_set targets;
    } u;
};

struct main_item {
    enum main_kind kind;
    union {
        struct store_pain pain;
        struct store_note note;
    } u;
};

static enum err
save_targets(struct writer *w, const struct store_target_set *targets)
{
    struct store_target_set copy = *targets; /* the store fills in id and version */
    enum err err = store_target_set_save(&w->store, &copy);

    if (err != ERR_OK)
        return err;
    w->target_set_id = copy.id;
    return store_visit_set_targets(&w->store, w->visit_id, copy.id);
}

static enum err
save_block(struct writer *w, const struct store_block *block)
{
    struct store_block copy = *block;

    if (copy.target_set_id == 0)
        copy.target_set_id = w->target_set_id;
    return store_block_put(&w->store, w->visit_id, &copy);
}

static enum err
save_reader_item(struct writer *w, const struct reader_item *item)
{
    switch (item->kind) {
    case READER_STEP:
        return store_step_put(&w->store, w->visit_id, &item->u.step);
    case READER_BLOCK:
        return save_block(w, &item->u.block);
    case READER_TARGETS:
        return save_targets(w, &item->u.targets);
    }
    return ERR_OK;
}

static enum err
save_main_item(struct writer *w, const struct main_item *item)
{
    if (item->kind == MAIN_PAIN)
        return store_pain_put(&w->store, w->visit_id, &item->u.pain);
    return store_note_put(&w->store, w->visit_id, &item->u.note);
}

/* A record against the rules (ERR_USAGE) undoes only itself: the transaction goes on without it. */
static enum err
pass_refused(enum err err, uint64_t *n_refused)
{
    if (err != ERR_USAGE)
        return err;
    (*n_refused)++;
    return ERR_OK;
}

/* Puts the first n items of each ring, and a changed loss count, into one transaction. The items stay in the
 * rings. */
static enum err
save_all(struct writer *w, size_t n_reader, size_t n_main, uint64_t n_full, uint64_t *n_refused)
{
    enum err err = store_begin(&w->store);

    *n_refused = 0;
    if (err != ERR_OK)
        return err;
    for (size_t i = 0; i < n_reader && err == ERR_OK; i++)
        err = pass_refused(save_reader_item(w, ring_peek(&w->from_reader, i)), n_refused);
    for (size_t i = 0; i < n_main && err == ERR_OK; i++)
        err = pass_refused(save_main_item(w, ring_peek(&w->from_main, i)), n_refused);
    uint64_t n_dropped = n_full + w->n_refused + *n_refused;
    if (err == ERR_OK && n_dropped != w->n_dropped_kept)
        err = store_visit_set_dropped(&w->store, w->visit_id, (int64_t) n_dropped);
    if (err == ERR_OK)
        err = store_commit(&w->store);
    if (err != ERR_OK)
        store_rollback(&w->store);
    return err;
}

/* Items that found their ring full. */
static uint64_t
full_so_far(const struct writer *w)
{
    return ring_dropped(&w->from_reader) + ring_dropped(&w->from_main);
}

/* Why records are refused for good: most likely nothing is wrong with them, and the visit is gone. */
static void
explain_refusal(struct writer *w)
{
    struct store_visit visit;
    char why[ERR_WHY_MAX];
    str_copy(why, sizeof why, w->store.why);
    if (store_visit_get(&w->store, w->visit_id, &visit) == ERR_GONE)
        snprintf(w->store.why, sizeof w->store.why,
                 "visit %lld is no longer in the store, perhaps its runner was forgotten: nothing of it is kept",
                 (long long) w->visit_id);
    else
        str_copy(w->store.why, sizeof w->store.why, why);
}

static void
set_status(struct writer *w, uint64_t n_new, enum err err)
{
    pthread_mutex_lock(&w->guard);
    w->status.n_written += n_new;
    w->status.n_dropped = w->n_refused; /* the rings' own are added when asked for */
    w->status.err = err;
    str_copy(w->status.why, sizeof w->status.why, err == ERR_OK ? "" : w->store.why);
    pthread_mutex_unlock(&w->guard);
}

/* One commit of all that waits now. ERR_USAGE when some of it was refused for good, and the rest is on disc.
 */
static enum err
write_batch(struct writer *w)
{
    size_t n_reader = ring_count(&w->from_reader);
    size_t n_main = ring_count(&w->from_main);
    uint64_t n_full = full_so_far(w);
    uint64_t n_refused;
    enum err err;

    if (n_reader + n_main == 0 && n_full + w->n_refused == w->n_dropped_kept)
        return ERR_OK;
    err = save_all(w, n_reader, n_main, n_full, &n_refused);
    if (err != ERR_OK) {
        set_status(w, 0, err);
        return err;
    }
    ring_release(&w->from_reader, n_reader);
    ring_release(&w->from_main, n_main);
    w->n_refused += n_refused;
    w->n_dropped_kept = n_full + w->n_refused;
    err = n_refused > 0 ? ERR_USAGE : ERR_OK;
    if (n_refused > 0)
        explain_refusal(w);
    set_status(w, n_reader + n_main - n_refused, err);
    return err;
}

/* Until the period is over, or stop wakes us. */
static bool
wait_says_stop(struct writer *w)
{
    struct pollfd p = { .fd = w->wake[0], .events = POLLIN };
    bool is_stopping;

    (void) poll(&p, 1, WRITER_PERIOD_MS);
    pthread_mutex_lock(&w->guard);
    is_stopping = w->is_stopping;
    pthread_mutex_unlock(&w->guard);
    return is_stopping;
}

static void *
run(void *argument)
{
    struct writer *w = argument;

    while (!wait_says_stop(w))
        (void) write_batch(w);
    return NULL;
}

static enum err
fail_start(struct writer *w, enum err err, const char *why)
{
    w->status.err = err;
    str_copy(w->status.why, sizeof w->status.why, why);
    return err;
}

enum err
writer_start(struct writer *w, const char *path, int64_t visit_id)
{
    const size_t reader_len = WRITER_N_STEPS * sizeof(struct reader_item);
    const size_t main_len = WRITER_N_MARKS * sizeof(struct main_item);
    enum err err;
    int code;

    memset(w, 0, sizeof *w);
    w->visit_id = visit_id;
    err = store_open(&w->store, path, STORE_MUST_EXIST | STORE_UNCHECKED);
    if (err != ERR_OK)
        return fail_start(w, err, w->store.why);
    /* From here on no program brings this store up to a newer version; each transaction asks whether one did just before. */
    w->running_fd = running_begin(w->store.path, visit_id);
    struct store_visit visit;
    if (store_visit_get(&w->store, visit_id, &visit) == ERR_OK)
        w->target_set_id = visit.target_set_id;
    w->memory = malloc(reader_len + main_len);
    if (w->memory == NULL) {
        err = fail_start(w, ERR_MEMORY, "out of memory for the writer");
        goto close_store;
    }
    ring_init(&w->from_reader, w->memory, sizeof(struct reader_item), WRITER_N_STEPS);
    ring_init(&w->from_main, (unsigned char *) w->memory + reader_len, sizeof(struct main_item),
              WRITER_N_MARKS);
    if (pipe(w->wake) != 0) {
        err = fail_start(w, ERR_OS, strerror(errno));
        goto free_memory;
    }
    fcntl(w->wake[0], F_SETFD, FD_CLOEXEC);
    fcntl(w->wake[1], F_SETFD, FD_CLOEXEC);
    pthread_mutex_init(&w->guard, NULL);
    code = pthread_create(&w->thread, NULL, run, w);
    if (code != 0) {
        err = fail_start(w, ERR_OS, strerror(code));
        goto close_pipe;
    }
    w->is_running = true;
    return ERR_OK;
close_pipe:
    pthread_mutex_destroy(&w->guard);
    close(w->wake[0]);
    close(w->wake[1]);
free_memory:
    free(w->memory);
close_store:
    running_end(w->running_fd);
    store_close(&w->store);
    return err;
}

bool
writer_put_step(struct writer *w, const struct coached_step *step)
{
    struct reader_item item = { .kind = READER_STEP, .u.step = *step };

    return ring_put(&w->from_reader, &item);
}

bool
writer_put_block(struct writer *w, const struct store_block *block)
{
    struct reader_item item = { .kind = READER_BLOCK, .u.block = *block };

    return ring_put(&w->from_reader, &item);
}

bool
writer_put_targets(struct writer *w, const struct store_target_set *targets)
{
    struct reader_item item = { .kind = READER_TARGETS, .u.targets = *targets };

    return ring_put(&w->from_reader, &item);
}

bool
writer_put_pain(struct writer *w, const struct store_pain *pain)
{
    struct main_item item = { .kind = MAIN_PAIN, .u.pain = *pain };

    return !ring_is_full(&w->from_main) && ring_put(&w->from_main, &item);
}

bool
writer_put_note(struct writer *w, const struct store_note *note)
{
    struct main_item item = { .kind = MAIN_NOTE, .u.note = *note };

    return !ring_is_full(&w->from_main) && ring_put(&w->from_main, &item);
}

void
writer_get_status(struct writer *w, struct writer_status *out)
{
    pthread_mutex_lock(&w->guard);
    *out = w->status;
    pthread_mutex_unlock(&w->guard);
    out->n_dropped += full_so_far(w);
    out->n_waiting = ring_count(&w->from_reader) + ring_count(&w->from_main);
}

enum err
writer_stop(struct writer *w, const struct store_visit_end *end)
{
    enum err err;

    if (!w->is_running)
        return w->status.err;
    pthread_mutex_lock(&w->guard);
    w->is_stopping = true;
    pthread_mutex_unlock(&w->guard);
    while (write(w->wake[1], "", 1) < 0 && errno == EINTR)
        ;
    pthread_join(w->thread, NULL);
    w->is_running = false;
    /* From here on this thread is the only one: it may do the writer thread's work. */
    err = write_batch(w);
    if ((err == ERR_OK || err == ERR_USAGE) && end != NULL) {
        struct store_visit_end last = *end;
        last.n_dropped = (int64_t) (full_so_far(w) + w->n_refused);
        enum err end_err = store_visit_end(&w->store, w->visit_id, &last);
        if (end_err != ERR_OK)
            err = end_err;
    }
    set_status(w, 0, err);
    w->status.n_dropped = full_so_far(w) + w->n_refused;
    w->status.n_waiting = ring_count(&w->from_reader) + ring_count(&w->from_main);
    pthread_mutex_destroy(&w->guard);
    running_end(w->running_fd);
    close(w->wake[0]);
    close(w->wake[1]);
    free(w->memory);
    w->memory = NULL;
    store_close(&w->store);
    return err;
}
