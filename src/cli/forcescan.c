#include "cli/forcescan.h"

#include "cli/forcefile.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

/* The COP below this is noise. */
#define COP_MIN_N 200.0
/* Two hits further apart than this are two contacts. */
#define CONTACT_GAP_US 100000

/* Counts how often, and how long in a row, the greatest force so far was reached. */
struct clip_count {
    int n_in_row, n_contacts;
    bool is_counted; /* the present row of samples */
    int64_t last_us;
};

static void
count_clip(struct forcescan *s, struct clip_count *c, const struct frame *f)
{
    if (!(f->force_n <= s->greatest_n)) { /* a new greatest one */
        s->greatest_n = f->force_n;
        *c = (struct clip_count) { .n_in_row = 1, .last_us = f->time.us - CONTACT_GAP_US - 1 };
        return;
    }
    if (f->force_n < s->greatest_n) {
        c->n_in_row = 0;
        c->is_counted = false;
        return;
    }
    c->n_in_row++;
    if (c->n_in_row < FORCESCAN_CLIP_MIN_SAMPLES || c->is_counted)
        return;
    c->is_counted = true;
    c->n_contacts += f->time.us - c->last_us > CONTACT_GAP_US;
    c->last_us = f->time.us;
}

/* How often each force stands in the trace, in bins. */
#define BIN_N 5.0
#define LOWEST_BIN_N (-5000.0)
enum { N_BINS = 6000 };

struct spread {
    uint32_t n_in[N_BINS];
    double sum_n;
};

static void
count_force(struct spread *h, double force_n)
{
    const double bin = (force_n - LOWEST_BIN_N) / BIN_N;
    h->n_in[(int) fmin(fmax(bin, 0), N_BINS - 1)]++;
    h->sum_n += force_n;
}

/* The force that this share of the samples is below. */
static double
quantile_n(const struct spread *h, long n, double share)
{
    double n_below = 0;
    int i = 0;
    for (; i < N_BINS - 1 && (n_below += h->n_in[i]) <= share * (double) n; i++)
        ;
    return LOWEST_BIN_N + BIN_N * (i + 0.5);
}

static void
look_at_floor(struct forcescan *s, const struct spread *h)
{
    if (s->n_rows == 0)
        return;
    s->floor_n = quantile_n(h, s->n_rows, 0.01);
    const double range_n = quantile_n(h, s->n_rows, 0.99) - s->floor_n;
    const double flight_n = quantile_n(h, s->n_rows, FORCESCAN_FLIGHT_SHARE);
    s->has_flights = flight_n < s->floor_n + 0.1 * range_n &&
                     range_n > FORCESCAN_RUN_SWING * h->sum_n / (double) s->n_rows;
}

static enum err
judge(struct forcescan *s, const struct forcefile *file, double rate_hz)
{
    if (file->column_t >= 0 && s->n_rows > 1)
        s->rate_by_t_hz = (double) (s->n_rows - 1) / (file->last_t_s - file->first_t_s);
    /* Missing rows make the mean rate by t lower than the nominal one, never higher. */
    double ratio = s->rate_by_t_hz / rate_hz;
    if (ratio > 1 + FORCESCAN_RATE_TOLERANCE || ratio < 0.5) {
        message_tell(&s->why, MESSAGE_FORCESCAN_OTHER_RATE, message_path(file->path), s->rate_by_t_hz, rate_hz);
        return ERR_USAGE;
    }
    if (s->greatest_n > FORCESCAN_MAX_N) {
        message_tell(&s->why, MESSAGE_FORCESCAN_NO_NEWTONS, message_path(file->path), s->greatest_n);
        return ERR_FORMAT;
    }
    if (s->cop_span_fwd_mm < FORCESCAN_MIN_COP_SPAN_MM && s->n_rows > 100) {
        message_tell(&s->why, MESSAGE_FORCESCAN_NO_MM, message_path(file->path), s->cop_span_fwd_mm);
        return ERR_FORMAT;
    }
    return ERR_OK;
}

enum err
forcescan_run(struct forcescan *s, const char *path, double rate_hz)
{
    struct forcefile file;
    struct frame f;
    struct clip_count clip = { 0 };
    struct spread spread = { .sum_n = 0 };
    double low_mm = INFINITY, high_mm = -INFINITY;
    memset(s, 0, sizeof *s);
    s->rate_by_t_hz = s->greatest_n = s->clip_n = s->cop_span_fwd_mm = s->floor_n = NAN;
    enum err e = forcefile_open(&file, path, rate_hz);
    if (e != ERR_OK) {
        s->why = file.why;
        return e;
    }
    int got;
    while ((got = forcefile_next(&file, &f)) > 0) {
        s->n_rows++;
        count_clip(s, &clip, &f);
        count_force(&spread, f.force_n);
        if (f.force_n > COP_MIN_N && !isnan(f.cop_fwd_mm)) {
            low_mm = fmin(low_mm, f.cop_fwd_mm);
            high_mm = fmax(high_mm, f.cop_fwd_mm);
        }
    }
    if (clip.n_contacts >= FORCESCAN_CLIP_MIN_CONTACTS)
        s->clip_n = s->greatest_n;
    if (high_mm >= low_mm)
        s->cop_span_fwd_mm = high_mm - low_mm;
    look_at_floor(s, &spread);
    if (got < 0)
        s->why = file.why;
    e = got < 0 ? ERR_FORMAT : judge(s, &file, rate_hz);
    forcefile_close(&file);
    return e;
}
