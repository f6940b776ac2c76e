/* piece_read.c - piece.h's bridge to the store. */
#include "report/piece.h"

#include <stdlib.h>

struct reading {
    struct piece *piece;
    int n, cap;
    bool is_out_of_memory;
};

static bool
keep(void *context, const struct store_block *row)
{
    struct reading *r = context;
    if (r->n == r->cap) {
        const int cap = r->cap == 0 ? 16 : 2 * r->cap;
        struct piece *piece = realloc(r->piece, (size_t) cap * sizeof *piece);
        if (!piece) {
            r->is_out_of_memory = true;
            return false;
        }
        r->piece = piece;
        r->cap = cap;
    }
    r->piece[r->n++] = (struct piece){ .row = *row };
    return true;
}

enum err
pieces_read(struct store *s, const struct store_visit *v, const struct store_target_set *targets, struct piece **out, int *n)
{
    struct reading r = { 0 };
    enum err err = store_blocks(s, v->id, keep, &r);
    if (err == ERR_OK && r.is_out_of_memory)
        err = ERR_MEMORY;
    for (int i = 0; i < r.n && err == ERR_OK; i++) {
        const int64_t id = r.piece[i].row.target_set_id;
        if (piece_is_held(r.piece[i].row.kind)) /* what comes before the baseline's end has none but its own */
            r.piece[i].targets = *targets;
        if (id != 0 && id == targets->id)
            r.piece[i].targets = *targets;
        else if (id != 0)
            err = store_target_set_get(s, id, v->runner_id, &r.piece[i].targets);
    }
    if (err != ERR_OK) {
        free(r.piece);
        r = (struct reading){ 0 };
    }
    *out = r.piece;
    *n = r.n;
    return err;
}
