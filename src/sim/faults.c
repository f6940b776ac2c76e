#include "sim/faults.h"

#include <math.h>
#include <string.h>

#define TWO_PI 6.283185307179586

struct faults_config
faults_config_default(void)
{
    return (struct faults_config){ .seed = 1,
                                   .vibration_hz = 120,
                                   .belt_length_mm = 3200,
                                   .seam_mm = 60,
                                   .reset_at_s = NAN,
                                   .jump_at_s = NAN,
                                   .reset_for_s = 0.3 };
}

void
faults_init(struct faults *f, const struct faults_config *c)
{
    memset(f, 0, sizeof *f);
    f->config = *c;
    random_init(&f->random, c->seed ^ UINT64_C(0xFA0175));
    for (int i = 0; i < FAULTS_N_NORMALS; i++)
        f->drawn[i] = random_normal(&f->random);
    for (int i = 0; i < FAULTS_MAX_ZONES; i++)
        f->changed_s[i] = -1e9;
}

/* The motor hunts: phase modulation, 5 % of the frequency at 0.7 Hz. */
static double
vibration_n(const struct faults_config *c, double t_s)
{
    if (!(c->vibration_n > 0))
        return 0;
    return c->vibration_n *
           sin(TWO_PI * c->vibration_hz * (t_s + 0.05 / (TWO_PI * 0.7) * sin(TWO_PI * 0.7 * t_s)));
}

void
faults_mat_rows(const struct faults *f, double t_s, double belt_travel_mm, const struct frame_image *mat,
                double load_n[])
{
    const struct faults_config *c = &f->config;
    const double pressed_n = vibration_n(c, t_s) / (mat->n_rows * mat->n_cols);
    /* The seam's rear end comes to the mat's front edge when the travel is a whole number of belts. */
    const double front_mm = mat->origin_fwd_mm + (mat->n_rows - 0.5) * mat->pitch_fwd_mm;
    const double rear_mm = front_mm - fmod(belt_travel_mm, c->belt_length_mm);
    for (int r = 0; r < mat->n_rows; r++) {
        const double along = (mat->origin_fwd_mm + r * mat->pitch_fwd_mm - rear_mm) / c->seam_mm;
        load_n[r] = pressed_n;
        if (c->seam_bump_n > 0 && along >= 0 && along < 1)
            load_n[r] +=
                c->seam_bump_n * (1 - cos(TWO_PI * along)) * mat->pitch_fwd_mm / c->seam_mm / mat->n_cols;
    }
}

double
faults_deck_n(const struct faults *f, double t_s, double belt_travel_mm)
{
    const struct faults_config *c = &f->config;
    double load_n = vibration_n(c, t_s);
    if (c->seam_bump_n > 0) {
        double past_mm = fmod(belt_travel_mm, c->belt_length_mm);
        if (past_mm < c->seam_mm)
            load_n += c->seam_bump_n / 2 * (1 - cos(TWO_PI * past_mm / c->seam_mm));
    }
    return load_n;
}

int32_t
faults_count(struct faults *f, int element, double counts, double t_s)
{
    const struct faults_config *c = &f->config;
    for (int i = 0; i < c->n_stuck; i++)
        if (c->stuck_element[i] == element)
            return c->stuck_counts[i];
    if (c->noise_counts > 0)
        counts += c->noise_counts * f->drawn[random_u32(&f->random) % FAULTS_N_NORMALS];
    counts = floor(counts + c->drift_counts_per_s * t_s + 0.5);
    if (c->saturation_counts > 0 && counts >= c->saturation_counts) {
        counts = c->saturation_counts;
        f->n_saturated++;
    }
    return (int32_t) fmax(-2147483647.0, fmin(2147483647.0, counts));
}

bool
faults_switch(struct faults *f, int zone, bool is_down, double t_s)
{
    if (is_down != f->was_down[zone]) {
        f->was_down[zone] = is_down;
        f->changed_s[zone] = t_s;
    }
    if (t_s - f->changed_s[zone] < f->config.chatter_ms * 1e-3)
        return random_chance(&f->random, 0.5);
    return is_down;
}

bool
faults_is_resetting(const struct faults *f, double t_s)
{
    double since_s = t_s - f->config.reset_at_s; /* NAN compares false */
    return since_s >= 0 && since_s < f->config.reset_for_s;
}

uint32_t
faults_clock_us(const struct faults *f, double t_s)
{
    double start_s = f->config.reset_at_s + f->config.reset_for_s;
    if (t_s >= start_s)
        return (uint32_t) (uint64_t) ((t_s - start_s) * 1e6 + 0.5);
    if (t_s >= f->config.jump_at_s) /* the counter's own arithmetic: modulo 2^32 */
        return f->config.clock_start_us + (uint32_t) (uint64_t) (t_s * 1e6 + 0.5) +
               (uint32_t) (int64_t) (f->config.jump_s * 1e6);
    return f->config.clock_start_us + (uint32_t) (uint64_t) (t_s * 1e6 + 0.5);
}

int
faults_arrivals(struct faults *f)
{
    /* Always two draws, so that one fault's share does not move the other's pattern. */
    bool is_lost = random_chance(&f->random, f->config.lost_share);
    bool is_double = random_chance(&f->random, f->config.duplicate_share);
    f->n_lost += is_lost;
    f->n_duplicates += is_double && !is_lost;
    return is_lost ? 0 : is_double ? 2 : 1;
}

bool
faults_damage(struct faults *f, uint8_t *bytes, size_t len)
{
    if (!(f->config.corrupt_share > 0) || len == 0 || !random_chance(&f->random, f->config.corrupt_share))
        return false;
    bytes[random_u32(&f->random) % len] ^= (uint8_t) (1U << (random_u32(&f->random) % 8));
    f->n_corrupt++;
    return true;
}
