/* course_blocks.c - the rows that a visit's blocks were kept in, joined to the blocks that they are pieces of. */
#include "report/course_parts.h"

#include <math.h>
#include <stdlib.h>

static double
length_s(const struct store_block *row)
{
    return units_s_from_us(row->end.us - row->start.us);
}

static bool
is_piece_of(const struct store_block *row, const struct store_block *first)
{
    return row->part >= 0 && row->part == first->part && row->kind == first->kind;
}

/* The block that piece i belongs to; -1: it begins one. A visit has few blocks, and some tens of pieces. */
static int
find_block(const struct course_visit *v, int i)
{
    for (int k = 0; k < i; k++)
        if (is_piece_of(&v->piece[i].row, &v->piece[k].row))
            return v->piece[k].of;
    return -1;
}

static void
add_piece(struct course_block *b, const struct piece *p)
{
    const double added_s = length_s(&p->row), whole_s = b->length_s + added_s;
    const double speed = p->row.belt_speed_m_s;
    if (isnan(b->belt_speed_m_s) || b->n_pieces == 0)
        b->belt_speed_m_s = speed;
    else if (!isnan(speed) && whole_s > 0)
        b->belt_speed_m_s += (speed - b->belt_speed_m_s) * added_s / whole_s;
    b->length_s = whole_s;
    b->end = p->row.end;
    b->target_set_id = p->row.target_set_id;
    b->n_pieces++;
}

double
course_shown_pct(const struct course_block *b)
{
    return b->n_steps > 0 ? 100.0 * b->n_shown_steps / b->n_steps : (double) NAN;
}

int
course_block_of(const struct course_visit *v, int row_index)
{
    const struct piece *p = piece_find(v->piece, v->n_pieces, row_index);
    return p ? p->of : -1;
}

static void
find_begin(struct course_visit *v, const struct course_steps *steps)
{
    const bool has_steps = steps->n > 0;
    v->begin = has_steps ? steps->step[0].step.touchdown : (struct dev_time){ 0 };
    for (size_t i = 1; i < steps->n; i++)
        if (steps->step[i].step.touchdown.us < v->begin.us)
            v->begin = steps->step[i].step.touchdown;
    if (v->n_pieces > 0 && (!has_steps || v->piece[0].row.start.us < v->begin.us))
        v->begin = v->piece[0].row.start;
}

static int
count_target_sets(const struct course_visit *v)
{
    int n = 0;
    for (int i = 0; i < v->n_pieces; i++) {
        const struct piece *p = &v->piece[i];
        bool is_new = piece_is_held(p->row.kind) && p->targets.n > 0;
        for (int k = 0; k < i && is_new; k++)
            is_new = !piece_is_held(v->piece[k].row.kind) || v->piece[k].targets.id != p->targets.id;
        n += is_new;
    }
    return n;
}

enum err
course_join(struct course_visit *v, const struct course_steps *steps)
{
    find_begin(v, steps);
    v->n_target_sets = count_target_sets(v);
    if (v->n_pieces == 0)
        return ERR_OK;
    v->block = calloc((size_t) v->n_pieces, sizeof *v->block);
    if (!v->block)
        return ERR_MEMORY;
    for (int i = 0; i < v->n_pieces; i++) {
        struct piece *p = &v->piece[i];
        p->of = find_block(v, i);
        if (p->of < 0) {
            p->of = v->n_blocks++;
            v->block[p->of] = (struct course_block){ .kind = p->row.kind,
                                                     .start = p->row.start,
                                                     .planned_s = p->row.planned_s,
                                                     .belt_speed_m_s = p->row.belt_speed_m_s,
                                                     .shown_share = p->row.shown_share };
        }
        add_piece(&v->block[p->of], p);
    }
    return ERR_OK;
}
