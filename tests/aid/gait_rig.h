/* gait_rig.h - simulated runner -> perfect sensor -> chosen faults -> engine, and the truth beside the steps.
 * Header only. Large: keep it static.
 */
#ifndef AID_GAIT_RIG_H
#define AID_GAIT_RIG_H

#include "gait/engine.h"
#include "sim/random.h"
#include "sim/runner_model.h"
#include "sim/sensor.h"

#include <math.h>
#include <string.h>

#define GAIT_RIG_MAX 4096

struct gait_rig {
    /* set between gait_rig_init() and gait_rig_start() */
    struct runner_config runner_config;
    struct engine_config engine_config;
    struct sensor_layout layout;
    double rate_hz;
    double noise_n, offset_n, drift_n_s, gain;
    double lost_share;
    double hole_from_s, hole_to_s; /* no frame between */
    double full_scale_n;           /* more is cut and flagged */
    uint32_t flags;                /* on every frame */
    bool is_untaken;               /* nobody takes the records */
    /* the machinery */
    struct runner runner;
    struct engine engine;
    struct frame_image image;
    struct frame_switches switches;
    struct random random;
    int64_t i;
    double t_s;
    bool was_lost;
    /* what came out */
    struct step live[GAIT_RIG_MAX], settled[GAIT_RIG_MAX];
    double live_at_s[GAIT_RIG_MAX];
    struct runner_truth truth[GAIT_RIG_MAX];
    int n_live, n_settled, n_truth;
    int n_gait[STEP_GAIT_RUNNING + 1]; /* frames in each state */
};

static inline void
gait_rig_init(struct gait_rig *g, enum frame_kind kind, double rate_hz)
{
    memset(g, 0, sizeof *g);
    g->runner_config = runner_config_default();
    g->runner_config.truth_threshold_n = ENGINE_THRESHOLD_N;
    g->engine_config = engine_config_default(kind);
    g->layout = sensor_layout_default(kind);
    g->rate_hz = rate_hz;
    g->gain = 1;
    g->hole_from_s = g->hole_to_s = NAN;
    g->full_scale_n = INFINITY;
}

static inline void
gait_rig_start(struct gait_rig *g)
{
    runner_init(&g->runner, &g->runner_config);
    engine_init(&g->engine, &g->engine_config);
    random_init(&g->random, 7);
}

static inline void
gait_rig_take(struct gait_rig *g)
{
    struct step s;
    while (!g->is_untaken && engine_take(&g->engine, &s)) {
        if (s.is_settled && g->n_settled < GAIT_RIG_MAX) {
            g->settled[g->n_settled++] = s;
        } else if (!s.is_settled && g->n_live < GAIT_RIG_MAX) {
            g->live_at_s[g->n_live] = g->t_s;
            g->live[g->n_live++] = s;
        }
    }
    while (g->n_truth < GAIT_RIG_MAX && runner_take(&g->runner, &g->truth[g->n_truth]))
        g->n_truth++;
}

static inline void
gait_rig_spoil(struct gait_rig *g, struct frame *f)
{
    f->flags |= g->flags;
    if (g->layout.kind == FRAME_KIND_SWITCHES)
        return;
    f->force_n = f->force_n * g->gain + g->offset_n + g->drift_n_s * g->t_s;
    if (g->noise_n > 0)
        f->force_n += g->noise_n * random_normal(&g->random);
    if (f->force_n > g->full_scale_n) {
        f->force_n = g->full_scale_n;
        f->flags |= FRAME_SATURATED;
    }
}

/* Goes on for so many seconds. */
static inline void
gait_rig_run(struct gait_rig *g, double seconds)
{
    int64_t end = g->i + (int64_t) (seconds * g->rate_hz + 0.5);
    for (; g->i < end; g->i++) {
        struct runner_now now;
        struct frame f;
        g->t_s = (double) g->i / g->rate_hz;
        runner_now(&g->runner, g->t_s, &now);
        sensor_frame(&g->layout, &now, 0, &g->image, &g->switches, &f);
        gait_rig_spoil(g, &f);
        if (random_chance(&g->random, g->lost_share) || (g->t_s > g->hole_from_s && g->t_s < g->hole_to_s)) {
            g->was_lost = true;
            continue;
        }
        if (g->was_lost)
            f.flags |= FRAME_GAP_BEFORE;
        g->was_lost = false;
        engine_feed(&g->engine, &f);
        g->n_gait[engine_gait(&g->engine)]++;
        gait_rig_take(g);
    }
}

static inline void
gait_rig_finish(struct gait_rig *g)
{
    engine_finish(&g->engine);
    gait_rig_take(g);
}

/* The truth of a step: the one whose touchdown is nearest, within 60 ms; NULL when there is none. */
static inline const struct runner_truth *
gait_rig_truth(const struct gait_rig *g, const struct step *s)
{
    const struct runner_truth *best = NULL;
    double t_s = units_s_from_us(s->touchdown.us), off_s = 0.06;
    for (int i = 0; i < g->n_truth; i++)
        if (fabs(g->truth[i].down_s - t_s) < off_s) {
            best = &g->truth[i];
            off_s = fabs(g->truth[i].down_s - t_s);
        }
    return best;
}

/* Equal field by field; NAN equals NAN. */
static inline bool
gait_rig_same_step(const struct step *a, const struct step *b)
{
    bool is_same = a->number == b->number && a->is_settled == b->is_settled && a->foot == b->foot &&
                   a->gait == b->gait && a->zone == b->zone && a->flags == b->flags &&
                   a->touchdown.us == b->touchdown.us && a->toe_off.us == b->toe_off.us &&
                   memcmp(&a->cop_fwd_mm, &b->cop_fwd_mm, sizeof a->cop_fwd_mm) == 0 &&
                   memcmp(&a->cop_right_mm, &b->cop_right_mm, sizeof a->cop_right_mm) == 0 &&
                   memcmp(&a->body_weight_n, &b->body_weight_n, sizeof a->body_weight_n) == 0;
    return is_same && memcmp(a->value, b->value, sizeof a->value) == 0 &&
           memcmp(a->standing, b->standing, sizeof a->standing) == 0;
}

#endif
