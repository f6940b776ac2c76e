/* paint.h - smooth-edged shapes into a picture in memory; no window, no library, no allocation.
 *
 * In:  a picture (0xAARRGGBB words), shapes in pixels (pixel centres at .5), colours 0xRRGGBB.
 * Out: pixels inside the picture's clip; everything else is left alone.
 * How: coverage of a pixel is 0.5 + the signed distance to the shape's edge, clamped to 0..1; polygons by
 *      scan lines, four a pixel row, with exact horizontal coverage. Blending is plain sRGB.
 *
 * Why our own: the picture is then the same, bit for bit, on a screen, on a software renderer and in a test.
 * Memory: the caller's.  Threads: one at a time per picture.  Errors: none; what lies outside is cut.
 */
#ifndef UI_PAINT_H
#define UI_PAINT_H

#include <stdint.h>

#define PAINT_MAX_POINTS 256

struct paint_rect {
    int x_px, y_px, w_px, h_px;
};

struct paint_point {
    double x_px, y_px;
};

struct paint_picture {
    uint32_t *pixel;  /* width * height, no padding; borrowed */
    uint8_t *scratch; /* width * height, for paint_polyline; borrowed */
    int width_px, height_px;
    struct paint_rect clip; /* inside the picture; set with paint_set_clip */
};

/* A colour between a (share 0) and b (share 1). */
uint32_t paint_mix(uint32_t a, uint32_t b, double share);

/* The part of a that lies in b; w_px and h_px 0 when none does. */
struct paint_rect paint_intersect(struct paint_rect a, struct paint_rect b);

/* Sets the clip to the part of r inside the picture. */
void paint_set_clip(struct paint_picture *p, struct paint_rect r);

/* Fills r. alpha 0..1; 1 replaces. */
void paint_fill(struct paint_picture *p, struct paint_rect r, uint32_t rgb, double alpha);

/* Fills r with fractional edges: x, y, w, h in pixels. */
void paint_fill_smooth(struct paint_picture *p, double x_px, double y_px, double w_px, double h_px,
                       uint32_t rgb, double alpha);

/* Diagonal stripes (rising to the right) of width_px, one every period_px, fixed to the picture's
 * corner (so that a moving edge does not drag them along). */
void paint_hatch(struct paint_picture *p, struct paint_rect r, double period_px, double width_px,
                 uint32_t rgb, double alpha);

/* A line with round ends. */
void paint_line(struct paint_picture *p, struct paint_point a, struct paint_point b, double width_px,
                uint32_t rgb, double alpha);

/* Joined lines, the union blended once. n >= 1; one point draws a disc. */
void paint_polyline(struct paint_picture *p, const struct paint_point *point, int n, double width_px,
                    uint32_t rgb, double alpha);

void paint_disc(struct paint_picture *p, struct paint_point centre, double radius_px, uint32_t rgb,
                double alpha);

/* An arc from the top, clockwise, over share 0..1 of the full turn. width_px: half inwards, half outwards. */
void paint_arc(struct paint_picture *p, struct paint_point centre, double radius_px, double width_px,
               double share, uint32_t rgb, double alpha);

/* A closed polygon, even-odd. n <= PAINT_MAX_POINTS. */
void paint_polygon(struct paint_picture *p, const struct paint_point *point, int n, uint32_t rgb,
                   double alpha);

/* Blends rgb through an 8-bit coverage mask of w x h whose top left lies at x, y. */
void paint_mask(struct paint_picture *p, const uint8_t *mask, int mask_w_px, int mask_h_px, int x_px,
                int y_px, uint32_t rgb, double alpha);

#endif
