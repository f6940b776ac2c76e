/* sim_truth.c - simulated runners with known truth through the whole chain; error of every metric, by sensor
 * kind.
 *
 *     sim_truth [--steps N] [--profiles DIR] [--kind K] [--runner N]
 *                                          CSV on stdout, one line a kind and metric
 *     sim_truth --trace DIR [--rate HZ]    noise-free traces and truths, for downsample.py
 *     sim_truth --list                     lowest rate at which the engine calls each metric measured
 *
 * Runners are drawn at random (seeded): 2-5 m/s, 45-110 kg, landing heel to fore, asymmetry, fatigue, three
 * levels of sensor noise. Force: perfect frames, noise added here, as from a plate. Cells, mat, switches: the
 * simulated board's bytes through link/wire and sense with the profiles in profiles/sensors.
 * Error = settled record less truth, in the engine's own definitions: touchdown where the noise-free force
 * passes 50 N; loading of the noise-free curve after the 50 Hz low-pass (load_rate_unfiltered: without it). A
 * step is paired with the truth's touchdown within 60 ms; steps that pair with none are made up, truths that
 * pair with none (but the first two and last of a run) are missed. Exit: 0; 1 when a run could not be made.
 * Tolerances are validity.py's business.
 * One long file: its five parts (headed below) share one run's memory and serve this program alone.
 */
#include "gait/condition.h"
#include "gait/engine.h"
#include "gait/loading.h"
#include "gait/measure.h"
#include "gait/strike.h"
#include "sense/sense.h"
#include "sim/board.h"
#include "sim/runner_model.h"
#include "wire/wire.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define STEPS_A_RUN      170
#define MAX_STEPS_A_RUN  240
#define N_EXTRA          7    /* figures that are no metric of their own */
#define LANDING_APART_MM 20.0 /* lateral distance of the landings: nearer feet are a hard case of their own  \
                               */
#define FORCE_RATE_HZ 1000.0
#define PAIR_US       60000.0
#define FINE_HZ       8000.0
#define NEAR_BORDER_MM 12.0

static const char *const EXTRA[N_EXTRA] = { "found",       "made_up",      "side_right",
                                            "zone_right",  "touchdown_ms", "load_rate_unfiltered_bw_s",
                                            "weight_ratio" };
enum extra {
    EXTRA_FOUND,
    EXTRA_MADE_UP,
    EXTRA_SIDE,
    EXTRA_ZONE,
    EXTRA_TOUCHDOWN,
    EXTRA_UNFILTERED,
    EXTRA_WEIGHT
};
#define N_COLUMNS (METRIC_COUNT + N_EXTRA)

static const char *const KIND_NAME[] = { "force", "cells", "mat", "switches" };
static const enum frame_kind KIND[] = { FRAME_KIND_FORCE, FRAME_KIND_CELLS, FRAME_KIND_MAT,
                                        FRAME_KIND_SWITCHES };
static const char *const PROFILE[] = { NULL, "cells-4.ini", "mat-128x32.ini", "switches-4.ini" };

/* Errors of one metric for one sensor kind. */
struct errors {
    double *error, *truth;
    int n, cap, n_missing, n_estimated;
    double worst;
    char worst_case[96];
};

static struct errors ERRORS[4][N_COLUMNS];
static int STANDING[4][METRIC_COUNT][3]; /* how many records, by enum metric_standing */

static void
add(struct errors *e, double error, double truth, const char *name)
{
    if (e->n == e->cap) {
        e->cap = e->cap ? 2 * e->cap : 1024;
        e->error = realloc(e->error, (size_t) e->cap * sizeof *e->error);
        e->truth = realloc(e->truth, (size_t) e->cap * sizeof *e->truth);
        if (!e->error || !e->truth)
            exit(1);
    }
    e->truth[e->n] = truth;
    e->error[e->n++] = error;
    if (fabs(error) > fabs(e->worst) || e->n == 1) {
        e->worst = error;
        snprintf(e->worst_case, sizeof e->worst_case, "%s", name);
    }
}

/* ------------------------------------------------------------------ the runners */

struct trial {
    int number;
    struct runner_style style;
    double noise_level; /* times a good sensor's */
    double lost_share;
    char name[64];
};

static double
between(struct random *r, double low, double high)
{
    return low + (high - low) * random_uniform(r);
}

static struct trial
draw_trial(int number)
{
    struct random r;
    struct trial t = { .number = number, .style = runner_style_default() };
    struct runner_style *s = &t.style;
    random_init(&r, 1000 + (uint64_t) number);
    s->speed_m_s = between(&r, 2.0, 5.0);
    s->mass_kg = between(&r, 45, 110);
    s->cadence_spm = 158 + 7 * (s->speed_m_s - 2) + between(&r, -10, 14);
    s->duty_factor = 0.375 - 0.030 * (s->speed_m_s - 2) + between(&r, -0.03, 0.03);
    s->strike_index_pct = between(&r, 7, 85);
    s->limb_speed_m_s = between(&r, 0.6, 1.3);
    s->bell_peak_place = between(&r, 0.42, 0.50);
    s->bell_fullness = between(&r, 0.3, 0.7);
    s->foot_length_mm = 225 + (s->mass_kg - 45) * 0.8 + between(&r, -12, 12);
    s->leg_length_mm = 780 + (s->mass_kg - 45) * 2.5 + between(&r, -40, 40);
    s->toe_out_deg = between(&r, -2, 14);
    /* Width is that of the middle of the feet: turned-out heels are nearer to each other. */
    s->width_mm = LANDING_APART_MM +
                  2 * (0.5 - s->strike_index_pct / 100) * s->foot_length_mm *
                      sin(s->toe_out_deg * 3.14159265358979 / 180) +
                  between(&r, 0, 90);
    s->place_fwd_mm = between(&r, -40, 40);
    if (number % 3 == 1)
        s->asymmetry = (struct runner_asymmetry){ .step_time = between(&r, -0.05, 0.05),
                                                  .contact = between(&r, -0.06, 0.06),
                                                  .limb_speed = between(&r, -0.2, 0.2),
                                                  .strike_share = between(&r, -0.15, 0.15),
                                                  .toe_out_deg = between(&r, -4, 4) };
    if (number % 4 == 2)
        s->fatigue = (struct runner_fatigue){ .cadence = between(&r, -0.03, 0),
                                              .contact = between(&r, 0, 0.04),
                                              .limb_speed = between(&r, 0, 0.1),
                                              .strike_share = -0.01 };
    t.noise_level = number % 3 == 0 ? 0.5 : number % 3 == 1 ? 1 : 2;
    t.lost_share = number % 5 == 4 ? 0.005 : 0;
    snprintf(t.name, sizeof t.name, "runner %d: %.1f m/s %.0f kg index %.0f noise x%.1f%s", number,
             s->speed_m_s, s->mass_kg, s->strike_index_pct, t.noise_level,
             t.lost_share > 0 ? " lost 0.5 %" : "");
    return t;
}

static struct runner_config
runner_of(const struct trial *t)
{
    struct runner_config c = runner_config_default();
    c.style = t->style;
    c.seed = 77 + (uint64_t) t->number;
    c.truth_threshold_n = ENGINE_THRESHOLD_N;
    return c;
}

/* ------------------------------------------------------------------ truth of a run */

struct truth {
    struct runner_truth t;
    double value[METRIC_COUNT];
    struct loading filtered; /* in BW */
};

struct run {
    struct truth truth[MAX_STEPS_A_RUN];
    int n_truths;
    struct step step[MAX_STEPS_A_RUN + 32];
    int n_steps;
    double momentum_weight_n;
};

/* Loading by the 50 Hz definition on a noise-free, finely sampled curve: what sampling and noise should not
 * change. In body weights. */
static struct loading
filtered_loading(const struct runner *r, const struct runner_truth *t)
{
    static double curve[8192];
    struct loading l = { NAN, NAN, false, NAN, NAN, NAN, NAN };
    const struct runner_contact *c = NULL;
    double weight_n = r->config.style.mass_kg * UNITS_GRAVITY_M_S2;
    for (int i = 0; i < RUNNER_N_CONTACTS; i++)
        if (fabs(r->contact[i].start_s - t->touchdown_s) < 1e-9)
            c = &r->contact[i];
    if (!c)
        return l;
    int n = (int) ((c->law.contact_s + 0.08) * FINE_HZ);
    for (int i = 0; i < n; i++)
        curve[i] = force_law_at(&c->law, i / FINE_HZ - 0.04) / weight_n;
    condition_lowpass(curve, n, FINE_HZ, CONDITION_CUTOFF_HZ);
    return loading_measure(curve, n, (c->start_s - 0.04) * 1e6, 1e6 / FINE_HZ, t->down_s * 1e6,
                           t->up_s * 1e6);
}

static void
take_truths(struct runner *r, struct run *run)
{
    struct runner_truth t;
    while (run->n_truths < MAX_STEPS_A_RUN && runner_take(r, &t)) {
        struct truth *out = &run->truth[run->n_truths++];
        out->t = t;
        out->filtered = filtered_loading(r, &t);
    }
}

static double
leg_stiffness_kn_m(const struct runner_style *s, double peak_n, double drop_mm, double contact_s)
{
    double reach_m = s->speed_m_s * contact_s / 2, leg_m = s->leg_length_mm * 1e-3;
    if (reach_m >= leg_m)
        return NAN;
    return peak_n / (leg_m - sqrt(leg_m * leg_m - reach_m * reach_m) + drop_mm * 1e-3) * 1e-3;
}

/* Fills the metrics of every truth; what needs neighbours comes from them. */
static void
finish_truths(struct run *run, const struct runner_style *s, enum frame_kind kind)
{
    double weight_n = s->mass_kg * UNITS_GRAVITY_M_S2;
    for (int i = 0; i < run->n_truths; i++) {
        struct truth *o = &run->truth[i];
        const struct runner_truth *t = &o->t;
        double *v = o->value;
        double flight_before_s = i > 0 ? t->touchdown_s - run->truth[i - 1].t.toe_off_s : (double) NAN;
        /* Truth's drop begins where the force leaves zero, ours at the threshold: the fall in between. */
        double drop_mm =
            t->com_drop_mm - 0.5 * UNITS_GRAVITY_M_S2 * flight_before_s * (t->down_s - t->touchdown_s) * 1e3;
        for (int m = 0; m < METRIC_COUNT; m++)
            v[m] = NAN;
        v[METRIC_STEP_TIME_S] = t->step_time_s;
        v[METRIC_CONTACT_MS] = t->contact_ms;
        v[METRIC_FLIGHT_MS] = t->flight_ms;
        v[METRIC_CADENCE_SPM] = t->cadence_spm;
        if (i + 1 < run->n_truths)
            v[METRIC_DUTY_FACTOR] = 1e-3 * t->contact_ms / (t->step_time_s + run->truth[i + 1].t.step_time_s);
        v[METRIC_PEAK_FORCE_BW] = t->peak_force_bw;
        v[METRIC_COM_DROP_MM] = drop_mm;
        v[METRIC_COM_LOW_MS] = t->com_low_ms;
        /* Touchdown is where the force passes the threshold; until then the foot has ridden back with the
         * belt. */
        double ride_mm = s->speed_m_s * (t->down_s - t->touchdown_s) * 1e3;
        v[METRIC_LANDING_AHEAD_MM] = t->landing_ahead_mm;
        v[METRIC_LANDING_FIRST_MM] = t->first_ahead_mm - ride_mm;
        v[METRIC_STIFFNESS_KN_M] = t->peak_force_bw * weight_n / drop_mm;
        v[METRIC_LEG_STIFFNESS_KN_M] =
            leg_stiffness_kn_m(s, t->peak_force_bw * weight_n, drop_mm, t->contact_ms * 1e-3);
        if (kind == FRAME_KIND_SWITCHES)
            continue;
        v[METRIC_LOAD_RATE_BW_S] = o->filtered.rate_n_s;
        v[METRIC_LOAD_RATE_MAX_BW_S] = o->filtered.rate_max_n_s;
        v[METRIC_IMPACT_TRANSIENT] = o->filtered.has_transient ? 1 : 0;
        v[METRIC_TRANSIENT_BW] = o->filtered.transient_n;
        v[METRIC_TRANSIENT_MS] = o->filtered.transient_us * 1e-3;
        v[METRIC_TRANSIENT_LEAD_MS] = t->com_low_ms - o->filtered.transient_us * 1e-3;
        v[METRIC_STRIKE_INDEX_PCT] = t->strike_index_pct;
        v[METRIC_STRIKE_TRAVEL_MM] = t->strike_travel_mm;
        if (o->filtered.has_transient == t->has_transient) /* else the loading peak is another one */
            v[METRIC_AHEAD_AT_LOAD_MM] = t->ahead_at_load_mm;
        v[METRIC_STEP_WIDTH_MM] = t->step_width_mm;
        v[METRIC_BRAKING_IMPULSE_BW_S] = t->braking_impulse_bw_s;
        v[METRIC_PEAK_BRAKING_BW] = t->peak_braking_bw;
        v[METRIC_BRAKING_END_PCT] = t->braking_end_pct;
        if (kind == FRAME_KIND_MAT) {
            v[METRIC_WHOLE_FOOT_AT_LOAD] = t->whole_foot_at_load ? 1 : 0;
            v[METRIC_BELT_SPEED_M_S] = t->belt_speed_m_s;
            v[METRIC_TOE_OUT_DEG] = t->toe_out_deg;
        }
    }
}

/* ------------------------------------------------------------------ through the chain */

static struct engine ENGINE;
static struct runner RUNNER;
static struct board BOARD;
static struct sense SENSE;
static struct wire_decoder WIRE;
static struct sense_profile SENSOR;
static struct run RUN;

static void
keep(struct run *run)
{
    struct step s;
    while (engine_take(&ENGINE, &s))
        if (s.is_settled && run->n_steps < (int) (sizeof run->step / sizeof run->step[0]))
            run->step[run->n_steps++] = s;
}

static void
start_engine(const struct trial *t, enum frame_kind kind, double rate_hz)
{
    struct engine_config c = engine_config_default(kind);
    c.rate_hz = rate_hz;
    c.body_mass_kg = t->style.mass_kg;
    c.belt_speed_m_s = t->style.speed_m_s;
    c.foot_length_mm = t->style.foot_length_mm;
    c.leg_length_mm = t->style.leg_length_mm;
    engine_init(&ENGINE, &c);
}

/* A plate: offset, noise and vibration like the recorded runs' (at level 2: 8-13 N sd in flight). */
static void
run_force(const struct trial *t)
{
    struct sensor_layout layout = sensor_layout_default(FRAME_KIND_FORCE);
    struct random r;
    struct runner_now now;
    struct frame f;
    random_init(&r, 5000 + (uint64_t) t->number);
    start_engine(t, FRAME_KIND_FORCE, FORCE_RATE_HZ);
    for (int64_t i = 0; RUN.n_truths < STEPS_A_RUN; i++) {
        double t_s = (double) i / FORCE_RATE_HZ;
        runner_now(&RUNNER, t_s, &now);
        /* Belt vibration moves the centre of pressure too; the offset does not, plates take it off before. */
        double deck_n = t->noise_level * 6 * sin(2 * 3.14159265358979 * 120 * t_s);
        double offset_n = t->noise_level * (4 + 2 * sin(0.2 * t_s));
        bool is_lost = random_chance(&r, t->lost_share);
        sensor_frame(&layout, &now, deck_n + 5 * t->noise_level * random_normal(&r), NULL, NULL, &f);
        f.force_n += offset_n;
        take_truths(&RUNNER, &RUN);
        if (is_lost)
            continue;
        engine_feed(&ENGINE, &f);
        keep(&RUN);
    }
}

static void
run_board(const struct trial *t, enum frame_kind kind)
{
    struct board_config c = board_config_default(kind);
    struct frame f;
    c.faults.seed = 900 + (uint64_t) t->number;
    c.faults.noise_counts *= t->noise_level;
    c.faults.vibration_n *= t->noise_level;
    c.faults.lost_share = t->lost_share;
    if (kind == FRAME_KIND_CELLS)
        c.faults.drift_counts_per_s = 0.02 * t->noise_level / board_cell_gain_n();
    board_init(&BOARD, &c, &RUNNER);
    wire_init(&WIRE);
    sense_init(&SENSE, &SENSOR);
    start_engine(t, kind, c.rate_hz);
    while (RUN.n_truths < STEPS_A_RUN) {
        const uint8_t *bytes;
        size_t n = board_step(&BOARD, &bytes), used = 0;
        take_truths(&RUNNER, &RUN);
        while (used < n) {
            used += wire_feed(&WIRE, bytes + used, n - used, (struct host_time){ 0 });
            const struct packet *p = wire_take(&WIRE);
            if (p && sense_feed(&SENSE, p, &f))
                engine_feed(&ENGINE, &f);
        }
        keep(&RUN);
    }
}

/* ------------------------------------------------------------------ compared */

static double
time_us(const struct truth *o)
{
    return o->t.down_s * 1e6;
}

static void
compare_metrics(struct errors *e, const struct step *s, const struct truth *o, const char *name)
{
    for (int m = 0; m < METRIC_COUNT; m++) {
        if (isnan(o->value[m]))
            continue;
        if (s->standing[m] == METRIC_MISSING || isnan(s->value[m])) {
            e[m].n_missing++;
            continue;
        }
        e[m].n_estimated += s->standing[m] == METRIC_ESTIMATED;
        add(&e[m], s->value[m] - o->value[m], o->value[m], name);
    }
}

static bool
is_near_border(double travel_mm)
{
    return fabs(travel_mm - STRIKE_REAR_MM) < NEAR_BORDER_MM || fabs(travel_mm - STRIKE_FORE_MM) < NEAR_BORDER_MM;
}

static void
compare_step(struct errors *e, const struct trial *t, const struct step *s, const struct truth *o)
{
    char name[96];
    snprintf(name, sizeof name, "%s, step %u", t->name, (unsigned) o->t.number);
    compare_metrics(e, s, o, name);
    add(&e[METRIC_COUNT + EXTRA_TOUCHDOWN], ((double) s->touchdown.us - time_us(o)) * 1e-3, 0, name);
    if (s->foot == STEP_FOOT_UNKNOWN)
        e[METRIC_COUNT + EXTRA_SIDE].n_missing++;
    else
        add(&e[METRIC_COUNT + EXTRA_SIDE], s->foot == o->t.foot ? 0 : 1, 1, name);
    if (!is_near_border(o->t.strike_travel_mm)) {
        if (s->zone == STEP_ZONE_UNKNOWN)
            e[METRIC_COUNT + EXTRA_ZONE].n_missing++;
        else
            add(&e[METRIC_COUNT + EXTRA_ZONE], s->zone == o->t.zone ? 0 : 1, 1, name);
    }
    if (s->standing[METRIC_LOAD_RATE_BW_S] != METRIC_MISSING)
        add(&e[METRIC_COUNT + EXTRA_UNFILTERED], s->value[METRIC_LOAD_RATE_BW_S] - o->t.load_rate_bw_s,
            o->t.load_rate_bw_s, name);
}

/* Symmetry over the run against the truth's own, one figure a run. */
static void
compare_symmetry(struct errors *e, const struct trial *t)
{
    static const enum metric of[] = { METRIC_STEP_TIME_S, METRIC_CONTACT_MS, METRIC_LOAD_RATE_BW_S };
    static const enum metric asym[] = { METRIC_ASYM_STEP_TIME_PCT, METRIC_ASYM_CONTACT_PCT,
                                        METRIC_ASYM_LOAD_RATE_PCT };
    for (int k = 0; k < 3; k++) {
        double sum[2] = { 0, 0 }, got = 0;
        int n[2] = { 0, 0 }, n_got = 0;
        for (int i = 5; i < RUN.n_truths - 5; i++) {
            int side = RUN.truth[i].t.foot == STEP_FOOT_RIGHT;
            double v = k == 2 ? RUN.truth[i].filtered.rate_n_s : RUN.truth[i].value[of[k]];
            if (isnan(v))
                continue;
            sum[side] += v;
            n[side]++;
        }
        for (int i = 35; i < RUN.n_steps; i++)
            if (RUN.step[i].standing[asym[k]] != METRIC_MISSING) {
                got += RUN.step[i].value[asym[k]];
                n_got++;
            }
        double left = sum[0] / n[0], right = sum[1] / n[1], truth = 200 * (right - left) / (right + left);
        if (isnan(truth))
            continue;
        if (n_got == 0)
            e[asym[k]].n_missing++;
        else
            add(&e[asym[k]], got / n_got - truth, truth, t->name);
    }
}

static void
compare_run(int kind, const struct trial *t)
{
    struct errors *e = ERRORS[kind];
    char name[96];
    bool is_used[MAX_STEPS_A_RUN] = { false };
    finish_truths(&RUN, &t->style, KIND[kind]);
    for (int i = 40; i < RUN.n_steps - 2; i++) /* when all that looks back can be known */
        for (int m = 0; m < METRIC_COUNT; m++)
            STANDING[kind][m][RUN.step[i].standing[m]]++;
    for (int i = 0; i < RUN.n_steps; i++) {
        const struct step *s = &RUN.step[i];
        int best = -1;
        for (int k = 0; k < RUN.n_truths; k++)
            if (!is_used[k] && fabs((double) s->touchdown.us - time_us(&RUN.truth[k])) < PAIR_US)
                best = k;
        if (best < 0) {
            snprintf(name, sizeof name, "%s, at %.3f s", t->name, (double) s->touchdown.us * 1e-6);
            if ((double) s->touchdown.us < time_us(&RUN.truth[RUN.n_truths - 1]))
                add(&e[METRIC_COUNT + EXTRA_MADE_UP], 1, 1, name);
            continue;
        }
        is_used[best] = true;
        compare_step(e, t, s, &RUN.truth[best]);
    }
    for (int k = 2; k < RUN.n_truths - 2; k++) {
        snprintf(name, sizeof name, "%s, step %d", t->name, k + 1);
        add(&e[METRIC_COUNT + EXTRA_FOUND], is_used[k] ? 0 : 1, 1, name);
    }
    compare_symmetry(e, t);
    if (!isnan(RUN.momentum_weight_n))
        add(&e[METRIC_COUNT + EXTRA_WEIGHT],
            RUN.momentum_weight_n / (t->style.mass_kg * UNITS_GRAVITY_M_S2) - 1, 1, t->name);
}

static bool
load_profile(const char *folder, const char *file)
{
    char path[512];
    struct message why;
    snprintf(path, sizeof path, "%s/%s", folder, file);
    if (profile_load(&SENSOR, path, &why) == ERR_OK)
        return true;
    fprintf(stderr, "sim_truth: %s\n", message_english(&why));
    return false;
}

static int
compare_doubles(const void *a, const void *b)
{
    double x = *(const double *) a, y = *(const double *) b;
    return (x > y) - (x < y);
}

static void
print_row(int kind, int m)
{
    struct errors *e = &ERRORS[kind][m];
    double sum = 0, squares = 0, truth = 0;
    if (e->n + e->n_missing == 0)
        return;
    for (int i = 0; i < e->n; i++) {
        sum += e->error[i];
        squares += e->error[i] * e->error[i];
        truth += e->truth[i];
    }
    double mean = sum / e->n, variance = squares / e->n - mean * mean;
    for (int i = 0; i < e->n; i++)
        e->error[i] = fabs(e->error[i]);
    qsort(e->error, (size_t) e->n, sizeof *e->error, compare_doubles);
    printf("%s,%s,%d,%d,%d,%.6g,%.6g,%.6g,%.6g,%.6g,%s\n", KIND_NAME[kind],
           m < METRIC_COUNT ? metric_info((enum metric) m)->name : EXTRA[m - METRIC_COUNT], e->n,
           e->n_missing, e->n_estimated, truth / e->n, mean, variance > 0 ? sqrt(variance) : 0,
           e->n ? e->error[(int) (0.95 * (e->n - 1))] : (double) NAN, e->worst, e->worst_case);
}

static int
run_all(int n_steps, const char *folder, int only_kind, int only_trial)
{
    int n_trials = (n_steps + STEPS_A_RUN - 1) / STEPS_A_RUN;
    for (int kind = 0; kind < 4; kind++) {
        if (only_kind >= 0 && kind != only_kind)
            continue;
        if (PROFILE[kind] && !load_profile(folder, PROFILE[kind]))
            return 1;
        for (int i = 0; i < n_trials; i++) {
            struct trial t = draw_trial(i);
            struct runner_config c = runner_of(&t);
            if (only_trial >= 0 && i != only_trial)
                continue;
            memset(&RUN, 0, sizeof RUN);
            runner_init(&RUNNER, &c);
            if (KIND[kind] == FRAME_KIND_FORCE)
                run_force(&t);
            else
                run_board(&t, KIND[kind]);
            engine_finish(&ENGINE);
            keep(&RUN);
            RUN.momentum_weight_n = engine_momentum_weight_n(&ENGINE);
            compare_run(kind, &t);
        }
    }
    printf("kind,metric,n,missing,estimated,mean_truth,bias,sd,p95,worst,case\n");
    for (int kind = 0; kind < 4; kind++)
        for (int m = 0; m < N_COLUMNS; m++)
            print_row(kind, m);
    for (int kind = 0; kind < 4; kind++)
        for (int m = 0; m < METRIC_COUNT; m++)
            printf("%s,standing:%s,%d,%d,%d,,,,,,\n", KIND_NAME[kind], metric_info((enum metric) m)->name,
                   STANDING[kind][m][METRIC_MEASURED], STANDING[kind][m][METRIC_MISSING],
                   STANDING[kind][m][METRIC_ESTIMATED]);
    return 0;
}

/* ------------------------------------------------------------------ traces for downsample.py */

static int
write_trace(const char *folder, const struct trial *t, double rate_hz)
{
    char path[512];
    struct runner_config c = runner_of(t);
    struct runner_now now;
    memset(&RUN, 0, sizeof RUN);
    runner_init(&RUNNER, &c);
    snprintf(path, sizeof path, "%s/sim_%02d.csv", folder, t->number);
    FILE *f = fopen(path, "w");
    if (!f)
        return 1;
    fprintf(f, "t,fz,copx,copy\n");
    for (int64_t i = 0; RUN.n_truths < 40; i++) {
        runner_now(&RUNNER, (double) i / rate_hz, &now);
        take_truths(&RUNNER, &RUN);
        fprintf(f, "%.6f,%.3f,", (double) i / rate_hz, now.force_n);
        fprintf(f, now.force_n > 20 ? "%.2f,%.2f\n" : ",\n", now.cop_right_mm, now.cop_fwd_mm);
    }
    fclose(f);
    finish_truths(&RUN, &t->style, FRAME_KIND_FORCE);
    snprintf(path, sizeof path, "%s/sim_%02d_truth.csv", folder, t->number);
    f = fopen(path, "w");
    if (!f)
        return 1;
    fprintf(f, "touchdown_s,toeoff_s,mass_kg,speed_m_s,foot_mm,leg_mm,load_rate_unfiltered_bw_s");
    for (int m = 0; m < METRIC_COUNT; m++)
        fprintf(f, ",%s", metric_info((enum metric) m)->name);
    fprintf(f, "\n");
    for (int i = 0; i < RUN.n_truths; i++) {
        const struct truth *o = &RUN.truth[i];
        fprintf(f, "%.6f,%.6f,%.3f,%.4f,%.2f,%.2f,%.4f", o->t.down_s, o->t.up_s, t->style.mass_kg,
                t->style.speed_m_s, t->style.foot_length_mm, t->style.leg_length_mm, o->t.load_rate_bw_s);
        for (int m = 0; m < METRIC_COUNT; m++)
            isnan(o->value[m]) ? fprintf(f, ",") : fprintf(f, ",%.6g", o->value[m]);
        fprintf(f, "\n");
    }
    fclose(f);
    return 0;
}

int
main(int argc, char **argv)
{
    const char *profiles = "profiles/sensors", *trace = NULL;
    double rate_hz = 2000;
    int n_steps = 10200, only_kind = -1, only_trial = -1;
    if (argc == 2 && strcmp(argv[1], "--list") == 0) {
        for (int m = 0; m < METRIC_COUNT; m++)
            printf("%s,%g\n", metric_info((enum metric) m)->name, measure_min_rate_hz((enum metric) m));
        return 0;
    }
    for (int i = 1; i + 1 < argc; i += 2) {
        const char *value = argv[i + 1];
        if (strcmp(argv[i], "--steps") == 0)
            n_steps = atoi(value);
        else if (strcmp(argv[i], "--profiles") == 0)
            profiles = value;
        else if (strcmp(argv[i], "--trace") == 0)
            trace = value;
        else if (strcmp(argv[i], "--rate") == 0)
            rate_hz = atof(value);
        else if (strcmp(argv[i], "--runner") == 0)
            only_trial = atoi(value);
        else if (strcmp(argv[i], "--kind") == 0) {
            for (int k = 0; k < 4; k++)
                if (strcmp(value, KIND_NAME[k]) == 0)
                    only_kind = k;
        } else {
            fprintf(stderr, "sim_truth: %s? See the head of this file\n", argv[i]);
            return 2;
        }
    }
    if (!trace)
        return run_all(n_steps, profiles, only_kind, only_trial);
    for (int i = 0; i < 8; i++) {
        struct trial t = draw_trial(i);
        if (write_trace(trace, &t, rate_hz) != 0) {
            fprintf(stderr, "sim_truth: cannot write into %s\n", trace);
            return 1;
        }
    }
    return 0;
}
