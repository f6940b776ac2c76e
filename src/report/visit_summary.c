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

/* Which measurement, and with which definitions the visit was run. */
static enum err
choose(struct store *s, const struct store_visit *v, struct measurement *chosen, struct summary_config *config)
{
    const struct measurement_scope scope = { .runner_id = v->runner_id, .until_id = v->id, .plan = "" };
    struct measurement first;
    bool is_current;
    enum err err = measured_is_current(s, &scope, &is_current);
    if (err == ERR_OK)
        err = measured_of_visit(s, v->id, is_current, chosen);
    if (err == ERR_OK)
        err = measurement_first(s, v->id, &first);
    if (err == ERR_OK) {
        config->definitions = chosen->definitions;
        config->run_with = first.definitions;
    }
    return err;
}

enum err
summary_of_visit(struct store *s, int64_t visit_id, struct store_visit *v, struct summary *out)
{
    struct store_target_set targets = { .n = 0 };
    struct summary_config config = summary_config_default();
    struct feeding f = { .err = ERR_OK };
    struct measurement measurement;
    struct piece *piece = NULL;
    enum err err = store_visit_get(s, visit_id, v);

    if (err == ERR_OK && v->target_set_id != 0)
        err = store_target_set_get(s, v->target_set_id, v->runner_id, &targets);
    if (err != ERR_OK)
        return err;
    summary_maker_init(&f.maker);
    err = choose(s, v, &measurement, &config);
    if (err == ERR_OK)
        err = measurement_steps(s, &measurement, feed, &f);
    if (err == ERR_OK)
        err = f.err;
    if (err == ERR_OK)
        err = pieces_read(s, v, &targets, &piece, &config.n_pieces);
    if (err == ERR_OK) {
        config.body_weight_n = measurement.body_weight_n;
        config.body_weight_from = measurement.body_weight_from;
        config.rate_hz = v->rate_hz;
        config.targets = &targets;
        config.piece = piece;
        err = summary_make(&f.maker, &config, out);
        out->measurement = measurement;
    }
    if (err == ERR_MEMORY)
        message_tell(&s->why, MESSAGE_SUMMARY_NO_MEMORY, visit_id);
    summary_maker_destroy(&f.maker);
    free(piece);
    return err;
}
