/* random.h - small seeded random numbers, the same on every machine.
 *
 * How: 64-bit state stepped by a fixed odd constant, output mixed by multiply and shift (the splitmix
 *      generator: Steele, Lea, Flood 2014, Fast splittable pseudorandom number generators, OOPSLA).
 *      libc's rand() is not used: its sequence differs between libraries, and a simulated run must not.
 * Memory: the struct.  Threads: one at a time per generator.  Errors: none.
 */
#ifndef SIM_RANDOM_H
#define SIM_RANDOM_H

#include <stdbool.h>
#include <stdint.h>

struct random {
    uint64_t state;
    double spare; /* second number of the last normal pair; valid with has_spare */
    bool has_spare;
};

/* Starts a sequence; equal seeds give equal sequences, seed and seed + 1 give unrelated ones. */
void random_init(struct random *r, uint64_t seed);

uint32_t random_u32(struct random *r);

/* Uniform in [0, 1). */
double random_uniform(struct random *r);

/* Standard normal, cut off at +-3 so that no simulated runner takes an impossible step. */
double random_normal(struct random *r);

/* True with the given probability, 0..1. Draws one number whatever the probability. */
bool random_chance(struct random *r, double probability);

#endif
