#include "ui/paint.h"

#include <assert.h>
#include <math.h>
#include <stdbool.h>
#include <stddef.h>

/* Scan lines a pixel row in paint_polygon. */
#define PAINT_SUBROWS 4

static const double paint_two_pi = 6.283185307179586;

static int
paint_min(int a, int b)
{
    return a < b ? a : b;
}

static int
paint_max(int a, int b)
{
    return a > b ? a : b;
}

/* 0..1 to 0..256, so that full coverage replaces the pixel exactly. */
static uint32_t
paint_weight(double alpha)
{
    if (!(alpha > 0.0))
        return 0;
    return alpha >= 1.0 ? 256 : (uint32_t) (alpha * 256.0 + 0.5);
}

/* Both pairs of channels at once. */
static uint32_t
paint_blend(uint32_t under, uint32_t over, uint32_t weight)
{
    uint32_t back = 256 - weight;
    uint32_t rb = ((under & 0xFF00FFu) * back + (over & 0xFF00FFu) * weight) >> 8;
    uint32_t g = ((under & 0x00FF00u) * back + (over & 0x00FF00u) * weight) >> 8;
    return 0xFF000000u | (rb & 0xFF00FFu) | (g & 0x00FF00u);
}

uint32_t
paint_mix(uint32_t a, uint32_t b, double share)
{
    return paint_blend(a, b, paint_weight(share)) & 0xFFFFFFu;
}

struct paint_rect
paint_intersect(struct paint_rect a, struct paint_rect b)
{
    int x0 = paint_max(a.x_px, b.x_px), y0 = paint_max(a.y_px, b.y_px);
    int x1 = paint_min(a.x_px + a.w_px, b.x_px + b.w_px), y1 = paint_min(a.y_px + a.h_px, b.y_px + b.h_px);
    if (x1 <= x0 || y1 <= y0)
        return (struct paint_rect) { x0, y0, 0, 0 };
    return (struct paint_rect) { x0, y0, x1 - x0, y1 - y0 };
}

void
paint_set_clip(struct paint_picture *p, struct paint_rect r)
{
    p->clip = paint_intersect(r, (struct paint_rect) { 0, 0, p->width_px, p->height_px });
}

static uint32_t *
paint_row(const struct paint_picture *p, int y_px)
{
    return p->pixel + (size_t) y_px * (size_t) p->width_px;
}

void
paint_fill(struct paint_picture *p, struct paint_rect r, uint32_t rgb, double alpha)
{
    uint32_t weight = paint_weight(alpha);
    r = paint_intersect(r, p->clip);
    for (int y = r.y_px; y < r.y_px + r.h_px && weight > 0; y++) {
        uint32_t *row = paint_row(p, y) + r.x_px;
        if (weight == 256) {
            for (int x = 0; x < r.w_px; x++)
                row[x] = 0xFF000000u | rgb;
        } else {
            for (int x = 0; x < r.w_px; x++)
                row[x] = paint_blend(row[x], rgb, weight);
        }
    }
}

/* Share of the pixel [i, i + 1) inside [low, high). */
static double
paint_overlap(int i, double low, double high)
{
    return fmax(0.0, fmin(high, i + 1.0) - fmax(low, (double) i));
}

void
paint_fill_smooth(struct paint_picture *p, double x_px, double y_px, double w_px, double h_px, uint32_t rgb,
                  double alpha)
{
    int x0 = (int) floor(x_px), y0 = (int) floor(y_px);
    int x1 = (int) ceil(x_px + w_px), y1 = (int) ceil(y_px + h_px);
    struct paint_rect r = paint_intersect((struct paint_rect) { x0, y0, x1 - x0, y1 - y0 }, p->clip);
    for (int y = r.y_px; y < r.y_px + r.h_px; y++) {
        uint32_t *row = paint_row(p, y);
        double share = paint_overlap(y, y_px, y_px + h_px) * alpha;
        uint32_t full = paint_weight(share);
        for (int x = r.x_px; x < r.x_px + r.w_px; x++) {
            bool is_edge = x < x_px || x + 1 > x_px + w_px;
            uint32_t weight = is_edge ? paint_weight(share * paint_overlap(x, x_px, x_px + w_px)) : full;
            row[x] = paint_blend(row[x], rgb, weight);
        }
    }
}

void
paint_hatch(struct paint_picture *p, struct paint_rect r, double period_px, double width_px, uint32_t rgb,
            double alpha)
{
    r = paint_intersect(r, p->clip);
    for (int y = r.y_px; y < r.y_px + r.h_px; y++) {
        uint32_t *row = paint_row(p, y);
        /* Distance across the stripes, in 45 degrees, as a phase that grows by 1/sqrt(2) a pixel. */
        double phase = fmod((r.x_px + y) * 0.70710678118654752, period_px);
        for (int x = r.x_px; x < r.x_px + r.w_px; x++) {
            double from_middle = fabs(phase - period_px / 2.0);
            double cover = width_px / 2.0 - from_middle + 0.5;
            if (cover > 0.0)
                row[x] = paint_blend(row[x], rgb, paint_weight(fmin(cover, 1.0) * alpha));
            phase += 0.70710678118654752;
            if (phase >= period_px)
                phase -= period_px;
        }
    }
}

/* Raises the scratch mask by the coverage of one capsule; returns the box touched. */
static struct paint_rect
paint_capsule(struct paint_picture *p, struct paint_point a, struct paint_point b, double radius)
{
    int x0 = (int) floor(fmin(a.x_px, b.x_px) - radius - 1), x1 = (int) ceil(fmax(a.x_px, b.x_px) + radius + 1);
    int y0 = (int) floor(fmin(a.y_px, b.y_px) - radius - 1), y1 = (int) ceil(fmax(a.y_px, b.y_px) + radius + 1);
    struct paint_rect r = paint_intersect((struct paint_rect) { x0, y0, x1 - x0, y1 - y0 }, p->clip);
    double dx = b.x_px - a.x_px, dy = b.y_px - a.y_px;
    double squared = dx * dx + dy * dy;
    for (int y = r.y_px; y < r.y_px + r.h_px; y++) {
        uint8_t *mask = p->scratch + (size_t) y * (size_t) p->width_px;
        for (int x = r.x_px; x < r.x_px + r.w_px; x++) {
            double px = x + 0.5 - a.x_px, py = y + 0.5 - a.y_px;
            double t = squared > 0.0 ? fmin(1.0, fmax(0.0, (px * dx + py * dy) / squared)) : 0.0;
            double ex = px - t * dx, ey = py - t * dy;
            double far2 = ex * ex + ey * ey;
            if (far2 >= (radius + 0.5) * (radius + 0.5))
                continue;
            double cover = fmin(1.0, radius + 0.5 - sqrt(far2));
            uint8_t level = (uint8_t) (cover * 255.0 + 0.5);
            if (level > mask[x])
                mask[x] = level;
        }
    }
    return r;
}

/* Blends the mask inside r and leaves it clear for the next shape. */
static void
paint_from_scratch(struct paint_picture *p, struct paint_rect r, uint32_t rgb, double alpha)
{
    uint32_t weight = paint_weight(alpha);
    for (int y = r.y_px; y < r.y_px + r.h_px; y++) {
        uint8_t *mask = p->scratch + (size_t) y * (size_t) p->width_px;
        uint32_t *row = paint_row(p, y);
        for (int x = r.x_px; x < r.x_px + r.w_px; x++) {
            if (mask[x] == 0)
                continue;
            uint32_t level = mask[x] + (mask[x] >> 7); /* 0..256 */
            row[x] = paint_blend(row[x], rgb, level * weight >> 8);
            mask[x] = 0;
        }
    }
}

void
paint_polyline(struct paint_picture *p, const struct paint_point *point, int n, double width_px, uint32_t rgb,
               double alpha)
{
    assert(n >= 1);
    struct paint_rect touched = { 0, 0, 0, 0 };
    for (int i = 0; i < paint_max(n - 1, 1); i++) {
        struct paint_rect r = paint_capsule(p, point[i], point[paint_min(i + 1, n - 1)], width_px / 2.0);
        if (r.w_px == 0 || r.h_px == 0)
            continue;
        if (touched.w_px == 0) {
            touched = r;
            continue;
        }
        int x1 = paint_max(touched.x_px + touched.w_px, r.x_px + r.w_px);
        int y1 = paint_max(touched.y_px + touched.h_px, r.y_px + r.h_px);
        touched.x_px = paint_min(touched.x_px, r.x_px);
        touched.y_px = paint_min(touched.y_px, r.y_px);
        touched.w_px = x1 - touched.x_px;
        touched.h_px = y1 - touched.y_px;
    }
    paint_from_scratch(p, touched, rgb, alpha);
}

void
paint_line(struct paint_picture *p, struct paint_point a, struct paint_point b, double width_px, uint32_t rgb,
           double alpha)
{
    struct paint_point both[2] = { a, b };
    paint_polyline(p, both, 2, width_px, rgb, alpha);
}

void
paint_disc(struct paint_picture *p, struct paint_point centre, double radius_px, uint32_t rgb, double alpha)
{
    paint_polyline(p, &centre, 1, 2.0 * radius_px, rgb, alpha);
}

/* Coverage of a pixel by the arc's angle: 1 inside, 0 outside, soft over one pixel at both ends. */
static double
paint_arc_share(double px, double py, double radius_px, double sweep)
{
    if (sweep >= paint_two_pi)
        return 1.0;
    double angle = atan2(px, -py); /* from the top, clockwise */
    if (angle < 0.0)
        angle += paint_two_pi;
    double inside = fmin(angle, sweep - angle);
    if (angle > sweep)
        inside = -fmin(angle - sweep, paint_two_pi - angle);
    return fmin(1.0, fmax(0.0, inside * radius_px + 0.5));
}

void
paint_arc(struct paint_picture *p, struct paint_point centre, double radius_px, double width_px, double share,
          uint32_t rgb, double alpha)
{
    if (!(share > 0.0))
        return;
    double reach = radius_px + width_px / 2.0 + 1.0;
    int x0 = (int) floor(centre.x_px - reach), y0 = (int) floor(centre.y_px - reach);
    int side = (int) ceil(2.0 * reach) + 1;
    struct paint_rect r = paint_intersect((struct paint_rect) { x0, y0, side, side }, p->clip);
    double sweep = fmin(share, 1.0) * paint_two_pi;
    double inner = fmax(0.0, radius_px - width_px / 2.0 - 0.5), outer = radius_px + width_px / 2.0 + 0.5;
    for (int y = r.y_px; y < r.y_px + r.h_px; y++) {
        uint32_t *row = paint_row(p, y);
        for (int x = r.x_px; x < r.x_px + r.w_px; x++) {
            double px = x + 0.5 - centre.x_px, py = y + 0.5 - centre.y_px;
            double far2 = px * px + py * py;
            if (far2 <= inner * inner || far2 >= outer * outer)
                continue;
            double cover = fmin(1.0, width_px / 2.0 + 0.5 - fabs(sqrt(far2) - radius_px));
            cover *= paint_arc_share(px, py, radius_px, sweep);
            row[x] = paint_blend(row[x], rgb, paint_weight(cover * alpha));
        }
    }
}

/* Where the scan line at height y meets the polygon, sorted. Returns the number of meetings. */
static int
paint_crossings(const struct paint_point *point, int n, double y, double *x)
{
    int n_x = 0;
    for (int i = 0; i < n; i++) {
        struct paint_point a = point[i], b = point[(i + 1) % n];
        if ((a.y_px <= y) == (b.y_px <= y))
            continue;
        double at = a.x_px + (y - a.y_px) * (b.x_px - a.x_px) / (b.y_px - a.y_px);
        int k = n_x++;
        for (; k > 0 && x[k - 1] > at; k--)
            x[k] = x[k - 1];
        x[k] = at;
    }
    return n_x;
}

/* Adds one scan line's share of coverage from x0 to x1 to the mask, inside [left, right). */
static void
paint_span(uint8_t *mask, double x0, double x1, int left, int right)
{
    int from = paint_max(left, (int) floor(x0)), to = paint_min(right, (int) ceil(x1));
    for (int i = from; i < to; i++) {
        bool is_whole = i >= x0 && i + 1 <= x1;
        int share = is_whole ? 256 / PAINT_SUBROWS : (int) (paint_overlap(i, x0, x1) * 256.0 / PAINT_SUBROWS + 0.5);
        mask[i] = (uint8_t) paint_min(255, mask[i] + share);
    }
}

void
paint_polygon(struct paint_picture *p, const struct paint_point *point, int n, uint32_t rgb, double alpha)
{
    assert(n >= 3 && n <= PAINT_MAX_POINTS);
    double low = INFINITY, high = -INFINITY;
    for (int i = 0; i < n; i++) {
        low = fmin(low, point[i].y_px);
        high = fmax(high, point[i].y_px);
    }
    int y0 = paint_max((int) floor(low), p->clip.y_px);
    int y1 = paint_min((int) ceil(high), p->clip.y_px + p->clip.h_px);
    int left = p->clip.x_px, right = p->clip.x_px + p->clip.w_px;
    double x[PAINT_MAX_POINTS];
    for (int y = y0; y < y1; y++) {
        uint8_t *mask = p->scratch + (size_t) y * (size_t) p->width_px;
        for (int s = 0; s < PAINT_SUBROWS; s++) {
            int n_x = paint_crossings(point, n, y + (s + 0.5) / PAINT_SUBROWS, x);
            for (int k = 0; k + 1 < n_x; k += 2)
                paint_span(mask, x[k], x[k + 1], left, right);
        }
    }
    paint_from_scratch(p, (struct paint_rect) { left, y0, right - left, paint_max(0, y1 - y0) }, rgb, alpha);
}

void
paint_mask(struct paint_picture *p, const uint8_t *mask, int mask_w_px, int mask_h_px, int x_px, int y_px,
           uint32_t rgb, double alpha)
{
    uint32_t weight = paint_weight(alpha);
    struct paint_rect r = paint_intersect((struct paint_rect) { x_px, y_px, mask_w_px, mask_h_px }, p->clip);
    for (int y = r.y_px; y < r.y_px + r.h_px; y++) {
        const uint8_t *line = mask + (size_t) (y - y_px) * (size_t) mask_w_px;
        uint32_t *row = paint_row(p, y);
        for (int x = r.x_px; x < r.x_px + r.w_px; x++) {
            uint32_t level = line[x - x_px];
            if (level > 0)
                row[x] = paint_blend(row[x], rgb, (level + (level >> 7)) * weight >> 8);
        }
    }
}
