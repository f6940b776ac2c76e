/* writer_parts.h - inside store/ only: what the files of writer.h share. All by the writer's thread; once that has ended, by
 * whoever stops it. */
#ifndef STORE_WRITER_PARTS_H
#define STORE_WRITER_PARTS_H

#include "base/message.h"
#include "store/writer.h"

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

/* writer_batch.c: one commit into that store of all that waits now; *n_new: how many records. ERR_USAGE when some of it was
 * refused for good, and the rest is on disc. */
enum err writer_write(struct writer *w, struct store *to, uint64_t *n_new);
/* Items that found their ring full. */
uint64_t writer_n_full(const struct writer *w);

/* writer_home.c: what one period is for. */
void writer_turn(struct writer *w);
/* True: all is on disc, and the end too, in the store (*err then as writer_stop() has it) or in the spill. */
bool writer_finish(struct writer *w, const struct store_visit_end *end, enum err *err);

/* writer_status.c */
void writer_set_status(struct writer *w, uint64_t n_new, enum err err, const struct message *why);

#endif
