/* feed.h - for the two wire targets: the same bytes to a decoder in two ways, and to the whole pipeline. */
#ifndef FUZZ_FEED_H
#define FUZZ_FEED_H

#include "live/pipeline.h"
#include "wire/wire.h"

#include "fuzz.h"

#include <math.h>

/* All that a decoder gave out, as one number. */
static inline uint64_t
feed_decode(struct wire_decoder *d, const uint8_t *bytes, size_t len, size_t piece, enum packet_kind kind)
{
    uint64_t sum = 1469598103934665603u;
    wire_init(d);
    wire_set_text_kind(d, kind);
    for (size_t at = 0; at < len;) {
        const size_t n = len - at < piece ? len - at : piece;
        size_t used = 0;
        while (used < n) {
            const size_t took = wire_feed(d, bytes + at + used, n - used, (struct host_time){ 1 });
            const struct packet *p = wire_take(d);
            fuzz_must(took > 0 || p != NULL, "the decoder neither used a byte nor gave a packet");
            used += took;
            if (p == NULL)
                continue;
            sum = (sum ^ (uint64_t) p->type) * 1099511628211u;
            sum = (sum ^ p->t_us) * 1099511628211u;
            for (int i = 0; i < p->n_values && p->type != PACKET_HELLO && p->type != PACKET_STATUS; i++) {
                const int32_t v = p->type == PACKET_MAT ? p->mat_counts[i] : p->channel_counts[i];
                sum = (sum ^ (uint32_t) v) * 1099511628211u;
            }
        }
        at += n;
    }
    return sum;
}

/* Bytes in one piece and one by one give the same packets and the same counts. */
static inline void
feed_both_ways(const uint8_t *bytes, size_t len, enum packet_kind kind)
{
    static struct wire_decoder whole, split;
    const uint64_t a = feed_decode(&whole, bytes, len, len ? len : 1, kind);
    const uint64_t b = feed_decode(&split, bytes, len, 1, kind);
    fuzz_must(a == b, "cut bytes give other packets");
    fuzz_must(memcmp(&whole.health, &split.health, sizeof whole.health) == 0, "cut bytes give other counts");
}

/* To the verdict. profile: NULL for what the hello says. */
static inline void
feed_pipeline(const uint8_t *bytes, size_t len, const struct sense_profile *profile)
{
    static struct pipeline p;
    static struct verdict v;
    struct coached_step step;
    struct pipeline_config c = pipeline_config_default();
    c.profile = profile;
    c.body_mass_kg = 70;
    c.belt_speed_m_s = 2.8;
    c.foot_length_mm = 265;
    pipeline_init(&p, &c);
    size_t used = 0;
    for (int64_t now = 1; used < len; now += 1000) {
        used += pipeline_feed(&p, bytes + used, len - used, (struct host_time){ now });
        while (pipeline_take_step(&p, &step))
            fuzz_must(step.step.toe_off.us > step.step.touchdown.us, "a contact ends before it begins");
        pipeline_tick(&p, (struct host_time){ now + 500 });
    }
    pipeline_finish(&p);
    while (pipeline_take_step(&p, &step))
        ;
    pipeline_verdict(&p, &v);
}

#endif
