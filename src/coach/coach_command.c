/* coach_command.c - what the panel or a visit's flow tells the coach. */
#include "coach/coach_parts.h"

#include <assert.h>
#include <math.h>
#include <string.h>

static const double UNKNOWN = (double) NAN;

static void
set_targets(struct coach *c, const struct command *m)
{
    assert(m->n_targets >= 1 && m->n_targets <= VERDICT_MAX_BARS);
    memcpy(c->config.target, m->target, (size_t) m->n_targets * sizeof *m->target);
    c->config.n_targets = m->n_targets;
    c->config.focus = m->focus;
    c->is_baseline = false;
    c->are_targets_by_rule = false;
    coach_use_targets(c);
    coach_judge(c, NULL);
}

static void
skip_block(struct coach *c)
{
    struct plan_now at;
    if (c->is_baseline) {
        c->is_baseline = false; /* without targets: values without bands */
        return;
    }
    plan_at(&c->config.plan, c->clock.run_us, &at);
    if (at.kind == VERDICT_BLOCK_COACHED)
        c->skipped_s += at.left_s;
    plan_skip(&c->config.plan, c->clock.run_us);
}

static void
accept_baseline(struct coach *c)
{
    if (!coach_is_baseline_now(c) || !coach_propose_targets(c))
        return;
    if (c->is_baseline)
        c->is_baseline = false;
    else
        plan_skip(&c->config.plan, c->clock.run_us);
}

/* Before the run it is the runner's usual speed, of which a plan has its shares. */
static void
use_as_usual(struct coach *c, double m_s)
{
    struct plan *p = &c->config.plan;
    for (int i = 0; i < p->n_blocks; i++)
        if (p->speed_share[i] > 0)
            p->block[i].belt_speed_m_s = p->speed_share[i] * m_s;
    if (p->n_blocks > 0 && !isnan(p->block[0].belt_speed_m_s))
        c->verdict.belt_speed_m_s = c->entered_speed_m_s = p->block[0].belt_speed_m_s;
}

static void
enter_speed(struct coach *c, double m_s)
{
    if (c->is_speed_measured) /* what is measured is not overruled by what somebody reads off the treadmill */
        return;
    c->verdict.belt_speed_m_s = c->entered_speed_m_s = m_s;
    c->is_sped = true;
    if (c->config.is_waiting && !c->has_begun)
        use_as_usual(c, m_s);
}

void
coach_command(struct coach *c, const struct command *m)
{
    switch (m->kind) {
    case COMMAND_PAUSE:
    case COMMAND_RESUME:
        c->is_paused = c->verdict.is_paused = m->kind == COMMAND_PAUSE;
        c->has_begun = c->has_begun || m->kind == COMMAND_RESUME;
        break;
    case COMMAND_SKIP:
        skip_block(c);
        break;
    case COMMAND_EXTEND:
        if (c->is_baseline)
            c->config.baseline_s += m->number;
        else
            plan_extend(&c->config.plan, c->clock.run_us, m->number);
        break;
    case COMMAND_FEEDBACK:
        c->feedback = (enum command_feedback) m->number;
        break;
    case COMMAND_BELT_SPEED:
        enter_speed(c, m->number);
        break;
    case COMMAND_TARGETS:
        set_targets(c, m);
        break;
    case COMMAND_ACCEPT_BASELINE:
        accept_baseline(c);
        break;
    case COMMAND_END:
        coach_end(c);
        break;
    }
    c->verdict.serial++;
}

bool
coach_take_belt_speed(struct coach *c, double *m_s)
{
    if (isnan(c->entered_speed_m_s))
        return false;
    *m_s = c->entered_speed_m_s;
    c->entered_speed_m_s = UNKNOWN;
    return true;
}
