#include "gait/footprint.h"

#include "gait/order.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

#define PI 3.14159265358979323846
/* A row counts as part of the print above this share of the frame's load for each mm of its depth: about an
 * eighth of what a row of a whole foot bears on the average. More cuts off the rounded toe of a fine mat. */
#define ROW_SHARE_PER_MM 0.0005
/* Rows further apart than an arch is long are not one foot. */
#define ARCH_MM 70.0
/* More than this of the foot's load on the mat's outermost elements: part of it may be outside.
 * common practice, no source */
#define BORDER_SHARE 0.1
/* The part of the contact in which the front edge stands on the belt: forefoot down, toes not yet lifting.
 * common practice, no source */
#define SLOPE_FROM 0.45
#define SLOPE_TO 0.90
/* front_line(): rounds until its weights settle, the weight of an edge behind the line, and how far behind it is none of
 * the foot's front (two rows and a half of a 10 mm mat). common practice, no source; what they are worth on prints of
 * known speed: tests/unit/gait/test_footprint.c. */
#define ROUNDS 6
#define BEHIND 0.2
#define FAR_BEHIND_MM 25.0
/* Fewer edges make no line. common practice, no source */
#define LINE_MIN 5
/* An edge row's full load is taken as at least this share of the next row's: a toe bears less than the ball behind it.
 * common practice, no source */
#define FULL_MIN 0.4
/* The toe: this quantile of the carried edges. common practice, no source; likewise for prints of known length. */
#define TOE_AT 0.9
/* Frames below this share of the contact's greatest load do not place the heel. common practice, no source */
#define LIGHT_SHARE 0.05

void
footprint_reset(struct footprint *p)
{
    p->n = 0;
    p->is_too_long = false;
    p->w = p->wx = p->wy = p->wt = p->wxx = p->wxy = p->wyy = p->wxt = p->wyt = p->wtt = 0;
}

static double
row_load(const struct frame_image *m, int row)
{
    double sum = 0;
    for (int c = 0; c < m->n_cols; c++)
        sum += (double) m->load_n[row * m->n_cols + c];
    return sum;
}

/* Outer edge of the outermost loaded row. How much of that row is covered shows in its load against what it would
 * bear if it were covered: the two rows behind it, carried on as a straight line. */
static double
edge_mm(const struct frame_image *m, const double *row, int from, int step, double level_n)
{
    int r = from;
    while (r >= 0 && r < m->n_rows && row[r] <= level_n)
        r += step;
    if (r < 0 || r >= m->n_rows)
        return NAN;
    int in = r + step, in2 = r + 2 * step;
    double share = 1;
    if (in >= 0 && in < m->n_rows && row[in] > 0) {
        double full_n = in2 >= 0 && in2 < m->n_rows && row[in2] > 0 ? 2 * row[in] - row[in2] : row[in];
        share = fmin(1, row[r] / fmax(FULL_MIN * row[in], fmin(row[in], full_n)));
    }
    return m->origin_fwd_mm + r * m->pitch_fwd_mm - step * m->pitch_fwd_mm * (share - 0.5);
}

void
footprint_idle_reset(struct footprint_idle *i)
{
    i->n = 0;
}

void
footprint_idle_feed(struct footprint_idle *i, const struct frame *f)
{
    for (int r = 0; r < f->image->n_rows && r < FOOTPRINT_ROWS; r++) {
        double load_n = row_load(f->image, r);
        i->least_n[r] = i->n == 0 ? load_n : fmin(i->least_n[r], load_n);
    }
    for (int r = f->image->n_rows; r < FOOTPRINT_ROWS; r++)
        i->least_n[r] = 0;
    i->n++;
}

void
footprint_set_idle(struct footprint *p, const struct footprint_idle *i)
{
    if (i->n >= FOOTPRINT_MIN_IDLE)
        memcpy(p->idle_n, i->least_n, sizeof p->idle_n);
    p->has_idle = p->has_idle || i->n >= FOOTPRINT_MIN_IDLE;
}

/* The rows of the foot: from the most loaded place outwards, over gaps no wider than an arch. What else the mat shows
 * at that moment, such as the belt's seam passing, is not the foot. False when nothing is loaded. */
static bool
find_foot(const double *row, int n_rows, double pitch_mm, double level_n, int *rear, int *front)
{
    int top = 0, gap_rows = (int) fmax(1, ceil(ARCH_MM / pitch_mm));
    double most_n = 0;
    for (int r = 0; r < n_rows; r++) {
        /* cppcheck-suppress uninitvar -- the caller fills n_rows of row */
        double here_n = row[r] + (r > 0 ? row[r - 1] : 0) + (r + 1 < n_rows ? row[r + 1] : 0);
        if (row[r] > level_n && here_n > most_n) {
            most_n = here_n;
            top = r;
        }
    }
    *rear = *front = top;
    for (int r = top + 1; r < n_rows && r - *front <= gap_rows; r++)
        if (row[r] > level_n)
            *front = r;
    for (int r = top - 1; r >= 0 && *rear - r <= gap_rows; r--)
        if (row[r] > level_n)
            *rear = r;
    return most_n > 0;
}

/* One frame's sums over the foot's rows. */
struct frame_sum {
    double w, wx, wy, wxx, wxy, wyy, border;
};

static struct frame_sum
sum_foot(const struct frame_image *m, const double *row, const double *gross_n, int rear, int front)
{
    struct frame_sum s = { 0 };
    for (int r = rear; r <= front; r++) {
        if (!(row[r] > 0))
            continue;
        double x = m->origin_fwd_mm + r * m->pitch_fwd_mm, net = row[r] / gross_n[r];
        const float *load = m->load_n + r * m->n_cols;
        for (int c = 0; c < m->n_cols; c++) {
            double w = (double) load[c] * net, y = m->origin_right_mm + c * m->pitch_right_mm;
            s.wy += w * y;
            s.wxy += w * x * y;
            s.wyy += w * y * y;
        }
        s.w += row[r];
        s.wx += row[r] * x;
        s.wxx += row[r] * x * x;
        bool is_outer = r == 0 || r == m->n_rows - 1;
        s.border += is_outer ? row[r] : ((double) load[0] + (double) load[m->n_cols - 1]) * net;
    }
    return s;
}

struct footprint_frame
footprint_feed(struct footprint *p, const struct frame *f)
{
    struct footprint_frame out = { NAN, NAN, false };
    const struct frame_image *m = f->image;
    double row[FOOTPRINT_ROWS], gross_n[FOOTPRINT_ROWS];
    int n_rows = m->n_rows < FOOTPRINT_ROWS ? m->n_rows : FOOTPRINT_ROWS, rear, front;
    for (int r = 0; r < n_rows; r++) {
        gross_n[r] = row_load(m, r);
        row[r] = fmax(0, gross_n[r] - p->idle_n[r]);
    }
    double level_n = ROW_SHARE_PER_MM * m->pitch_fwd_mm * f->force_n;
    if (!(f->force_n > 0) || !find_foot(row, n_rows, m->pitch_fwd_mm, level_n, &rear, &front))
        return out;
    struct frame_sum s = sum_foot(m, row, gross_n, rear, front);
    out = (struct footprint_frame) { s.wx / s.w, s.wy / s.w, s.border > BORDER_SHARE * s.w };
    if (p->n == FOOTPRINT_FRAMES) {
        p->is_too_long = true;
        return out;
    }
    double t_s = p->n > 0 ? ((double) f->time.us - p->edge[0].time_us) * 1e-6 : 0;
    p->w += s.w;
    p->wx += s.wx;
    p->wy += s.wy;
    p->wt += s.w * t_s;
    p->wxx += s.wxx;
    p->wxy += s.wxy;
    p->wyy += s.wyy;
    p->wxt += s.wx * t_s;
    p->wyt += s.wy * t_s;
    p->wtt += s.w * t_s * t_s;
    struct footprint_edge *e = &p->edge[p->n++];
    e->time_us = (double) f->time.us;
    e->front_mm = (float) edge_mm(m, row, front, -1, level_n);
    e->rear_mm = (float) edge_mm(m, row, rear, +1, level_n);
    e->cop_fwd_mm = (float) out.cop_fwd_mm;
    e->force_n = (float) f->force_n;
    return out;
}

struct line {
    double slope_mm_us, at_from_mm; /* NAN with too few frames */
};

/* The line that the front edge rides along, mm/us. Lightly loaded toes show an edge that lies behind the true one,
 * never ahead of it: so the line is pulled to the foremost points. Weighted least squares, weights from the line
 * before: 1 ahead of it, BEHIND behind it, 0 far behind. */
static struct line
front_line(const struct footprint *p, double from_us, double to_us)
{
    struct line l = { NAN, NAN };
    for (int round = 0; round < ROUNDS; round++) {
        double n = 0, st = 0, sx = 0, stt = 0, stx = 0;
        int n_used = 0;
        for (int i = 0; i < p->n; i++) {
            const struct footprint_edge *e = &p->edge[i];
            if (e->time_us < from_us || e->time_us > to_us || isnan(e->front_mm))
                continue;
            double t = e->time_us - from_us, x = (double) e->front_mm, w = 1;
            double ahead_mm = x - (l.at_from_mm + l.slope_mm_us * t);
            if (round > 0 && ahead_mm < 0)
                w = ahead_mm < -FAR_BEHIND_MM ? 0 : BEHIND;
            n_used += w > 0;
            n += w;
            st += w * t;
            sx += w * x;
            stt += w * t * t;
            stx += w * t * x;
        }
        double det = n * stt - st * st;
        if (n_used < LINE_MIN || !(det > 0))
            return l;
        l.slope_mm_us = (n * stx - st * sx) / det;
        l.at_from_mm = (sx - l.slope_mm_us * st) / n;
    }
    return l;
}

/* The front edge carried back to touchdown: a high quantile while it stands on the belt, since lightly loaded toes
 * show too little, and the foremost of many readings a little too much. */
static double
toe_mm(const struct footprint *p, double touchdown_us, double contact_us, double speed_mm_us)
{
    double carried_mm[FOOTPRINT_FRAMES];
    int n = 0;
    for (int i = 0; i < p->n; i++) {
        double since_us = p->edge[i].time_us - touchdown_us;
        if (!isnan(p->edge[i].front_mm) && since_us >= SLOPE_FROM * contact_us && since_us <= SLOPE_TO * contact_us)
            carried_mm[n++] = (double) p->edge[i].front_mm + speed_mm_us * since_us;
    }
    if (n == 0)
        return NAN;
    order_sort(carried_mm, n);
    return carried_mm[(int) (TOE_AT * (n - 1) + 0.5)];
}

/* The rear edge carried back to touchdown, rearmost. */
static double
heel_mm(const struct footprint *p, double touchdown_us, double speed_mm_us)
{
    double rear_mm = NAN, peak_n = 0;
    for (int i = 0; i < p->n; i++)
        peak_n = fmax(peak_n, (double) p->edge[i].force_n);
    for (int i = 0; i < p->n; i++) {
        const struct footprint_edge *e = &p->edge[i];
        double carried_mm = (double) e->rear_mm + speed_mm_us * (e->time_us - touchdown_us);
        if ((double) e->force_n >= LIGHT_SHARE * peak_n && !isnan(carried_mm))
            rear_mm = isnan(rear_mm) ? carried_mm : fmin(rear_mm, carried_mm);
    }
    return rear_mm;
}

/* Angle of the principal axis of the summed print, carried back at speed_mm_s. */
static double
axis_deg(const struct footprint *p, double speed_mm_s)
{
    double v = speed_mm_s;
    double mx = (p->wx + v * p->wt) / p->w, my = p->wy / p->w;
    double xx = (p->wxx + 2 * v * p->wxt + v * v * p->wtt) / p->w - mx * mx;
    double xy = (p->wxy + v * p->wyt) / p->w - mx * my;
    double yy = p->wyy / p->w - my * my;
    return 0.5 * atan2(2 * xy, xx - yy) * 180 / PI;
}

struct footprint_result
footprint_read(const struct footprint *p, double touchdown_us, double toe_off_us, double speed_m_s,
               double foot_mm)
{
    struct footprint_result r = { false, NAN, NAN, NAN, NAN, NAN };
    if (p->n < FOOTPRINT_MIN_FRAMES || p->is_too_long)
        return r;
    double contact_us = toe_off_us - touchdown_us;
    struct line front =
        front_line(p, touchdown_us + SLOPE_FROM * contact_us, touchdown_us + SLOPE_TO * contact_us);
    if (front.slope_mm_us < 0)
        r.belt_speed_m_s = -front.slope_mm_us * 1e3;
    double speed = isnan(speed_m_s) ? r.belt_speed_m_s : speed_m_s;
    r.is_valid = true;
    if (isnan(speed))
        return r;
    double speed_mm_us = speed * 1e-3;
    r.toe_fwd_mm = toe_mm(p, touchdown_us, contact_us, speed_mm_us);
    r.heel_fwd_mm = heel_mm(p, touchdown_us, speed_mm_us);
    r.length_mm = r.toe_fwd_mm - r.heel_fwd_mm;
    if (foot_mm > r.length_mm) { /* the heel never came down */
        r.heel_fwd_mm = r.toe_fwd_mm - foot_mm;
        r.length_mm = foot_mm;
    }
    r.axis_deg = axis_deg(p, speed * 1e3);
    return r;
}

double
footprint_cover(const struct footprint *p, double time_us, double foot_mm)
{
    const struct footprint_edge *best = NULL;
    for (int i = 0; i < p->n; i++)
        if (best == NULL || fabs(p->edge[i].time_us - time_us) < fabs(best->time_us - time_us))
            best = &p->edge[i];
    if (best == NULL || isnan(best->front_mm) || isnan(best->rear_mm) || !(foot_mm > 0))
        return NAN;
    return ((double) best->front_mm - (double) best->rear_mm) / foot_mm;
}
