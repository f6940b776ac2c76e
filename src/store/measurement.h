/* measurement.h - what was measured of a visit: first by the program that ran it, and perhaps again from its recording.
 *
 * The first measurement is the visit's own: its steps are those of store_steps(), and it is never changed. A further one
 * (`underfoot remeasure --keep`) stands beside it with steps of its own, and is never changed either. Each says which
 * definitions its figures have (base/metric.h); visits that are older than definitions have 1 of everything.
 * Which one is read by default: report/measured.h.
 * Errors: enum err, s->why.   Threads: as the store's.
 */
#ifndef STORE_MEASUREMENT_H
#define STORE_MEASUREMENT_H

#include "store/store.h"

struct measurement {
    int64_t id; /* 0 = the first */
    int64_t visit_id;
    int64_t made_utc_ms; /* 0 = now, at putting; of the first: when the visit began */
    char software[32];
    struct metric_definitions definitions;
    bool is_complete; /* all of the recording was read; the first one always is: there is no more of it */
    double body_weight_n; /* NAN = not known */
    enum store_weight_from body_weight_from;
};

/* Keeps a further one; sets its id, and made_utc_ms. The steps follow, in the same transaction (store_begin()). */
enum err measurement_put(struct store *s, struct measurement *m);
enum err measurement_put_step(struct store *s, const struct measurement *m, const struct coached_step *step);

/* The visit's own. ERR_GONE: no such visit. */
enum err measurement_first(struct store *s, int64_t visit_id, struct measurement *out);
/* The newest complete one, of all, whose definitions are those; the first counts too. ERR_GONE: none (why not filled). */
enum err measurement_newest(struct store *s, int64_t visit_id, const struct metric_definitions *definitions,
                            struct measurement *out);
/* How many stand beside the visit's own. */
enum err measurement_count_further(struct store *s, int64_t visit_id, int *n);
/* Visits that are lined up. */
struct measurement_scope {
    int64_t runner_id;
    int64_t until_id; /* of those begun later none counts; 0 = all */
    const char *plan; /* "" = by whatever plan */
};
/* How many of them have no complete measurement of those definitions. */
enum err measurement_count_without(struct store *s, const struct measurement_scope *scope,
                                   const struct metric_definitions *definitions, int *n);

/* In order of number. *step is borrowed for the call. */
enum err measurement_steps(struct store *s, const struct measurement *m,
                           bool (*fn)(void *context, const struct coached_step *step), void *context);

#endif
