#include "store/writer_parts.h"

#include "base/str.h"
#include "store/reserve.h"
#include "store/running.h"
#include "store/sql.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

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
        writer_turn(w);
    return NULL;
}

static enum err
fail_start(struct writer *w, enum err err, const struct message *why)
{
    w->status.err = err;
    w->status.why = *why;
    return err;
}

static enum err
fail_start_os(struct writer *w, int number)
{
    struct message why;
    message_tell(&why, MESSAGE_WRITER_NOT_STARTED, message_errno(number));
    return fail_start(w, ERR_OS, &why);
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
        return fail_start(w, err, &w->store.why);
    /* From here on no program brings this store up to a newer version; each transaction asks whether one did just before. */
    w->running_fd = running_begin(w->store.path, visit_id);
    if (store_visit_get(&w->store, visit_id, &w->row) == ERR_OK)
        w->target_set_id = w->row.target_set_id;
    sqlite3_busy_timeout(w->store.db, WRITER_BUSY_MS);
    /* It appends, and reads little: SQLite's 2 MB of kept pages would only make memory grow for the first ten minutes. */
    (void) sql_exec(&w->store, "PRAGMA cache_size = -256", N_("can't set up")); /* refused: they are kept, no more */
    reserve_make(w->store.path);
    w->memory = malloc(reader_len + main_len);
    if (w->memory == NULL) {
        struct message why;
        message_init(&why, MESSAGE_WRITER_NO_MEMORY);
        err = fail_start(w, ERR_MEMORY, &why);
        goto close_store;
    }
    memset(w->memory, 0xff, reader_len + main_len); /* taken now, not page by page in mid-run: 0 the compiler makes a calloc */
    ring_init(&w->from_reader, w->memory, sizeof(struct reader_item), WRITER_N_STEPS);
    ring_init(&w->from_main, (unsigned char *) w->memory + reader_len, sizeof(struct main_item),
              WRITER_N_MARKS);
    if (pipe(w->wake) != 0) {
        err = fail_start_os(w, errno);
        goto free_memory;
    }
    fcntl(w->wake[0], F_SETFD, FD_CLOEXEC);
    fcntl(w->wake[1], F_SETFD, FD_CLOEXEC);
    pthread_mutex_init(&w->guard, NULL);
    code = pthread_create(&w->thread, NULL, run, w);
    if (code != 0) {
        err = fail_start_os(w, code);
        goto close_pipe;
    }
    w->is_running = w->is_open = true;
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

uint64_t
writer_n_put_said(const struct writer *w)
{
    return atomic_load(&w->from_main.n_put);
}

void
writer_get_status(struct writer *w, struct writer_status *out)
{
    pthread_mutex_lock(&w->guard);
    *out = w->status;
    pthread_mutex_unlock(&w->guard);
    out->n_dropped += writer_n_full(w);
    out->n_waiting = ring_count(&w->from_reader) + ring_count(&w->from_main);
}

static void
end_thread(struct writer *w)
{
    if (!w->is_running)
        return;
    pthread_mutex_lock(&w->guard);
    w->is_stopping = true;
    pthread_mutex_unlock(&w->guard);
    while (write(w->wake[1], "", 1) < 0 && errno == EINTR)
        ;
    pthread_join(w->thread, NULL);
    w->is_running = false;
}

static void
let_go(struct writer *w)
{
    w->status.n_dropped = writer_n_full(w) + w->n_refused;
    w->status.n_waiting = ring_count(&w->from_reader) + ring_count(&w->from_main);
    pthread_mutex_destroy(&w->guard);
    running_end(w->running_fd);
    close(w->wake[0]);
    close(w->wake[1]);
    free(w->memory);
    w->memory = NULL;
    spill_close(&w->spill);
    store_close(&w->store);
    w->is_open = false;
}

enum err
writer_stop(struct writer *w, const struct store_visit_end *end)
{
    enum err err;

    if (!w->is_open)
        return w->status.err;
    end_thread(w);
    /* From here on this thread is the only one: it may do the writer thread's work. */
    if (writer_finish(w, end, &err))
        let_go(w);
    else {
        w->status.n_dropped = writer_n_full(w) + w->n_refused;
        w->status.n_waiting = ring_count(&w->from_reader) + ring_count(&w->from_main);
    }
    return err;
}

void
writer_abandon(struct writer *w)
{
    if (!w->is_open)
        return;
    end_thread(w);
    let_go(w);
}
