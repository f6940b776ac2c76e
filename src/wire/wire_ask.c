/* wire_ask.c - the board's side of the host's messages. Small enough for a board with 2 kB of memory. */
#include "wire/wire_parts.h"

#include <string.h>

void
wire_ask_init(struct wire_ask *a)
{
    memset(a, 0, sizeof *a);
}

static int
read_binary(struct wire_ask *a)
{
    uint8_t raw[sizeof a->buffer];
    size_t len = 0;
    if (wire_cobs_take(a->buffer, a->len, raw, sizeof raw, &len) <= 0 ||
        wire_binary_check(raw, len) != WIRE_UNIT_PACKET)
        return 0;
    switch (raw[0]) {
    case WIRE_ASK_HELLO:
    case WIRE_START:
    case WIRE_STOP:
        return raw[0];
    case WIRE_SET_RATE:
        if (len < WIRE_RAW_HEAD + 4 + WIRE_RAW_TAIL)
            return 0;
        a->rate_hz =
            (double) (raw[6] | (uint32_t) raw[7] << 8 | (uint32_t) raw[8] << 16 | (uint32_t) raw[9] << 24) /
            1000.0;
        return a->rate_hz > 0 ? WIRE_SET_RATE : 0;
    default:
        return 0;
    }
}

static bool
line_is(const struct wire_ask *a, const char *word)
{
    return a->len == strlen(word) && memcmp(a->buffer, word, a->len) == 0;
}

static int
read_line(struct wire_ask *a)
{
    static const char rate[] = "?rate ";
    size_t at = sizeof rate - 1;
    while (a->len > 0 && (a->buffer[a->len - 1] == '\n' || a->buffer[a->len - 1] == '\r'))
        a->len--;
    if (line_is(a, "?hello"))
        return WIRE_ASK_HELLO;
    if (line_is(a, "?start"))
        return WIRE_START;
    if (line_is(a, "?stop"))
        return WIRE_STOP;
    if (a->len <= at || memcmp(a->buffer, rate, at) != 0)
        return 0;
    double v = 0, scale = 0;
    for (; at < a->len; at++) {
        uint8_t c = a->buffer[at];
        if (c == '.' && scale == 0.0) {
            scale = 1;
        } else if (c >= '0' && c <= '9') {
            v = v * 10 + (c - '0');
            scale *= 10;
        } else {
            return 0;
        }
    }
    a->rate_hz = scale > 0 ? v / scale : v;
    return a->rate_hz > 0 ? WIRE_SET_RATE : 0;
}

int
wire_ask_feed(struct wire_ask *a, uint8_t byte)
{
    if (a->is_skipping) {
        a->is_skipping = byte != 0 && byte != '\n';
        return 0;
    }
    a->buffer[a->len++] = byte;
    int type = 0;
    bool is_text = a->buffer[0] == '?' || a->buffer[0] == '\n';
    if (byte == '\n' && is_text)
        type = read_line(a);
    else if (byte == 0)
        type = read_binary(a);
    else if (a->len < sizeof a->buffer)
        return 0;
    else
        a->is_skipping = true;
    a->len = 0;
    return type;
}
