#include "gait/footside.h"

#include <math.h>
#include <string.h>

#define FADE 0.975
#define VOTE_MAX_MM 80.0
#define SURE_SD 2.5

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
    if (f->n_contacts >= 3 && f->rank[2] - f->rank[0] == 2)
        vote(f, f->rank[1], f->place_mm[1] - 0.5 * (f->place_mm[0] + f->place_mm[2]), 1);
    else if (f->n_contacts == 2 && f->rank[2] - f->rank[1] == 1)
        vote(f, rank, f->place_mm[2] - f->place_mm[1], 0.5);
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
    return f->score_mm * f->score_mm > SURE_SD * SURE_SD * f->weight_mm2 && f->n_contacts >= 3;
}
