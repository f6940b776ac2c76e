/* wire_text_write.c - struct packet to a text line. */
#include "wire/crc16.h"
#include "wire/wire_parts.h"

#include <string.h>

struct line {
    uint8_t *out;
    size_t cap, len;
    bool has_overflown;
};

static void
put_char(struct line *l, char c)
{
    if (l->len < l->cap)
        l->out[l->len++] = (uint8_t) c;
    else
        l->has_overflown = true;
}

static void
put_word(struct line *l, const char *s)
{
    while (*s != 0)
        put_char(l, *s++);
}

static void
put_integer(struct line *l, int64_t v)
{
    char digits[20];
    int n = 0;
    if (v < 0)
        put_char(l, '-');
    uint64_t u = v < 0 ? 0 - (uint64_t) v : (uint64_t) v;
    do {
        digits[n++] = (char) ('0' + u % 10);
        u /= 10;
    } while (u > 0);
    while (n > 0)
        put_char(l, digits[--n]);
}

/* Up to three digits after the point, none when they are all 0. Not negative. */
static void
put_decimal(struct line *l, double v)
{
    int64_t milli = (int64_t) (v * 1000.0 + 0.5);
    put_integer(l, milli / 1000);
    milli %= 1000;
    if (milli == 0)
        return;
    put_char(l, '.');
    for (int64_t digit = 100; digit > 0 && milli > 0; milli %= digit, digit /= 10)
        put_char(l, (char) ('0' + milli / digit));
}

static void
put_hello(struct line *l, const struct packet_hello *h)
{
    put_word(l, "#underfoot ");
    put_integer(l, h->version_major);
    if (h->version_minor > 0) {
        put_char(l, '.');
        put_integer(l, h->version_minor);
    }
    put_word(l, h->kind == PACKET_KIND_MAT     ? " kind=mat rate="
                : h->kind == PACKET_KIND_CELLS ? " kind=cells rate="
                                               : " kind=switches rate=");
    put_decimal(l, h->rate_hz);
    if (h->kind == PACKET_KIND_MAT) {
        put_word(l, " rows=");
        put_integer(l, h->n_rows);
        put_word(l, " cols=");
        put_integer(l, h->n_cols);
        put_word(l, " pitch=");
        put_decimal(l, h->pitch_fwd_mm);
        put_char(l, ',');
        put_decimal(l, h->pitch_right_mm);
    } else if (h->kind == PACKET_KIND_CELLS) {
        put_word(l, " n=");
        put_integer(l, h->n_channels);
    } else {
        put_word(l, " zones=");
        for (int i = 0; i < h->n_channels; i++) {
            if (i > 0)
                put_char(l, ',');
            put_word(l, h->zone_name[i]);
        }
    }
    if (!h->is_binary_switches) {
        put_word(l, " full=");
        put_integer(l, h->full_scale_counts);
    }
}

static void
put_data(struct line *l, const struct packet *p)
{
    put_integer(l, p->t_us);
    for (int i = 0; i < p->n_values; i++) {
        put_char(l, ',');
        put_integer(l, p->type == PACKET_MAT ? p->mat_counts[i] : p->channel_counts[i]);
    }
}

size_t
wire_text_write(const struct packet *p, const struct wire_form *form, uint8_t *out, size_t cap)
{
    static const char hex[] = "0123456789ABCDEF";
    struct line l = { .out = out, .cap = cap < WIRE_LINE_MAX ? cap : WIRE_LINE_MAX };
    if (p->type == PACKET_STATUS)
        return 0;
    if (p->type == PACKET_HELLO)
        put_hello(&l, &p->hello);
    else
        put_data(&l, p);
    if (form->has_crc) {
        unsigned crc = crc16(out, l.len);
        put_char(&l, '*');
        for (int shift = 12; shift >= 0; shift -= 4)
            put_char(&l, hex[crc >> shift & 0x0F]);
    }
    put_char(&l, '\n');
    return l.has_overflown ? 0 : l.len;
}

/* ------------------------------------------------------------------ the host's messages */

static void
put_message(struct line *l, enum wire_type type, double rate_hz)
{
    switch (type) {
    case WIRE_ASK_HELLO:
        put_word(l, "?hello");
        break;
    case WIRE_START:
        put_word(l, "?start");
        break;
    case WIRE_STOP:
        put_word(l, "?stop");
        break;
    case WIRE_SET_RATE:
        put_word(l, "?rate ");
        put_decimal(l, rate_hz);
        break;
    case WIRE_HELLO:
    case WIRE_MAT_DENSE:
    case WIRE_MAT_SPARSE:
    case WIRE_CELLS:
    case WIRE_SWITCHES:
    case WIRE_STATUS:
        break;
    }
}

size_t
wire_encode_ask(enum wire_type type, uint8_t sequence, double rate_hz, uint8_t *out, size_t cap)
{
    struct line l = { .out = out, .cap = cap };
    put_char(&l, '\n');
    put_message(&l, type, rate_hz);
    put_char(&l, '\n');
    put_char(&l, 0);
    if (l.has_overflown)
        return 0;
    struct wire_writer w;
    wire_writer_begin(&w, out + l.len, cap - l.len, type, sequence, 0);
    if (type == WIRE_SET_RATE)
        wire_writer_u32(&w, (uint32_t) (rate_hz * 1000.0 + 0.5));
    size_t n = wire_writer_end(&w);
    return n > 0 ? l.len + n : 0;
}
