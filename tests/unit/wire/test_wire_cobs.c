/* Consistent overhead byte stuffing, both ways, on the published examples and around the full block. */
#include "wire/wire_parts.h"

#include <criterion/criterion.h>
#include <string.h>

struct cobs_row {
    uint8_t data[260];
    size_t n_data;
    uint8_t coded[262];
    size_t n_coded;
};

static size_t
ramp(uint8_t *out, int from, int to)
{
    size_t n = 0;
    for (int v = from; v <= to; v++)
        out[n++] = (uint8_t) v;
    return n;
}

/* Examples as published with the method (Cheshire & Baker 1999, IEEE/ACM Trans Netw 7:159) and in its
 * descriptions: the last ones stand around the full block of 254. */
static size_t
cobs_rows(struct cobs_row *r)
{
    static const struct cobs_row small[] = {
        { { 0 }, 0, { 0x01 }, 1 },
        { { 0x00 }, 1, { 0x01, 0x01 }, 2 },
        { { 0x00, 0x00 }, 2, { 0x01, 0x01, 0x01 }, 3 },
        { { 0x00, 0x11, 0x00 }, 3, { 0x01, 0x02, 0x11, 0x01 }, 4 },
        { { 0x11, 0x22, 0x00, 0x33 }, 4, { 0x03, 0x11, 0x22, 0x02, 0x33 }, 5 },
        { { 0x11, 0x00, 0x00, 0x00 }, 4, { 0x02, 0x11, 0x01, 0x01, 0x01 }, 5 },
        { { 0x11, 0x22, 0x33, 0x44 }, 4, { 0x05, 0x11, 0x22, 0x33, 0x44 }, 5 },
    };
    size_t n = sizeof small / sizeof small[0];
    memcpy(r, small, sizeof small);
    memset(r + n, 0, 5 * sizeof *r);
    r[n].n_data = ramp(r[n].data, 0x01, 0xFE); /* 01..FE: FF 01..FE */
    r[n].coded[0] = 0xFF;
    r[n].n_coded = 1 + ramp(r[n].coded + 1, 0x01, 0xFE);
    n++;
    r[n].n_data = 1 + ramp(r[n].data + 1, 0x01, 0xFE); /* 00 01..FE: 01 FF 01..FE */
    r[n].coded[0] = 0x01;
    r[n].coded[1] = 0xFF;
    r[n].n_coded = 2 + ramp(r[n].coded + 2, 0x01, 0xFE);
    n++;
    r[n].n_data = ramp(r[n].data, 0x01, 0xFF); /* 01..FF: FF 01..FE 02 FF */
    r[n].coded[0] = 0xFF;
    ramp(r[n].coded + 1, 0x01, 0xFE);
    r[n].coded[255] = 0x02;
    r[n].coded[256] = 0xFF;
    r[n].n_coded = 257;
    n++;
    r[n].n_data = ramp(r[n].data, 0x02, 0xFF) + 1; /* 02..FF 00: FF 02..FF 01 01 */
    r[n].coded[0] = 0xFF;
    ramp(r[n].coded + 1, 0x02, 0xFF);
    r[n].coded[255] = r[n].coded[256] = 0x01;
    r[n].n_coded = 257;
    n++;
    r[n].n_data = ramp(r[n].data, 0x03, 0xFF) + 2; /* 03..FF 00 01: FE 03..FF 02 01 */
    r[n].data[254] = 0x01;
    r[n].coded[0] = 0xFE;
    ramp(r[n].coded + 1, 0x03, 0xFF);
    r[n].coded[254] = 0x02;
    r[n].coded[255] = 0x01;
    r[n].n_coded = 256;
    return n + 1;
}

Test(cobs, published_examples_both_ways)
{
    static struct cobs_row r[16];
    size_t n = cobs_rows(r);
    cr_assert_eq(n, 12);
    for (size_t i = 0; i < n; i++) {
        uint8_t out[300], back[300];
        size_t n_back = 0;
        size_t n_out = wire_cobs_put(r[i].data, r[i].n_data, out, sizeof out);
        cr_assert_eq(n_out, r[i].n_coded + 1, "row %zu: %zu bytes", i, n_out);
        cr_expect_arr_eq(out, r[i].coded, r[i].n_coded, "row %zu", i);
        cr_expect_eq(out[n_out - 1], 0);
        cr_expect_eq(wire_cobs_take(out, n_out, back, sizeof back, &n_back), (ptrdiff_t) n_out);
        cr_assert_eq(n_back, r[i].n_data, "row %zu", i);
        cr_expect_arr_eq(back, r[i].data, n_back, "row %zu", i);
        cr_expect_eq(wire_cobs_put(r[i].data, r[i].n_data, out, n_out - 1), 0, "row %zu does not fit", i);
    }
}

Test(cobs, extra_block_after_a_last_full_one_is_accepted)
{
    uint8_t coded[257] = { 0xFF }, back[300];
    size_t n_back = 0;
    ramp(coded + 1, 0x01, 0xFE);
    coded[255] = 0x01;
    cr_expect_eq(wire_cobs_take(coded, 257, back, sizeof back, &n_back), 257);
    cr_expect_eq(n_back, 254);
}

Test(cobs, three_answers)
{
    uint8_t back[4];
    size_t n_back = 0;
    cr_expect_eq(wire_cobs_take((const uint8_t *) "\x03\x11", 2, back, 4, &n_back), 0, "no end yet");
    cr_expect_lt(wire_cobs_take((const uint8_t *) "\x05\x11\x00", 3, back, 4, &n_back), 0,
                 "block past the end");
    cr_expect_lt(wire_cobs_take((const uint8_t *) "\x06\x11\x22\x33\x44\x55\x00", 7, back, 4, &n_back), 0,
                 "too long");
    cr_expect_lt(wire_cobs_take((const uint8_t *) "\x02\x11\x02\x22\x00", 5, back, 1, &n_back), 0,
                 "no room for the zero between");
    cr_expect_eq(wire_cobs_take((const uint8_t *) "\x02\x11\x00\x02", 4, back, 4, &n_back), 3,
                 "one and a bit");
}
