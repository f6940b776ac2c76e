#include "sense/cells.h"
#include "sense/mat.h"
#include "setup/calib.h"
#include "base/mark.h"
#include "setup/calib_parts.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define STRONG_FLOORS 4.0 /* an element was rolled over when its peak is so many times the noise */

static const char *const NAMES[CALIB_N_WHATS] = { "zero", "mass", "running", "equalise" };

const char *
calib_what_name(enum calib_what what)
{
    return NAMES[what];
}

bool
calib_what_from_name(const char *word, enum calib_what *out)
{
    for (int i = 0; i < CALIB_N_WHATS; i++)
        if (strcmp(word, NAMES[i]) == 0) {
            *out = (enum calib_what) i;
            return true;
        }
    return false;
}

const char *
calib_please(enum calib_what what)
{
    static const char *const please[CALIB_N_WHATS] = { N_("nobody on the sensor, the belt stopped, please"),
                                                       N_("stand still in the middle, the belt stopped, please"),
                                                       N_("run steadily, please"),
                                                       N_("roll slowly over all of the mat, please") };
    return please[what];
}

/* ------------------------------------------------------------------ gain */

double
calib_drift_pct(double measured_n, double mass_kg)
{
    return (measured_n / (mass_kg * UNITS_GRAVITY_M_S2) - 1) * 100;
}

static bool
has_gain(const struct sense_profile *p)
{
    return p->kind == FRAME_KIND_MAT ? !isnan(p->gain_n_per_count) : !isnan(p->cell[0].gain_n_per_count);
}

enum err
calib_by_weight(const struct sense_profile *profile, enum calib_what what, double measured_n, double mass_kg,
                struct sense_profile *out, struct calib_entry *entry, struct message *why)
{
    const double ratio = mass_kg * UNITS_GRAVITY_M_S2 / measured_n;
    *out = *profile;
    *entry = (struct calib_entry){ .what = what, .mass_kg = mass_kg, .drift_pct = NAN, .moved_n = NAN, .spread_pct = NAN };
    if (profile->kind != FRAME_KIND_MAT && profile->kind != FRAME_KIND_CELLS)
        return calib_refuse(why, MESSAGE_CALIB_SWITCHES_HAVE_NO_FORCE);
    if (!(measured_n > 0) || !isfinite(ratio))
        return calib_refuse(why, MESSAGE_CALIB_NO_LOAD);
    if (has_gain(profile)) {
        entry->drift_pct = calib_drift_pct(measured_n, mass_kg);
        if (ratio > CALIB_FAR_RATIO || ratio < 1 / CALIB_FAR_RATIO) {
            message_tell(why, MESSAGE_CALIB_OTHER_WEIGHT, message_real(measured_n, 0, MESSAGE_UNIT_NEWTON),
                         message_real(mass_kg, 1, MESSAGE_UNIT_KG),
                         message_real(mass_kg * UNITS_GRAVITY_M_S2, 0, MESSAGE_UNIT_NEWTON));
            return ERR_FORMAT;
        }
    }
    if (profile->kind == FRAME_KIND_MAT) {
        out->gain_n_per_count = mat_gain_n_per_count(profile) * ratio;
        return ERR_OK;
    }
    for (int i = 0; i < profile->n_cells; i++)
        out->cell[i].gain_n_per_count = cells_gain_n_per_count(profile, i) * ratio;
    return ERR_OK;
}

static enum err
by_mass(const struct calib *c, double mass_kg, struct sense_profile *out, struct calib_entry *entry,
        struct message *why)
{
    const double mean = calib_force_mean(c), sd = calib_force_sd(c);
    if (c->profile->kind != FRAME_KIND_SWITCHES && mean > 0 && sd > CALIB_STILL_RATIO * mean) {
        message_tell(why, MESSAGE_CALIB_FORCE_CHANGES, message_real(sd / mean * 100, 1, MESSAGE_UNIT_PCT));
        return ERR_FORMAT;
    }
    if (c->n_full > 0)
        return calib_refuse(why, MESSAGE_CALIB_IS_SATURATED);
    if (c->n_edge > 0)
        return calib_refuse(why, MESSAGE_CALIB_AT_THE_EDGE);
    return calib_by_weight(c->profile, CALIB_MASS, mean, mass_kg, out, entry, why);
}

/* ------------------------------------------------------------------ equalise */

static double
peak_over_empty(const struct calib *c, int i)
{
    return c->peak[i] - c->profile->offset_counts - (double) c->profile->element_offset_counts[i];
}

static bool
is_dead(const struct sense_profile *p, int element)
{
    for (int i = 0; i < p->n_dead; i++)
        if (p->dead[i] == element)
            return true;
    return false;
}

/* Median of the peaks that count, by halving the range of counts: no sorting of 8192 numbers, no memory. */
static double
median_peak(const struct calib *c, double least)
{
    double low = least, high = 65536;
    for (int turn = 0; turn < 40; turn++) {
        const double middle = 0.5 * (low + high);
        int n_below = 0, n_above = 0;
        for (int i = 0; i < calib_n_elements(c->profile); i++) {
            const double peak = peak_over_empty(c, i);
            if (peak < least || is_dead(c->profile, i))
                continue;
            n_below += peak < middle;
            n_above += peak >= middle;
        }
        *(n_below < n_above ? &low : &high) = middle;
    }
    return 0.5 * (low + high);
}

static enum err
equalise(const struct calib *c, struct sense_profile *out, struct calib_entry *entry, struct message *why)
{
    const struct sense_profile *p = c->profile;
    const int n = calib_n_elements(p);
    const double least = STRONG_FLOORS * (p->noise_counts > 1 ? p->noise_counts : 1);
    double sum = 0, sum_sq = 0;
    int n_seen = 0, n_alive = 0, n_even = 0;
    if (p->kind != FRAME_KIND_MAT)
        return calib_refuse(why, MESSAGE_CALIB_ONLY_MAT_IS_UNEVEN);
    for (int i = 0; i < n; i++) {
        const bool is_alive = !is_dead(p, i);
        n_alive += is_alive;
        n_seen += is_alive && peak_over_empty(c, i) >= least;
    }
    if (n_seen < CALIB_COVER_RATIO * n_alive) {
        message_tell(why, MESSAGE_CALIB_ROLLED_OVER_FEW, n_seen, n_alive);
        return ERR_FORMAT;
    }
    const double median = median_peak(c, least);
    for (int i = 0; i < n; i++) {
        const double peak = peak_over_empty(c, i), gain = median / peak;
        const bool is_full = c->peak[i] >= p->saturation_counts;
        if (is_dead(p, i))
            continue;
        if (peak < least || is_full || gain < CALIB_GAIN_MIN || gain > CALIB_GAIN_MAX) {
            entry->n_left++;
            continue;
        }
        out->element_gain[i] = (float) gain;
        sum += 1 / gain;
        sum_sq += 1 / gain / gain;
        n_even++;
    }
    if (n_even < CALIB_COVER_RATIO * n_alive)
        return calib_refuse(
            why,
            MESSAGE_CALIB_VERY_UNEVEN);
    const double mean = sum / n_even, var = sum_sq / n_even - mean * mean;
    entry->spread_pct = var > 0 ? sqrt(var) / mean * 100 : 0;
    return ERR_OK;
}

enum err
calib_finish(const struct calib *c, double mass_kg, struct sense_profile *out, struct calib_entry *entry,
             struct message *why)
{
    *out = *c->profile;
    *entry = (struct calib_entry){ .what = c->what, .mass_kg = NAN, .drift_pct = NAN, .moved_n = NAN, .spread_pct = NAN };
    message_init(why, MESSAGE_NONE);
    if (c->n_frames < CALIB_MIN_FRAMES)
        return calib_refuse(why, MESSAGE_CALIB_FEW_FRAMES);
    switch (c->what) {
    case CALIB_ZERO:
        return calib_zero(c, out, entry, why);
    case CALIB_MASS:
        return by_mass(c, mass_kg, out, entry, why);
    case CALIB_EQUALISE:
        return equalise(c, out, entry, why);
    case CALIB_RUNNING: /* the engine measures: calib_by_weight() */
    case CALIB_N_WHATS:
        break;
    }
    return calib_refuse(why, MESSAGE_CALIB_NOTHING_TO_DO);
}
