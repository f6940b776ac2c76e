#include "ui/theme.h"

#include "base/band_colour.h"

#include <math.h>

/* Okabe and Ito 2008. Orange is too light for a light ground (2.25:1 on white), hence vermillion there;
 * sky blue likewise, hence their blue. */
#define OKABE_ITO_ORANGE       0xE69F00u
#define OKABE_ITO_SKY_BLUE     0x56B4E9u
#define OKABE_ITO_BLUISH_GREEN 0x009E73u
#define OKABE_ITO_BLUE         0x0072B2u
#define OKABE_ITO_VERMILLION   0xD55E00u

static const struct theme theme_dark = {
    .ground = 0x0B0F14,
    .panel = 0x141A22,
    .figure = 0xF5F7FA,
    .label = 0xAAB4C0,
    .stale = 0x7D8794,
    .stripe = BAND_COLOUR_ON_DARK,
    .stripe_edge = 0xDCE8F4,
    .rule = 0x5C6875,
    .track = 0x232C37,
    .silent = 0x2C3642,
    .alert = 0xF0E442,
    .alert_text = 0x0B0F14,
    .look = {
        [THEME_UNKNOWN] = { 0x66717D, 0.0, 0.0 },
        [THEME_BELOW] = { OKABE_ITO_SKY_BLUE, 1.0, 0.0 },
        [THEME_IN] = { OKABE_ITO_BLUISH_GREEN, 0.0, 0.0 },
        [THEME_ABOVE] = { OKABE_ITO_ORANGE, 0.0, 1.0 },
    },
};

static const struct theme theme_light = {
    .ground = 0xF6F7F9,
    .panel = 0xE9ECF0,
    .figure = 0x0E1319,
    .label = 0x45505C,
    .stale = 0x7A838D,
    .stripe = BAND_COLOUR_ON_LIGHT,
    .stripe_edge = 0x10263C,
    .rule = 0x77828E,
    .track = 0xD5DAE0,
    .silent = 0xC3CAD2,
    .alert = 0x0E1319,
    .alert_text = 0xF0E442,
    .look = {
        [THEME_UNKNOWN] = { 0x868F99, 0.0, 0.0 },
        [THEME_BELOW] = { OKABE_ITO_BLUE, 1.0, 0.0 },
        [THEME_IN] = { OKABE_ITO_BLUISH_GREEN, 0.0, 0.0 },
        [THEME_ABOVE] = { OKABE_ITO_VERMILLION, 0.0, 1.0 },
    },
};

struct theme
theme_of(enum theme_kind kind)
{
    return kind == THEME_LIGHT ? theme_light : theme_dark;
}

/* One channel, 0..255, to linear light: WCAG 2.2 with the 0.04045 knee. */
static double
theme_linear(uint32_t channel)
{
    double c = (double) (channel & 0xFFu) / 255.0;
    return c <= 0.04045 ? c / 12.92 : pow((c + 0.055) / 1.055, 2.4);
}

double
theme_luminance(uint32_t rgb)
{
    return 0.2126 * theme_linear(rgb >> 16) + 0.7152 * theme_linear(rgb >> 8) + 0.0722 * theme_linear(rgb);
}

double
theme_contrast(uint32_t a, uint32_t b)
{
    double la = theme_luminance(a), lb = theme_luminance(b);
    return (fmax(la, lb) + 0.05) / (fmin(la, lb) + 0.05);
}

double
theme_flash_hz(double cadence_spm, int n_changes_per_step)
{
    return cadence_spm / 60.0 * n_changes_per_step / 2.0;
}
