/* calib_sums.c - calib.h's sums over the frames fed, and what all kinds of calibration read from them. */
#include "setup/calib_parts.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

void
calib_init(struct calib *c, const struct sense_profile *profile, enum calib_what what)
{
    memset(c, 0, sizeof *c);
    c->profile = profile;
    c->what = what;
}

int
calib_n_elements(const struct sense_profile *p)
{
    return p->kind == FRAME_KIND_MAT     ? p->n_rows * p->n_cols
           : p->kind == FRAME_KIND_CELLS ? p->n_cells
                                         : p->n_zones;
}

void
calib_feed(struct calib *c, const struct packet *p, const struct frame *f)
{
    const double force_n = isnan(f->force_n) ? 0 : f->force_n;
    const int n = calib_n_elements(c->profile);
    if (c->n_frames == 0)
        c->force_first = force_n;
    c->force_sum += force_n - c->force_first;
    c->force_sum_sq += (force_n - c->force_first) * (force_n - c->force_first);
    c->n_full += (f->flags & FRAME_SATURATED) != 0;
    c->n_edge += (f->flags & FRAME_AT_EDGE) != 0;
    for (int i = 0; i < n; i++) {
        const int32_t counts = p->type == PACKET_MAT ? p->mat_counts[i] : p->channel_counts[i];
        const int32_t held = counts < c->last[i] ? counts : c->last[i];
        if (c->n_frames > 0 && held > c->peak[i])
            c->peak[i] = held;
        c->last[i] = counts;
        c->sum[i] += counts;
        if (p->type == PACKET_SWITCHES && i < PACKET_MAX_ZONES)
            c->zone_sum_sq[i] += (double) counts * counts;
    }
    c->n_frames++;
}

double
calib_force_mean(const struct calib *c)
{
    return c->force_first + c->force_sum / (double) c->n_frames;
}

double
calib_force_sd(const struct calib *c)
{
    const double n = (double) c->n_frames, mean = c->force_sum / n, var = c->force_sum_sq / n - mean * mean;
    return var > 0 ? sqrt(var) : 0;
}

enum err
calib_refuse(struct message *why, enum message_code code)
{
    message_init(why, code);
    return ERR_FORMAT;
}
