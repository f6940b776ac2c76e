/* check_loaded.c - what the loaded part of a check shows: elements that are dead, saturated, or talk to each other; and
 * how a finding is filled. */
#include "setup/check_parts.h"

#include <math.h>

struct check_finding *
check_grade(struct check_judging *j, enum check_item item, double value, double by)
{
    const struct check_limits *l = check_limits(item);
    struct check_finding *f = &j->out->finding[item];
    const double size = fabs(by);
    f->value = value;
    f->grade = size >= (j->is_switches ? l->bad_switches : l->bad)     ? CHECK_BAD
               : size >= (j->is_switches ? l->mind_switches : l->mind) ? CHECK_MIND
                                                                       : CHECK_GOOD;
    return f;
}

void
check_name(struct check_finding *f, int element)
{
    if (f->n_elements < CHECK_MAX_NAMED)
        f->element[f->n_elements] = (uint16_t) element;
    f->n_elements++;
}

void
check_at_least(struct check_finding *f, enum check_grade g)
{
    if (f->grade < g)
        f->grade = g;
}

bool
check_is_dead(const struct sense_profile *p, int element)
{
    for (int i = 0; i < p->n_dead; i++)
        if (p->dead[i] == element)
            return true;
    return false;
}

/* ------------------------------------------------------------------ loaded */

static double
cell_swing(const struct check *c, int i)
{
    return (double) c->element[i].loaded_high - c->element[i].loaded_low;
}

static bool
is_dead(const struct check *c, int i, double sum_swing, bool is_any_down)
{
    switch (c->profile->kind) {
    case FRAME_KIND_MAT:
        return !c->element[i].was_loaded && c->element[i].n_between >= CHECK_DEAD_FRAMES;
    case FRAME_KIND_CELLS:
        return cell_swing(c, i) < 0.01 * sum_swing;
    case FRAME_KIND_SWITCHES:
        return is_any_down && !c->element[i].was_loaded;
    case FRAME_KIND_FORCE:
        break;
    }
    return false;
}

static void
judge_dead(struct check_judging *j)
{
    const struct check *c = j->c;
    struct check_finding *f = &j->out->finding[CHECK_DEAD];
    double sum_swing = 0;
    bool is_any_loaded = false;
    int n_loaded = 0;
    for (int i = 0; i < c->n_elements; i++) {
        sum_swing += c->profile->kind == FRAME_KIND_CELLS ? cell_swing(c, i) : 0;
        is_any_loaded |= c->element[i].was_loaded;
        n_loaded += c->element[i].was_loaded;
    }
    if (c->profile->kind == FRAME_KIND_CELLS ? c->force_peak_n < 100 : !is_any_loaded) {
        message_init(&f->says, MESSAGE_CHECK_NOBODY_LOADED);
        return;
    }
    for (int i = 0; i < c->n_elements; i++)
        if (!check_is_dead(j->p, i) && is_dead(c, i, sum_swing, is_any_loaded))
            check_name(f, i);
    check_grade(j, CHECK_DEAD, f->n_elements, f->n_elements);
    if (c->profile->kind != FRAME_KIND_MAT && f->n_elements > 0)
        f->grade = CHECK_BAD;
    if (f->n_elements * 50 > c->n_elements)
        f->grade = CHECK_BAD;
    if (f->n_elements > 0)
        message_tell(&f->says, MESSAGE_CHECK_DEAD_SOME, f->n_elements);
    else if (c->profile->kind == FRAME_KIND_MAT)
        message_tell(&f->says, MESSAGE_CHECK_DEAD_NONE_OF_LOADED, n_loaded, c->n_elements);
    else
        message_init(&f->says, MESSAGE_CHECK_DEAD_NONE);
}

static void
judge_saturated(struct check_judging *j)
{
    const struct check *c = j->c;
    const double share_pct = 100.0 * (double) c->n_frames_full / (double) c->n_loaded;
    struct check_finding *f = check_grade(j, CHECK_SATURATED, share_pct, share_pct);
    for (int i = 0; share_pct > 0 && i < c->n_elements; i++)
        if (c->element[i].n_full > 0 && !check_is_dead(j->p, i))
            check_name(f, i);
    if (share_pct > 0)
        message_tell(&f->says, MESSAGE_CHECK_SATURATED_SOME, message_real(share_pct, 1, MESSAGE_UNIT_PCT));
    else
        message_init(&f->says, MESSAGE_CHECK_SATURATED_NONE);
}

static void
judge_crosstalk(struct check_judging *j)
{
    const struct check *c = j->c;
    struct check_finding *f = &j->out->finding[CHECK_CROSSTALK];
    if (j->p->kind != FRAME_KIND_MAT)
        return;
    if (c->n_ghost_row + c->n_ghost_col < CHECK_DEAD_FRAMES) {
        message_init(&f->says, MESSAGE_CHECK_CROSSTALK_NOT_SEEN);
        return;
    }
    const double row_pct = c->n_ghost_row > 0 ? 100 * c->ghost_row / (double) c->n_ghost_row : 0;
    const double col_pct = c->n_ghost_col > 0 ? 100 * c->ghost_col / (double) c->n_ghost_col : 0;
    const double worst = fmax(row_pct, col_pct);
    int line = 0, is_col = col_pct > row_pct;
    check_grade(j, CHECK_CROSSTALK, worst, worst > 0 ? worst : 0);
    double line_pct = 0;
    for (int k = 0; k < (is_col ? j->p->n_cols : j->p->n_rows); k++) {
        const double share =
            c->n_line_ghost[is_col][k] > 0 ? 100 * c->line_ghost[is_col][k] / c->n_line_ghost[is_col][k] : 0;
        if (share > line_pct) {
            line_pct = share;
            line = k;
        }
    }
    message_tell(&f->says, is_col ? MESSAGE_CHECK_CROSSTALK_COLUMN : MESSAGE_CHECK_CROSSTALK_ROW,
                 message_real(row_pct, 1, MESSAGE_UNIT_PCT), message_real(col_pct, 1, MESSAGE_UNIT_PCT), line);
}

void
check_judge_loaded(struct check_judging *j)
{
    judge_dead(j);
    judge_saturated(j);
    judge_crosstalk(j);
}
