/* wire_text.c - text lines to struct packet and back. Own number reading: no locale, no printf, so that
 * a small board can compile it. Grammar: hardware/WIRE.md. */
#include "wire/crc16.h"
#include "wire/wire_parts.h"

#include <string.h>

static const char HELLO_WORD[] = "#underfoot ";

/* A piece of a line. */
struct span {
    const char *at;
    size_t len;
};

static bool
span_is(struct span s, const char *word)
{
    return s.len == strlen(word) && memcmp(s.at, word, s.len) == 0;
}

/* Cuts the piece before the next separator off rest; the separator is dropped. False when none is left. */
static bool
span_cut(struct span *rest, char separator, struct span *piece)
{
    if (rest->at == NULL)
        return false;
    const char *end = memchr(rest->at, separator, rest->len);
    piece->at = rest->at;
    piece->len = end != NULL ? (size_t) (end - rest->at) : rest->len;
    rest->at = end != NULL ? end + 1 : NULL;
    rest->len = end != NULL ? rest->len - piece->len - 1 : 0;
    return true;
}

static struct span
span_trim(struct span s)
{
    while (s.len > 0 && (s.at[0] == ' ' || s.at[0] == '\t'))
        s.at++, s.len--;
    while (s.len > 0 && (s.at[s.len - 1] == ' ' || s.at[s.len - 1] == '\t'))
        s.len--;
    return s;
}

/* A whole number between min and max, and nothing else. */
static bool
span_integer(struct span s, int64_t min, int64_t max, int64_t *out)
{
    s = span_trim(s);
    bool is_negative = s.len > 0 && s.at[0] == '-';
    size_t i = is_negative ? 1 : 0;
    int64_t v = 0;
    if (i == s.len || s.len > 12)
        return false;
    for (; i < s.len; i++) {
        if (s.at[i] < '0' || s.at[i] > '9')
            return false;
        v = v * 10 + (s.at[i] - '0');
    }
    *out = is_negative ? -v : v;
    return *out >= min && *out <= max;
}

/* A number such as 62 or 62.5, not negative, at most three digits after the point. */
static bool
span_decimal(struct span s, double *out)
{
    struct span rest = s, whole, part = { NULL, 0 };
    int64_t n = 0, milli = 0;
    static const int64_t scale[] = { 0, 100, 10, 1 };
    if (!span_cut(&rest, '.', &whole) || !span_integer(whole, 0, 1000000, &n))
        return false;
    if (span_cut(&rest, '.', &part) && (rest.at != NULL || part.len < 1 || part.len > 3 ||
                                        part.at[0] == '-' || !span_integer(part, 0, 999, &milli)))
        return false;
    if (part.at != NULL)
        milli *= scale[part.len];
    *out = (double) (n * 1000 + milli) / 1000.0;
    return true;
}

static int
hex_digit(char c)
{
    if (c >= '0' && c <= '9')
        return c - '0';
    if (c >= 'A' && c <= 'F')
        return c - 'A' + 10;
    return c >= 'a' && c <= 'f' ? c - 'a' + 10 : -1;
}

/* Takes *CRC off the line's end when there is one, and checks it. */
static enum wire_unit
check_crc(struct span *line)
{
    const char *star = memchr(line->at, '*', line->len);
    if (star == NULL)
        return WIRE_UNIT_PACKET;
    size_t n = (size_t) (star - line->at);
    if (line->len - n != 5)
        return WIRE_UNIT_MALFORMED;
    unsigned sent = 0;
    for (int i = 1; i <= 4; i++) {
        int digit = hex_digit(star[i]);
        if (digit < 0)
            return WIRE_UNIT_MALFORMED;
        sent = sent << 4 | (unsigned) digit;
    }
    unsigned sum = crc16(line->at, n);
    line->len = n;
    return sum == sent ? WIRE_UNIT_PACKET : WIRE_UNIT_BAD_CRC;
}

static bool
read_version(struct span s, struct packet_hello *h)
{
    struct span rest = s, major, minor;
    int64_t v = 0;
    if (!span_cut(&rest, '.', &major) || !span_integer(major, 0, 255, &v))
        return false;
    h->version_major = (int) v;
    v = 0;
    if (span_cut(&rest, '.', &minor) && (rest.at != NULL || !span_integer(minor, 0, 255, &v)))
        return false;
    h->version_minor = (int) v;
    return true;
}

static bool
read_zones(struct span list, struct packet_hello *h)
{
    struct span zone;
    h->n_channels = 0;
    while (span_cut(&list, ',', &zone)) {
        if (zone.len < 1 || zone.len >= PACKET_ZONE_NAME_MAX || h->n_channels == PACKET_MAX_ZONES)
            return false;
        for (size_t i = 0; i < zone.len; i++)
            if (!wire_is_zone_sign(zone.at[i]))
                return false;
        memset(h->zone_name[h->n_channels], 0, PACKET_ZONE_NAME_MAX);
        memcpy(h->zone_name[h->n_channels], zone.at, zone.len);
        h->n_channels++;
    }
    return h->n_channels > 0;
}

static bool
read_pitch(struct span list, struct packet_hello *h)
{
    struct span fwd, right;
    if (!span_cut(&list, ',', &fwd) || !span_decimal(fwd, &h->pitch_fwd_mm))
        return false;
    h->pitch_right_mm = h->pitch_fwd_mm;
    return !span_cut(&list, ',', &right) || (list.at == NULL && span_decimal(right, &h->pitch_right_mm));
}

static bool
read_int(struct span s, int64_t max, int *out)
{
    int64_t v = 0;
    if (!span_integer(s, 0, max, &v))
        return false;
    *out = (int) v;
    return true;
}

/* One key=value of a hello. False when the value is not right; unknown keys are counted. */
static bool
read_key(struct span key, struct span value, struct packet_hello *h, bool *is_known_kind, uint64_t *n_unknown)
{
    static const char *const kinds[] = { "mat", "cells", "switches" }; /* order of enum packet_kind */
    if (span_is(key, "kind")) {
        *is_known_kind = false;
        for (int i = 0; i < 3 && !*is_known_kind; i++) {
            *is_known_kind = span_is(value, kinds[i]);
            h->kind = (enum packet_kind)(PACKET_KIND_MAT + i);
        }
        return true;
    }
    if (span_is(key, "rate"))
        return span_decimal(value, &h->rate_hz);
    if (span_is(key, "zones"))
        return read_zones(value, h);
    if (span_is(key, "n"))
        return read_int(value, PACKET_MAX_CELLS, &h->n_channels);
    if (span_is(key, "rows"))
        return read_int(value, PACKET_MAX_ROWS, &h->n_rows);
    if (span_is(key, "cols"))
        return read_int(value, PACKET_MAX_COLS, &h->n_cols);
    if (span_is(key, "pitch"))
        return read_pitch(value, h);
    if (span_is(key, "full"))
        return read_int(value, INT32_MAX, &h->full_scale_counts);
    (*n_unknown)++;
    return true;
}

static enum wire_unit
read_hello(struct span line, struct packet *p, uint64_t *n_unknown_keys)
{
    struct packet_hello *h = &p->hello;
    struct span word, key;
    bool is_known_kind = false;
    uint64_t n_unknown = 0;
    memset(h, 0, sizeof *h);
    p->type = PACKET_HELLO;
    p->t_us = 0;
    line = (struct span){ line.at + sizeof HELLO_WORD - 1, line.len - (sizeof HELLO_WORD - 1) };
    if (!span_cut(&line, ' ', &word) || !read_version(word, h))
        return WIRE_UNIT_MALFORMED;
    if (h->version_major > WIRE_VERSION_MAJOR)
        return WIRE_UNIT_NEWER_MAJOR;
    while (span_cut(&line, ' ', &word)) {
        if (word.len == 0)
            continue;
        struct span value = word;
        span_cut(&value, '=', &key);
        if (value.at == NULL)
            n_unknown++; /* a bare word: some later version's */
        else if (!read_key(key, value, h, &is_known_kind, &n_unknown))
            return WIRE_UNIT_MALFORMED;
    }
    *n_unknown_keys += n_unknown;
    if (!is_known_kind)
        return WIRE_UNIT_UNKNOWN;
    if (h->full_scale_counts == 0)
        h->full_scale_counts = h->kind == PACKET_KIND_SWITCHES ? 1
                               : h->kind == PACKET_KIND_MAT    ? 4095
                                                               : 8388607;
    h->is_binary_switches = h->kind == PACKET_KIND_SWITCHES && h->full_scale_counts == 1;
    return wire_hello_is_sane(h) ? WIRE_UNIT_PACKET : WIRE_UNIT_MALFORMED;
}

/* How many values a data line must have: 0 any number up to *max. */
static int
values_expected(const struct packet_hello *hello, enum packet_kind kind, int *max)
{
    *max = kind == PACKET_KIND_MAT ? PACKET_MAX_ELEMENTS : PACKET_MAX_ZONES;
    if (hello == NULL || hello->kind != kind)
        return 0;
    return kind == PACKET_KIND_MAT ? hello->n_rows * hello->n_cols : hello->n_channels;
}

static enum wire_unit
read_data(struct span line, const struct packet_hello *hello, enum packet_kind kind, struct packet *p)
{
    struct span field;
    int64_t v = 0;
    int max, n = 0, n_expected = values_expected(hello, kind, &max);
    bool is_mat = kind == PACKET_KIND_MAT;
    bool is_known = kind != PACKET_KIND_UNKNOWN && !(is_mat && n_expected == 0);
    bool is_signed = !is_known || kind == PACKET_KIND_CELLS;
    int64_t low = is_signed ? INT32_MIN : 0, high = is_signed ? INT32_MAX : UINT16_MAX;
    if (!span_cut(&line, ',', &field) || !span_integer(field, 0, UINT32_MAX, &v))
        return WIRE_UNIT_MALFORMED;
    p->t_us = (uint32_t) v;
    while (span_cut(&line, ',', &field)) {
        if (!span_integer(field, low, high, &v))
            return WIRE_UNIT_MALFORMED;
        if (is_known) {
            if (n == max)
                return WIRE_UNIT_MALFORMED;
            if (is_mat)
                p->mat_counts[n] = (uint16_t) v;
            else
                p->channel_counts[n] = (int32_t) v;
        }
        n++;
    }
    if (n == 0 || (n_expected > 0 && n != n_expected))
        return WIRE_UNIT_MALFORMED;
    if (!is_known)
        return WIRE_UNIT_BEFORE_HELLO;
    p->n_values = n;
    p->n_rows = is_mat ? hello->n_rows : 0;
    p->n_cols = is_mat ? hello->n_cols : 0;
    p->type = is_mat ? PACKET_MAT : kind == PACKET_KIND_CELLS ? PACKET_CELLS : PACKET_SWITCHES;
    return WIRE_UNIT_PACKET;
}

enum wire_unit
wire_text_read(const uint8_t *bytes, size_t len, const struct packet_hello *hello, enum packet_kind kind,
               struct packet *p, uint64_t *n_unknown_keys)
{
    struct span line = { (const char *) bytes, len };
    if (line.len > 0 && line.at[line.len - 1] == '\r')
        line.len--;
    line = span_trim(line);
    if (line.len == 0)
        return WIRE_UNIT_NOTHING;
    bool is_hello = line.len >= sizeof HELLO_WORD && memcmp(line.at, HELLO_WORD, sizeof HELLO_WORD - 1) == 0;
    if (line.at[0] == '#' && !is_hello)
        return WIRE_UNIT_NOTHING;
    enum wire_unit unit = check_crc(&line);
    if (unit != WIRE_UNIT_PACKET)
        return unit;
    p->has_sequence = false;
    p->sequence = 0;
    p->n_values = p->n_rows = p->n_cols = 0;
    return is_hello ? read_hello(line, p, n_unknown_keys) : read_data(line, hello, kind, p);
}
