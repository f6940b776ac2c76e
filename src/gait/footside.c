#include "gait/footside.h"

#include <math.h>
#include <string.h>

/* An old vote's weight at each new contact: half after 27 contacts, so that a wrong count is mended within a minute.
 * common practice, no source */
#define FADE 0.975
/* A vote counts no more than this: one stumble to the side outvotes nobody. common practice, no source */
#define VOTE_MAX_MM 80.0
/* The votes' sum against its spread under chance: 1 % of runs would be as sure by chance (normal, two-sided: 1.2 %). */
#define SURE_SD 2.5
/* A first pair of contacts has one neighbour, not two: half a vote. */
#define PAIR_WEIGHT 0.5
/* Contacts for a vote by both neighbours. */
#define NEIGHBOURS 3

void
footside_init(struct footside *f)
{
    memset(f, 0, sizeof *f);
}

static void
vote(struct footside *f, int rank, double right_of_neighbours_mm, double weight)
{
    if (isnan(right_of_neighbours_mm))
        return; /* a contact without a place says nothing */
    double v = weight * fmax(-VOTE_MAX_MM, fmin(VOTE_MAX_MM, right_of_neighbours_mm));
    f->score_mm = FADE * f->score_mm + (rank % 2 == 0 ? v : -v);
    f->weight_mm2 = FADE * FADE * f->weight_mm2 + v * v;
}

void
footside_feed(struct footside *f, int rank, double right_mm)
{
    f->place_mm[0] = f->place_mm[1];
    f->rank[0] = f->rank[1];
    f->place_mm[1] = f->place_mm[2];
    f->rank[1] = f->rank[2];
    f->place_mm[2] = right_mm;
    f->rank[2] = rank;
    f->n_contacts++;
    if (f->n_contacts >= NEIGHBOURS && f->rank[2] - f->rank[0] == 2)
        vote(f, f->rank[1], f->place_mm[1] - 0.5 * (f->place_mm[0] + f->place_mm[2]), 1);
    else if (f->n_contacts == 2 && f->rank[2] - f->rank[1] == 1)
        vote(f, rank, f->place_mm[2] - f->place_mm[1], PAIR_WEIGHT);
}

enum step_foot
footside_foot(const struct footside *f, int rank)
{
    if (f->score_mm == 0)
        return STEP_FOOT_UNKNOWN;
    return (rank % 2 == 0) == (f->score_mm > 0) ? STEP_FOOT_RIGHT : STEP_FOOT_LEFT;
}

bool
footside_is_sure(const struct footside *f)
{
    return f->score_mm * f->score_mm > SURE_SD * SURE_SD * f->weight_mm2 && f->n_contacts >= NEIGHBOURS;
}
