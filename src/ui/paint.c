#include "ui/paint.h"

#include <assert.h>
#include <math.h>
#include <stdbool.h>
#include <stddef.h>
#include <string.h>

/* Scan lines a pixel row in paint_polygon. */
#define PAINT_SUBROWS    4
#define PAINT_HATCH_TILE 1024

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
        return (struct paint_rect){ x0, y0, 0, 0 };
    return (struct paint_rect){ x0, y0, x1 - x0, y1 - y0 };
}

void
paint_set_clip(struct paint_picture *p, struct paint_rect r)
{
    p->clip = paint_intersect(r, (struct paint_rect){ 0, 0, p->width_px, p->height_px });
}

static uint32_t *
paint_row(const struct paint_picture *p, int y_px)
{
    return p->pixel + (size_t) y_px * (size_t) p->width_px;
}

/* The first row by hand, the others as copies of it: the C library copies as fast as memory allows. */
static void
paint_replace(struct paint_picture *p, struct paint_rect r, uint32_t rgb)
{
    if (r.h_px == 0)
        return;
    uint32_t *first = paint_row(p, r.y_px) + r.x_px;
    for (int x = 0; x < r.w_px; x++)
        first[x] = 0xFF000000u | rgb;
    for (int y = r.y_px + 1; y < r.y_px + r.h_px; y++)
        memcpy(paint_row(p, y) + r.x_px, first, (size_t) r.w_px * sizeof *first);
}

void
paint_fill(struct paint_picture *p, struct paint_rect r, uint32_t rgb, double alpha)
{
    uint32_t weight = paint_weight(alpha);
    r = paint_intersect(r, p->clip);
    if (weight == 256) {
        paint_replace(p, r, rgb);
        return;
    }
    for (int y = r.y_px; y < r.y_px + r.h_px && weight > 0; y++) {
        uint32_t *row = paint_row(p, y) + r.x_px;
        for (int x = 0; x < r.w_px; x++)
            row[x] = paint_blend(row[x], rgb, weight);
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
    struct paint_rect r = paint_intersect((struct paint_rect){ x0, y0, x1 - x0, y1 - y0 }, p->clip);
    /* Whole pixels first; the rest is the rim, a pixel wide. */
    int in0 = (int) ceil(x_px), in1 = (int) floor(x_px + w_px), in2 = (int) ceil(y_px),
        in3 = (int) floor(y_px + h_px);
    struct paint_rect inner = { in0, in2, paint_max(0, in1 - in0), paint_max(0, in3 - in2) };
    paint_fill(p, inner, rgb, alpha);
    for (int y = r.y_px; y < r.y_px + r.h_px; y++) {
        uint32_t *row = paint_row(p, y);
        double share = paint_overlap(y, y_px, y_px + h_px) * alpha;
        bool has_inner = inner.w_px > 0 && y >= inner.y_px && y < inner.y_px + inner.h_px;
        for (int x = r.x_px; x < r.x_px + r.w_px; x++) {
            if (has_inner && x == paint_max(inner.x_px, r.x_px)) {
                x = inner.x_px + inner.w_px - 1;
                continue;
            }
            row[x] = paint_blend(row[x], rgb, paint_weight(share * paint_overlap(x, x_px, x_px + w_px)));
        }
    }
}

/* All pixels with the same x + y have the same coverage: each diagonal's is worked out once. */
static void
paint_hatch_tile(struct paint_picture *p, struct paint_rect r, double period_px, double width_px,
                 uint32_t rgb, double alpha)
{
    uint16_t weight[2 * PAINT_HATCH_TILE];
    for (int i = 0; i < r.w_px + r.h_px; i++) {
        /* Distance across the stripes, in 45 degrees: 1/sqrt(2) a pixel. */
        double phase = fmod((r.x_px + r.y_px + i) * 0.70710678118654752, period_px);
        double cover = width_px / 2.0 - fabs(phase - period_px / 2.0) + 0.5;
        weight[i] = (uint16_t) paint_weight(fmin(cover, 1.0) * alpha);
    }
    for (int y = 0; y < r.h_px; y++) {
        uint32_t *row = paint_row(p, r.y_px + y) + r.x_px;
        for (int x = 0; x < r.w_px; x++)
            if (weight[x + y] > 0)
                row[x] = paint_blend(row[x], rgb, weight[x + y]);
    }
}

void
paint_hatch(struct paint_picture *p, struct paint_rect r, double period_px, double width_px, uint32_t rgb,
            double alpha)
{
    r = paint_intersect(r, p->clip);
    for (int x = r.x_px; x < r.x_px + r.w_px; x += PAINT_HATCH_TILE)
        for (int y = r.y_px; y < r.y_px + r.h_px; y += PAINT_HATCH_TILE) {
            struct paint_rect tile = { x, y, PAINT_HATCH_TILE, PAINT_HATCH_TILE };
            paint_hatch_tile(p, paint_intersect(tile, r), period_px, width_px, rgb, alpha);
        }
}

/* Raises the scratch mask by the coverage of one capsule; returns the box touched. */
static struct paint_rect
paint_capsule(struct paint_picture *p, struct paint_point a, struct paint_point b, double radius)
{
    int x0 = (int) floor(fmin(a.x_px, b.x_px) - radius - 1),
        x1 = (int) ceil(fmax(a.x_px, b.x_px) + radius + 1);
    int y0 = (int) floor(fmin(a.y_px, b.y_px) - radius - 1),
        y1 = (int) ceil(fmax(a.y_px, b.y_px) + radius + 1);
    struct paint_rect r = paint_intersect((struct paint_rect){ x0, y0, x1 - x0, y1 - y0 }, p->clip);
    double dx = b.x_px - a.x_px, dy = b.y_px - a.y_px;
    double squared = dx * dx + dy * dy, per = squared > 0.0 ? 1.0 / squared : 0.0;
    double outer2 = (radius + 0.5) * (radius + 0.5),
           inner2 = radius > 0.5 ? (radius - 0.5) * (radius - 0.5) : -1.0;
    for (int y = r.y_px; y < r.y_px + r.h_px; y++) {
        uint8_t *mask = p->scratch + (size_t) y * (size_t) p->width_px;
        for (int x = r.x_px; x < r.x_px + r.w_px; x++) {
            double px = x + 0.5 - a.x_px, py = y + 0.5 - a.y_px;
            double t = (px * dx + py * dy) * per;
            t = t < 0.0 ? 0.0 : t > 1.0 ? 1.0 : t;
            double ex = px - t * dx, ey = py - t * dy;
            double far2 = ex * ex + ey * ey;
            if (far2 >= outer2)
                continue;
            /* NOLINTNEXTLINE(bugprone-incorrect-roundings): never negative here, and lround() costs a call a pixel */
            uint8_t level = far2 <= inner2 ? 255 : (uint8_t) ((radius + 0.5 - sqrt(far2)) * 255.0 + 0.5);
            if (level > mask[x])
                mask[x] = level;
        }
    }
    return r;
}

/* Eight clear bytes: most of a line's box is. */
static bool
paint_is_clear(const uint8_t *mask)
{
    uint64_t eight;
    memcpy(&eight, mask, sizeof eight);
    return eight == 0;
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
            if (mask[x] == 0) {
                x += x + 8 <= r.x_px + r.w_px && paint_is_clear(mask + x) ? 7 : 0;
                continue;
            }
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

struct paint_ring {
    struct paint_point centre, end; /* end: unit vector to the arc's end, from the top clockwise */
    double radius_px, width_px, sweep;
};

/* Coverage of a pixel (from the centre) by the arc's angle: 1 inside, 0 outside, soft over one pixel at both
 * ends. Up to half a turn the arc is what lies past the first ray and before the last; beyond, either. */
static double
paint_arc_share(const struct paint_ring *ring, double px, double py)
{
    if (ring->sweep >= paint_two_pi)
        return 1.0;
    double past = px, before = px * ring->end.y_px - py * ring->end.x_px;
    double inside = ring->sweep <= paint_two_pi / 2.0 ? fmin(past, before) : fmax(past, before);
    return fmin(1.0, fmax(0.0, inside + 0.5));
}

/* The part of a picture row from x0 to x1 that the ring may touch. */
static void
paint_arc_row(struct paint_picture *p, const struct paint_ring *ring, int y_px, double x0, double x1,
              uint32_t rgb, double alpha)
{
    uint32_t *row = paint_row(p, y_px);
    int from = paint_max(p->clip.x_px, (int) floor(x0)),
        to = paint_min(p->clip.x_px + p->clip.w_px, (int) ceil(x1));
    double py = y_px + 0.5 - ring->centre.y_px;
    for (int x = from; x < to; x++) {
        double px = x + 0.5 - ring->centre.x_px;
        double cover =
            fmin(1.0, ring->width_px / 2.0 + 0.5 - fabs(sqrt(px * px + py * py) - ring->radius_px));
        if (cover > 0.0)
            row[x] = paint_blend(row[x], rgb, paint_weight(cover * paint_arc_share(ring, px, py) * alpha));
    }
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
    struct paint_rect r = paint_intersect((struct paint_rect){ x0, y0, side, side }, p->clip);
    double sweep = fmin(share, 1.0) * paint_two_pi;
    const struct paint_ring ring = { centre, { sin(sweep), -cos(sweep) }, radius_px, width_px, sweep };
    double inner = fmax(0.0, radius_px - width_px / 2.0 - 1.0), outer = radius_px + width_px / 2.0 + 1.0;
    for (int y = r.y_px; y < r.y_px + r.h_px; y++) {
        double py = y + 0.5 - centre.y_px;
        double out = sqrt(fmax(0.0, outer * outer - py * py)) + 1.0,
               in = sqrt(fmax(0.0, inner * inner - py * py)) - 1.0;
        if (in > 1.0) {
            paint_arc_row(p, &ring, y, centre.x_px - out, floor(centre.x_px - in), rgb, alpha);
            paint_arc_row(p, &ring, y, floor(centre.x_px + in), centre.x_px + out, rgb, alpha);
        } else {
            paint_arc_row(p, &ring, y, centre.x_px - out, centre.x_px + out, rgb, alpha);
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
        int share =
            is_whole ? 256 / PAINT_SUBROWS : (int) (paint_overlap(i, x0, x1) * 256.0 / PAINT_SUBROWS + 0.5);
        mask[i] = (uint8_t) paint_min(255, mask[i] + share);
    }
}

/* One pixel row: what all scan lines cover whole is filled at once, the rims go to the mask. */
static void
paint_polygon_row(struct paint_picture *p, const struct paint_point *point, int n, int y_px, uint32_t rgb,
                  double alpha)
{
    double x[PAINT_SUBROWS][PAINT_MAX_POINTS];
    int n_x[PAINT_SUBROWS], left = p->clip.x_px, right = p->clip.x_px + p->clip.w_px;
    double low = -INFINITY, high = INFINITY;
    bool is_simple = true; /* one stretch in each scan line */
    for (int s = 0; s < PAINT_SUBROWS; s++) {
        n_x[s] = paint_crossings(point, n, y_px + (s + 0.5) / PAINT_SUBROWS, x[s]);
        is_simple = is_simple && n_x[s] == 2;
        low = is_simple ? fmax(low, x[s][0]) : low;
        high = is_simple ? fmin(high, x[s][1]) : high;
    }
    bool has_inside = is_simple && ceil(low) < floor(high);
    int in0 = has_inside ? (int) ceil(low) : right, in1 = has_inside ? (int) floor(high) : right;
    uint8_t *mask = p->scratch + (size_t) y_px * (size_t) p->width_px;
    for (int s = 0; s < PAINT_SUBROWS; s++)
        for (int k = 0; k + 1 < n_x[s]; k += 2) {
            paint_span(mask, x[s][k], x[s][k + 1], left, paint_min(in0, right));
            paint_span(mask, x[s][k], x[s][k + 1], paint_max(in1, left), right);
        }
    if (has_inside)
        paint_fill(p, (struct paint_rect){ in0, y_px, in1 - in0, 1 }, rgb, alpha);
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
    for (int y = y0; y < y1; y++)
        paint_polygon_row(p, point, n, y, rgb, alpha);
    paint_from_scratch(p, (struct paint_rect){ left, y0, right - left, paint_max(0, y1 - y0) }, rgb, alpha);
}

void
paint_mask(struct paint_picture *p, const uint8_t *mask, int mask_w_px, int mask_h_px, int x_px, int y_px,
           uint32_t rgb, double alpha)
{
    uint32_t weight = paint_weight(alpha);
    struct paint_rect r = paint_intersect((struct paint_rect){ x_px, y_px, mask_w_px, mask_h_px }, p->clip);
    for (int y = r.y_px; y < r.y_px + r.h_px; y++) {
        const uint8_t *line = mask + (size_t) (y - y_px) * (size_t) mask_w_px;
        uint32_t *row = paint_row(p, y);
        for (int x = r.x_px; x < r.x_px + r.w_px; x++) {
            uint32_t level = line[x - x_px];
            if (level == 255 && weight == 256)
                row[x] = 0xFF000000u | rgb;
            else if (level > 0)
                row[x] = paint_blend(row[x], rgb, (level + (level >> 7)) * weight >> 8);
        }
    }
}
