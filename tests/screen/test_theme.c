/* Published values: WCAG 2.2 relative luminance, contrast ratio and flash thresholds (w3.org/TR/WCAG22);
 * palette of Okabe M, Ito K 2008, Color Universal Design; colour-blind simulation of Machado GM, Oliveira MM,
 * Fernandes LAF 2009, IEEE Trans Vis Comput Graph 15:1291-1298, severity 1.0 (its numbers from memory, and
 * held against what they must do: see the test of the matrices); character height from the visual angle as in
 * NUREG-0700 rev 2, 1.3.1-4. */
#include <math.h>

#include <criterion/criterion.h>

#include "coach/verdict.h"
#include "runner/screen_layout.h"
#include "ui/theme.h"

Test(theme, luminance_and_contrast_are_those_of_the_published_palette)
{
    static const struct {
        uint32_t rgb;
        double luminance, on_black, on_white;
    } rows[] = {
        { 0xE69F00, 0.41619, 9.324, 2.252 }, { 0x56B4E9, 0.40504, 9.101, 2.307 },
        { 0x009E73, 0.25692, 6.138, 3.421 }, { 0xF0E442, 0.74405, 15.881, 1.322 },
        { 0x0072B2, 0.15249, 4.050, 5.185 }, { 0xD55E00, 0.22152, 5.430, 3.867 },
        { 0xCC79A7, 0.29302, 6.860, 3.061 },
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        cr_assert_float_eq(theme_luminance(rows[i].rgb), rows[i].luminance, 1e-5);
        cr_assert_float_eq(theme_contrast(rows[i].rgb, 0x000000), rows[i].on_black, 1e-3);
        cr_assert_float_eq(theme_contrast(0xFFFFFF, rows[i].rgb), rows[i].on_white, 1e-3);
    }
    cr_assert_float_eq(theme_contrast(0x000000, 0xFFFFFF), 21.0, 1e-9);
    cr_assert_float_eq(theme_contrast(0x222222, 0xFFFFFF), 15.90998, 1e-5);
    cr_assert_float_eq(theme_contrast(0x767676, 0xFFFFFF), 4.54222, 1e-5);
    cr_assert_float_eq(theme_contrast(0x777777, 0xFFFFFF), 4.47809, 1e-5);
}

Test(theme, figures_reach_seven_to_one_labels_four_and_a_half_shapes_three)
{
    for (int kind = THEME_DARK; kind <= THEME_LIGHT; kind++) {
        struct theme t = theme_of((enum theme_kind) kind);
        cr_assert(theme_contrast(t.figure, t.ground) >= 7.0);
        cr_assert(theme_contrast(t.figure, t.panel) >= 7.0, "the trend's line");
        cr_assert(theme_contrast(t.figure, t.stripe) >= 7.0, "and where it crosses the stripe");
        cr_assert(theme_contrast(t.stale, t.panel) >= 3.0, "the same, no longer live");
        cr_assert(theme_contrast(t.figure, t.track) >= 7.0, "the ring's arc on its track");
        cr_assert(theme_contrast(t.rule, t.ground) >= 3.0, "the ground line and the soles");
        cr_assert(theme_contrast(t.alert_text, t.alert) >= 7.0);
        cr_assert(theme_contrast(t.label, t.ground) >= 7.0);
        cr_assert(theme_contrast(t.stale, t.ground) >= 3.0);
        cr_assert(theme_contrast(t.stripe_edge, t.stripe) >= 7.0);
        for (int side = THEME_UNKNOWN; side < THEME_N_SIDES; side++)
            cr_assert(theme_contrast(t.look[side].rgb, t.ground) >= 3.0, "%d %d %.2f", kind, side,
                      theme_contrast(t.look[side].rgb, t.ground));
    }
}

Test(theme, no_side_is_told_by_colour_alone)
{
    for (int kind = THEME_DARK; kind <= THEME_LIGHT; kind++) {
        struct theme t = theme_of((enum theme_kind) kind);
        cr_assert(t.look[THEME_BELOW].hollow == 1.0 && t.look[THEME_BELOW].hatch == 0.0);
        cr_assert(t.look[THEME_IN].hollow == 0.0 && t.look[THEME_IN].hatch == 0.0);
        cr_assert(t.look[THEME_ABOVE].hollow == 0.0 && t.look[THEME_ABOVE].hatch == 1.0);
    }
}

Test(theme, sides_stand_in_the_order_of_the_contract)
{
    cr_assert_eq((int) THEME_UNKNOWN, (int) VERDICT_UNKNOWN);
    cr_assert_eq((int) THEME_BELOW, (int) VERDICT_BELOW);
    cr_assert_eq((int) THEME_IN, (int) VERDICT_IN);
    cr_assert_eq((int) THEME_ABOVE, (int) VERDICT_ABOVE);
}

/* ---------------------------------------------------------------- colour blindness */

/* Machado et al. 2009, severity 1.0, on linear light: protanopia, deuteranopia, tritanopia. From memory. */
static const double machado[3][3][3] = {
    { { 0.152286, 1.052583, -0.204868 },
      { 0.114503, 0.786281, 0.099216 },
      { -0.003882, -0.048116, 1.051998 } },
    { { 0.367322, 0.860646, -0.227968 },
      { 0.280085, 0.672501, 0.047413 },
      { -0.011820, 0.042940, 0.968881 } },
    { { 1.255528, -0.076749, -0.178779 },
      { -0.078411, 0.930809, 0.147602 },
      { 0.004733, 0.691367, 0.303900 } },
};

static double
lab_root(double t)
{
    return t > 216.0 / 24389.0 ? cbrt(t) : (24389.0 / 27.0 * t + 16.0) / 116.0;
}

/* 0xRRGGBB seen with one of the three (or -1: none), as CIE 1976 L*a*b*, D65. */
static void
lab_seen(uint32_t rgb, int kind, double lab[3])
{
    double in[3], linear[3];
    for (int i = 0; i < 3; i++) {
        double c = (rgb >> (16 - 8 * i) & 0xFFu) / 255.0;
        in[i] = linear[i] = c <= 0.04045 ? c / 12.92 : pow((c + 0.055) / 1.055, 2.4);
    }
    for (int i = 0; i < 3 && kind >= 0; i++)
        linear[i] = fmin(1.0, fmax(0.0, machado[kind][i][0] * in[0] + machado[kind][i][1] * in[1] +
                                            machado[kind][i][2] * in[2]));
    double x = (0.4124564 * linear[0] + 0.3575761 * linear[1] + 0.1804375 * linear[2]) / 0.95047;
    double y = 0.2126729 * linear[0] + 0.7151522 * linear[1] + 0.0721750 * linear[2];
    double z = (0.0193339 * linear[0] + 0.1191920 * linear[1] + 0.9503041 * linear[2]) / 1.08883;
    lab[0] = 116.0 * lab_root(y) - 16.0;
    lab[1] = 500.0 * (lab_root(x) - lab_root(y));
    lab[2] = 200.0 * (lab_root(y) - lab_root(z));
}

static double
determinant(const double m[3][3])
{
    return m[0][0] * (m[1][1] * m[2][2] - m[1][2] * m[2][1]) -
           m[0][1] * (m[1][0] * m[2][2] - m[1][2] * m[2][0]) +
           m[0][2] * (m[1][0] * m[2][1] - m[1][1] * m[2][0]);
}

/* A digit wrong anywhere breaks one of these: greys stay grey (rows sum to 1), and who lacks one cone sees
 * two dimensions, not three (determinant 0; tritanopia is only approximated by the method, 0.24). The colour
 * that red-green matrices put out is where confusion lines meet: x 0.747, y 0.253 for protanopia (Wyszecki G,
 * Stiles WS 1982, Color Science; from memory, there by other cone data, hence 0.03). */
Test(theme, the_matrices_of_colour_blindness_do_what_they_must)
{
    for (int kind = 0; kind < 3; kind++)
        for (int row = 0; row < 3; row++)
            cr_assert_float_eq(machado[kind][row][0] + machado[kind][row][1] + machado[kind][row][2], 1.0,
                               2e-6);
    cr_assert_float_eq(determinant(machado[0]), 0.0, 2e-6);
    cr_assert_float_eq(determinant(machado[1]), 0.0, 2e-6);
    cr_assert_float_eq(determinant(machado[2]), 0.24, 0.01);
    const double(*m)[3] = machado[0];
    double lost[3] = { m[0][1] * m[1][2] - m[0][2] * m[1][1], m[0][2] * m[1][0] - m[0][0] * m[1][2],
                       m[0][0] * m[1][1] - m[0][1] * m[1][0] }; /* across two rows: what the matrix makes 0 */
    double x = 0.4124564 * lost[0] + 0.3575761 * lost[1] + 0.1804375 * lost[2];
    double y = 0.2126729 * lost[0] + 0.7151522 * lost[1] + 0.0721750 * lost[2];
    double z = 0.0193339 * lost[0] + 0.1191920 * lost[1] + 0.9503041 * lost[2];
    cr_assert_float_eq(x / (x + y + z), 0.747, 0.03);
    cr_assert_float_eq(y / (x + y + z), 0.253, 0.03);
}

Test(theme, the_three_sides_stay_apart_for_the_colour_blind)
{
    for (int mode = THEME_DARK; mode <= THEME_LIGHT; mode++) {
        struct theme t = theme_of((enum theme_kind) mode);
        for (int kind = -1; kind < 3; kind++)
            for (int a = THEME_BELOW; a < THEME_N_SIDES; a++)
                for (int b = a + 1; b < THEME_N_SIDES; b++) {
                    double p[3], q[3];
                    lab_seen(t.look[a].rgb, kind, p);
                    lab_seen(t.look[b].rgb, kind, q);
                    double far = sqrt((p[0] - q[0]) * (p[0] - q[0]) + (p[1] - q[1]) * (p[1] - q[1]) +
                                      (p[2] - q[2]) * (p[2] - q[2]));
                    /* 2.3 is a just noticeable difference (Mahy et al. 1994). Weakest: blue and green under
                     * tritanopia, 16 and 17, which the palette's authors accept; shape and height tell them
                     * too. */
                    cr_assert(far >= (kind == 2 ? 15.0 : 30.0), "theme %d, kind %d, sides %d and %d: %.1f",
                              mode, kind, a, b, far);
                }
    }
}

/* ---------------------------------------------------------------- flash and height */

Test(theme, flash_arithmetic)
{
    cr_assert_float_eq(theme_flash_hz(170, 1), 1.417, 1e-3);
    cr_assert_float_eq(theme_flash_hz(222, 1), 1.850, 1e-3);
    cr_assert_float_eq(theme_flash_hz(170, 2), 2.833, 1e-3);
    cr_assert_float_eq(theme_flash_hz(180, 2), 3.000, 1e-3);
    cr_assert(theme_flash_hz(200, 2) > 3.0, "a bar that lights and clears at each step fails");
}

Test(theme, heights_from_visual_angles)
{
    static const struct {
        double arc_min, distance_m, height_mm;
    } rows[] = { { 20, 1.0, 5.818 },  { 20, 1.5, 8.727 }, { 20, 2.0, 11.636 },
                 { 20, 3.0, 17.453 }, { 16, 1.5, 6.981 }, { 22, 2.0, 12.799 } };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        cr_assert_float_eq(screen_height_mm(rows[i].arc_min / 60.0, rows[i].distance_m * 1000.0),
                           rows[i].height_mm, 1e-3);
    /* 30 mm at 1.5 m is 68.75 arc minutes. */
    cr_assert_float_eq(screen_height_mm(68.75 / 60.0, 1500.0), 30.0, 0.002);
    cr_assert_float_eq(screen_height_mm(SCREEN_FIGURE_DEG, 2500.0), 39.27, 0.01);
}
