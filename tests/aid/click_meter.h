/* click_meter.h - finds where clicks begin in 16-bit samples, and how far each lies from an even beat. */
#ifndef AID_CLICK_METER_H
#define AID_CLICK_METER_H

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#define CLICK_METER_LEVEL 400
#define CLICK_METER_QUIET 2400 /* samples below the level before a new click may begin: 50 ms at 48 kHz */

struct click_meter {
    double interval; /* samples between clicks, as wanted */
    double pause;    /* samples; a longer silence is a pause, not an interval; 0: none is */
    uint64_t n_samples, n_clicks, n_intervals;
    uint64_t first, last;               /* samples of the first and newest click */
    uint64_t quiet;                     /* samples below the level so far */
    double worst_interval, worst_place; /* samples off: from click to click, and from the first click on */
};

static inline void
click_meter_init(struct click_meter *m, int rate_hz, double spm)
{
    *m = (struct click_meter){ .interval = rate_hz * 60.0 / spm, .quiet = CLICK_METER_QUIET };
}

static inline void
click_meter_begin(struct click_meter *m)
{
    const double since = (double) (m->n_samples - m->last);
    if (m->n_clicks > 0) {
        if (m->pause <= 0 || since <= m->pause) {
            m->worst_interval = fmax(m->worst_interval, fabs(since - m->interval));
            m->n_intervals++;
        }
        m->worst_place = fmax(m->worst_place,
                              fabs((double) (m->n_samples - m->first) - (double) m->n_clicks * m->interval));
    } else {
        m->first = m->n_samples;
    }
    m->last = m->n_samples;
    m->n_clicks++;
}

static inline void
click_meter_feed(struct click_meter *m, const int16_t *sample, int n)
{
    for (int i = 0; i < n; i++, m->n_samples++) {
        if (abs(sample[i]) < CLICK_METER_LEVEL) {
            m->quiet++;
            continue;
        }
        if (m->quiet >= CLICK_METER_QUIET)
            click_meter_begin(m);
        m->quiet = 0;
    }
}

#endif
