#include "sense/cells.h"
#include "sense/footswitch.h"
#include "sense/mat.h"
#include "base/mark.h"
#include "sense/sense.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static enum packet_kind
kind_on_wire(enum frame_kind kind)
{
    switch (kind) {
    case FRAME_KIND_MAT:
        return PACKET_KIND_MAT;
    case FRAME_KIND_CELLS:
        return PACKET_KIND_CELLS;
    case FRAME_KIND_SWITCHES:
        return PACKET_KIND_SWITCHES;
    case FRAME_KIND_FORCE:
        break;
    }
    return PACKET_KIND_UNKNOWN;
}

static const char *
kind_name(enum packet_kind kind)
{
    return kind == PACKET_KIND_MAT        ? N_("a mat")
           : kind == PACKET_KIND_CELLS    ? N_("load cells")
           : kind == PACKET_KIND_SWITCHES ? N_("foot switches")
                                          : N_("of an unknown kind");
}

enum packet_kind
sense_packet_kind(const struct sense_profile *profile)
{
    return kind_on_wire(profile->kind);
}

static void
take_profile(struct sense *s)
{
    s->is_ready = true;
    s->rate_hz = s->profile.rate_hz;
    interval_init(&s->interval, s->rate_hz);
    footswitch_reset(&s->profile, &s->switches);
}

void
sense_init(struct sense *s, const struct sense_profile *profile)
{
    memset(s, 0, sizeof *s);
    devclock_init(&s->clock);
    s->rate_hz = NAN;
    s->has_profile = profile != NULL;
    if (profile == NULL)
        return;
    s->profile = *profile;
    take_profile(s);
}

/* 0: the board does not know its own. */
static bool
is_other_pitch(double board_mm, double profile_mm)
{
    return board_mm > 0 && fabs(board_mm - profile_mm) > 0.02 * profile_mm;
}

/* Does what the board says agree with the profile? Leaves a sentence in why when not. */
static bool
hello_fits(struct sense *s, const struct packet_hello *h)
{
    const struct sense_profile *p = &s->profile;
    message_init(&s->why, MESSAGE_NONE);
    if (h->kind != kind_on_wire(p->kind)) {
        message_tell(&s->why, MESSAGE_SENSE_OTHER_KIND, p->name, message_word(kind_name(kind_on_wire(p->kind))),
                     message_word(kind_name(h->kind)));
        return false;
    }
    if (h->kind == PACKET_KIND_MAT && (h->n_rows != p->n_rows || h->n_cols != p->n_cols)) {
        message_tell(&s->why, MESSAGE_SENSE_OTHER_SHAPE, p->name, p->n_rows, p->n_cols, (int) h->n_rows, (int) h->n_cols);
        return false;
    }
    if (h->kind == PACKET_KIND_MAT && (is_other_pitch(h->pitch_fwd_mm, p->pitch_fwd_mm) ||
                                       is_other_pitch(h->pitch_right_mm, p->pitch_right_mm))) {
        message_tell(&s->why, MESSAGE_SENSE_OTHER_PITCH, p->name, p->pitch_fwd_mm, p->pitch_right_mm, h->pitch_fwd_mm,
                     h->pitch_right_mm);
        return false;
    }
    int n = p->kind == FRAME_KIND_CELLS ? p->n_cells : p->n_zones;
    if (h->kind != PACKET_KIND_MAT && h->n_channels != n) {
        message_tell(&s->why, MESSAGE_SENSE_OTHER_CHANNELS, p->name, n, (int) h->n_channels);
        return false;
    }
    for (int i = 0; h->kind == PACKET_KIND_SWITCHES && i < n; i++) {
        if (strncmp(h->zone_name[i], p->zone[i].name, PACKET_ZONE_NAME_MAX) != 0) {
            message_tell(&s->why, MESSAGE_SENSE_OTHER_ZONE, i + 1, p->zone[i].name, p->name, h->zone_name[i]);
            return false;
        }
    }
    return true;
}

static bool
is_same_hello(const struct packet_hello *a, const struct packet_hello *b)
{
    bool is_same = a->kind == b->kind && a->rate_hz == b->rate_hz && a->n_rows == b->n_rows &&
                   a->n_cols == b->n_cols && a->n_channels == b->n_channels &&
                   a->pitch_fwd_mm == b->pitch_fwd_mm && a->pitch_right_mm == b->pitch_right_mm &&
                   a->full_scale_counts == b->full_scale_counts;
    for (int i = 0; is_same && a->kind == PACKET_KIND_SWITCHES && i < a->n_channels; i++)
        is_same = strncmp(a->zone_name[i], b->zone_name[i], PACKET_ZONE_NAME_MAX) == 0;
    return is_same;
}

bool
sense_knows(const struct sense *s, const struct packet_hello *h)
{
    return !s->has_hello || is_same_hello(&s->hello, h);
}

static void
take_hello(struct sense *s, const struct packet_hello *h)
{
    bool is_repeated = s->has_hello && is_same_hello(&s->hello, h);
    s->hello = *h;
    s->has_hello = true;
    if (is_repeated)
        return;
    if (!s->has_profile) {
        message_init(&s->why, MESSAGE_NONE);
        s->is_ready = profile_from_hello(&s->profile, h);
        if (s->is_ready)
            take_profile(s);
        else
            message_init(&s->why, MESSAGE_SENSE_NOT_ENOUGH);
        return;
    }
    s->is_ready = hello_fits(s, h);
    if (!s->is_ready)
        return;
    /* The board knows its rate and full scale better than a file does, where the file leaves them out. */
    if (isnan(s->profile.rate_hz)) {
        s->rate_hz = h->rate_hz;
        interval_init(&s->interval, s->rate_hz);
    }
    if (isnan(s->profile.saturation_counts)) {
        s->profile.saturation_counts = h->full_scale_counts;
        for (int i = 0; i < s->profile.n_zones; i++)
            if (!s->profile.zone[i].has_full_counts)
                s->profile.zone[i].full_counts = h->full_scale_counts;
    }
}

static bool
fits(const struct sense *s, const struct packet *p)
{
    switch (p->type) {
    case PACKET_MAT:
        return s->profile.kind == FRAME_KIND_MAT && p->n_rows == s->profile.n_rows &&
               p->n_cols == s->profile.n_cols;
    case PACKET_CELLS:
        return s->profile.kind == FRAME_KIND_CELLS && p->n_values == s->profile.n_cells;
    case PACKET_SWITCHES:
        return s->profile.kind == FRAME_KIND_SWITCHES && p->n_values == s->profile.n_zones;
    case PACKET_HELLO:
    case PACKET_STATUS:
        break;
    }
    return false;
}

/* Places the packet in time and says what is missing before it. False: to be dropped. */
static bool
place(struct sense *s, const struct packet *p, struct frame *out)
{
    enum devclock_seen seen = devclock_feed(&s->clock, p->t_us, p->arrived, &out->time);
    if (seen == DEVCLOCK_REPEATED || seen == DEVCLOCK_LATE) {
        s->health.n_dropped++;
        return false;
    }
    uint32_t n_by_sequence = s->n_lost_pending;
    s->n_lost_pending = 0;
    if (seen == DEVCLOCK_RESTARTED) {
        out->flags |= FRAME_CLOCK_RESET | FRAME_GAP_BEFORE;
        s->health.n_restarts++;
        footswitch_reset(&s->profile, &s->switches);
    } else if (s->has_frame) {
        bool is_complete = p->has_sequence && n_by_sequence == 0 && !s->is_gap_noted;
        out->n_lost_before =
            interval_feed(&s->interval, units_dev_since_us(out->time, s->last_time), is_complete);
        if (isnan(s->interval.period_us))
            out->n_lost_before = n_by_sequence;
        if (out->n_lost_before > 0 || s->is_gap_noted)
            out->flags |= FRAME_GAP_BEFORE;
        s->health.n_lost += out->n_lost_before;
    }
    s->is_gap_noted = false;
    s->has_frame = true;
    s->last_time = out->time;
    return true;
}

void
sense_note_gap(struct sense *s)
{
    s->is_gap_noted = true;
}

bool
sense_feed(struct sense *s, const struct packet *p, struct frame *out)
{
    s->n_lost_pending += p->n_lost_before;
    if (p->type == PACKET_HELLO) {
        take_hello(s, &p->hello);
        return false;
    }
    if (p->type == PACKET_STATUS) {
        s->health.status_code |= p->status_code;
        return false;
    }
    if (!s->is_ready || !fits(s, p)) {
        uint64_t *counter = s->is_ready || s->has_profile ? &s->health.n_mismatched : &s->health.n_unready;
        (*counter)++;
        return false;
    }
    *out = (struct frame){ .arrived = p->arrived, .kind = s->profile.kind };
    if (!place(s, p, out))
        return false;
    if (p->type == PACKET_MAT)
        mat_read(&s->profile, p, &s->image, out);
    else if (p->type == PACKET_CELLS)
        cells_read(&s->profile, p, out);
    else
        footswitch_read(&s->profile, p, &s->switches, out);
    s->health.n_frames++;
    s->health.n_beyond += out->force_n > SENSE_BEYOND_N && !(out->flags & FRAME_RELATIVE); /* false for NAN */
    s->health.force_max_n = out->force_n > s->health.force_max_n ? out->force_n : s->health.force_max_n;
    s->health.n_saturated += (out->flags & FRAME_SATURATED) != 0;
    return true;
}

double
sense_rate_hz(const struct sense *s)
{
    return s->rate_hz;
}
