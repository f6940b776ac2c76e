#include "visit/begun_text.h"

#include <inttypes.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define WORD_MAX 64

/* ---------------------------------------------------------------- what there is */

enum field_type { FIELD_REAL, FIELD_INTEGER, FIELD_FLAG, FIELD_SEED };

struct field {
    const char *key;
    size_t offset;
    enum field_type type;
};
#define N_OF(table) ((int) (sizeof(table) / sizeof *(table)))

#define P(key, type) { #key, offsetof(struct sense_profile, key), type }
static const struct field PROFILE[] = {
    P(kind, FIELD_INTEGER),         P(rate_hz, FIELD_REAL),          P(saturation_counts, FIELD_REAL),
    P(noise_counts, FIELD_REAL),    P(n_rows, FIELD_INTEGER),        P(n_cols, FIELD_INTEGER),
    P(pitch_fwd_mm, FIELD_REAL),    P(pitch_right_mm, FIELD_REAL),   P(origin_fwd_mm, FIELD_REAL),
    P(origin_right_mm, FIELD_REAL), P(gain_n_per_count, FIELD_REAL), P(offset_counts, FIELD_REAL),
    P(n_dead, FIELD_INTEGER),       P(n_cells, FIELD_INTEGER),       P(min_cop_n, FIELD_REAL),
    P(noise_n, FIELD_REAL),         P(calibration_days, FIELD_REAL), P(drift_limit_pct, FIELD_REAL),
    P(n_zones, FIELD_INTEGER),      P(on_ratio, FIELD_REAL),         P(off_ratio, FIELD_REAL),
};

#define C(key, type) { #key, offsetof(struct profile_cell, key), type }
static const struct field CELL[] = { C(fwd_mm, FIELD_REAL), C(right_mm, FIELD_REAL), C(gain_n_per_count, FIELD_REAL),
                                     C(offset_counts, FIELD_REAL) };

#define Z(key, type) { #key, offsetof(struct profile_zone, key), type }
static const struct field ZONE[] = { Z(is_right, FIELD_FLAG), Z(zone, FIELD_INTEGER), Z(offset_counts, FIELD_REAL),
                                     Z(full_counts, FIELD_REAL), Z(has_full_counts, FIELD_FLAG) };

#define K(key, type) { #key, offsetof(struct coach_config, key), type }
static const struct field COACH[] = {
    K(n_targets, FIELD_INTEGER),     K(cadence_rule, FIELD_INTEGER), K(baseline_s, FIELD_REAL),
    K(is_waiting, FIELD_FLAG),       K(plan.n_blocks, FIELD_INTEGER), K(plan.spread, FIELD_INTEGER),
    K(plan.seed, FIELD_SEED),        K(plan.is_bandwidth, FIELD_FLAG),
};

#define T(key, type) { #key, offsetof(struct target, key), type }
static const struct field TARGET[] = { T(low, FIELD_REAL), T(high, FIELD_REAL), T(baseline, FIELD_REAL),
                                       T(is_change, FIELD_FLAG) };

#define B(key, type) { #key, offsetof(struct plan_block, key), type }
static const struct field BLOCK[] = { B(kind, FIELD_INTEGER), B(length_s, FIELD_REAL), B(belt_speed_m_s, FIELD_REAL),
                                      B(feedback_share, FIELD_REAL), B(spread_s, FIELD_REAL) };

/* ---------------------------------------------------------------- writing */

struct out {
    char *text;
    size_t cap, len;
    bool is_full;
};

static void __attribute__((format(printf, 2, 3)))
put(struct out *o, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    const int n = vsnprintf(o->text + o->len, o->cap - o->len, format, args);
    va_end(args);
    o->is_full |= n < 0 || (size_t) n >= o->cap - o->len;
    o->len += o->is_full ? 0 : (size_t) n;
}

static void
put_field(struct out *o, const struct field *f, const void *base)
{
    const void *at = (const char *) base + f->offset;
    if (f->type == FIELD_REAL)
        put(o, " %.17g", *(const double *) at);
    else if (f->type == FIELD_INTEGER)
        put(o, " %d", *(const int *) at);
    else if (f->type == FIELD_SEED)
        put(o, " %" PRIu64, *(const uint64_t *) at);
    else
        put(o, " %d", *(const bool *) at);
}

/* A line each. */
static void
put_fields(struct out *o, const struct field *table, int n, const void *base)
{
    for (int i = 0; i < n; i++) {
        put(o, "%s", table[i].key);
        put_field(o, &table[i], base);
        put(o, "\n");
    }
}

/* The rest of a line. */
static void
put_row(struct out *o, const struct field *table, int n, const void *base)
{
    for (int i = 0; i < n; i++)
        put_field(o, &table[i], base);
    put(o, "\n");
}

/* Rows of the mat in which any element differs from what is usual. */
static void
put_elements(struct out *o, const char *key, const struct sense_profile *p, const float *value, float usual)
{
    for (int r = 0; r < p->n_rows; r++) {
        const float *row = value + r * p->n_cols;
        bool is_usual = true;
        for (int c = 0; c < p->n_cols; c++)
            is_usual &= row[c] == usual;
        if (is_usual)
            continue;
        put(o, "%s %d", key, r);
        for (int c = 0; c < p->n_cols; c++)
            put(o, " %.9g", (double) row[c]);
        put(o, "\n");
    }
}

size_t
begun_text_profile(const struct sense_profile *p, char *out, size_t cap)
{
    struct out o = { out, cap, 0, false };
    put(&o, "profile 1\nname %s\n", p->name);
    put_fields(&o, PROFILE, N_OF(PROFILE), p);
    for (int i = 0; i < p->n_dead; i++)
        put(&o, "dead %u\n", p->dead[i]);
    for (int i = 0; i < p->n_cells; i++) {
        put(&o, "cell");
        put_row(&o, CELL, N_OF(CELL), &p->cell[i]);
    }
    for (int i = 0; i < p->n_zones; i++) {
        put(&o, "zone %s", p->zone[i].name[0] ? p->zone[i].name : "-");
        put_row(&o, ZONE, N_OF(ZONE), &p->zone[i]);
    }
    put_elements(&o, "element_gain", p, p->element_gain, 1);
    put_elements(&o, "element_offset_counts", p, p->element_offset_counts, 0);
    return o.is_full ? 0 : o.len;
}

static const char *
metric_word(enum metric m)
{
    return m < METRIC_COUNT ? metric_info(m)->name : "-";
}

size_t
begun_text_coach(const struct coach_config *c, char *out, size_t cap)
{
    struct out o = { out, cap, 0, false };
    put(&o, "coach 1\nfocus %s\n", metric_word(c->focus));
    put_fields(&o, COACH, N_OF(COACH), c);
    for (int i = 0; i < c->n_targets; i++) {
        put(&o, "target %s", metric_word(c->target[i].metric));
        put_row(&o, TARGET, N_OF(TARGET), &c->target[i]);
    }
    for (int i = 0; i < c->plan.n_blocks; i++) {
        put(&o, "block %.17g", c->plan.speed_share[i]);
        put_row(&o, BLOCK, N_OF(BLOCK), &c->plan.block[i]);
    }
    return o.is_full ? 0 : o.len;
}

/* ---------------------------------------------------------------- reading */

/* A word at a time; bad once something was not as it should be. */
struct in {
    const char *at, *end;
    bool is_bad;
    char word[WORD_MAX];
};

/* The next word of the line; "" at its end. */
static const char *
next_word(struct in *in)
{
    size_t n = 0;
    while (in->at < in->end && *in->at == ' ')
        in->at++;
    for (; in->at < in->end && *in->at != ' ' && *in->at != '\n'; in->at++, n++)
        if (n + 1 < WORD_MAX)
            in->word[n] = *in->at;
    in->is_bad |= n + 1 > WORD_MAX;
    in->word[n < WORD_MAX ? n : WORD_MAX - 1] = '\0';
    return in->word;
}

static void
end_line(struct in *in)
{
    in->is_bad |= in->at >= in->end || *in->at != '\n';
    in->at++;
}

static double
next_real(struct in *in)
{
    char *end;
    const double x = strtod(next_word(in), &end);
    in->is_bad |= end == in->word || *end != '\0';
    return x;
}

static int64_t
next_integer(struct in *in, int64_t min, int64_t max)
{
    char *end;
    const int64_t x = strtoll(next_word(in), &end, 10);
    in->is_bad |= end == in->word || *end != '\0' || x < min || x > max;
    return in->is_bad ? min : x;
}

static void
next_field(struct in *in, const struct field *f, void *base)
{
    void *at = (char *) base + f->offset;
    char *end;
    if (f->type == FIELD_REAL)
        *(double *) at = next_real(in);
    else if (f->type == FIELD_INTEGER)
        *(int *) at = (int) next_integer(in, 0, 1 << 20);
    else if (f->type == FIELD_FLAG)
        *(bool *) at = next_integer(in, 0, 1) == 1;
    else {
        *(uint64_t *) at = strtoull(next_word(in), &end, 10);
        in->is_bad |= end == in->word || *end != '\0';
    }
}

static void
next_fields(struct in *in, const struct field *table, int n, void *base)
{
    for (int i = 0; i < n; i++) {
        in->is_bad |= strcmp(next_word(in), table[i].key) != 0;
        next_field(in, &table[i], base);
        end_line(in);
    }
}

static void
next_row(struct in *in, const struct field *table, int n, void *base)
{
    for (int i = 0; i < n; i++)
        next_field(in, &table[i], base);
    end_line(in);
}

static void
expect(struct in *in, const char *word)
{
    in->is_bad |= strcmp(next_word(in), word) != 0;
}

static void
next_elements(struct in *in, const struct sense_profile *p, float *value)
{
    const int row = (int) next_integer(in, 0, p->n_rows - 1);
    for (int c = 0; c < p->n_cols && !in->is_bad; c++)
        value[row * p->n_cols + c] = (float) next_real(in);
    end_line(in);
}

static bool
is_within(const struct sense_profile *p)
{
    return p->kind <= FRAME_KIND_SWITCHES && p->n_rows <= PACKET_MAX_ROWS && p->n_cols <= PACKET_MAX_COLS &&
           p->n_rows * p->n_cols <= FRAME_MAX_ELEMENTS && p->n_dead <= PROFILE_MAX_DEAD &&
           p->n_cells <= PACKET_MAX_CELLS && p->n_zones <= FRAME_MAX_ZONES;
}

static void
next_zone(struct in *in, struct profile_zone *z)
{
    const char *name = next_word(in);
    in->is_bad |= strlen(name) >= sizeof z->name;
    if (!in->is_bad && strcmp(name, "-") != 0)
        memcpy(z->name, name, strlen(name) + 1);
    next_row(in, ZONE, N_OF(ZONE), z);
    in->is_bad |= z->zone > FRAME_ZONE_TOE;
}

/* The name may have blanks. */
static void
next_name(struct in *in, char *out, size_t cap)
{
    size_t n = 0;
    expect(in, "name");
    in->at += in->at < in->end && *in->at == ' ';
    for (; in->at < in->end && *in->at != '\n' && n + 1 < cap; in->at++)
        out[n++] = *in->at;
    out[n] = '\0';
    end_line(in);
}

static void
next_parts(struct in *in, struct sense_profile *p)
{
    for (int i = 0; i < p->n_dead && !in->is_bad; i++) {
        expect(in, "dead");
        p->dead[i] = (uint16_t) next_integer(in, 0, FRAME_MAX_ELEMENTS - 1);
        end_line(in);
    }
    for (int i = 0; i < p->n_cells && !in->is_bad; i++) {
        expect(in, "cell");
        next_row(in, CELL, N_OF(CELL), &p->cell[i]);
    }
    for (int i = 0; i < p->n_zones && !in->is_bad; i++) {
        expect(in, "zone");
        next_zone(in, &p->zone[i]);
    }
}

bool
begun_text_read_profile(const char *text, size_t len, struct sense_profile *p)
{
    struct in in = { .at = text, .end = text + len };
    memset(p, 0, sizeof *p);
    expect(&in, "profile");
    expect(&in, "1");
    end_line(&in);
    next_name(&in, p->name, sizeof p->name);
    next_fields(&in, PROFILE, N_OF(PROFILE), p);
    if (in.is_bad || !is_within(p))
        return false;
    for (int i = 0; i < FRAME_MAX_ELEMENTS; i++)
        p->element_gain[i] = 1;
    next_parts(&in, p);
    while (!in.is_bad && in.at < in.end) {
        const bool is_gain = strcmp(next_word(&in), "element_gain") == 0;
        in.is_bad |= !is_gain && strcmp(in.word, "element_offset_counts") != 0;
        next_elements(&in, p, is_gain ? p->element_gain : p->element_offset_counts);
    }
    return !in.is_bad;
}

/* "-": none. */
static enum metric
next_metric(struct in *in)
{
    if (strcmp(next_word(in), "-") == 0)
        return METRIC_COUNT;
    const enum metric m = metric_by_name(in->word);
    in->is_bad |= m == METRIC_COUNT;
    return m;
}

bool
begun_text_read_coach(const char *text, size_t len, struct coach_config *c)
{
    struct in in = { .at = text, .end = text + len };
    const double belt_speed_m_s = c->belt_speed_m_s, foot_length_mm = c->foot_length_mm;
    memset(c, 0, sizeof *c);
    c->belt_speed_m_s = belt_speed_m_s;
    c->foot_length_mm = foot_length_mm;
    expect(&in, "coach");
    expect(&in, "1");
    end_line(&in);
    expect(&in, "focus");
    c->focus = next_metric(&in);
    end_line(&in);
    next_fields(&in, COACH, N_OF(COACH), c);
    if (in.is_bad || c->n_targets > VERDICT_MAX_BARS || c->plan.n_blocks > PLAN_MAX_BLOCKS ||
        c->cadence_rule > TARGET_RULE_HOLD || c->plan.spread > PLAN_SPREAD_RANDOM)
        return false;
    for (int i = 0; i < c->n_targets; i++) {
        expect(&in, "target");
        c->target[i].metric = next_metric(&in);
        in.is_bad |= c->target[i].metric == METRIC_COUNT;
        next_row(&in, TARGET, N_OF(TARGET), &c->target[i]);
    }
    for (int i = 0; i < c->plan.n_blocks; i++) {
        expect(&in, "block");
        c->plan.speed_share[i] = next_real(&in);
        next_row(&in, BLOCK, N_OF(BLOCK), &c->plan.block[i]);
        in.is_bad |= c->plan.block[i].kind > VERDICT_BLOCK_ENDED;
    }
    return !in.is_bad && in.at == in.end;
}
