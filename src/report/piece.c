#include "report/piece.h"

const struct piece *
piece_find(const struct piece *piece, int n, int row_index)
{
    /* Rows are numbered through, from the first one's number on. */
    const int guess = n > 0 ? row_index - piece[0].row.index : -1;
    if (guess >= 0 && guess < n && piece[guess].row.index == row_index)
        return &piece[guess];
    for (int i = 0; i < n; i++)
        if (piece[i].row.index == row_index)
            return &piece[i];
    return NULL;
}

const struct store_target *
piece_target(const struct piece *p, enum metric metric)
{
    for (int i = 0; i < p->targets.n; i++)
        if (p->targets.target[i].metric == metric)
            return &p->targets.target[i];
    return NULL;
}

bool
piece_is_held(enum verdict_block kind)
{
    return kind == VERDICT_BLOCK_COACHED || kind == VERDICT_BLOCK_SILENT || kind == VERDICT_BLOCK_FREE;
}
