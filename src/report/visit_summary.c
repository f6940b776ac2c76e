/* visit_summary.c - summary.h's bridge to the store: one visit's steps and targets, summed up. */
#include "report/summary.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

struct feeding {
    struct summary_maker maker;
    enum err err;
};

static bool
feed(void *context, const struct coached_step *step)
{
    struct feeding *f = context;

    f->err = summary_maker_feed(&f->maker, step);
    return f->err == ERR_OK;
}

enum err
summary_of_visit(struct store *s, int64_t visit_id, struct store_visit *v, struct summary *out)
{
    struct store_target_set targets = { .n = 0 };
    struct summary_config config = summary_config_default();
    struct feeding f = { .err = ERR_OK };
    struct piece *piece = NULL;
    enum err err = store_visit_get(s, visit_id, v);

    if (err == ERR_OK && v->target_set_id != 0)
        err = store_target_set_get(s, v->target_set_id, v->runner_id, &targets);
    if (err != ERR_OK)
        return err;
    summary_maker_init(&f.maker);
    err = store_steps(s, visit_id, feed, &f);
    if (err == ERR_OK)
        err = f.err;
    if (err == ERR_OK)
        err = pieces_read(s, v, &targets, &piece, &config.n_pieces);
    if (err == ERR_OK) {
        config.body_weight_n = v->body_weight_n;
        config.body_weight_from = v->body_weight_from;
        config.rate_hz = v->rate_hz;
        config.targets = &targets;
        config.piece = piece;
        err = summary_make(&f.maker, &config, out);
    }
    if (err == ERR_MEMORY)
        snprintf(s->why, sizeof s->why, "out of memory for the summary of visit %lld", (long long) visit_id);
    summary_maker_destroy(&f.maker);
    free(piece);
    return err;
}
