/* summary.h - the figures of a visit, or of any list of steps.
 *
 * In:  step records, each once or twice (live, then settled: the settled one counts).
 * Out: struct summary.
 * How: counts go over every step. Figures of the metrics go over the steps of the main gait (the gait that
 *      most steps have) and those whose gait is unknown, each over the values that are there.
 *
 *      sd        sample (n - 1)
 *      median    the mean of the middle two when n is even
 *      asymmetry symmetry index SI = (R - L) / (0.5 (R + L)) * 100 % of the feet's means; right larger is
 *                positive; NAN when a side is missing, either mean is below 0, or both are 0. Not worked
 *                out of metrics that are differences or asymmetries themselves. Source: Robinson RO,
 *                Herzog W, Nigg BM 1987, J Manipulative Physiol Ther 10:172-176.
 *      in band   share of steps of coached, silent and free blocks (not warm-up, baseline, cool-down)
 *                whose value lies within the target, limits included; apart for feedback shown and
 *                withheld: the second is the measure of carry-over.
 *
 * Memory: summary_maker grows as steps come; not for the live path.   Threads: one at a time.
 */
#ifndef REPORT_SUMMARY_H
#define REPORT_SUMMARY_H

#include "base/catalogue.h"
#include "base/err.h"
#include "base/mark.h"
#include "report/json.h"
#include "report/measured.h"
#include "report/piece.h"
#include "store/store.h"

#include <stdio.h>

struct summary_stat {
    int n;
    double mean, sd, median; /* NAN when n is too small (1; 2 for sd) */
};

/* Shares of steps in the band. */
struct summary_band {
    bool has_target;
    double low, high;        /* NAN = open on that side */
    int n_shown, n_shown_in; /* steps with a value while feedback was shown */
    int n_withheld, n_withheld_in;
    double shown_pct, withheld_pct; /* NAN without such steps */
};

struct summary_metric {
    struct summary_stat all, left, right;
    int n_estimated; /* how many of all.n are estimated, not measured */
    double asymmetry_pct;
    struct summary_band band;
};

struct summary {
    int n_steps;
    int n_by_gait[5];    /* by enum step_gait */
    int n_by_zone[STEP_ZONE_COUNT];    /* by enum step_zone */
    int n_by_foot[3];    /* by enum step_foot */
    int n_unsettled;     /* came only live: the end was cut */
    enum step_gait gait; /* the main gait; STEP_GAIT_UNKNOWN without steps */
    double duration_s;   /* first touchdown to last toe-off; NAN without steps */
    double body_weight_n;
    enum store_weight_from body_weight_from;
    double rate_hz;
    const char *landing_foot; /* whose length landing ahead rests on: "entered", "measured", "usual"; static; NULL: not said */
    struct metric_definitions definitions; /* of the figures */
    struct measurement measurement;        /* that they come from; valid with a visit around it */
    struct summary_metric metric[METRIC_COUNT];
};

/* What the steps don't say themselves. */
struct summary_config {
    double body_weight_n; /* NAN = the last known one of the steps */
    enum store_weight_from body_weight_from;
    double rate_hz;                         /* NAN = not known */
    const struct store_target_set *targets; /* NULL = none; borrowed for the call */
    const struct piece *piece;              /* n_pieces of them, borrowed; NULL = none: every step counts as held */
    int n_pieces;
    struct metric_definitions definitions; /* of the steps' figures: today's */
    struct metric_definitions run_with;    /* that the targets were made in: no band of a figure that is of another one */
};

struct summary_maker {
    struct coached_step *steps; /* in order of coming */
    size_t n, cap;
};

struct summary_config summary_config_default(void);

void summary_maker_init(struct summary_maker *m);
void summary_maker_destroy(struct summary_maker *m);

/* Adds a step; one with a number that is there already takes its place, unless it is live and the other is
 * settled. ERR_MEMORY. */
enum err summary_maker_feed(struct summary_maker *m, const struct coached_step *s);
/* The same for a step without a coach: feedback not shown, no block. */
enum err summary_maker_feed_step(struct summary_maker *m, const struct step *s);

/* Works out all figures of what was fed. ERR_MEMORY. */
enum err summary_make(const struct summary_maker *m, const struct summary_config *c, struct summary *out);

/* The symmetry index of two values, percent; see above. */
double summary_symmetry_index_pct(double right, double left);

/* report/visit_summary.c: reads a stored visit (by measured.h's rule) and sums it up. v is filled in too. ERR_GONE: no such visit;
 * s->why says so. */
enum err summary_of_visit(struct store *s, int64_t visit_id, struct store_visit *v, struct summary *out);

#define SUMMARY_CAUTION \
    N_("Not a medical device, no diagnosis: stop on pain that rises or changes the gait; the treating clinician decides.")

/* report/summary_text.c: plain text in words (paper/phrase.h), aligned, a dash for what is missing; a visit ends with SUMMARY_CAUTION. v NULL = no
 * visit around it. */
void summary_print(FILE *f, const struct catalogue *w, const struct summary *s, const struct store_visit *v);
/* The same without SUMMARY_CAUTION, for one who has more to say before it. */
void summary_print_figures(FILE *f, const struct catalogue *w, const struct summary *s, const struct store_visit *v);

/* report/summary_json.c: one JSON object and a newline: steps, gait, body_weight_n, body_weight_from,
 * rate_hz, then per metric {n, mean, sd, median, asymmetry_pct}; with v also "visit": {...} and the in-band
 * shares. */
void summary_print_json(FILE *f, const struct summary *s, const struct store_visit *v);
/* The members alone, into the object that is open. */
void summary_put_json(struct json *j, const struct summary *s, const struct store_visit *v);

#endif
