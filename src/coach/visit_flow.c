#include "coach/visit_flow.h"

#include "base/mark.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const double UNKNOWN = (double) NAN;

static const char *const CAUTIONS[] = {
    N_("Clip the treadmill's cord to the runner, and show the stop button. Nothing on the screen is needed to stop."),
    N_("Keep the space behind the belt clear: 2 m long, 1 m wide."),
    N_("Stop on pain that rises, turns from dull to sharp, sits in a joint, or changes the gait."),
    N_("Change one thing at a time, a few per cent, in short runs with rest days."),
    N_("Landing further forward loads calf and Achilles tendon more: watch the count of mid- and forefoot steps."),
    N_("This is no medical device and makes no diagnosis. The treating clinician decides."),
};

void
visit_flow_init(struct visit_flow *f, const struct visit_flow_config *c)
{
    memset(f, 0, sizeof *f);
    f->config = *c;
    f->pain_before = f->pain_worst = f->pain_after = f->effort = UNKNOWN;
}

const char *
visit_flow_caution(int i)
{
    return i >= 0 && i < (int) (sizeof CAUTIONS / sizeof *CAUTIONS) ? CAUTIONS[i] : NULL;
}

static void
go(struct visit_flow *f, enum visit_flow_phase phase)
{
    f->phase = phase;
    f->is_answered = false;
}

/* False when nobody takes them any more. */
static bool
tell(struct visit_flow *f, const struct command *c)
{
    if (f->n_commands == VISIT_FLOW_N_COMMANDS)
        return false;
    f->command[f->n_commands++] = *c;
    return true;
}

static bool
tell_in_run(struct visit_flow *f, enum command_kind kind, double number)
{
    const struct command c = { .kind = kind, .number = number };
    return f->phase == VISIT_FLOW_RUN && tell(f, &c);
}

static void
keep_pain(struct visit_flow *f, enum visit_flow_pain_when when, double pain, double effort)
{
    if (isnan(pain) && isnan(effort))
        return;
    if (f->n_pains == VISIT_FLOW_N_PAINS) { /* nobody takes them: the newest matter */
        memmove(f->pain, f->pain + 1, (VISIT_FLOW_N_PAINS - 1) * sizeof *f->pain);
        f->n_pains--;
    }
    f->pain[f->n_pains++] = (struct visit_flow_pain){ when, f->verdict.time, pain, effort };
}

static bool
is_at_limit(const struct visit_flow *f, double pain)
{
    return isnan(f->config.pain_limit) ? pain > 0 : pain >= f->config.pain_limit; /* false for NAN */
}

static void
end_run(struct visit_flow *f, bool is_cut_short)
{
    f->is_cut_short = is_cut_short;
    f->is_stop_asked = false;
    go(f, VISIT_FLOW_AFTER);
}

void
visit_flow_feed(struct visit_flow *f, const struct verdict *v)
{
    f->verdict = *v;
    if (f->phase == VISIT_FLOW_RUN && f->has_run && v->block == VERDICT_BLOCK_ENDED)
        end_run(f, false);
}

static bool
refuse(struct message *why, enum message_code code)
{
    message_init(why, code);
    return false;
}

/* The sensor's own reason, where there is one. */
static bool
refuse_as(struct message *why, const struct message *sensor)
{
    if (message_is_none(sensor))
        return refuse(why, MESSAGE_FLOW_NO_SENSOR);
    *why = *sensor;
    return false;
}

static bool
begin_run(struct visit_flow *f, struct message *why)
{
    if (!f->is_answered)
        return refuse(why, MESSAGE_FLOW_ASK_PAIN);
    if (is_at_limit(f, f->pain_before) && !f->is_stop_asked) {
        f->is_stop_asked = true;
        return refuse(why, isnan(f->config.pain_limit)
                               ? MESSAGE_FLOW_PAIN_NO_LIMIT
                               : MESSAGE_FLOW_PAIN_AT_LIMIT);
    }
    f->is_stop_asked = false;
    go(f, VISIT_FLOW_RUN);
    f->has_run = true;
    return tell_in_run(f, COMMAND_RESUME, 0);
}

bool
visit_flow_next(struct visit_flow *f, struct message *why)
{
    message_init(why, MESSAGE_NONE);
    switch (f->phase) {
    case VISIT_FLOW_CHECK:
        if (f->verdict.sensor != VERDICT_SENSOR_LIVE)
            return refuse_as(why, &f->verdict.message);
        break;
    case VISIT_FLOW_PAIN_BEFORE:
        return begin_run(f, why);
    case VISIT_FLOW_RUN:
        return refuse(why, MESSAGE_FLOW_RUN_ENDS_ITSELF);
    case VISIT_FLOW_SAVED:
        return refuse(why, MESSAGE_FLOW_IS_SAVED);
    case VISIT_FLOW_CAUTIONS:
    case VISIT_FLOW_AFTER:
    case VISIT_FLOW_NOTES:
        break;
    }
    go(f, f->phase + 1);
    return true;
}

bool
visit_flow_pain(struct visit_flow *f, double pain)
{
    if (pain < 0 || pain > 10)
        return false;
    switch (f->phase) {
    case VISIT_FLOW_PAIN_BEFORE:
        f->pain_before = pain;
        f->is_answered = true;
        f->is_stop_asked = false;
        keep_pain(f, VISIT_FLOW_PAIN_WAS_BEFORE, pain, UNKNOWN);
        return true;
    case VISIT_FLOW_RUN:
        if (isnan(pain))
            return false;
        keep_pain(f, VISIT_FLOW_PAIN_WAS_DURING, pain, UNKNOWN);
        f->pain_worst = isnan(f->pain_worst) || pain > f->pain_worst ? pain : f->pain_worst;
        if (is_at_limit(f, pain)) {
            f->is_stop_asked = true;
            tell_in_run(f, COMMAND_PAUSE, 0);
        }
        return true;
    case VISIT_FLOW_AFTER:
        /* Kept as it is said, not as the page is left. To pass over what was answered takes nothing back. */
        f->pain_after = isnan(pain) ? f->pain_after : pain;
        keep_pain(f, VISIT_FLOW_PAIN_WAS_AFTER, pain, UNKNOWN);
        f->is_answered = true;
        return true;
    case VISIT_FLOW_CHECK:
    case VISIT_FLOW_CAUTIONS:
    case VISIT_FLOW_NOTES:
    case VISIT_FLOW_SAVED:
        break;
    }
    return false;
}

bool
visit_flow_effort(struct visit_flow *f, double effort)
{
    if (f->phase != VISIT_FLOW_AFTER || effort < 0 || effort > 10)
        return false;
    f->effort = isnan(effort) ? f->effort : effort;
    keep_pain(f, VISIT_FLOW_PAIN_WAS_AFTER, UNKNOWN, effort);
    return true;
}

bool
visit_flow_pause(struct visit_flow *f)
{
    return tell_in_run(f, COMMAND_PAUSE, 0);
}

bool
visit_flow_resume(struct visit_flow *f)
{
    f->is_stop_asked = f->is_stop_asked && f->phase != VISIT_FLOW_RUN;
    return tell_in_run(f, COMMAND_RESUME, 0);
}

bool
visit_flow_skip(struct visit_flow *f)
{
    return tell_in_run(f, COMMAND_SKIP, 0);
}

bool
visit_flow_extend(struct visit_flow *f, double seconds)
{
    return seconds > 0 && tell_in_run(f, COMMAND_EXTEND, seconds);
}

bool
visit_flow_feedback(struct visit_flow *f, enum command_feedback feedback)
{
    return tell_in_run(f, COMMAND_FEEDBACK, feedback);
}

bool
visit_flow_belt_speed(struct visit_flow *f, double m_s)
{
    return m_s > 0 && m_s <= 12 && tell_in_run(f, COMMAND_BELT_SPEED, m_s);
}

bool
visit_flow_accept_baseline(struct visit_flow *f)
{
    return tell_in_run(f, COMMAND_ACCEPT_BASELINE, 0);
}

bool
visit_flow_targets(struct visit_flow *f, const struct command *targets)
{
    return f->phase <= VISIT_FLOW_RUN && targets->kind == COMMAND_TARGETS && targets->n_targets > 0 && tell(f, targets);
}

void
visit_flow_stop(struct visit_flow *f)
{
    if (f->phase < VISIT_FLOW_RUN) {
        go(f, VISIT_FLOW_SAVED);
        return;
    }
    if (!tell_in_run(f, COMMAND_END, 0))
        return;
    /* Without a plan there is nothing to cut short. */
    end_run(f, f->verdict.n_plan_blocks > 0 && f->verdict.plan_index < f->verdict.n_plan_blocks);
}

bool
visit_flow_take_command(struct visit_flow *f, struct command *out)
{
    if (f->n_commands == 0)
        return false;
    *out = f->command[0];
    memmove(f->command, f->command + 1, (size_t) --f->n_commands * sizeof *f->command);
    return true;
}

bool
visit_flow_take_pain(struct visit_flow *f, struct visit_flow_pain *out)
{
    if (f->n_pains == 0)
        return false;
    *out = f->pain[0];
    memmove(f->pain, f->pain + 1, (size_t) --f->n_pains * sizeof *f->pain);
    return true;
}

static struct message_arg
of_ten(double pain)
{
    return message_real(pain, 0, MESSAGE_UNIT_NONE);
}

static void
run_sentence(const struct visit_flow *f, struct message *out)
{
    const struct verdict *v = &f->verdict;
    const bool has_risen = f->pain_worst > f->pain_before; /* false when either is unknown */
    if (f->is_stop_asked && isnan(f->config.pain_limit))
        message_tell(out, MESSAGE_FLOW_STOP_NO_LIMIT, of_ten(f->pain_worst));
    else if (f->is_stop_asked)
        message_tell(out, MESSAGE_FLOW_STOP_AT_LIMIT, of_ten(f->pain_worst), of_ten(f->config.pain_limit));
    else if (v->sensor != VERDICT_SENSOR_LIVE)
        *out = v->message;
    else if (v->is_paused)
        message_init(out, MESSAGE_FLOW_IS_PAUSED);
    else if (v->baseline == VERDICT_BASELINE_UNSTEADY && !message_is_none(&v->baseline_why))
        message_tell(out, MESSAGE_BASELINE_GOES_ON, message_of(&v->baseline_why));
    else if (v->is_clock_stopped)
        message_init(out, MESSAGE_FLOW_NOBODY_RUNS);
    else if (has_risen)
        message_tell(out, MESSAGE_FLOW_PAIN_ROSE, of_ten(f->pain_before), of_ten(f->pain_worst));
    else
        message_init(out, MESSAGE_NONE);
}

void
visit_flow_sentence(const struct visit_flow *f, struct message *out)
{
    static const enum message_code plain[] = {
        [VISIT_FLOW_CAUTIONS] = MESSAGE_FLOW_READ_CAUTIONS,
        [VISIT_FLOW_PAIN_BEFORE] = MESSAGE_FLOW_PAIN_NOW,
        [VISIT_FLOW_AFTER] = MESSAGE_FLOW_PAIN_AND_EFFORT,
        [VISIT_FLOW_NOTES] = MESSAGE_FLOW_NOTES,
        [VISIT_FLOW_SAVED] = MESSAGE_FLOW_IS_SAVED,
    };
    if (f->phase == VISIT_FLOW_RUN) {
        run_sentence(f, out);
        return;
    }
    if (f->phase == VISIT_FLOW_CHECK && f->verdict.sensor != VERDICT_SENSOR_LIVE)
        *out = f->verdict.message;
    else if (f->phase == VISIT_FLOW_CHECK)
        message_init(out, MESSAGE_FLOW_SENSOR_IS_LIVE);
    else if (f->phase == VISIT_FLOW_SAVED && !f->has_run)
        message_init(out, MESSAGE_FLOW_GIVEN_UP);
    else
        message_init(out, plain[f->phase]);
    if (f->phase > VISIT_FLOW_RUN && f->has_run && f->is_cut_short)
        message_tell(out, MESSAGE_FLOW_CUT_SHORT, message_of(out));
}
