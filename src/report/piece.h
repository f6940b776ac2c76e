/* piece.h - a visit's blocks as they were kept: a row for each stretch in which nothing was changed, with the targets that
 * were in force in it.
 *
 * New targets, another belt speed and a pause begin a new row; course.h joins the rows to the blocks of the plan.
 * Memory: pieces_read() allocates, the caller frees with free().   Errors: enum err, s->why.
 */
#ifndef REPORT_PIECE_H
#define REPORT_PIECE_H

#include "store/store.h"

struct piece {
    struct store_block row;          /* end before start: left open by a visit that broke off */
    struct store_target_set targets; /* in force; n = 0: none; where the row names none: held ones the visit's */
    int of;                          /* course.h's: which of the visit's blocks it belongs to */
};

/* All of visit v's, in the order begun; targets: those that v itself names. *out NULL when there are none. */
enum err pieces_read(struct store *s, const struct store_visit *v, const struct store_target_set *targets,
                     struct piece **out, int *n);

/* The piece with that row index; NULL: none. */
const struct piece *piece_find(const struct piece *piece, int n, int row_index);

/* The target of a metric that was in force; NULL: none. */
const struct store_target *piece_target(const struct piece *p, enum metric metric);

/* Whether targets are meant to be met in such a block: coached, silent, free. */
bool piece_is_held(enum verdict_block kind);

#endif
