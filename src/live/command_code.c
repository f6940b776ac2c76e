#include "live/command_code.h"

#include <assert.h>
#include <string.h>

#define NAME_MAX_LEN 32 /* of a metric */
_Static_assert(12 + NAME_MAX_LEN + VERDICT_MAX_BARS * (1 + NAME_MAX_LEN + 3 * 8 + 1) <= COMMAND_CODE_MAX, "it fits");

struct out {
    uint8_t *bytes;
    size_t len;
};

static void
put_byte(struct out *o, unsigned byte)
{
    o->bytes[o->len++] = (uint8_t) byte;
}

static void
put_number(struct out *o, double x)
{
    uint64_t bits;
    memcpy(&bits, &x, sizeof bits);
    for (int i = 0; i < 8; i++, bits >>= 8)
        put_byte(o, (unsigned) (bits & 0xFF));
}

static void
put_metric(struct out *o, enum metric m)
{
    const char *name = m < METRIC_COUNT ? metric_info(m)->name : "";
    const size_t len = strlen(name);
    assert(len <= NAME_MAX_LEN);
    put_byte(o, (unsigned) len);
    memcpy(o->bytes + o->len, name, len);
    o->len += len;
}

size_t
command_code_write(const struct command *command, uint8_t out[COMMAND_CODE_MAX])
{
    struct out o = { out, 0 };
    const int n = command->kind == COMMAND_TARGETS ? command->n_targets : 0;
    assert(n >= 0 && n <= VERDICT_MAX_BARS);
    put_byte(&o, COMMAND_CODE_VERSION);
    put_byte(&o, (unsigned) command->kind);
    put_number(&o, command->number);
    put_byte(&o, (unsigned) n);
    if (n > 0)
        put_metric(&o, command->focus);
    for (int i = 0; i < n; i++) {
        const struct target *t = &command->target[i];
        put_metric(&o, t->metric);
        put_number(&o, t->low);
        put_number(&o, t->high);
        put_number(&o, t->baseline);
        put_byte(&o, t->is_change);
    }
    return o.len;
}

/* What is left to read; too short once it was asked for more than there is. */
struct in {
    const uint8_t *bytes;
    size_t len;
    bool is_bad;
};

static const uint8_t *
get(struct in *in, size_t n)
{
    static const uint8_t nothing[NAME_MAX_LEN + 8];
    if (in->len < n) {
        in->is_bad = true;
        in->len = 0;
        return nothing;
    }
    const uint8_t *at = in->bytes;
    in->bytes += n;
    in->len -= n;
    return at;
}

static double
get_number(struct in *in)
{
    const uint8_t *at = get(in, 8);
    uint64_t bits = 0;
    double x;
    for (int i = 7; i >= 0; i--)
        bits = bits << 8 | at[i];
    memcpy(&x, &bits, sizeof x);
    return x;
}

/* METRIC_COUNT for none; a name that is not known is bad. */
static enum metric
get_metric(struct in *in)
{
    char name[NAME_MAX_LEN + 1] = "";
    const size_t len = *get(in, 1);
    if (len == 0)
        return METRIC_COUNT;
    if (len > NAME_MAX_LEN) {
        in->is_bad = true;
        return METRIC_COUNT;
    }
    memcpy(name, get(in, len), len);
    const enum metric m = metric_by_name(name);
    in->is_bad |= m == METRIC_COUNT;
    return m;
}

bool
command_code_read(const uint8_t *bytes, size_t len, struct command *out)
{
    struct in in = { bytes, len, false };
    memset(out, 0, sizeof *out);
    if (*get(&in, 1) != COMMAND_CODE_VERSION)
        return false;
    const unsigned kind = *get(&in, 1);
    out->kind = (enum command_kind) kind;
    out->number = get_number(&in);
    out->n_targets = *get(&in, 1);
    if (kind > COMMAND_END || out->n_targets > VERDICT_MAX_BARS || (out->n_targets > 0) != (kind == COMMAND_TARGETS))
        return false;
    if (out->n_targets > 0)
        out->focus = get_metric(&in);
    for (int i = 0; i < out->n_targets; i++) {
        struct target *t = &out->target[i];
        t->metric = get_metric(&in);
        in.is_bad |= t->metric == METRIC_COUNT;
        t->low = get_number(&in);
        t->high = get_number(&in);
        t->baseline = get_number(&in);
        const unsigned is_change = *get(&in, 1);
        t->is_change = is_change == 1;
        in.is_bad |= is_change > 1;
    }
    return !in.is_bad && in.len == 0;
}
