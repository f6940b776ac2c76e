#include "gait/strides.h"

#include <math.h>

/* Strides whose places are compared for the drift: the first and the last two steps, which must not overlap. */
#define STRIDE_STEPS 2
#define DRIFT_MIN_STEPS (2 * STRIDE_STEPS)

/* n_steps before touchdown and n_steps after it. */
static double
near_fwd_mm(const struct footfall_row *r, uint64_t contact, uint64_t end, int n_steps, double *drift_mm_s)
{
    uint64_t first = r->run_first;
    *drift_mm_s = NAN;
    int before = (int) (contact - first < (uint64_t) n_steps ? contact - first : (uint64_t) n_steps);
    int after = (int) (end - contact < (uint64_t) n_steps ? end - contact : (uint64_t) n_steps);
    int half = before < after ? before : after;
    uint64_t from = contact - (uint64_t) half, to = contact + (uint64_t) half;
    if (half == 0) { /* the run's first or last: the one stride there is */
        if (end - first < STRIDE_STEPS)
            return NAN;
        from = contact == first ? contact : end - STRIDE_STEPS;
        to = from + STRIDE_STEPS;
    }
    struct mass_centre_sum sum = { 0 }, early = { 0 }, late = { 0 };
    for (uint64_t k = from; k < to; k++) {
        const struct footfall *c = footfall_see(r, k);
        if (c->flags & FOOTFALL_FORCE_LOST)
            return NAN;
        mass_centre_add(&sum, &c->sum);
        if (to - from >= DRIFT_MIN_STEPS && k < from + STRIDE_STEPS)
            mass_centre_add(&early, &c->sum);
        if (to - from >= DRIFT_MIN_STEPS && k >= to - STRIDE_STEPS)
            mass_centre_add(&late, &c->sum);
    }
    if (to - from >= DRIFT_MIN_STEPS)
        *drift_mm_s = (mass_centre_fwd_mm(&late) - mass_centre_fwd_mm(&early)) /
                      (sum.duration_s - 0.5 * (early.duration_s + late.duration_s));
    return mass_centre_fwd_mm(&sum);
}

/* n_strides with the contact in their middle, half a contact at both ends; fewer where there are fewer; the last two contacts
 * where the one after is not known. */
static double
around_fwd_mm(const struct footfall_row *r, uint64_t n, uint64_t end, int n_strides)
{
    uint64_t first = r->run_first, reach = (uint64_t) n_strides;
    while (reach > 1 && !(n >= first + reach && n + reach < end))
        reach--;
    bool is_centred = n >= first + reach && n + reach < end;
    uint64_t from = n > first ? n - 1 : n, to = from + STRIDE_STEPS;
    if (is_centred)
        from = n - reach, to = n + reach + 1;
    else if (n == end && n >= first + STRIDE_STEPS)
        from = n - STRIDE_STEPS, to = n;
    if (to > end)
        return NAN;
    struct mass_centre_sum sum = { 0 };
    for (uint64_t k = from; k < to; k++) {
        const struct footfall *c = footfall_see(r, k);
        if (c->flags & FOOTFALL_FORCE_LOST)
            return NAN;
        mass_centre_add_share(&sum, &c->sum, is_centred && (k == from || k + 1 == to) ? 0.5 : 1);
    }
    return mass_centre_fwd_mm(&sum);
}

struct strides_centre
strides_centre(const struct footfall_row *r, uint64_t contact, uint64_t end, int n_steps)
{
    struct strides_centre at;
    at.near_fwd_mm = near_fwd_mm(r, contact, end, n_steps, &at.drift_mm_s);
    at.stride_fwd_mm = around_fwd_mm(r, contact, end, 1);
    at.two_fwd_mm = around_fwd_mm(r, contact, end, 2);
    return at;
}
