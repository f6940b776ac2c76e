/* wire_binary.c - packets of a board, whole but for what is in them: checksum and coding are put on here, since no
 * fuzzer finds them. Input: again and again a length (u16, low first), then type, sequence, time and payload.
 *
 * What a board may say, the encoder may be asked to say again: a packet that was read is written and read once more. */
#include "feed.h"
#include "wire/crc16.h"
#include "wire/wire_parts.h"

#define LINE_MAX_BYTES (1 << 18)

static void
again(const struct packet *p)
{
    static uint8_t out[WIRE_ENCODED_MAX];
    static struct wire_decoder d;
    static struct packet first;
    first = *p;
    const struct wire_form form = wire_form_default();
    const size_t n = wire_encode(&first, &form, out, sizeof out);
    if (n == 0)
        return;
    wire_init(&d);
    fuzz_must(wire_feed(&d, out, n, (struct host_time){ 1 }) == n, "a packet of our own is not read to its end");
    const struct packet *second = wire_take(&d);
    fuzz_must(second != NULL && second->type == first.type && second->t_us == first.t_us, "a packet of our own is not read");
}

int
LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static uint8_t line[LINE_MAX_BYTES], raw[WIRE_RAW_MAX];
    static struct wire_decoder d;
    struct fuzz_input in = { data, size };
    size_t len = 0;
    while (in.left > 0 && len + WIRE_ENCODED_MAX < sizeof line) {
        size_t n = fuzz_u16(&in) % (WIRE_RAW_MAX - WIRE_RAW_TAIL);
        const uint8_t *bytes = fuzz_take(&in, &n);
        memcpy(raw, bytes, n);
        const uint16_t crc = crc16(raw, n);
        raw[n] = (uint8_t) crc;
        raw[n + 1] = (uint8_t) (crc >> 8);
        len += wire_cobs_put(raw, n + 2, line + len, sizeof line - len);
    }
    feed_both_ways(line, len, PACKET_KIND_UNKNOWN);
    wire_init(&d);
    for (size_t used = 0; used < len;) {
        used += wire_feed(&d, line + used, len - used, (struct host_time){ 1 });
        const struct packet *p = wire_take(&d);
        if (p != NULL)
            again(p);
    }
    feed_pipeline(line, len, NULL);
    return 0;
}
