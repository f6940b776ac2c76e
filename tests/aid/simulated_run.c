#include "aid/simulated_run.h"

#include "sim/random.h"
#include "sim/runner_model.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define PI           3.14159265358979323846
#define THRESHOLD_N  50.0 /* of the truth, and the one that `steps` is told */
#define COP_FROM_N   20.0 /* below: no centre of pressure, as in the recorded sets */
#define COP_NOISE_NM 3.0
#define NOISE_N      5.0
#define VIBRATION_N  8.0
#define VIBRATION_HZ 120.0
#define OFFSET_N     4.0
#define TEXT_ZERO_N  30.0 /* spikes: below is set to 0 */
#define DRIFT_N      150.0
#define LOW_PASS_HZ  30.0
#define LOST_SHARE   0.02
#define BURST_ROWS   5
#define MAX_TRUTHS   128 /* 20 s hold 60 */
#define AFTER_S      2.0 /* the runner goes on past the end: a step's truth comes with the next touchdown */

static const struct simulated_run KIND[] = {
    { .name = "rear", .rate_hz = 300, .seconds = 20, .strike_index_pct = 12, .speed_m_s = 3.0, .has_cop = true },
    { .name = "mid", .rate_hz = 300, .seconds = 20, .strike_index_pct = 50, .speed_m_s = 3.5, .has_cop = true },
    { .name = "fore", .rate_hz = 300, .seconds = 20, .strike_index_pct = 74, .speed_m_s = 4.0, .has_cop = true },
    { .name = "spikes", .rate_hz = 300, .seconds = 20, .strike_index_pct = 20, .speed_m_s = 2.5 },
    { .name = "drift", .rate_hz = 300, .seconds = 20, .strike_index_pct = 20, .speed_m_s = 2.5 },
    { .name = "slope_down", .rate_hz = 500, .seconds = 10, .strike_index_pct = 8, .speed_m_s = 3.3, .slope_deg = -10 },
    { .name = "slope_up", .rate_hz = 500, .seconds = 10, .strike_index_pct = 70, .speed_m_s = 2.5, .slope_deg = 10 },
    { .name = "holes", .rate_hz = 300, .seconds = 20, .strike_index_pct = 20, .speed_m_s = 3.0, .has_cop = true,
      .hole_from_s = 9.0, .hole_to_s = 10.0 },
    { .name = "walking", .rate_hz = 300, .seconds = 20, .strike_index_pct = 10, .speed_m_s = 1.2, .is_walking = true },
};

/* A recording as it is made. */
struct trace {
    const struct simulated_run *run;
    struct runner runner;
    struct random random;
    int n;
    double *force_n, *right_mm, *fwd_mm; /* n each; place: NAN when there is none */
    bool *is_lost;
    double start_s; /* of row 0 on the runner's clock */
    struct runner_truth truth[MAX_TRUTHS];
    int n_truths;
};

const struct simulated_run *
simulated_run_at(int k)
{
    return k >= 0 && k < (int) (sizeof KIND / sizeof KIND[0]) ? &KIND[k] : NULL;
}

static bool
is_slope(const struct simulated_run *run)
{
    return run->slope_deg < 0 || run->slope_deg > 0;
}

static double
time_s(const struct trace *t, int i)
{
    return i / t->run->rate_hz;
}

static void
start_runner(struct trace *t)
{
    static const struct runner_segment walk[] = { { RUNNER_WALKS, 3600, NAN, NAN, 0 } };
    struct runner_config c = runner_config_default();
    c.truth_threshold_n = THRESHOLD_N;
    c.style.strike_index_pct = t->run->strike_index_pct;
    c.style.speed_m_s = t->run->speed_m_s;
    if (t->run->slope_deg < 0)
        c.style.limb_speed_m_s = 1.4; /* downhill: a hard landing, its transient as high as the peak */
    if (t->run->is_walking) {
        c.script = walk;
        c.n_segments = 1;
    }
    for (const char *s = t->run->name; *s; s++)
        c.seed = c.seed * 31 + (unsigned char) *s;
    random_init(&t->random, c.seed + 1);
    runner_init(&t->runner, &c);
}

/* The runner at an instant; the truths that are finished by then are kept. */
static void
look(struct trace *t, double t_s, struct runner_now *now)
{
    runner_now(&t->runner, t_s, now);
    while (t->n_truths < MAX_TRUTHS && runner_take(&t->runner, &t->truth[t->n_truths]))
        t->n_truths++;
}

/* ------------------------------------------------------------------ what makes each kind hard */

static void
add_plate(struct trace *t)
{
    for (int i = 0; i < t->n; i++) {
        const double clean_n = t->force_n[i];
        t->force_n[i] += OFFSET_N + NOISE_N * random_normal(&t->random) +
                         VIBRATION_N * sin(2 * PI * VIBRATION_HZ * time_s(t, i));
        if (t->force_n[i] <= COP_FROM_N || clean_n <= COP_FROM_N) {
            t->right_mm[i] = t->fwd_mm[i] = NAN;
            continue;
        }
        t->right_mm[i] += 1e3 * COP_NOISE_NM / t->force_n[i] * random_normal(&t->random);
        t->fwd_mm[i] += 1e3 * COP_NOISE_NM / t->force_n[i] * random_normal(&t->random);
    }
}

static void
make_spikes(struct trace *t)
{
    for (int i = 0; i < t->n; i++)
        if (t->force_n[i] < TEXT_ZERO_N)
            t->force_n[i] = 0;
    for (int i = 2; i + 2 < t->n; i++) {
        const bool is_flight = t->force_n[i - 2] <= 0 && t->force_n[i - 1] <= 0 && t->force_n[i + 1] <= 0 &&
                               t->force_n[i + 2] <= 0;
        const bool is_rising = t->force_n[i - 1] > THRESHOLD_N && t->force_n[i + 1] > t->force_n[i - 1] + 60 &&
                               t->force_n[i - 2] < THRESHOLD_N;
        if (is_flight && random_chance(&t->random, 0.1))
            t->force_n[i] = TEXT_ZERO_N + 50 * random_uniform(&t->random);
        else if (is_rising && random_chance(&t->random, 0.3))
            t->force_n[i] = 0;
    }
}

static void
make_drift(struct trace *t)
{
    for (int i = 0; i < t->n; i++)
        t->force_n[i] += DRIFT_N * (time_s(t, i) / t->run->seconds + 0.2 * sin(2 * PI * time_s(t, i) / 7));
}

/* Butterworth of 2nd order, forth and back and again: 8 poles, which ring as the recorded slope runs do. */
static void
low_pass(double *x, int n, double rate_hz)
{
    const double k = tan(PI * LOW_PASS_HZ / rate_hz), norm = 1 / (1 + sqrt(2) * k + k * k);
    const double b0 = k * k * norm, a1 = 2 * (k * k - 1) * norm, a2 = (1 - sqrt(2) * k + k * k) * norm;
    for (int pass = 0; pass < 4; pass++) {
        double x1 = x[pass % 2 ? n - 1 : 0], x2 = x1, y1 = x1, y2 = x1;
        for (int i = 0; i < n; i++) {
            double *at = &x[pass % 2 ? n - 1 - i : i];
            const double in = *at, y = b0 * (in + 2 * x1 + x2) - a1 * y1 - a2 * y2;
            x2 = x1, x1 = in, y2 = y1, y1 = y;
            *at = y;
        }
    }
}

static void
make_slope(struct trace *t)
{
    for (int i = 0; i < t->n; i++)
        t->force_n[i] *= cos(t->run->slope_deg * PI / 180);
    low_pass(t->force_n, t->n, t->run->rate_hz);
}

static void
make_holes(struct trace *t)
{
    for (int i = 0; i < t->n; i++)
        t->is_lost[i] = random_chance(&t->random, LOST_SHARE) ||
                        (time_s(t, i) >= t->run->hole_from_s && time_s(t, i) < t->run->hole_to_s);
    for (int k = 1; k <= 8; k++)
        for (int j = 0; j < BURST_ROWS; j++)
            t->is_lost[k * t->n / 9 + j] = true;
}

/* ------------------------------------------------------------------ made and written */

static void
make(struct trace *t)
{
    struct runner_now now;
    start_runner(t);
    if (is_slope(t->run)) /* in mid-stance: on until a foot is well down */
        for (t->start_s = 1; look(t, t->start_s, &now), now.force_n < 1000;)
            t->start_s += 1 / t->run->rate_hz;
    for (int i = 0; i < t->n; i++) {
        look(t, t->start_s + time_s(t, i), &now);
        t->force_n[i] = now.force_n;
        t->right_mm[i] = now.cop_right_mm;
        t->fwd_mm[i] = now.cop_fwd_mm;
    }
    for (double after_s = 0; after_s < AFTER_S; after_s += 0.01)
        look(t, t->start_s + time_s(t, t->n) + after_s, &now);
    add_plate(t);
    if (strcmp(t->run->name, "spikes") == 0)
        make_spikes(t);
    else if (strcmp(t->run->name, "drift") == 0)
        make_drift(t);
    else if (strcmp(t->run->name, "holes") == 0)
        make_holes(t);
    else if (is_slope(t->run))
        make_slope(t);
}

static FILE *
open_file(const struct simulated_run *run, const char *folder, const char *end)
{
    char path[512];
    snprintf(path, sizeof path, "%s/%s%s.csv", folder, run->name, end);
    return fopen(path, "w");
}

static bool
write_rows(const struct trace *t, const char *folder)
{
    FILE *f = open_file(t->run, folder, "");
    if (f == NULL)
        return false;
    fprintf(f, t->run->has_cop ? "t,fz,copx,copy\n" : "t,fz\n");
    for (int i = 0; i < t->n; i++) {
        if (t->is_lost[i])
            continue;
        fprintf(f, "%.6f,%.2f", time_s(t, i), t->force_n[i]);
        if (t->run->has_cop && isnan(t->fwd_mm[i]))
            fprintf(f, ",,");
        else if (t->run->has_cop)
            fprintf(f, ",%.1f,%.1f", t->right_mm[i], t->fwd_mm[i]);
        fprintf(f, "\n");
    }
    return fclose(f) == 0;
}

static bool
write_truth(const struct trace *t, const char *folder)
{
    const double end_s = t->start_s + time_s(t, t->n - 1);
    FILE *f = open_file(t->run, folder, "_truth");
    if (f == NULL)
        return false;
    fprintf(f, "side,gait,touchdown_s,toeoff_s,contact_ms,peak_force_bw,landing_ahead_mm,strike_index_pct\n");
    for (const struct runner_truth *o = t->truth; o < t->truth + t->n_truths; o++) {
        if (o->down_s <= t->start_s || o->up_s >= end_s)
            continue;
        fprintf(f, "%s,%s,%.6f,%.6f,%.4f,", o->foot == STEP_FOOT_LEFT ? "left" : "right",
                o->gait == STEP_GAIT_RUNNING ? "running" : "walking", o->down_s - t->start_s, o->up_s - t->start_s,
                o->contact_ms);
        fprintf(f, "%.4f,%.2f,%.2f\n", o->peak_force_bw * cos(t->run->slope_deg * PI / 180), o->landing_ahead_mm,
                o->strike_index_pct);
    }
    return fclose(f) == 0;
}

bool
simulated_run_write(const struct simulated_run *run, const char *folder)
{
    const size_t n = (size_t) lround(run->seconds * run->rate_hz);
    struct trace *t = calloc(1, sizeof *t);
    bool is_written = false;
    if (t == NULL)
        return false;
    t->run = run;
    t->n = (int) n;
    t->force_n = calloc(3 * n, sizeof *t->force_n);
    t->is_lost = calloc(n, sizeof *t->is_lost);
    if (t->force_n && t->is_lost) {
        t->right_mm = t->force_n + n;
        t->fwd_mm = t->right_mm + n;
        make(t);
        is_written = write_rows(t, folder) && write_truth(t, folder);
    }
    free(t->is_lost);
    free(t->force_n);
    free(t);
    return is_written;
}

void
simulated_run_words(const struct simulated_run *run, const char *folder, char *out, size_t cap)
{
    const struct runner_style style = runner_style_default();
    snprintf(out, cap, "'%s/%s.csv' --mass %g --speed %g --foot %g --threshold %g", folder, run->name, style.mass_kg,
             run->speed_m_s, style.foot_length_mm, THRESHOLD_N);
}
