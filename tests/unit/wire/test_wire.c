/* The decoder on tables of rows: input bytes field by field, and the packets and counts that must come.
 * Each row also runs one byte at a time and cut in two at every position. The bytes of the binary rows
 * were made by a separate program from the format's definition, not by our encoder. */
#include "wire/wire.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static struct wire_decoder decoder;

/* What came out, as one line per packet. */
struct script {
    char text[4096];
    size_t len;
};

static void
note(struct script *s, const struct packet *p)
{
    char *at = s->text + s->len;
    size_t left = sizeof s->text - s->len;
    int n = 0;
    static const char *const names[] = { "?", "hello", "mat", "cells", "switches", "status" };
    n += snprintf(at, left, "%s t=%lu lost=%lu", names[p->type], (unsigned long) p->t_us,
                  (unsigned long) p->n_lost_before);
    if (p->has_sequence)
        n += snprintf(at + n, left - (size_t) n, " seq=%d", p->sequence);
    if (p->type == PACKET_HELLO)
        n += snprintf(at + n, left - (size_t) n,
                      " v%d.%d kind=%d rate=%g %dx%d pitch=%g,%g full=%d n=%d %s..%s bin=%d",
                      p->hello.version_major, p->hello.version_minor, (int) p->hello.kind, p->hello.rate_hz,
                      p->hello.n_rows, p->hello.n_cols, p->hello.pitch_fwd_mm, p->hello.pitch_right_mm,
                      p->hello.full_scale_counts, p->hello.n_channels, p->hello.zone_name[0],
                      p->hello.n_channels > 0 ? p->hello.zone_name[p->hello.n_channels - 1] : "",
                      p->hello.is_binary_switches);
    if (p->type == PACKET_MAT)
        n += snprintf(at + n, left - (size_t) n, " %dx%d:", p->n_rows, p->n_cols);
    if (p->type == PACKET_STATUS)
        n += snprintf(at + n, left - (size_t) n, " code=%lu", (unsigned long) p->status_code);
    for (int i = 0; i < p->n_values && i < 64; i++)
        n += snprintf(at + n, left - (size_t) n, " %ld",
                      p->type == PACKET_MAT ? (long) p->mat_counts[i] : (long) p->channel_counts[i]);
    n += snprintf(at + n, left - (size_t) n, "\n");
    s->len += (size_t) n;
    cr_assert_lt(s->len, sizeof s->text - 512);
}

static void
feed(struct script *s, const uint8_t *bytes, size_t len)
{
    while (len > 0) {
        size_t used = wire_feed(&decoder, bytes, len, (struct host_time){ 7 });
        const struct packet *p;
        cr_assert(used > 0);
        while ((p = wire_take(&decoder)) != NULL)
            note(s, p);
        bytes += used;
        len -= used;
    }
}

/* Bytes and what must come of them; counts that are not named must be 0. */
struct row {
    const char *name;
    const uint8_t *bytes;
    size_t len;
    const char *script;
    struct wire_health health;
};

#define BYTES(...)                                                                                           \
    (const uint8_t[]){ __VA_ARGS__ }, sizeof(const uint8_t[])                                                \
    {                                                                                                        \
        __VA_ARGS__                                                                                          \
    }
#define TEXT(s) (const uint8_t *) (s), sizeof(s) - 1

/* code, type 5, sequence, t_us (with its zeros coded), n, bits, mask, CRC, end */
#define SW1        0x05, 0x05, 0x01, 0xD0, 0x07, 0x01, 0x06, 0x04, 0x01, 0x05, 0x16, 0x1E, 0x00
#define SW1_SCRIPT "switches t=2000 lost=0 seq=1 1 0 1 0\n"
#define SW2        0x05, 0x05, 0x02, 0xA0, 0x0F, 0x01, 0x06, 0x04, 0x01, 0x01, 0xC4, 0x1F, 0x00
#define SW2_SCRIPT "switches t=4000 lost=0 seq=2 1 0 0 0\n"
#define SW5        0x05, 0x05, 0x05, 0x10, 0x27, 0x01, 0x06, 0x04, 0x01, 0x09, 0xEA, 0x93, 0x00
#define SW255      0x05, 0x05, 0xFF, 0x10, 0x27, 0x01, 0x03, 0x04, 0x01, 0x03, 0x32, 0xDE, 0x00
#define SW0        0x02, 0x05, 0x03, 0xE0, 0x2E, 0x01, 0x06, 0x04, 0x01, 0x0F, 0xE8, 0xDC, 0x00
#define UNKNOWN_8  0x04, 0x42, 0x08, 0x09, 0x01, 0x01, 0x04, 0x01, 0xDE, 0xF9, 0x00
#define HELLO_V2                                                                                             \
    0x02, 0x01, 0x01, 0x01, 0x01, 0x01, 0x02, 0x02, 0x0B, 'w', 'h', 'a', 't', 'e', 'v', 'e', 'r', 0x0A,      \
        0xE0, 0x00
#define HELLO_SW                                                                                             \
    0x02, 0x01,                             /* type hello, sequence 0 */                                     \
        0x01, 0x01, 0x01, 0x01, 0x02,       /* t_us 0 */                                                     \
        0x01, 0x06,                         /* version 1.0 */                                                \
        0x03, 0x01,                         /* switches, binary */                                           \
        0x20, 0xA1, 0x07, 0x02,             /* 500000 mHz */                                                 \
        0x01, 0x01, 0x01,                   /* full scale 1 */                                               \
        0x01, 0x01, 0x01, 0x01, 0x01, 0x01, /* rows, cols, pitches: 0 */                                     \
        0x04, 0x04, 0x4C, 0x48, 0x03, 0x4C, 0x46, 0x03, 0x52, 0x48, 0x03, 0x52, 0x46, /* 4: LH LF RH RF */   \
        0x03, 0xDB, 0x69, 0x00
#define HELLO_SW_SCRIPT "hello t=0 lost=0 seq=0 v1.0 kind=3 rate=500 0x0 pitch=0,0 full=1 n=4 LH..RF bin=1\n"
#define TEXT_HELLO      "#underfoot 1 kind=switches rate=500 zones=LH,LF,RH,RF"
#define TEXT_SCRIPT     "hello t=0 lost=0 v1.0 kind=3 rate=500 0x0 pitch=0,0 full=1 n=4 LH..RF bin=1\n"

static const struct row rows[] = {
    { "plain_packet", BYTES(SW1), SW1_SCRIPT, { .n_packets = 1 } },
    { "cells_signed_and_large",
      BYTES(0x06, 0x04, 0x10, 0x01, 0x02, 0x03,             /* cells, sequence 16, t 0x00030201 */
            0x04, 0x03, 0xE8, 0x03, 0x01,                   /* n 3, 1000 */
            0x08, 0xFE, 0xFF, 0xFF, 0xFF, 0x70, 0x11, 0x01, /* -2, 70000 */
            0x03, 0x73, 0x72, 0x00),
      "cells t=197121 lost=0 seq=16 1000 -2 70000\n",
      { .n_packets = 1 } },
    { "switches_16_bit",
      BYTES(0x04, 0x05, 0x09, 0x01, 0x01, 0x01, 0x06, 0x02, 0x10, 0xFF, 0x03, 0x07, 0x03, 0xA4, 0x9B, 0x00),
      "switches t=1 lost=0 seq=9 1023 7\n",
      { .n_packets = 1 } },
    { "switches_8_bit",
      BYTES(0x04, 0x05, 0x09, 0x01, 0x01, 0x01, 0x07, 0x02, 0x08, 0xC8, 0x07, 0x95, 0x0D, 0x00),
      "switches t=1 lost=0 seq=9 200 7\n",
      { .n_packets = 1 } },
    { "dense_8_bit",
      BYTES(0x04, 0x02, 0x03, 0x05, 0x01, 0x01, 0x0C, 0x02, 0x03, 0x08, /* 2 x 3, 8 bits */
            0x01, 0x02, 0x03, 0x04, 0x05, 0xFF, 0xF2, 0xF4, 0x00),
      "mat t=5 lost=0 seq=3 2x3: 1 2 3 4 5 255\n",
      { .n_packets = 1 } },
    { "dense_12_bit_odd_count",
      BYTES(0x04, 0x02, 0x03, 0x05, 0x01, 0x01, 0x0B, 0x01, 0x03, 0x0C, /* 1 x 3, 12 bits */
            0x23, 0x61, 0x45, 0xFF, 0x0F, 0x53, 0xC7, 0x00),
      "mat t=5 lost=0 seq=3 1x3: 291 1110 4095\n",
      { .n_packets = 1 } }, /* 0x123 0x456 0xFFF */
    { "sparse_8_bit",
      BYTES(0x04, 0x03, 0x03, 0x05, 0x01, 0x01, 0x0D, 0x02, 0x04, 0x08, /* 2 x 4, 8 bits */
            0x01, 0x02, 0x09, 0x08,                                     /* skip 1, two: 9 8 */
            0x03, 0x01, 0x07, 0x01, 0xBF, 0x00),                        /* skip 3, one: 7 */
      "mat t=5 lost=0 seq=3 2x4: 0 9 8 0 0 0 7 0\n",
      { .n_packets = 1 } },
    { "sparse_12_bit_up_to_the_end",
      BYTES(0x04, 0x03, 0x04, 0x06, 0x01, 0x01, 0x0B, 0x02, 0x04, 0x0C, 0x06, 0x02, 0x23, 0x61, 0x45, 0xD8,
            0xB0, 0x00),
      "mat t=6 lost=0 seq=4 2x4: 0 0 0 0 0 0 291 1110\n",
      { .n_packets = 1 } },
    { "sparse_run_past_the_end",
      BYTES(0x04, 0x03, 0x03, 0x05, 0x01, 0x01, 0x0A, 0x02, 0x04, 0x08, 0x07, 0x02, 0x09, 0x08, 0x8A, 0x0B,
            0x00),
      "",
      { .n_malformed = 1 } },
    { "status",
      BYTES(0x04, 0x06, 0x07, 0x09, 0x01, 0x01, 0x02, 0x01, 0x01, 0x01, 0x03, 0x90, 0x0C, 0x00),
      "status t=9 lost=0 seq=7 code=1\n",
      { .n_packets = 1 } },
    { "hello_of_a_mat",
      BYTES(0x02, 0x01, 0x01, 0x01, 0x01, 0x01, 0x02, 0x01, 0x02, 0x01,  /* hello 0, t 0, 1.0, mat, flags 0 */
            0x04, 0x90, 0xD0, 0x03, 0x03, 0xFF, 0x0F, 0x01, 0x07,        /* 250000 mHz, 4095 */
            0x40, 0x20, 0xE8, 0x03, 0xE8, 0x03, 0x03, 0xE3, 0x9B, 0x00), /* 64 x 32, 10.00 mm twice, n 0 */
      "hello t=0 lost=0 seq=0 v1.0 kind=1 rate=250 64x32 pitch=10,10 full=4095 n=0 .. bin=0\n",
      { .n_packets = 1 } },
    { "hello_of_switches", BYTES(HELLO_SW), HELLO_SW_SCRIPT, { .n_packets = 1 } },
    { "newer_minor_is_read_as_far_as_known",
      BYTES(0x02, 0x01, 0x01, 0x01, 0x01, 0x01, 0x08, 0x01, 0x03, 0x03, 0x01, 0x20, 0xA1, 0x07, 0x02, 0x01,
            0x01, 0x01, 0x01, 0x01, 0x01, 0x01, 0x01, 0x01, 0x04, 0x04, 0x4C, 0x48, 0x03, 0x4C, 0x46, 0x03,
            0x52, 0x48, 0x03, 0x52, 0x46, 0x05, 0x78, 0x78, 0x01, 0x5E, 0x00),
      "hello t=0 lost=0 seq=0 v1.3 kind=3 rate=500 0x0 pitch=0,0 full=1 n=4 LH..RF bin=1\n",
      { .n_packets = 1, .n_newer_minor = 1 } },
    { "newer_major_is_refused_until_a_hello_that_can_be_read",
      BYTES(HELLO_V2, SW1, SW2, HELLO_SW, SW5),
      HELLO_SW_SCRIPT "switches t=10000 lost=4 seq=5 1 0 0 1\n",
      { .n_packets = 2, .n_refused = 3, .n_lost = 4 } },
    { "leading_junk",
      BYTES('j', 'u', 'n', 'k', 0xFF, 0x80, 0x00, SW1),
      SW1_SCRIPT,
      { .n_packets = 1, .n_malformed = 1 } },
    { "leading_junk_joined_to_a_packet",
      BYTES('j', 'u', 'n', 'k', SW1, SW2),
      SW2_SCRIPT,
      { .n_packets = 1, .n_malformed = 1 } },
    { "wrong_crc",
      BYTES(0x05, 0x05, 0x01, 0xD0, 0x07, 0x01, 0x06, 0x04, 0x01, 0x04 /* was 5 */, 0x16, 0x1E, 0x00, SW2),
      SW2_SCRIPT,
      { .n_packets = 1, .n_bad_crc = 1 } },
    { "cut_packet_takes_the_one_it_runs_into",
      BYTES(0x05, 0x05, 0x01, 0xD0, 0x07, SW1, SW2),
      SW2_SCRIPT,
      { .n_packets = 1, .n_bad_crc = 1 } },
    { "cut_packet_then_a_terminator",
      BYTES(0x05, 0x05, 0x01, 0xD0, 0x07, 0x00, SW1),
      SW1_SCRIPT,
      { .n_packets = 1, .n_malformed = 1 } },
    { "two_joined", BYTES(SW1, SW2), SW1_SCRIPT SW2_SCRIPT, { .n_packets = 2 } },
    { "terminators_between",
      BYTES(0x00, 0x00, SW1, 0x00, SW2, 0x00),
      SW1_SCRIPT SW2_SCRIPT,
      { .n_packets = 2 } },
    { "sequence_gap",
      BYTES(SW2, SW5),
      SW2_SCRIPT "switches t=10000 lost=2 seq=5 1 0 0 1\n",
      { .n_packets = 2, .n_lost = 2 } },
    { "sequence_wrap",
      BYTES(SW255, SW0),
      "switches t=10000 lost=0 seq=255 0 0 0 0\nswitches t=12000 lost=0 seq=0 1 1 1 1\n",
      { .n_packets = 2 } },
    { "duplicate", BYTES(SW1, SW1, SW2), SW1_SCRIPT SW2_SCRIPT, { .n_packets = 2, .n_duplicates = 1 } },
    { "duplicate_of_an_older_one",
      BYTES(SW1, SW2, SW1, SW2, SW5),
      SW1_SCRIPT SW2_SCRIPT "switches t=10000 lost=2 seq=5 1 0 0 1\n",
      { .n_packets = 3, .n_duplicates = 2, .n_lost = 2 } },
    { "unknown_type_is_not_a_lost_one",
      BYTES(SW5, UNKNOWN_8),
      "switches t=10000 lost=0 seq=5 1 0 0 1\n",
      { .n_packets = 1, .n_unknown_type = 1, .n_lost = 2 } },
    { "hello_numbered_0_begins_a_new_life",
      BYTES(SW5, HELLO_SW, SW1),
      "switches t=10000 lost=0 seq=5 1 0 0 1\n" HELLO_SW_SCRIPT SW1_SCRIPT,
      { .n_packets = 3 } },

    { "text_hello_and_data",
      TEXT(TEXT_HELLO "\n2000,1,0,1,0\n4000,1,0,0,0\n"),
      TEXT_SCRIPT "switches t=2000 lost=0 1 0 1 0\nswitches t=4000 lost=0 1 0 0 0\n",
      { .n_packets = 3 } },
    { "text_with_checksums_and_cr",
      TEXT(TEXT_HELLO "*80CA\r\n2000,1,0,1,0*3B3A\r\n4000,1,0,0,0*0734\r\n"),
      TEXT_SCRIPT "switches t=2000 lost=0 1 0 1 0\nswitches t=4000 lost=0 1 0 0 0\n",
      { .n_packets = 3 } },
    { "text_checksum_in_small_letters",
      TEXT(TEXT_HELLO "\n2000,1,0,1,0*3b3a\n"),
      TEXT_SCRIPT "switches t=2000 lost=0 1 0 1 0\n",
      { .n_packets = 2 } },
    { "text_wrong_checksum",
      TEXT(TEXT_HELLO "\n2000,1,0,1,0*3B3B\n4000,1,0,0,0\n"),
      TEXT_SCRIPT "switches t=4000 lost=0 1 0 0 0\n",
      { .n_packets = 2, .n_bad_crc = 1 } },
    { "text_version_with_minor",
      TEXT("#underfoot 1.0 kind=cells n=4 rate=62.5\n1000,-12,40500,3,8388607\n"),
      "hello t=0 lost=0 v1.0 kind=2 rate=62.5 0x0 pitch=0,0 full=8388607 n=4 .. bin=0\n"
      "cells t=1000 lost=0 -12 40500 3 8388607\n",
      { .n_packets = 2 } },
    { "text_mat",
      TEXT("#underfoot 1 kind=mat rate=50 rows=2 cols=3 pitch=20,15.5 full=255\n7,0,1,2,3,4,5\n"),
      "hello t=0 lost=0 v1.0 kind=1 rate=50 2x3 pitch=20,15.5 full=255 n=0 .. bin=0\n"
      "mat t=7 lost=0 2x3: 0 1 2 3 4 5\n",
      { .n_packets = 2 } },
    { "text_mat_says_no_full_scale",
      TEXT("#underfoot 1 kind=mat rate=50 rows=2 cols=3 pitch=20,15.5\n"),
      "hello t=0 lost=0 v1.0 kind=1 rate=50 2x3 pitch=20,15.5 full=4095 n=0 .. bin=0\n",
      { .n_packets = 1 } },
    { "text_analog_switches",
      TEXT("#underfoot 1 kind=switches rate=500 zones=L,R full=1023\n7, 12,\t1023 \n"),
      "hello t=0 lost=0 v1.0 kind=3 rate=500 0x0 pitch=0,0 full=1023 n=2 L..R bin=0\n"
      "switches t=7 lost=0 12 1023\n",
      { .n_packets = 2 } },
    { "text_remarks_and_empty_lines",
      TEXT("# boot\n" TEXT_HELLO "\n\n# note\n2000,1,0,1,0\n"),
      TEXT_SCRIPT "switches t=2000 lost=0 1 0 1 0\n",
      { .n_packets = 2, .n_malformed = 1 } },
    { "text_unknown_keys_are_skipped",
      TEXT("#underfoot 1.7 kind=switches colour=red rate=500 shiny zones=LH,RH\n"),
      "hello t=0 lost=0 v1.7 kind=3 rate=500 0x0 pitch=0,0 full=1 n=2 LH..RH bin=1\n",
      { .n_packets = 1, .n_unknown_keys = 2, .n_newer_minor = 1 } },
    { "text_unknown_kind", TEXT("#underfoot 1 kind=smell rate=500\n"), "", { .n_unknown_type = 1 } },
    { "text_newer_major", TEXT("#underfoot 2 all=new\n1000,1,1\n"), "", { .n_refused = 2 } },
    { "text_before_hello",
      TEXT("1000,1,0,1,0\n" TEXT_HELLO "\n2000,1,0,1,0\n"),
      TEXT_SCRIPT "switches t=2000 lost=0 1 0 1 0\n",
      { .n_packets = 2, .n_before_hello = 1 } },
    { "text_joined_in_the_middle_of_a_line",
      TEXT("0,1,0\n" TEXT_HELLO "\n2000,1,0,1,0\n"),
      TEXT_SCRIPT "switches t=2000 lost=0 1 0 1 0\n",
      { .n_packets = 2, .n_before_hello = 1 } },
    { "text_bad_lines_one_by_one",
      TEXT(TEXT_HELLO "\n2000,1,0,1\n2000,1,0,1,0,1\n2000,1,,1,0\nx\n2000,1,0,1,0*12\n4294967296,1,0,1,0\n"
                      "2000,1,0,1,-1\n2000\n"),
      TEXT_SCRIPT,
      { .n_packets = 1, .n_malformed = 8 } },
    { "text_zero_byte_inside",
      TEXT(TEXT_HELLO "\n2000,1,\0"
                      "0,1,0\n4000,1,0,0,0\n"),
      TEXT_SCRIPT "switches t=4000 lost=0 1 0 0 0\n",
      { .n_packets = 2, .n_malformed = 2 } },
    { "text_largest_time",
      TEXT(TEXT_HELLO "\n4294967295,1,0,1,0\n"),
      TEXT_SCRIPT "switches t=4294967295 lost=0 1 0 1 0\n",
      { .n_packets = 2 } },
    { "text_hello_out_of_range",
      TEXT("#underfoot 1 kind=mat rate=50 rows=0 cols=3\n#underfoot 1 kind=cells rate=0 n=4\n"
           "#underfoot 1 kind=cells rate=62.0000 n=4\n#underfoot 1 kind=switches rate=500 zones=LONG\n#underfoot x kind=cells n=1 rate=1\n"),
      "",
      { 0 } }, /* nothing sure yet: all may still be the inside of a binary packet */
};

static void
expect_health(const struct wire_health *got, const struct row *row, const char *how)
{
    static const char *const names[] = { "packets",      "bad crc",      "malformed",   "too long",
                                         "unknown type", "unknown keys", "newer minor", "refused",
                                         "before hello", "duplicates",   "lost" };
    const struct wire_health *w = &row->health;
    const uint64_t want[] = { w->n_packets,      w->n_bad_crc,      w->n_malformed,   w->n_too_long,
                              w->n_unknown_type, w->n_unknown_keys, w->n_newer_minor, w->n_refused,
                              w->n_before_hello, w->n_duplicates,   w->n_lost };
    const uint64_t have[] = { got->n_packets,      got->n_bad_crc,      got->n_malformed,   got->n_too_long,
                              got->n_unknown_type, got->n_unknown_keys, got->n_newer_minor, got->n_refused,
                              got->n_before_hello, got->n_duplicates,   got->n_lost };
    for (size_t i = 0; i < sizeof want / sizeof want[0]; i++)
        cr_expect_eq(have[i], want[i], "%s, %s: %s %llu, not %llu", row->name, how, names[i],
                     (unsigned long long) have[i], (unsigned long long) want[i]);
    cr_expect_eq(got->n_bytes, row->len, "%s, %s: bytes", row->name, how);
}

Test(wire, rows_give_their_packets_and_counts)
{
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct script s = { .len = 0 };
        wire_init(&decoder);
        feed(&s, rows[i].bytes, rows[i].len);
        cr_expect_str_eq(s.text, rows[i].script, "%s:\n%swanted:\n%s", rows[i].name, s.text, rows[i].script);
        expect_health(&decoder.health, &rows[i], "whole");
    }
}

Test(wire, every_byte_split_gives_the_same)
{
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const struct row *row = &rows[i];
        struct script whole = { .len = 0 };
        wire_init(&decoder);
        feed(&whole, row->bytes, row->len);
        for (size_t cut = 0; cut <= row->len; cut++) {
            struct script s = { .len = 0 };
            wire_init(&decoder);
            feed(&s, row->bytes, cut);
            feed(&s, row->bytes + cut, row->len - cut);
            cr_assert_str_eq(s.text, whole.text, "%s cut at %zu", row->name, cut);
            expect_health(&decoder.health, row, "cut");
        }
        struct script s = { .len = 0 };
        wire_init(&decoder);
        for (size_t k = 0; k < row->len; k++)
            feed(&s, row->bytes + k, 1);
        cr_assert_str_eq(s.text, whole.text, "%s by bytes", row->name);
        expect_health(&decoder.health, row, "by bytes");
    }
}

Test(wire, packet_cut_short_anywhere_costs_itself_and_no_other)
{
    static const uint8_t sw1[] = { SW1 }, sw2[] = { SW2 };
    for (size_t n = 1; n < sizeof sw1 - 1; n++) {
        struct script s = { .len = 0 };
        wire_init(&decoder);
        feed(&s, sw1, n);
        feed(&s, (const uint8_t *) "\0", 1);
        feed(&s, sw2, sizeof sw2);
        cr_expect_str_eq(s.text, SW2_SCRIPT, "cut after %zu", n);
        cr_expect_eq(decoder.health.n_malformed + decoder.health.n_bad_crc, 1, "cut after %zu", n);
    }
}

Test(wire, newer_major_is_refused_with_its_number)
{
    static const uint8_t v2[] = { HELLO_V2 };
    struct script s = { .len = 0 };
    wire_init(&decoder);
    cr_expect_eq(wire_refusal(&decoder), 0);
    feed(&s, v2, sizeof v2);
    cr_expect_eq(wire_refusal(&decoder), 2);
    wire_init(&decoder);
    feed(&s, (const uint8_t *) "#underfoot 107 x=1\n", 19);
    cr_expect_eq(wire_refusal(&decoder), 107);
}

Test(wire, text_kind_from_a_profile_reads_lines_before_any_hello)
{
    struct script s = { .len = 0 };
    wire_init(&decoder);
    wire_set_text_kind(&decoder, PACKET_KIND_CELLS);
    feed(&s, (const uint8_t *) "5,-1,2,3\n", 9);
    cr_expect_str_eq(s.text, "cells t=5 lost=0 -1 2 3\n");
}

Test(wire, endless_junk_is_dropped_and_the_next_packet_found)
{
    static const uint8_t sw1[] = { SW1 }, end[] = { 0x00 };
    struct script s = { .len = 0 };
    wire_init(&decoder);
    for (size_t i = 0; i < 3 * WIRE_ENCODED_MAX; i++)
        feed(&s, (const uint8_t *) "\x55", 1);
    feed(&s, end, 1);
    feed(&s, sw1, sizeof sw1);
    cr_expect_str_eq(s.text, SW1_SCRIPT);
    cr_expect_eq(decoder.health.n_too_long, 1);
}

Test(wire, board_that_changes_its_tongue_is_heard_again)
{
    static const uint8_t sw1[] = { SW1 };
    static const char text[] = TEXT_HELLO "\n";
    static const char line[] = "2000,1,0,1,0\n";
    struct script s = { .len = 0 };
    wire_init(&decoder);
    feed(&s, (const uint8_t *) text, sizeof text - 1);
    for (int i = 0; i < WIRE_GIVE_UP_UNITS; i++)
        feed(&s, (const uint8_t *) "\x01\x02\x00", 3);
    feed(&s, sw1, sizeof sw1);
    cr_expect_str_eq(s.text, TEXT_SCRIPT SW1_SCRIPT);
    /* And back: text has no terminator that a binary listener knows, so it first fills the buffer. */
    s.len = 0;
    for (size_t i = 0; i < 2 * WIRE_ENCODED_MAX / (sizeof line - 1) && s.len == 0; i++)
        feed(&s, (const uint8_t *) line, sizeof line - 1);
    cr_expect_str_eq(s.text, "switches t=2000 lost=0 1 0 1 0\n");
}

Test(wire, reset_hears_the_very_next_packet_and_skip_loses_it)
{
    static const uint8_t sw1[] = { SW1 }, sw2[] = { SW2 };
    struct script s = { .len = 0 };
    wire_init(&decoder);
    feed(&s, sw1, 5); /* a packet that is cut off by the reset */
    wire_reset(&decoder);
    feed(&s, sw1, sizeof sw1);
    cr_expect_str_eq(s.text, SW1_SCRIPT);
    s.len = 0;
    wire_skip(&decoder);
    feed(&s, sw1, sizeof sw1); /* may be the tail of one that was lost */
    feed(&s, sw2, sizeof sw2);
    cr_expect_str_eq(s.text, SW2_SCRIPT);
}

/* ------------------------------------------------------------------ fuzz, bounded */

Test(wire, random_and_damaged_bytes_never_break_it_and_split_alike)
{
    static const uint8_t good[] = { SW1, HELLO_SW, SW2, UNKNOWN_8, SW5 };
    static const char text[] = TEXT_HELLO "\n2000,1,0,1,0\n4000,1,0,0,0*0734\n";
    unsigned seed = 20240229;
    for (int round = 0; round < 4000; round++) {
        uint8_t bytes[256];
        size_t len = 0;
        unsigned round_seed = seed + (unsigned) round;
        srand(round_seed);
        while (len < 150) {
            int what = rand() % 4;
            size_t n = what == 0 ? sizeof good : what == 1 ? sizeof text - 1 : (size_t) rand() % 20;
            if (len + n > sizeof bytes)
                break;
            if (what == 0)
                memcpy(bytes + len, good, n);
            else if (what == 1)
                memcpy(bytes + len, text, n);
            else
                for (size_t i = 0; i < n; i++)
                    bytes[len + i] = (uint8_t) (rand() % 256);
            len += n;
        }
        for (int i = rand() % 6; i > 0 && len > 0; i--)
            bytes[(size_t) rand() % len] = (uint8_t) (rand() % 256);
        struct script whole = { .len = 0 }, split = { .len = 0 };
        wire_init(&decoder);
        feed(&whole, bytes, len);
        struct wire_health health = decoder.health;
        wire_init(&decoder);
        for (size_t at = 0; at < len;) {
            size_t n = 1 + (size_t) rand() % 7;
            n = n < len - at ? n : len - at;
            feed(&split, bytes + at, n);
            at += n;
        }
        cr_assert_str_eq(split.text, whole.text, "seed %u", round_seed);
        cr_assert_eq(memcmp(&health, &decoder.health, sizeof health), 0, "seed %u", round_seed);
    }
}
