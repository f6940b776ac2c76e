#include "sim/random.h"

#include <math.h>

#define RANDOM_TWO_PI 6.283185307179586

void
random_init(struct random *r, uint64_t seed)
{
    r->state = seed * UINT64_C(0xD1342543DE82EF95) + UINT64_C(0x2545F4914F6CDD1D);
    r->spare = 0;
    r->has_spare = false;
}

uint32_t
random_u32(struct random *r)
{
    r->state += UINT64_C(0x9E3779B97F4A7C15);
    uint64_t z = r->state;
    z = (z ^ (z >> 30)) * UINT64_C(0xBF58476D1CE4E5B9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94D049BB133111EB);
    return (uint32_t) ((z ^ (z >> 31)) >> 32);
}

double
random_uniform(struct random *r)
{
    return (double) random_u32(r) / 4294967296.0;
}

double
random_normal(struct random *r)
{
    if (r->has_spare) {
        r->has_spare = false;
        return r->spare;
    }
    /* Box and Muller 1958; 1 - u keeps the logarithm away from 0. */
    double radius = sqrt(-2 * log(1 - random_uniform(r)));
    double angle = RANDOM_TWO_PI * random_uniform(r);
    double first = radius * cos(angle), second = radius * sin(angle);
    r->spare = fmax(-3, fmin(3, second));
    r->has_spare = true;
    return fmax(-3, fmin(3, first));
}

bool
random_chance(struct random *r, double probability)
{
    return random_uniform(r) < probability;
}
