/* calib_zero.c - calib.h's zero: the empty sensor's readings, and whether it was empty. */
#include "sense/cells.h"
#include "sense/mat.h"
#include "setup/calib_parts.h"

#include <math.h>
#include <stdio.h>

#define PATCH_FLOORS 4.0  /* an element stands out by so many times the noise, */
#define PATCH_COUNTS 16.0 /* and by so much at least */

static double
mean_of(const struct calib *c, int i)
{
    return c->sum[i] / (double) c->n_frames;
}

/* What an element reads over the zero in force. */
static double
over_zero(const struct calib *c, int i)
{
    const struct sense_profile *p = c->profile;
    return mean_of(c, i) - p->offset_counts - (double) p->element_offset_counts[i];
}

/* Median over the elements, by halving the range of counts. */
static double
median_over_zero(const struct calib *c, int n)
{
    double low = -65536, high = 65536;
    for (int turn = 0; turn < 40; turn++) {
        const double middle = 0.5 * (low + high);
        int n_below = 0;
        for (int i = 0; i < n; i++)
            n_below += over_zero(c, i) < middle;
        *(2 * n_below < n ? &low : &high) = middle;
    }
    return 0.5 * (low + high);
}

/* N on the elements of a mat that stand out of the others: offsets drift together, feet are patches. */
static double
patches_n(const struct calib *c, int n)
{
    const struct sense_profile *p = c->profile;
    const double median = median_over_zero(c, n), least = fmax(PATCH_COUNTS, PATCH_FLOORS * p->noise_counts);
    double counts = 0;
    for (int i = 0; i < n; i++) {
        const double out = over_zero(c, i) - median;
        if (out > least)
            counts += out * (double) p->element_gain[i];
    }
    return counts * mat_gain_n_per_count(p);
}

static bool
was_zeroed(const struct sense_profile *p)
{
    for (int i = 0; i < p->n_cells; i++)
        if (p->cell[i].offset_counts != 0)
            return true;
    return false;
}

/* N that the zero takes off cells, by their gains. */
static double
cells_moved_n(const struct calib *c, int n)
{
    double sum_n = 0;
    for (int i = 0; i < n; i++)
        sum_n += (mean_of(c, i) - c->profile->cell[i].offset_counts) * cells_gain_n_per_count(c->profile, i);
    return sum_n;
}

static bool
has_zone_moved(const struct calib *c, int n)
{
    for (int i = 0; i < n; i++) {
        const double mean = mean_of(c, i), variance = c->zone_sum_sq[i] / (double) c->n_frames - mean * mean;
        if (variance > pow(CALIB_STILL_ZONE * c->profile->zone[i].full_counts, 2))
            return true;
    }
    return false;
}

/* Whether anybody was on it. */
static enum err
look_for_somebody(const struct calib *c, double patch_n, double moved_n, struct message *why)
{
    const struct sense_profile *p = c->profile;
    const double sd = calib_force_sd(c);
    if (sd > CALIB_STILL_N) {
        message_tell(why, MESSAGE_CALIB_ZERO_CHANGES, message_real(sd, 0, MESSAGE_UNIT_NEWTON));
        return ERR_FORMAT;
    }
    if (p->kind == FRAME_KIND_SWITCHES && has_zone_moved(c, p->n_zones))
        return calib_refuse(why, MESSAGE_CALIB_ZONE_CHANGES);
    if (c->is_surely_empty)
        return ERR_OK;
    if (patch_n > CALIB_SOMEBODY_N) {
        message_tell(why, MESSAGE_CALIB_LOAD_ON_MAT, message_real(patch_n, 0, MESSAGE_UNIT_NEWTON));
        return ERR_FORMAT;
    }
    if (p->kind == FRAME_KIND_CELLS && was_zeroed(p) && fabs(moved_n) > CALIB_SOMEBODY_N) {
        message_tell(why, MESSAGE_CALIB_ZERO_MOVED, message_signed(moved_n, 0, MESSAGE_UNIT_NEWTON));
        return ERR_FORMAT;
    }
    return ERR_OK;
}

static enum err
take(const struct calib *c, struct sense_profile *out, int i, struct message *why)
{
    const double mean = mean_of(c, i);
    if (fabs(mean) >= out->saturation_counts) {
        message_tell(why, MESSAGE_CALIB_FULL_WITH_NOBODY, i);
        return ERR_FORMAT;
    }
    if (out->kind == FRAME_KIND_MAT)
        out->element_offset_counts[i] = (float) (mean - out->offset_counts);
    else if (out->kind == FRAME_KIND_CELLS)
        out->cell[i].offset_counts = mean;
    else if (mean < 0.5 * out->zone[i].full_counts)
        out->zone[i].offset_counts = mean;
    else
        return calib_refuse(why, MESSAGE_CALIB_ZONE_IS_PRESSED);
    return ERR_OK;
}

enum err
calib_zero(const struct calib *c, struct sense_profile *out, struct calib_entry *entry, struct message *why)
{
    const struct sense_profile *p = c->profile;
    const int n = calib_n_elements(p);
    const double patch_n = p->kind == FRAME_KIND_MAT ? patches_n(c, n) : 0;
    const double moved_n = p->kind == FRAME_KIND_CELLS ? cells_moved_n(c, n) : patch_n;
    enum err err = look_for_somebody(c, patch_n, moved_n, why);
    for (int i = 0; i < n && err == ERR_OK; i++)
        err = take(c, out, i, why);
    if (err == ERR_OK && p->kind != FRAME_KIND_SWITCHES)
        entry->moved_n = moved_n;
    return err;
}
