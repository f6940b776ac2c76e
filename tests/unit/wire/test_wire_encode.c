/* Packets to bytes and back: every kind in every form comes back the same; nothing is written past cap. */
#include "wire/wire.h"

#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

static struct wire_decoder decoder;
static struct packet sent;
static uint8_t bytes[WIRE_ENCODED_MAX];

static const struct packet *
through(const struct packet *p, const struct wire_form *form, size_t *len)
{
    *len = wire_encode(p, form, bytes, sizeof bytes);
    if (*len == 0)
        return NULL;
    cr_assert_eq(wire_feed(&decoder, bytes, *len, (struct host_time){ 0 }), *len);
    return wire_take(&decoder);
}

static void
make_mat(int n_rows, int n_cols, int max, int loaded_percent)
{
    memset(&sent, 0, sizeof sent);
    sent.type = PACKET_MAT;
    sent.n_rows = n_rows;
    sent.n_cols = n_cols;
    sent.n_values = n_rows * n_cols;
    for (int i = 0; i < sent.n_values; i++)
        if (rand() % 100 < loaded_percent)
            sent.mat_counts[i] = (uint16_t) (1 + rand() % max);
}

Test(wire_encode, mats_of_any_size_and_load_come_back_the_same)
{
    srand(4);
    wire_init(&decoder);
    static const int sizes[][2] = { { 1, 1 },    { 1, 3 },    { 16, 8 },  { 64, 32 },
                                    { 128, 64 }, { 127, 63 }, { 64, 128 } };
    static const int loads[] = { 0, 1, 5, 30, 50, 100 };
    for (size_t s = 0; s < sizeof sizes / sizeof sizes[0]; s++) {
        for (size_t l = 0; l < 6; l++) {
            for (int variant = 0; variant < 4; variant++) {
                size_t len;
                struct wire_form form = { .bits = variant & 1 ? 8 : 12, .is_sparse = (variant & 2) != 0 };
                make_mat(sizes[s][0], sizes[s][1], form.bits == 8 ? 255 : 4095, loads[l]);
                sent.sequence = (uint8_t) (decoder.last_sequence + 1);
                sent.t_us = (uint32_t) rand();
                const struct packet *p = through(&sent, &form, &len);
                cr_assert_not_null(p, "%dx%d load %d variant %d", sent.n_rows, sent.n_cols, loads[l],
                                   variant);
                cr_assert_eq(p->t_us, sent.t_us);
                cr_assert(p->n_rows == sent.n_rows && p->n_cols == sent.n_cols &&
                          p->n_values == sent.n_values);
                cr_assert_arr_eq(p->mat_counts, sent.mat_counts, (size_t) sent.n_values * 2,
                                 "%dx%d load %d variant %d", sent.n_rows, sent.n_cols, loads[l], variant);
                size_t n_dense =
                    form.bits == 8 ? (size_t) sent.n_values : ((size_t) sent.n_values * 3 + 1) / 2;
                cr_assert_leq(len, n_dense + 11 + (n_dense + 11) / 254 + 2,
                              "sparse is never longer than dense");
            }
        }
    }
}

Test(wire_encode, sparse_drops_noise_and_clips_what_is_too_large)
{
    size_t len;
    wire_init(&decoder);
    make_mat(4, 8, 1, 0);
    sent.mat_counts[3] = 5;     /* noise */
    sent.mat_counts[10] = 6000; /* more than 12 bits hold */
    sent.mat_counts[31] = 9;
    struct wire_form form = { .bits = 12, .is_sparse = true, .noise_counts = 5 };
    const struct packet *p = through(&sent, &form, &len);
    cr_assert_not_null(p);
    cr_expect_eq(p->mat_counts[3], 0);
    cr_expect_eq(p->mat_counts[10], 4095);
    cr_expect_eq(p->mat_counts[31], 9);
    cr_expect_eq(bytes[1], WIRE_MAT_SPARSE);
}

static void
make_hello(enum packet_kind kind)
{
    memset(&sent, 0, sizeof sent);
    sent.type = PACKET_HELLO;
    struct packet_hello *h = &sent.hello;
    h->kind = kind;
    h->version_major = 1;
    h->rate_hz = 62.5;
    h->full_scale_counts = kind == PACKET_KIND_SWITCHES ? 1 : 4095;
    if (kind == PACKET_KIND_MAT) {
        h->n_rows = 16;
        h->n_cols = 8;
        h->pitch_fwd_mm = 20;
        h->pitch_right_mm = 15.25;
    } else {
        h->n_channels = 3;
    }
    if (kind == PACKET_KIND_SWITCHES) {
        h->is_binary_switches = true;
        strcpy(h->zone_name[0], "LH");
        strcpy(h->zone_name[1], "R");
        strcpy(h->zone_name[2], "ABC");
    }
}

Test(wire_encode, hellos_come_back_the_same_in_both_tongues)
{
    for (int tongue = 0; tongue < 3; tongue++) {
        for (int kind = PACKET_KIND_MAT; kind <= PACKET_KIND_SWITCHES; kind++) {
            size_t len;
            struct wire_form form = { .is_text = tongue > 0, .has_crc = tongue == 2, .bits = 12 };
            wire_init(&decoder);
            make_hello((enum packet_kind) kind);
            const struct packet *p = through(&sent, &form, &len);
            cr_assert_not_null(p, "tongue %d kind %d", tongue, kind);
            cr_assert_eq(p->type, PACKET_HELLO);
            cr_expect_eq(memcmp(&p->hello, &sent.hello, sizeof sent.hello), 0, "tongue %d kind %d", tongue,
                         kind);
        }
    }
}

Test(wire_encode, channels_come_back_the_same_in_both_tongues)
{
    static const int32_t cells[] = { INT32_MIN, INT32_MAX, -1 }, switches[] = { 0, 65535, 1023 };
    for (int tongue = 0; tongue < 3; tongue++) {
        for (int kind = PACKET_KIND_CELLS; kind <= PACKET_KIND_SWITCHES; kind++) {
            size_t len;
            struct wire_form form = { .is_text = tongue > 0, .has_crc = tongue == 2, .bits = 16 };
            wire_init(&decoder);
            wire_set_text_kind(&decoder, (enum packet_kind) kind);
            memset(&sent, 0, sizeof sent);
            sent.type = kind == PACKET_KIND_CELLS ? PACKET_CELLS : PACKET_SWITCHES;
            sent.n_values = 3;
            sent.t_us = UINT32_MAX;
            memcpy(sent.channel_counts, kind == PACKET_KIND_CELLS ? cells : switches, sizeof cells);
            const struct packet *p = through(&sent, &form, &len);
            cr_assert_not_null(p, "tongue %d kind %d", tongue, kind);
            cr_expect_eq(p->type, sent.type);
            cr_expect_eq(p->t_us, UINT32_MAX);
            cr_expect_arr_eq(p->channel_counts, sent.channel_counts, sizeof cells);
        }
    }
}

Test(wire_encode, on_and_off_come_back_the_same_in_one_bit_each)
{
    for (unsigned mask = 0; mask < 8; mask++) {
        size_t len;
        struct wire_form form = wire_form_default();
        cr_expect_eq(form.bits, 12);
        form.bits = 1;
        wire_init(&decoder);
        memset(&sent, 0, sizeof sent);
        sent.type = PACKET_SWITCHES;
        sent.n_values = 3;
        for (int i = 0; i < 3; i++)
            sent.channel_counts[i] = (int32_t) (mask >> i & 1);
        const struct packet *p = through(&sent, &form, &len);
        cr_assert_not_null(p, "mask %u", mask);
        cr_expect_arr_eq(p->channel_counts, sent.channel_counts, 3 * sizeof sent.channel_counts[0], "mask %u", mask);
    }
}

Test(wire_encode, too_little_room_gives_0_and_writes_nothing_past_it)
{
    for (int tongue = 0; tongue < 2; tongue++) {
        struct wire_form form = { .is_text = tongue == 1, .has_crc = true, .bits = 12 };
        make_hello(PACKET_KIND_SWITCHES);
        size_t need = wire_encode(&sent, &form, bytes, sizeof bytes);
        cr_assert_gt(need, 0);
        for (size_t cap = 0; cap < need; cap++) {
            bytes[cap] = 0xA5;
            cr_expect_eq(wire_encode(&sent, &form, bytes, cap), 0, "tongue %d cap %zu", tongue, cap);
            cr_expect_eq(bytes[cap], 0xA5, "tongue %d cap %zu", tongue, cap);
        }
        cr_expect_eq(wire_encode(&sent, &form, bytes, need), need);
    }
}

Test(wire_encode, every_message_of_the_host_is_heard_in_both_tongues)
{
    static const enum wire_type types[] = { WIRE_ASK_HELLO, WIRE_START, WIRE_STOP, WIRE_SET_RATE };
    struct wire_ask ask;
    wire_ask_init(&ask);
    for (size_t t = 0; t < 4; t++) {
        for (int sequence = 0; sequence < 256; sequence++) {
            int n_heard = 0;
            size_t n = wire_encode_ask(types[t], (uint8_t) sequence, 62.5, bytes, 64);
            cr_assert_gt(n, 0);
            for (size_t i = 0; i < n; i++) {
                int type = wire_ask_feed(&ask, bytes[i]);
                cr_assert(type == 0 || type == (int) types[t], "%x heard as %x", (unsigned) types[t],
                          (unsigned) type);
                n_heard += type != 0;
                if (type == WIRE_SET_RATE)
                    cr_expect_float_eq(ask.rate_hz, 62.5, 1e-12);
            }
            cr_assert_eq(n_heard, 2, "type %x sequence %d", (unsigned) types[t], sequence);
        }
    }
}

Test(wire_encode, junk_from_the_host_is_no_message_and_the_next_one_is_heard)
{
    struct wire_ask ask;
    srand(9);
    wire_ask_init(&ask);
    for (int i = 0; i < 20000; i++)
        cr_assert_eq(wire_ask_feed(&ask, (uint8_t) (rand() % 256)), 0);
    int n_heard = 0;
    size_t n = wire_encode_ask(WIRE_STOP, 3, 0, bytes, sizeof bytes);
    for (size_t i = 0; i < n; i++)
        n_heard += wire_ask_feed(&ask, bytes[i]) == WIRE_STOP;
    cr_expect_geq(n_heard, 1);
}
