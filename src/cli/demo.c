#include "cli/demo.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

/* A text line can't carry a large mat: a coarser one, more slowly. */
static void
make_small(struct board_config *b)
{
    struct sensor_layout *l = &b->layout;
    l->n_rows = 48;
    l->n_cols = 16;
    l->pitch_fwd_mm = 30;
    l->pitch_right_mm = 25;
    l->origin_fwd_mm = -(l->n_rows - 1) / 2.0 * l->pitch_fwd_mm;
    l->origin_right_mm = -(l->n_cols - 1) / 2.0 * l->pitch_right_mm;
    b->rate_hz = 100;
}

bool
demo_board(const char *kind, const char *wire, struct board_config *out, struct message *why)
{
    static const struct {
        const char *name;
        enum frame_kind kind;
    } kinds[] = { { "mat", FRAME_KIND_MAT }, { "cells", FRAME_KIND_CELLS }, { "switches", FRAME_KIND_SWITCHES } };
    const bool is_text = strcmp(wire, "text") == 0;
    if (!is_text && strcmp(wire, "binary") != 0) {
        message_tell(why, MESSAGE_DEMO_NO_WIRE, wire);
        return false;
    }
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++)
        if (strcmp(kind, kinds[i].name) == 0) {
            *out = board_config_default(kinds[i].kind);
            out->form.is_text = out->form.has_crc = is_text;
            if (is_text && kinds[i].kind == FRAME_KIND_MAT)
                make_small(out);
            return true;
        }
    message_tell(why, MESSAGE_DEMO_NO_KIND, kind);
    return false;
}

void
demo_profile(const struct mimic *m, struct sense_profile *out)
{
    const struct sensor_layout *l = &m->board.config.layout;
    const bool is_known = profile_from_hello(out, &m->board.packet.hello);
    assert(is_known);
    if (l->kind == FRAME_KIND_MAT) {
        out->pitch_fwd_mm = l->pitch_fwd_mm;
        out->pitch_right_mm = l->pitch_right_mm;
        out->origin_fwd_mm = l->origin_fwd_mm;
        out->origin_right_mm = l->origin_right_mm;
        out->gain_n_per_count = board_mat_gain_n(&m->board.config);
    }
    if (l->kind == FRAME_KIND_CELLS)
        for (int i = 0; i < l->n_cells; i++)
            out->cell[i] = (struct profile_cell){ .fwd_mm = l->cell_fwd_mm[i],
                                                  .right_mm = l->cell_right_mm[i],
                                                  .gain_n_per_count = board_cell_gain_n() };
}

struct mimic_feedback
demo_feedback(const struct verdict *v)
{
    struct mimic_feedback f = { (double) NAN, (double) NAN, v->is_feedback_shown };
    for (int i = 0; i < v->n_bars; i++) {
        const double middle = 0.5 * (v->bar[i].low + v->bar[i].high);
        if (v->bar[i].metric != v->focus)
            continue;
        if (v->focus == METRIC_CADENCE_SPM)
            f.cadence_spm = middle;
        if (v->focus == METRIC_LANDING_AHEAD_MM)
            f.ahead_mm = middle;
    }
    return f;
}
