#include "runner/hearing.h"

#include <math.h>
#include <string.h>

struct hearing_config
hearing_config_default(void)
{
    return (struct hearing_config){ .beat_spm = (double) NAN };
}

bool
hearing_is_off(const struct hearing_config *c)
{
    return !c->has_signs && !c->beat_is_target && isnan(c->beat_spm);
}

void
hearing_init(struct hearing *h, const struct hearing_config *c)
{
    memset(h, 0, sizeof *h);
    h->config = *c;
}

static const struct verdict_bar *
hearing_bar(const struct verdict *v, enum metric m)
{
    for (int i = 0; i < v->n_bars; i++)
        if (v->bar[i].metric == m)
            return &v->bar[i];
    return NULL;
}

static double
hearing_beat_spm(const struct hearing *h, const struct verdict *v)
{
    if (!h->config.beat_is_target)
        return h->config.beat_spm;
    const struct verdict_bar *b = hearing_bar(v, METRIC_CADENCE_SPM);
    if (b == NULL)
        return (double) NAN;
    return isnan(b->low) ? b->high : isnan(b->high) ? b->low : 0.5 * (b->low + b->high);
}

static enum tone_sign
hearing_sign(const struct verdict *v)
{
    const struct verdict_bar *b = hearing_bar(v, v->focus);
    if (b == NULL || b->side == VERDICT_IN || b->side == VERDICT_UNKNOWN)
        return TONE_NONE;
    return b->side == VERDICT_BELOW ? TONE_RISE : TONE_FALL;
}

struct hearing_now
hearing_feed(struct hearing *h, const struct verdict *v)
{
    const bool is_step = h->has_steps && v->n_steps > h->n_steps;
    const bool is_on = v->is_feedback_shown && !v->is_paused && v->sensor == VERDICT_SENSOR_LIVE &&
                       v->gait == STEP_GAIT_RUNNING && v->block != VERDICT_BLOCK_PAUSED &&
                       v->block != VERDICT_BLOCK_ENDED;
    h->n_steps = v->n_steps;
    h->has_steps = true;
    return (struct hearing_now){ hearing_beat_spm(h, v), is_on,
                                 is_on && is_step && h->config.has_signs ? hearing_sign(v) : TONE_NONE };
}
