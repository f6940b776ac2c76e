/* The worked packets of hardware/WIRE.md, read from the page itself: the decoder must give what the page
 * says, and the encoder must give the page's bytes. */
#include "base/str.h"
#include "wire/wire.h"
#include "wire/wire_parts.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define PAGE "hardware/WIRE.md"

static struct wire_decoder decoder;
static int n_boxes, n_packets;

/* A packet as the page writes it after "= ". */
static void
describe(const struct packet *p, char *out, size_t cap)
{
    static const char *const kinds[] = { "?", "mat", "cells", "switches" };
    static const char *const types[] = { "?", "hello", "mat", "cells", "switches", "status" };
    const struct packet_hello *h = &p->hello;
    char more[64];
    if (p->type == PACKET_HELLO) {
        snprintf(out, cap, "hello %s rate=%g full=%d", kinds[h->kind], h->rate_hz, h->full_scale_counts);
        if (h->kind == PACKET_KIND_MAT) {
            snprintf(more, sizeof more, " rows=%d cols=%d pitch=%g,%g", h->n_rows, h->n_cols, h->pitch_fwd_mm,
                     h->pitch_right_mm);
            str_append(out, cap, more);
        } else if (h->kind == PACKET_KIND_CELLS) {
            snprintf(more, sizeof more, " n=%d", h->n_channels);
            str_append(out, cap, more);
        }
        for (int i = 0; h->kind == PACKET_KIND_SWITCHES && i < h->n_channels; i++) {
            str_append(out, cap, i == 0 ? " zones=" : ",");
            str_append(out, cap, h->zone_name[i]);
        }
        return;
    }
    snprintf(out, cap, "%s t=%lu:", types[p->type], (unsigned long) p->t_us);
    if (p->type == PACKET_STATUS) {
        snprintf(more, sizeof more, " %lu", (unsigned long) p->status_code);
        str_append(out, cap, more);
    }
    for (int i = 0; i < p->n_values; i++) {
        snprintf(more, sizeof more, " %ld",
                 p->type == PACKET_MAT ? (long) p->mat_counts[i] : (long) p->channel_counts[i]);
        str_append(out, cap, more);
    }
}

static size_t
read_hex(const char *text, uint8_t *out, size_t cap)
{
    size_t n = 0;
    for (char *end; n < cap; text = end) {
        long v = strtol(text, &end, 16);
        if (end == text)
            break;
        out[n++] = (uint8_t) v;
    }
    return n;
}

/* Feeds bytes that hold one packet, and writes it again in that form: must be the same bytes. */
static void
check_packet(const uint8_t *bytes, size_t len, const struct wire_form *form, const char *expected, int line)
{
    static struct packet p;
    static uint8_t again[WIRE_ENCODED_MAX];
    char got[512];
    cr_assert_eq(wire_feed(&decoder, bytes, len, (struct host_time){ 0 }), len, PAGE ":%d: more than one",
                 line);
    const struct packet *taken = wire_take(&decoder);
    cr_assert_not_null(taken, PAGE ":%d: no packet", line);
    p = *taken;
    describe(&p, got, sizeof got);
    cr_expect_str_eq(got, expected, PAGE ":%d: %s", line, got);
    size_t n = wire_encode(&p, form, again, sizeof again);
    cr_expect_eq(n, len, PAGE ":%d: the encoder gives %zu bytes", line, n);
    cr_expect_eq(memcmp(again, bytes, len), 0, PAGE ":%d: the encoder gives other bytes", line);
    n_packets++;
}

struct box {
    char line[24][400];
    int n_lines, first_line;
    char head[64];
};

static void
check_hex_box(const struct box *b)
{
    uint8_t raw[300], wire[300], coded[300], back[300];
    size_t n_back = 0;
    struct wire_form form = wire_form_default();
    cr_assert_eq(b->n_lines, 3, PAGE ":%d", b->first_line);
    if (strstr(b->head, "1 bit") != NULL)
        form.bits = 1;
    else if (strstr(b->head, "8 bit") != NULL)
        form.bits = 8;
    else if (strstr(b->head, "16 bit") != NULL)
        form.bits = 16;
    form.is_sparse = strstr(b->head, "sparse") != NULL;
    size_t n_raw = read_hex(b->line[0] + 5, raw, sizeof raw),
           n_wire = read_hex(b->line[1] + 5, wire, sizeof wire);
    cr_assert(n_raw > 8 && n_wire > 9, PAGE ":%d", b->first_line);
    cr_expect_eq(wire_cobs_put(raw, n_raw, coded, sizeof coded), n_wire, PAGE ":%d: COBS", b->first_line);
    cr_expect_arr_eq(coded, wire, n_wire, PAGE ":%d: COBS", b->first_line);
    cr_expect_eq(wire_cobs_take(wire, n_wire, back, sizeof back, &n_back), (ptrdiff_t) n_wire);
    cr_expect(n_back == n_raw && memcmp(back, raw, n_raw) == 0, PAGE ":%d: COBS back", b->first_line);
    wire_init(&decoder);
    check_packet(wire, n_wire, &form, b->line[2] + 2, b->first_line + 2);
}

static void
check_text_box(const struct box *b)
{
    struct wire_form form = { .is_text = true, .has_crc = strstr(b->head, "crc") != NULL };
    int n = b->n_lines / 2;
    wire_init(&decoder);
    for (int i = 0; i < n; i++) {
        char line[402];
        snprintf(line, sizeof line, "%s\n", b->line[i]);
        cr_assert_eq(strncmp(b->line[n + i], "= ", 2), 0, PAGE ":%d", b->first_line + n + i);
        check_packet((const uint8_t *) line, strlen(line), &form, b->line[n + i] + 2, b->first_line + i);
    }
}

static void
check_ask_box(const struct box *b)
{
    static const char *const words[] = { "hello", "start", "stop", "rate 250 sequence 5" };
    for (int i = 0; i + 1 < b->n_lines; i += 2) {
        uint8_t bytes[64], again[64];
        struct wire_ask ask;
        int type = 0;
        size_t n = read_hex(b->line[i], bytes, sizeof bytes);
        wire_ask_init(&ask);
        for (size_t k = 0; k < n; k++) {
            int heard = wire_ask_feed(&ask, bytes[k]);
            type = heard != 0 ? heard : type;
        }
        cr_assert(type >= WIRE_ASK_HELLO && type <= WIRE_SET_RATE, PAGE ":%d", b->first_line + i);
        cr_expect_str_eq(b->line[i + 1] + 2, words[type - WIRE_ASK_HELLO], PAGE ":%d", b->first_line + i);
        uint8_t sequence = type == WIRE_SET_RATE ? 5 : 0;
        cr_expect_eq(wire_encode_ask((enum wire_type) type, sequence, 250, again, sizeof again), n,
                     PAGE ":%d", b->first_line + i);
        cr_expect_arr_eq(again, bytes, n, PAGE ":%d", b->first_line + i);
        n_packets++;
    }
}

Test(wire_page, worked_packets_on_the_page_are_what_the_program_says)
{
    static struct box box;
    char line[400];
    int number = 0;
    bool is_inside = false;
    FILE *f = fopen(PAGE, "r");
    cr_assert_not_null(f, "run from the repository's root");
    while (fgets(line, sizeof line, f) != NULL) {
        number++;
        line[strcspn(line, "\n")] = 0;
        if (strncmp(line, "```", 3) != 0) {
            if (is_inside) {
                cr_assert_lt(box.n_lines, 24, PAGE ":%d", number);
                str_copy(box.line[box.n_lines++], sizeof box.line[0], line);
            }
            continue;
        }
        is_inside = !is_inside;
        if (is_inside) {
            box.n_lines = 0;
            box.first_line = number + 1;
            str_copy(box.head, sizeof box.head, line + 3);
            continue;
        }
        n_boxes++;
        if (strncmp(box.head, "hex", 3) == 0)
            check_hex_box(&box);
        else if (strncmp(box.head, "text", 4) == 0)
            check_text_box(&box);
        else if (strcmp(box.head, "ask") == 0)
            check_ask_box(&box);
        else
            cr_assert_fail(PAGE ":%d: a box of no known form", box.first_line);
    }
    fclose(f);
    cr_expect_eq(n_boxes, 15);
    cr_expect_eq(n_packets, 24);
}
