/* writer_batch.c - what waits in the rings becomes rows, all in one transaction. */
#include "store/writer_parts.h"

#include "base/str.h"

#include <stdio.h>

static enum err
save_targets(struct writer *w, struct store *to, const struct store_target_set *targets)
{
    struct store_target_set copy = *targets; /* the store fills in id and version */
    struct store_visit visit = { .id = 0 };
    enum err err = to == &w->store ? ERR_OK : store_visit_get(to, w->visit_id, &visit);

    if (err == ERR_OK && to != &w->store)
        copy.runner_id = visit.runner_id;
    if (err == ERR_OK)
        err = store_target_set_save(to, &copy);
    if (err != ERR_OK)
        return err;
    w->target_set_id = copy.id;
    return store_visit_set_targets(to, w->visit_id, copy.id);
}

static enum err
save_block(struct writer *w, struct store *to, const struct store_block *block)
{
    struct store_block copy = *block;

    if (copy.target_set_id == 0)
        copy.target_set_id = w->target_set_id;
    return store_block_put(to, w->visit_id, &copy);
}

static enum err
save_reader_item(struct writer *w, struct store *to, const struct reader_item *item)
{
    switch (item->kind) {
    case READER_STEP:
        return store_step_put(to, w->visit_id, &item->u.step);
    case READER_BLOCK:
        return save_block(w, to, &item->u.block);
    case READER_TARGETS:
        return save_targets(w, to, &item->u.targets);
    }
    return ERR_OK;
}

static enum err
save_main_item(struct writer *w, struct store *to, const struct main_item *item)
{
    if (item->kind == MAIN_PAIN)
        return store_pain_put(to, w->visit_id, &item->u.pain);
    return store_note_put(to, w->visit_id, &item->u.note);
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

/* What one commit takes, and what the tables refuse of it. */
struct batch {
    size_t n_reader, n_main;
    uint64_t n_refused, n_main_refused; /* of both rings; of what the main thread put */
};

/* Puts the first items of each ring, and a changed loss count, into one transaction. The items stay in the rings. */
static enum err
save_all(struct writer *w, struct store *to, struct batch *b, uint64_t n_full)
{
    enum err err = store_begin(to);

    if (err != ERR_OK)
        return err;
    for (size_t i = 0; i < b->n_reader && err == ERR_OK; i++)
        err = pass_refused(save_reader_item(w, to, ring_peek(&w->from_reader, i)), &b->n_refused);
    for (size_t i = 0; i < b->n_main && err == ERR_OK; i++)
        err = pass_refused(save_main_item(w, to, ring_peek(&w->from_main, i)), &b->n_main_refused);
    b->n_refused += b->n_main_refused;
    uint64_t n_dropped = n_full + w->n_refused + b->n_refused;
    if (err == ERR_OK && n_dropped != w->n_dropped_kept)
        err = store_visit_set_dropped(to, w->visit_id, (int64_t) n_dropped);
    if (err == ERR_OK)
        err = store_commit(to);
    if (err != ERR_OK)
        store_rollback(to);
    return err;
}

uint64_t
writer_n_full(const struct writer *w)
{
    return ring_dropped(&w->from_reader) + ring_dropped(&w->from_main);
}

/* Why records are refused for good: most likely nothing is wrong with them, and the visit is gone. */
static void
explain_refusal(struct writer *w, struct store *to)
{
    struct store_visit visit;
    const struct message why = to->why;
    if (store_visit_get(to, w->visit_id, &visit) == ERR_GONE)
        message_tell(&to->why, MESSAGE_VISIT_IS_GONE, w->visit_id);
    else
        to->why = why;
}

/* So that what is read back at the end can be compared with what was committed. */
static void
count_steps(struct writer *w, size_t n_reader)
{
    for (size_t i = 0; i < n_reader; i++) {
        const struct reader_item *item = ring_peek(&w->from_reader, i);
        if (item->kind != READER_STEP || item->u.step.step.number <= w->last_step)
            continue;
        w->last_step = item->u.step.step.number;
        w->n_steps++;
    }
}

enum err
writer_write(struct writer *w, struct store *to, uint64_t *n_new)
{
    struct batch b = { .n_reader = ring_count(&w->from_reader), .n_main = ring_count(&w->from_main) };
    uint64_t n_full = writer_n_full(w);

    *n_new = 0;
    if (b.n_reader + b.n_main == 0 && n_full + w->n_refused == w->n_dropped_kept)
        return ERR_OK;
    const enum err err = save_all(w, to, &b, n_full);
    if (err != ERR_OK)
        return err;
    count_steps(w, b.n_reader);
    ring_release(&w->from_reader, b.n_reader);
    ring_release(&w->from_main, b.n_main);
    w->n_refused += b.n_refused;
    w->n_said += b.n_main;
    w->n_said_refused += b.n_main_refused;
    w->n_dropped_kept = n_full + w->n_refused;
    *n_new = b.n_reader + b.n_main - b.n_refused;
    if (b.n_refused > 0)
        explain_refusal(w, to);
    return b.n_refused > 0 ? ERR_USAGE : ERR_OK;
}
