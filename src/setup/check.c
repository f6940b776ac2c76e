#include "base/stats.h"
#include "setup/check.h"
#include "setup/check_parts.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define STRONG_FLOORS 10.0 /* a neighbour, or a pressed spot, is loaded when so many times above the floor   \
                            */
#define ELSEWHERE_MAX 0.05 /* of the spot's peak: more load elsewhere, and the frame shows no single spot */
#define GHOST_MAX     0.45 /* likewise of the far part of its row or column: more is another foot */
#define FULL_STRONG   0.05 /* of full scale: a pressed spot has at least this */

void
check_init(struct check *c, const struct sense_profile *profile, double nominal_hz)
{
    memset(c, 0, sizeof *c);
    c->profile = profile;
    c->nominal_hz = nominal_hz;
    c->n_elements = profile->kind == FRAME_KIND_MAT     ? profile->n_rows * profile->n_cols
                    : profile->kind == FRAME_KIND_CELLS ? profile->n_cells
                                                        : profile->n_zones;
}

void
check_begin_loaded(struct check *c)
{
    c->is_loaded = true;
    c->has_phase = false;
}

static int32_t
counts_of(const struct packet *p, int i)
{
    return p->type == PACKET_MAT ? p->mat_counts[i] : p->channel_counts[i];
}

double
check_offset_counts(const struct sense_profile *p, int i)
{
    if (p->kind == FRAME_KIND_MAT)
        return p->offset_counts + (double) p->element_offset_counts[i];
    return p->kind == FRAME_KIND_CELLS ? p->cell[i].offset_counts : p->zone[i].offset_counts;
}

double
check_floor_counts(const struct sense_profile *p)
{
    return p->noise_counts > 1 ? p->noise_counts : 1;
}

/* Does the element show a load? Cells always carry some. */
static bool
is_above(const struct sense_profile *p, const struct packet *packet, const struct frame *f, int i)
{
    if (p->kind == FRAME_KIND_MAT)
        return packet->mat_counts[i] - check_offset_counts(p, i) > check_floor_counts(p);
    return p->kind == FRAME_KIND_SWITCHES && f->switches->is_down[i];
}

static void
feed_trend(struct check_trend *s, bool is_first, double t_s, double x)
{
    if (is_first)
        s->first = x;
    const double d = x - s->first;
    s->sum += d;
    s->sum_sq += d * d;
    s->sum_tx += t_s * d;
}

static void
feed_empty(struct check *c, const struct packet *p, const struct frame *f, double t_s)
{
    const bool is_first = c->n_empty == 0;
    for (int i = 0; i < c->n_elements; i++) {
        struct check_element *e = &c->element[i];
        const int32_t counts = counts_of(p, i);
        if (is_first)
            e->base = e->low = e->high = counts;
        e->low = counts < e->low ? counts : e->low;
        e->high = counts > e->high ? counts : e->high;
        const double d = (double) counts - e->base;
        e->sum += d;
        e->sum_sq += d * d;
        e->sum_tx += t_s * d;
        e->n_above += is_above(c->profile, p, f, i);
    }
    feed_trend(&c->force, is_first, t_s, isnan(f->force_n) ? 0 : f->force_n);
    c->sum_t += t_s;
    c->sum_tt += t_s * t_s;
    c->n_empty++;
    c->seconds_empty = t_s;
}

double
check_element_mean(const struct check *c, int i)
{
    const struct check_element *e = &c->element[i];
    return e->base + (c->n_empty > 0 ? e->sum / (double) c->n_empty : 0);
}

/* ------------------------------------------------------------------ the loaded part */

/* Load of a mat's element over its empty reading, counts. */
static double
excess(const struct check *c, const struct packet *p, int i)
{
    const double empty = c->n_empty > 0 ? check_element_mean(c, i) : check_offset_counts(c->profile, i);
    return p->mat_counts[i] - empty;
}

static double
strong_counts(const struct check *c)
{
    const double by_floor = STRONG_FLOORS * check_floor_counts(c->profile);
    const double by_full = FULL_STRONG * c->profile->saturation_counts; /* NAN when not known */
    return by_full > by_floor ? by_full : by_floor;
}

/* Elements that show nothing though both neighbours, in the row or in the column, are loaded: two next to
 * each other may be dead, so that the neighbour of either side is one or two away. */
static void
look_between(struct check *c, const struct packet *p)
{
    const int n_rows = c->profile->n_rows, n_cols = c->profile->n_cols;
    const double strong = strong_counts(c);
    for (int r = 0; r < n_rows; r++) {
        for (int col = 0; col < n_cols; col++) {
            struct check_element *e = &c->element[r * n_cols + col];
            if (e->was_loaded)
                continue;
            bool is_between = false;
            for (int axis = 0; axis < 2 && !is_between; axis++) {
                const int at = axis ? r : col, end = axis ? n_rows : n_cols, step = axis ? n_cols : 1;
                const int i = r * n_cols + col;
                const bool has_low = (at >= 1 && excess(c, p, i - step) > strong) ||
                                     (at >= 2 && excess(c, p, i - 2 * step) > strong);
                const bool has_high = (at + 1 < end && excess(c, p, i + step) > strong) ||
                                      (at + 2 < end && excess(c, p, i + 2 * step) > strong);
                is_between = has_low && has_high;
            }
            e->n_between += is_between;
        }
    }
}

static int
find_peak(const struct check *c, const struct packet *p)
{
    int peak = 0;
    for (int i = 1; i < c->n_elements; i++)
        if (excess(c, p, i) > excess(c, p, peak))
            peak = i;
    return peak;
}

/* The far part of a line as a share of the spot: the median, since cross-talk is on all of the line, a foot
 * that reaches beyond the spot on some of it. */
static void
add_ghost(struct check *c, int is_col, int line, const double *far, int n, double peak)
{
    if (n == 0)
        return;
    const double share = stats_median_of(far, n) / peak;
    *(is_col ? &c->ghost_col : &c->ghost_row) += share;
    (*(is_col ? &c->n_ghost_col : &c->n_ghost_row))++;
    c->line_ghost[is_col][line] += share;
    c->n_line_ghost[is_col][line]++;
}

/* One compact spot is pressed: what do the far parts of its row and its column show? */
static void
look_for_ghosts(struct check *c, const struct packet *p)
{
    const struct sense_profile *m = c->profile;
    const int peak_at = find_peak(c, p), row = peak_at / m->n_cols, col = peak_at % m->n_cols;
    const double peak = excess(c, p, peak_at), floor_counts = check_floor_counts(m);
    const double reach_fwd = fmax(CHECK_SPOT_MM, 1.5 * m->pitch_fwd_mm);
    const double reach_right = fmax(CHECK_SPOT_MM, 1.5 * m->pitch_right_mm);
    double far_row[PACKET_MAX_COLS], far_col[PACKET_MAX_ROWS];
    int n_row = 0, n_col = 0;
    if (peak < strong_counts(c) || p->mat_counts[peak_at] >= m->saturation_counts)
        return;
    for (int i = 0; i < c->n_elements; i++) {
        const int r = i / m->n_cols, k = i % m->n_cols;
        const bool is_near_row = fabs((r - row) * m->pitch_fwd_mm) <= reach_fwd;
        const bool is_near_col = fabs((k - col) * m->pitch_right_mm) <= reach_right;
        const double load = excess(c, p, i);
        if (is_near_row && is_near_col)
            continue;
        if (load > (is_near_row || is_near_col ? GHOST_MAX : ELSEWHERE_MAX) * peak + floor_counts)
            return;
        if (r == row)
            far_row[n_row++] = load;
        else if (k == col)
            far_col[n_col++] = load;
    }
    add_ghost(c, 0, row, far_row, n_row, peak);
    add_ghost(c, 1, col, far_col, n_col, peak);
}

static void
feed_loaded(struct check *c, const struct packet *p, const struct frame *f, double t_s)
{
    const bool is_mat = c->profile->kind == FRAME_KIND_MAT;
    for (int i = 0; i < c->n_elements; i++) {
        struct check_element *e = &c->element[i];
        const int32_t counts = counts_of(p, i);
        if (c->n_loaded == 0)
            e->loaded_low = e->loaded_high = counts;
        e->loaded_low = counts < e->loaded_low ? counts : e->loaded_low;
        e->loaded_high = counts > e->loaded_high ? counts : e->loaded_high;
        e->was_loaded |= is_above(c->profile, p, f, i);
        e->n_full += counts >= c->profile->saturation_counts;
    }
    if (is_mat) {
        look_between(c, p);
        look_for_ghosts(c, p);
    }
    if (f->force_n > c->force_peak_n)
        c->force_peak_n = f->force_n;
    c->n_frames_full += (f->flags & FRAME_SATURATED) != 0;
    c->n_loaded++;
    c->seconds_loaded = t_s;
}

/* ------------------------------------------------------------------ time */

static void
follow_time(struct check *c, const struct frame *f)
{
    if ((f->flags & FRAME_CLOCK_RESET) != 0) {
        c->n_restarts++;
    } else if (c->has_last) {
        c->n_lost += f->n_lost_before;
        if ((f->flags & FRAME_GAP_BEFORE) == 0) {
            const double step_us = (double) units_dev_since_us(f->time, c->last);
            c->n_intervals++;
            c->interval_sum_us += step_us;
            c->interval_sum_sq += step_us * step_us;
            c->interval_max_us = fmax(c->interval_max_us, step_us);
        }
    } else {
        c->first_us = f->time.us;
        c->first_arrived_us = f->arrived.us;
    }
    c->has_last = true;
    c->last = f->time;
    c->last_arrived_us = f->arrived.us;
}

void
check_feed(struct check *c, const struct packet *p, const struct frame *f)
{
    follow_time(c, f);
    if (!c->has_phase)
        c->phase_start = f->time;
    c->has_phase = true;
    c->is_relative |= (f->flags & FRAME_RELATIVE) != 0;
    const double t_s = units_s_from_us(units_dev_since_us(f->time, c->phase_start));
    if (c->is_loaded)
        feed_loaded(c, p, f, t_s);
    else
        feed_empty(c, p, f, t_s);
}

void
check_forget_since(struct check *c, const struct check *before)
{
    c->n_empty = before->n_empty;
    c->seconds_empty = before->seconds_empty;
    c->sum_t = before->sum_t;
    c->sum_tt = before->sum_tt;
    c->force = before->force;
    memcpy(c->element, before->element, sizeof c->element);
}

char *
check_element_name(const struct sense_profile *p, int element, char *out, size_t cap)
{
    if (p->kind == FRAME_KIND_MAT)
        snprintf(out, cap, "%d:%d", element / p->n_cols, element % p->n_cols);
    else if (p->kind == FRAME_KIND_CELLS)
        snprintf(out, cap, "cell %d", element + 1);
    else
        snprintf(out, cap, "%s", p->zone[element].name);
    return out;
}
