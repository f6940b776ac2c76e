/* profile_hello.c - a profile made from what the board says of itself, when no file is given. */
#include "sense/profile.h"
#include "sense/profile_parts.h"

#include <math.h>
#include <string.h>

#define DEFAULT_PITCH_MM  10.0
#define DEFAULT_MIN_COP_N 20.0 /* of cells: below it the quotient is noise */
#define DEFAULT_CALIBRATION_DAYS                                                                             \
    30 /* resistive elements drift with use; cells hold longer, their mounts may not */
#define DEFAULT_DRIFT_LIMIT_PCT 5.0
#define DEFAULT_DECK_FWD_MM     600.0 /* half the distance between a treadmill's front and rear feet */
#define DEFAULT_DECK_RIGHT_MM   300.0

void
profile_clear(struct sense_profile *p)
{
    memset(p, 0, sizeof *p);
    p->rate_hz = NAN;
    p->saturation_counts = NAN;
    p->origin_fwd_mm = NAN;
    p->origin_right_mm = NAN;
    p->gain_n_per_count = NAN;
    p->min_cop_n = NAN;
    p->noise_n = NAN;
    p->calibration_days = DEFAULT_CALIBRATION_DAYS;
    p->drift_limit_pct = DEFAULT_DRIFT_LIMIT_PCT;
    p->on_ratio = 0.5;
    p->off_ratio = 0.3;
    for (int i = 0; i < FRAME_MAX_ELEMENTS; i++)
        p->element_gain[i] = 1;
    for (int i = 0; i < PACKET_MAX_CELLS; i++)
        p->cell[i] = (struct profile_cell){ NAN, NAN, NAN, 0 };
    for (int i = 0; i < FRAME_MAX_ZONES; i++)
        p->zone[i].full_counts = NAN;
}

void
profile_fill_defaults(struct sense_profile *p)
{
    if (isnan(p->min_cop_n))
        p->min_cop_n = p->kind == FRAME_KIND_CELLS ? DEFAULT_MIN_COP_N : 0;
    for (int i = 0; i < FRAME_MAX_ZONES; i++) {
        p->zone[i].has_full_counts = !isnan(p->zone[i].full_counts);
        if (!p->zone[i].has_full_counts)
            p->zone[i].full_counts = isnan(p->saturation_counts) ? 1 : p->saturation_counts;
    }
}

bool
profile_zone_from_name(struct profile_zone *z, const char *name)
{
    static const struct {
        char letter;
        enum frame_zone zone;
    } zones[] = {
        { 'H', FRAME_ZONE_HEEL }, { 'F', FRAME_ZONE_FORE }, { 'M', FRAME_ZONE_MID }, { 'T', FRAME_ZONE_TOE }
    };
    if ((name[0] != 'L' && name[0] != 'R') || strlen(name) > 2)
        return false;
    z->is_right = name[0] == 'R';
    if (name[1] == 0) { /* one switch under the whole foot */
        z->zone = FRAME_ZONE_MID;
        return true;
    }
    for (size_t i = 0; i < sizeof zones / sizeof zones[0]; i++) {
        if (zones[i].letter == name[1]) {
            z->zone = zones[i].zone;
            return true;
        }
    }
    return false;
}

static bool
take_mat(struct sense_profile *p, const struct packet_hello *h)
{
    p->kind = FRAME_KIND_MAT;
    p->n_rows = h->n_rows;
    p->n_cols = h->n_cols;
    p->pitch_fwd_mm = h->pitch_fwd_mm > 0 ? h->pitch_fwd_mm : DEFAULT_PITCH_MM;
    p->pitch_right_mm = h->pitch_right_mm > 0 ? h->pitch_right_mm : DEFAULT_PITCH_MM;
    return h->n_rows >= 1 && h->n_rows <= PACKET_MAX_ROWS && h->n_cols >= 1 && h->n_cols <= PACKET_MAX_COLS &&
           h->n_rows * h->n_cols <= FRAME_MAX_ELEMENTS;
}

/* Four cells stand at the deck's corners: rear left, rear right, front left, front right. Where other
 * numbers stand nobody can guess: force only. */
static bool
take_cells(struct sense_profile *p, const struct packet_hello *h)
{
    p->kind = FRAME_KIND_CELLS;
    p->n_cells = h->n_channels;
    if (h->n_channels < 1 || h->n_channels > PACKET_MAX_CELLS)
        return false;
    for (int i = 0; i < 4 && h->n_channels == 4; i++) {
        p->cell[i].fwd_mm = i < 2 ? -DEFAULT_DECK_FWD_MM : DEFAULT_DECK_FWD_MM;
        p->cell[i].right_mm = i % 2 == 0 ? -DEFAULT_DECK_RIGHT_MM : DEFAULT_DECK_RIGHT_MM;
    }
    return true;
}

static bool
take_zones(struct sense_profile *p, const struct packet_hello *h)
{
    p->kind = FRAME_KIND_SWITCHES;
    p->n_zones = h->n_channels;
    if (h->n_channels < 1 || h->n_channels > FRAME_MAX_ZONES)
        return false;
    for (int i = 0; i < h->n_channels; i++) {
        struct profile_zone *z = &p->zone[i];
        memcpy(z->name, h->zone_name[i], sizeof z->name);
        z->name[sizeof z->name - 1] = 0;
        z->full_counts = h->full_scale_counts;
        if (!profile_zone_from_name(z, z->name))
            return false;
    }
    return true;
}

bool
profile_from_hello(struct sense_profile *p, const struct packet_hello *h)
{
    bool is_good = false;
    profile_clear(p);
    strcpy(p->name, PROFILE_NAME_FROM_HELLO);
    p->rate_hz = h->rate_hz > 0 ? h->rate_hz : (double) NAN;
    p->saturation_counts = h->full_scale_counts > 0 ? h->full_scale_counts : (double) NAN;
    switch (h->kind) {
    case PACKET_KIND_MAT:
        is_good = take_mat(p, h);
        break;
    case PACKET_KIND_CELLS:
        is_good = take_cells(p, h);
        break;
    case PACKET_KIND_SWITCHES:
        is_good = take_zones(p, h);
        break;
    case PACKET_KIND_UNKNOWN:
        break;
    }
    profile_fill_defaults(p);
    return is_good;
}
