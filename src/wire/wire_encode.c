/* wire_encode.c - struct packet to bytes, and the host's messages. Layouts: hardware/WIRE.md. */
#include "wire/wire_parts.h"

#include <string.h>

struct wire_form
wire_form_default(void)
{
    return (struct wire_form){ .bits = 12 };
}

static void
put_hello(struct wire_writer *w, const struct packet_hello *h)
{
    wire_writer_u8(w, (uint8_t) h->version_major);
    wire_writer_u8(w, (uint8_t) h->version_minor);
    wire_writer_u8(w, (uint8_t) h->kind);
    wire_writer_u8(w, h->is_binary_switches ? 1 : 0);
    wire_writer_u32(w, (uint32_t) (h->rate_hz * 1000.0 + 0.5));
    wire_writer_u32(w, (uint32_t) h->full_scale_counts);
    wire_writer_u8(w, (uint8_t) h->n_rows);
    wire_writer_u8(w, (uint8_t) h->n_cols);
    wire_writer_u16(w, (uint16_t) (h->pitch_fwd_mm * 100.0 + 0.5));
    wire_writer_u16(w, (uint16_t) (h->pitch_right_mm * 100.0 + 0.5));
    wire_writer_u8(w, (uint8_t) h->n_channels);
    if (h->kind == PACKET_KIND_SWITCHES)
        for (int i = 0; i < h->n_channels; i++)
            for (int k = 0; k < PACKET_ZONE_NAME_MAX - 1; k++)
                wire_writer_u8(w, (uint8_t) h->zone_name[i][k]);
}

static unsigned
clip(int32_t counts, int bits)
{
    int32_t max = (int32_t) ((UINT32_C(1) << bits) - 1); /* an int of a small board has 16 bits */
    return (unsigned) (counts < 0 ? 0 : counts > max ? max : counts);
}

/* n elements, byte-aligned: 8 bits each, or two of 12 bits in three bytes. */
static void
put_elements(struct wire_writer *w, const uint16_t *counts, size_t n, int bits)
{
    const unsigned max = bits == 8 ? 0xFF : 0xFFF;
    for (size_t i = 0; i < n; i++) {
        unsigned a = counts[i] < max ? counts[i] : max;
        wire_writer_u8(w, (uint8_t) (a & 0xFF));
        if (bits == 8)
            continue;
        unsigned b = i + 1 < n ? counts[i + 1] < max ? counts[i + 1] : max : 0;
        wire_writer_u8(w, (uint8_t) (a >> 8 | (b & 0x0F) << 4));
        if (++i < n)
            wire_writer_u8(w, (uint8_t) (b >> 4));
    }
}

struct run {
    size_t start, len;
};

/* The next run of elements above the noise, from at on. Runs that are two or fewer unloaded elements
 * apart are joined: a new run costs two bytes. False when nothing is left. */
static bool
next_run(const uint16_t *counts, size_t n, size_t at, int32_t noise, struct run *out)
{
    while (at < n && counts[at] <= noise)
        at++;
    if (at == n)
        return false;
    size_t last = at;
    for (size_t i = at + 1; i < n && i <= last + 3; i++)
        if (counts[i] > noise)
            last = i;
    *out = (struct run){ at, last + 1 - at };
    return true;
}

static size_t
elements_len(size_t n, int bits)
{
    return bits == 8 ? n : (n * 3 + 1) / 2;
}

/* Length of the runs' bytes; writes them too when w is given. */
static size_t
put_runs(struct wire_writer *w, const uint16_t *counts, size_t n, const struct wire_form *form)
{
    size_t len = 0, done = 0;
    struct run run;
    while (next_run(counts, n, done, form->noise_counts, &run)) {
        while (run.len > 0) {
            size_t skip = run.start - done;
            size_t n_skip = skip < 256 ? skip : 255;
            size_t n_run = skip > 255 ? 0 : run.len > 255 ? 255 : run.len;
            len += 2 + elements_len(n_run, form->bits);
            if (w != NULL) {
                wire_writer_u8(w, (uint8_t) n_skip);
                wire_writer_u8(w, (uint8_t) n_run);
                put_elements(w, counts + run.start, n_run, form->bits);
            }
            done += n_skip + n_run;
            run.start += n_run;
            run.len -= n_run;
        }
    }
    return len;
}

static void
put_mat(struct wire_writer *w, const struct packet *p, const struct wire_form *form, bool is_sparse)
{
    size_t n = (size_t) p->n_rows * (size_t) p->n_cols;
    wire_writer_u8(w, (uint8_t) p->n_rows);
    wire_writer_u8(w, (uint8_t) p->n_cols);
    wire_writer_u8(w, (uint8_t) form->bits);
    if (is_sparse)
        put_runs(w, p->mat_counts, n, form);
    else
        put_elements(w, p->mat_counts, n, form->bits);
}

static void
put_switches(struct wire_writer *w, const struct packet *p, int bits)
{
    int sent_bits = bits <= 1 ? 1 : bits <= 8 ? 8 : 16;
    wire_writer_u8(w, (uint8_t) p->n_values);
    wire_writer_u8(w, (uint8_t) sent_bits);
    unsigned mask = 0;
    for (int i = 0; i < p->n_values; i++) {
        unsigned v = clip(p->channel_counts[i], sent_bits);
        if (sent_bits == 1)
            mask |= v << i;
        else if (sent_bits == 8)
            wire_writer_u8(w, (uint8_t) v);
        else
            wire_writer_u16(w, (uint16_t) v);
    }
    if (sent_bits == 1)
        wire_writer_u8(w, (uint8_t) mask);
}

static size_t
encode_binary(const struct packet *p, const struct wire_form *form, uint8_t *out, size_t cap)
{
    struct wire_writer w;
    struct wire_form f = *form;
    if (f.bits != 8 && p->type == PACKET_MAT)
        f.bits = 12;
    size_t n = (size_t) p->n_rows * (size_t) p->n_cols;
    bool is_sparse = p->type == PACKET_MAT && f.is_sparse &&
                     put_runs(NULL, p->mat_counts, n, &f) < elements_len(n, f.bits);
    static const enum wire_type type_of[] = {
        [PACKET_HELLO] = WIRE_HELLO,       [PACKET_MAT] = WIRE_MAT_DENSE, [PACKET_CELLS] = WIRE_CELLS,
        [PACKET_SWITCHES] = WIRE_SWITCHES, [PACKET_STATUS] = WIRE_STATUS,
    };
    wire_writer_begin(&w, out, cap, is_sparse ? WIRE_MAT_SPARSE : type_of[p->type], p->sequence, p->t_us);
    switch (p->type) {
    case PACKET_HELLO:
        put_hello(&w, &p->hello);
        break;
    case PACKET_MAT:
        put_mat(&w, p, &f, is_sparse);
        break;
    case PACKET_CELLS:
        wire_writer_u8(&w, (uint8_t) p->n_values);
        for (int i = 0; i < p->n_values; i++)
            wire_writer_u32(&w, (uint32_t) p->channel_counts[i]);
        break;
    case PACKET_SWITCHES:
        put_switches(&w, p, f.bits);
        break;
    case PACKET_STATUS:
        wire_writer_u32(&w, p->status_code);
        break;
    }
    return wire_writer_end(&w);
}

size_t
wire_encode(const struct packet *p, const struct wire_form *form, uint8_t *out, size_t cap)
{
    return form->is_text ? wire_text_write(p, form, out, cap) : encode_binary(p, form, out, cap);
}
