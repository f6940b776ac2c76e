#include "gait/sampling.h"

#include <math.h>

/* Spacings that a learnt period rests on: a median of so many stands above some holes and jitter.
 * common practice, no source */
#define PERIOD_SPAN 64
/* After the first two spans the period is looked at this seldom: it does not change, and a median costs time. */
#define PERIOD_EVERY_FRAMES 512
/* A period that differs by less from the one in use is the same. common practice, no source */
#define PERIOD_CHANGE_SHARE 0.01
/* Until a rate is known: a usual plate's. It only has to stand until the second frame. */
#define PERIOD_UNKNOWN_US 1000.0
/* At slow rates a break is more than so many periods: three lost packets in a row are none. common practice, no source */
#define LOST_PERIODS 4.0

void
sampling_init(struct sampling *s, double rate_hz)
{
    *s = (struct sampling) {
        .rate_hz = rate_hz,
        .period_us = isnan(rate_hz) ? PERIOD_UNKNOWN_US : 1e6 / rate_hz,
        .now_us = NAN,
    };
    stats_init(&s->periods, PERIOD_SPAN);
}

/* True when there is a new period. */
static bool
learn_period(struct sampling *s, double dt_us)
{
    if (!isnan(s->rate_hz))
        return false;
    stats_feed(&s->periods, dt_us);
    if (s->n_frames > 2 * PERIOD_SPAN && s->n_frames % PERIOD_EVERY_FRAMES != 0)
        return false;
    double period_us = stats_median(&s->periods);
    if (!(fabs(period_us / s->period_us - 1) > PERIOD_CHANGE_SHARE))
        return false;
    s->period_us = period_us;
    return true;
}

unsigned
sampling_feed(struct sampling *s, const struct frame *f)
{
    double now_us = (double) f->time.us;
    unsigned news = SAMPLING_AS_BEFORE;
    if (f->flags & FRAME_CLOCK_RESET) {
        news = SAMPLING_RESET;
    } else if (!isnan(s->now_us)) {
        double dt_us = now_us - s->now_us;
        bool is_new = false;
        if (dt_us <= 0)
            return SAMPLING_REFUSED;
        if (f->flags & FRAME_GAP_BEFORE || dt_us > SAMPLING_HOLE_SHARE * s->period_us)
            s->n_gaps += s->n_frames > PERIOD_SPAN;
        else
            is_new = learn_period(s, dt_us);
        if (s->n_frames <= 2) /* whatever they are: there is nothing else to go by */
            is_new = learn_period(s, dt_us) || is_new;
        if (is_new)
            news |= SAMPLING_NEW_PERIOD;
        if (dt_us > fmax(SAMPLING_LOST_US, LOST_PERIODS * s->period_us))
            news |= SAMPLING_BROKEN;
    }
    s->now_us = now_us;
    return news;
}

void
sampling_count(struct sampling *s, const struct frame *f)
{
    s->n_frames++;
    s->arrived = f->arrived;
}
