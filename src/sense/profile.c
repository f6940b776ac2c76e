/* profile.c - INI file to struct sense_profile. Every refusal names file, line and reason. */
#include "base/inifile.h"
#include "base/mark.h"
#include "base/str.h"
#include "sense/profile.h"
#include "sense/profile_parts.h"

#include <ini.h>
#include <math.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum key_type {
    KEY_NUMBER,
    KEY_WHOLE,
    KEY_NAME, /* text of the sensor */
    KEY_KIND,
    KEY_PITCH, /* both pitches at once */
    KEY_DEAD,
    KEY_ELEMENTS, /* values of a mat's elements; a line begins with the first one's place */
    KEY_ZONE_NAME,
    KEY_ZONE_FOOT,
    KEY_ZONE_PART,
};

/* One key that a section may have. Sections "cell" and "zone" are numbered: offset is of number 1. */
struct key {
    const char *section, *name;
    enum key_type type;
    size_t offset;
    double min, max;
};

#define AT(field) offsetof(struct sense_profile, field)

static const struct key keys[] = {
    { "sensor", "name", KEY_NAME, 0, 0, 0 },
    { "sensor", "kind", KEY_KIND, 0, 0, 0 },
    { "sensor", "rate_hz", KEY_NUMBER, AT(rate_hz), 1, 100000 },
    { "sensor", "full_scale_counts", KEY_NUMBER, AT(saturation_counts), 1, 2147483647 },
    { "sensor", "min_cop_n", KEY_NUMBER, AT(min_cop_n), 0, 10000 },
    { "sensor", "noise_n", KEY_NUMBER, AT(noise_n), 0.01, 1000 },
    { "sensor", "calibration_days", KEY_NUMBER, AT(calibration_days), 1, 3650 },
    { "sensor", "drift_limit_pct", KEY_NUMBER, AT(drift_limit_pct), 0.5, 100 },
    { "mat", "rows", KEY_WHOLE, AT(n_rows), 1, PACKET_MAX_ROWS },
    { "mat", "cols", KEY_WHOLE, AT(n_cols), 1, PACKET_MAX_COLS },
    { "mat", "pitch_mm", KEY_PITCH, 0, 1, 100 },
    { "mat", "pitch_fwd_mm", KEY_NUMBER, AT(pitch_fwd_mm), 1, 100 },
    { "mat", "pitch_right_mm", KEY_NUMBER, AT(pitch_right_mm), 1, 100 },
    { "mat", "origin_fwd_mm", KEY_NUMBER, AT(origin_fwd_mm), -10000, 10000 },
    { "mat", "origin_right_mm", KEY_NUMBER, AT(origin_right_mm), -10000, 10000 },
    { "mat", "gain_n_per_count", KEY_NUMBER, AT(gain_n_per_count), 1e-9, 1e6 },
    { "mat", "offset_counts", KEY_NUMBER, AT(offset_counts), 0, 65535 },
    { "mat", "noise_counts", KEY_NUMBER, AT(noise_counts), 0, 65535 },
    { "mat", "dead", KEY_DEAD, 0, 0, 0 },
    { "mat", "element_gain", KEY_ELEMENTS, AT(element_gain), 0.05, 20 },
    { "mat", "element_offset_counts", KEY_ELEMENTS, AT(element_offset_counts), -65535, 65535 },
    { "cell", "fwd_mm", KEY_NUMBER, AT(cell[0].fwd_mm), -10000, 10000 },
    { "cell", "right_mm", KEY_NUMBER, AT(cell[0].right_mm), -10000, 10000 },
    { "cell", "gain_n_per_count", KEY_NUMBER, AT(cell[0].gain_n_per_count), -1e6, 1e6 },
    { "cell", "offset_counts", KEY_NUMBER, AT(cell[0].offset_counts), -2147483648.0, 2147483647 },
    { "switches", "on_ratio", KEY_NUMBER, AT(on_ratio), 0.01, 1 },
    { "switches", "off_ratio", KEY_NUMBER, AT(off_ratio), 0.01, 1 },
    { "zone", "name", KEY_ZONE_NAME, 0, 0, 0 },
    { "zone", "foot", KEY_ZONE_FOOT, 0, 0, 0 },
    { "zone", "zone", KEY_ZONE_PART, 0, 0, 0 },
    { "zone", "offset_counts", KEY_NUMBER, AT(zone[0].offset_counts), 0, 65535 },
    { "zone", "full_counts", KEY_NUMBER, AT(zone[0].full_counts), 1, 65535 },
};
#define N_KEYS (sizeof keys / sizeof keys[0])

struct loader {
    struct sense_profile *p;
    struct inifile file;
    bool has_kind;
    unsigned seen[N_KEYS]; /* a bit for each number of a numbered section, bit 0 for the others */
    bool has_foot[FRAME_MAX_ZONES], has_part[FRAME_MAX_ZONES];
};

static int
refuse(struct loader *l, enum message_code code, const char *value)
{
    return inifile_refuse(&l->file, code, value);
}

static int
read_number(struct loader *l, const struct key *key, int number, const char *value)
{
    double v;
    if (!str_to_double(value, &v))
        return refuse(l, MESSAGE_PROFILE_NO_NUMBER, value);
    if (v < key->min || v > key->max) {
        struct message_arg place;
        if (inifile_refuses(&l->file, &place))
            message_tell(l->file.why, MESSAGE_PROFILE_OUT_OF_RANGE, place, key->name, key->min, key->max, value);
        return 0;
    }
    char *base = (char *) l->p + key->offset;
    if (strcmp(key->section, "cell") == 0)
        base += (size_t) number * sizeof(struct profile_cell);
    else if (strcmp(key->section, "zone") == 0)
        base += (size_t) number * sizeof(struct profile_zone);
    if (key->type == KEY_PITCH) {
        l->p->pitch_fwd_mm = l->p->pitch_right_mm = v;
    } else if (key->type == KEY_WHOLE) {
        if (v != floor(v))
            return refuse(l, MESSAGE_PROFILE_NO_WHOLE, value);
        int whole = (int) v;
        memcpy(base, &whole, sizeof whole);
    } else {
        memcpy(base, &v, sizeof v);
    }
    return 1;
}

static int
read_kind(struct loader *l, const char *value)
{
    l->has_kind = true;
    if (strcmp(value, "mat") == 0)
        l->p->kind = FRAME_KIND_MAT;
    else if (strcmp(value, "cells") == 0)
        l->p->kind = FRAME_KIND_CELLS;
    else if (strcmp(value, "switches") == 0)
        l->p->kind = FRAME_KIND_SWITCHES;
    else
        return refuse(l, MESSAGE_PROFILE_NO_KIND, value);
    return 1;
}

/* Elements as row:column, with spaces between; may stand on several lines. Needs rows and cols before. */
static int
read_dead(struct loader *l, const char *value)
{
    if (l->p->n_rows == 0 || l->p->n_cols == 0)
        return refuse(l, MESSAGE_PROFILE_DEAD_IS_EARLY, NULL);
    const char *at = value;
    while (*at != 0) {
        char *end;
        long row = strtol(at, &end, 10);
        if (end == at || *end != ':')
            return refuse(l, MESSAGE_PROFILE_DEAD_IS_UNCLEAR, at);
        at = end + 1;
        long col = strtol(at, &end, 10);
        if (end == at || (*end != 0 && *end != ' '))
            return refuse(l, MESSAGE_PROFILE_DEAD_IS_UNCLEAR, at);
        if (row < 0 || row >= l->p->n_rows || col < 0 || col >= l->p->n_cols)
            return refuse(l, MESSAGE_PROFILE_NO_ELEMENT, value);
        if (l->p->n_dead == PROFILE_MAX_DEAD)
            return refuse(l, MESSAGE_PROFILE_MANY_DEAD, NULL);
        l->p->dead[l->p->n_dead++] = (uint16_t) (row * l->p->n_cols + col);
        for (at = end; *at == ' '; at++)
            ;
    }
    return 1;
}

bool
profile_read_elements(const struct sense_profile *p, const char *value, double min, double max,
                      float out[FRAME_MAX_ELEMENTS], enum message_code *fault)
{
    char *end, word[32];
    const long row = strtol(value, &end, 10);
    const char *at = end + 1;
    if (end == value || *end != ':') {
        *fault = MESSAGE_PROFILE_LINE_NO_PLACE;
        return false;
    }
    const long col = strtol(at, &end, 10);
    if (end == at || *end != ' ' || row < 0 || row >= p->n_rows || col < 0 || col >= p->n_cols) {
        *fault = MESSAGE_PROFILE_LINE_NO_ELEMENT;
        return false;
    }
    long i = row * p->n_cols + col;
    for (at = end; *at != 0; i++) {
        at += strspn(at, " ");
        const size_t n = strcspn(at, " ");
        double v;
        if (n == 0)
            break;
        snprintf(word, sizeof word, "%.*s", (int) (n < sizeof word ? n : sizeof word - 1), at);
        if (i >= (long) p->n_rows * p->n_cols || !str_to_double(word, &v) || v < min || v > max) {
            *fault = i >= (long) p->n_rows * p->n_cols ? MESSAGE_PROFILE_MANY_VALUES : MESSAGE_PROFILE_BAD_VALUE;
            return false;
        }
        out[i] = (float) v;
        at += n;
    }
    return true;
}

static int
read_elements(struct loader *l, const struct key *key, const char *value)
{
    enum message_code fault;
    if (l->p->n_rows == 0 || l->p->n_cols == 0)
        return refuse(l, MESSAGE_PROFILE_IS_EARLY, key->name);
    if (l->p->n_rows * l->p->n_cols > FRAME_MAX_ELEMENTS)
        return refuse(l, MESSAGE_PROFILE_MAT_TOO_LARGE, NULL);
    return profile_read_elements(l->p, value, key->min, key->max,
                                 (float *) (void *) ((char *) l->p + key->offset), &fault)
               ? 1
               : refuse(l, fault, value);
}

static int
read_zone(struct loader *l, const struct key *key, int number, const char *value)
{
    static const char *const parts[] = { "heel", "fore", "mid", "toe" }; /* order of enum frame_zone */
    struct profile_zone *z = &l->p->zone[number], by_name;
    if (key->type == KEY_ZONE_NAME) {
        if (!str_copy(z->name, sizeof z->name, value) || value[0] == 0)
            return refuse(l, MESSAGE_PROFILE_ZONE_NAME, value);
        if (profile_zone_from_name(&by_name, value)) {
            if (!l->has_foot[number])
                z->is_right = by_name.is_right;
            if (!l->has_part[number])
                z->zone = by_name.zone;
            l->has_foot[number] = l->has_part[number] = true;
        }
        return 1;
    }
    if (key->type == KEY_ZONE_FOOT) {
        l->has_foot[number] = true;
        z->is_right = strcmp(value, "right") == 0;
        return z->is_right || strcmp(value, "left") == 0
                   ? 1
                   : refuse(l, MESSAGE_PROFILE_ZONE_FOOT, value);
    }
    l->has_part[number] = true;
    for (int i = 0; i < 4; i++) {
        if (strcmp(value, parts[i]) == 0) {
            z->zone = (enum frame_zone) i;
            return 1;
        }
    }
    return refuse(l, MESSAGE_PROFILE_ZONE_PART, value);
}

static int
read_value(struct loader *l, const struct key *key, int number, const char *value)
{
    switch (key->type) {
    case KEY_NAME:
        return str_copy(l->p->name, sizeof l->p->name, value) ? 1 : refuse(l, MESSAGE_PROFILE_NAME_TOO_LONG, value);
    case KEY_KIND:
        return read_kind(l, value);
    case KEY_DEAD:
        return read_dead(l, value);
    case KEY_ELEMENTS:
        return read_elements(l, key, value);
    case KEY_ZONE_NAME:
    case KEY_ZONE_FOOT:
    case KEY_ZONE_PART:
        return read_zone(l, key, number, value);
    case KEY_NUMBER:
    case KEY_WHOLE:
    case KEY_PITCH:
        break;
    }
    return read_number(l, key, number, value);
}

/* Splits "cell 3" into "cell" and 2. Plain sections are number 0. False for a number out of range. */
static bool
split_section(const char *section, char base[16], int *number)
{
    const char *space = strchr(section, ' ');
    size_t n = space != NULL ? (size_t) (space - section) : strlen(section);
    int64_t v = 1;
    if (n >= 16)
        return false;
    memcpy(base, section, n);
    base[n] = 0;
    bool is_numbered = strcmp(base, "cell") == 0 || strcmp(base, "zone") == 0;
    if (is_numbered != (space != NULL) || (is_numbered && !str_to_i64(space + 1, &v)))
        return false;
    *number = (int) v - 1;
    return v >= 1 && v <= PACKET_MAX_CELLS;
}

static int
on_key(void *user, const char *section, const char *name, const char *value)
{
    struct loader *l = user;
    char base[16];
    int number = 0;
    if (!split_section(section, base, &number))
        return refuse(l, MESSAGE_PROFILE_SECTION_UNKNOWN, section);
    bool is_section = false;
    for (size_t i = 0; i < N_KEYS; i++) {
        if (strcmp(keys[i].section, base) != 0)
            continue;
        is_section = true;
        if (strcmp(keys[i].name, name) != 0)
            continue;
        if (keys[i].type != KEY_DEAD && keys[i].type != KEY_ELEMENTS && (l->seen[i] >> number & 1) != 0)
            return refuse(l, MESSAGE_PROFILE_GIVEN_TWICE, name);
        l->seen[i] |= 1U << number;
        if (strcmp(base, "cell") == 0 && number >= l->p->n_cells)
            l->p->n_cells = number + 1;
        if (strcmp(base, "zone") == 0 && number >= l->p->n_zones)
            l->p->n_zones = number + 1;
        return read_value(l, &keys[i], number, value);
    }
    return is_section ? refuse(l, MESSAGE_PROFILE_KEY_UNKNOWN, name)
                      : refuse(l, MESSAGE_PROFILE_NO_SECTION, section);
}

/* How far apart the cells lie: along the belt, or across it. */
static double
cell_span_mm(const struct sense_profile *p, bool is_fwd)
{
    double low = INFINITY, high = -INFINITY;
    for (int i = 0; i < p->n_cells; i++) {
        const double at = is_fwd ? p->cell[i].fwd_mm : p->cell[i].right_mm;
        low = at < low ? at : low;
        high = at > high ? at : high;
    }
    return high - low;
}

/* The same with the number of a cell or zone. */
static int
refuse_nth(struct loader *l, enum message_code code, int number)
{
    struct message_arg place;
    if (inifile_refuses(&l->file, &place))
        message_tell(l->file.why, code, place, number);
    return 0;
}

/* What the whole file must say, by kind. */
static int
check_whole(struct loader *l)
{
    struct sense_profile *p = l->p;
    if (!l->has_kind)
        return refuse(l, MESSAGE_PROFILE_LACKS_KIND, NULL);
    if (p->kind == FRAME_KIND_MAT) {
        if (p->n_rows == 0 || p->n_cols == 0 || !(p->pitch_fwd_mm > 0) || !(p->pitch_right_mm > 0))
            return refuse(l, MESSAGE_PROFILE_LACKS_MAT, NULL);
        if (p->n_rows * p->n_cols > FRAME_MAX_ELEMENTS)
            return refuse(l, MESSAGE_PROFILE_MAT_TOO_LARGE, NULL);
    } else if (p->kind == FRAME_KIND_CELLS) {
        if (p->n_cells < 3)
            return refuse(l, MESSAGE_PROFILE_LACKS_CELLS, NULL);
        for (int i = 0; i < p->n_cells; i++) {
            if (isnan(p->cell[i].fwd_mm) || isnan(p->cell[i].right_mm))
                return refuse_nth(l, MESSAGE_PROFILE_CELL_HAS_NO_PLACE, i + 1);
            if (p->cell[i].gain_n_per_count == 0.0)
                return refuse_nth(l, MESSAGE_PROFILE_CELL_HAS_NO_GAIN, i + 1);
        }
        if (cell_span_mm(p, true) < PROFILE_MIN_SPAN_MM)
            return refuse(l, MESSAGE_PROFILE_CELLS_CLOSE_ALONG, NULL);
        if (cell_span_mm(p, false) < PROFILE_MIN_SPAN_MM)
            return refuse(l, MESSAGE_PROFILE_CELLS_CLOSE_ACROSS, NULL);
    } else {
        if (p->n_zones < 1)
            return refuse(l, MESSAGE_PROFILE_LACKS_ZONE, NULL);
        for (int i = 0; i < p->n_zones; i++)
            if (p->zone[i].name[0] == 0 || !l->has_foot[i] || !l->has_part[i])
                return refuse_nth(l, MESSAGE_PROFILE_ZONE_IS_UNCLEAR, i + 1);
        if (p->off_ratio > p->on_ratio)
            return refuse(l, MESSAGE_PROFILE_RATIOS_CROSS, NULL);
        for (int i = 0; i < p->n_zones; i++)
            if (p->zone[i].offset_counts >= p->zone[i].full_counts)
                return refuse(l, MESSAGE_PROFILE_ZONE_HAS_NO_SPAN, p->zone[i].name);
    }
    return 1;
}

enum err
profile_load(struct sense_profile *p, const char *path, struct message *why)
{
    struct loader l = { .p = p };
    profile_clear(p);
    enum err err = inifile_open(&l.file, path, N_("the sensor profile"), why);
    if (err == ERR_OK)
        err = inifile_close(&l.file, ini_parse_stream(inifile_line, &l.file, on_key, &l));
    if (err != ERR_OK)
        return err;
    profile_fill_defaults(p);
    return check_whole(&l) ? ERR_OK : ERR_FORMAT;
}
