#include "gait/prints.h"

#include <math.h>
#include <string.h>

void
prints_init(struct prints *p)
{
    memset(p, 0, sizeof *p);
    prints_reset(p);
}

void
prints_reset(struct prints *p)
{
    footprint_reset(&p->print[0]);
    footprint_reset(&p->print[1]);
}

void
prints_turn(struct prints *p)
{
    p->now = 1 - p->now;
    footprint_reset(&p->print[p->now]);
    footprint_idle_reset(&p->idle);
}

void
prints_part(struct prints *p)
{
    p->print[p->now].is_too_long = true;
    p->now = 1 - p->now;
    footprint_reset(&p->print[p->now]);
    p->print[p->now].is_too_long = true;
}

void
prints_lose(struct prints *p, bool is_up)
{
    prints_reset(p);
    p->print[p->now].is_too_long = !is_up;
    p->print[1 - p->now].is_too_long = true;
}

void
prints_feed(struct prints *p, const struct frame *f, bool is_up, bool is_loaded, struct trace_sample *s)
{
    struct footprint *print = &p->print[p->now];
    if (is_up) {
        if (print->n > 0)
            footprint_reset(print);
        footprint_idle_feed(&p->idle, f);
    }
    if (!is_loaded)
        return;
    if (print->n == 0)
        footprint_set_idle(print, &p->idle);
    struct footprint_frame foot = footprint_feed(print, f);
    if (isnan(foot.cop_fwd_mm))
        return;
    s->cop_fwd_mm = foot.cop_fwd_mm;
    s->cop_right_mm = foot.cop_right_mm;
    s->flags &= ~(uint32_t) FRAME_AT_EDGE;
    s->flags |= foot.is_at_border ? FRAME_AT_EDGE : 0;
}

const struct footprint *
prints_last(const struct prints *p)
{
    return &p->print[1 - p->now];
}
