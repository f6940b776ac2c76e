#include "gait/footfall.h"

#include <math.h>
#include <string.h>

struct footfall *
footfall_at(struct footfall_row *r, uint64_t n)
{
    return &r->item[n % FOOTFALL_CAP];
}

const struct footfall *
footfall_see(const struct footfall_row *r, uint64_t n)
{
    return &r->item[n % FOOTFALL_CAP];
}

struct footfall *
footfall_newest(struct footfall_row *r)
{
    return r->n_begun > 0 ? footfall_at(r, r->n_begun - 1) : NULL;
}

struct footfall *
footfall_begin(struct footfall_row *r)
{
    struct footfall *c = footfall_at(r, r->n_begun);
    memset(c, 0, sizeof *c);
    c->serial = r->n_begun++;
    c->toe_off_us = c->next_touchdown_us = c->flight_before_us = c->step_before_us = NAN;
    c->early_right_mm = c->mean_right_mm = c->landing_fwd_mm = c->front_fwd_mm = NAN;
    c->whole_fwd_mm = c->middle_fwd_mm = c->load_fwd_mm = c->com_fwd_mm = NAN;
    c->vertical.drop_mm = c->vertical.low_us = c->zone_lag_us = NAN;
    return c;
}

void
footfall_reset(struct footfall_row *r)
{
    r->n_begun = r->run_first = r->next_live = r->next_settle = 0;
}
