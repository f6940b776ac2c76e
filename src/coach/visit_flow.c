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
refuse(char why[VISIT_FLOW_TEXT_MAX], const char *text)
{
    snprintf(why, VISIT_FLOW_TEXT_MAX, "%s", text);
    return false;
}

static bool
begin_run(struct visit_flow *f, char why[VISIT_FLOW_TEXT_MAX])
{
    if (!f->is_answered)
        return refuse(why, N_("Ask for the pain first, 0 to 10; or pass the question over."));
    if (is_at_limit(f, f->pain_before) && !f->is_stop_asked) {
        f->is_stop_asked = true;
        return refuse(why, isnan(f->config.pain_limit)
                               ? N_("There is pain, and no limit is set for this runner. Decide: go on says to run anyway.")
                               : N_("Pain is at this runner's limit: better not run today. Go on again says to run anyway."));
    }
    f->is_stop_asked = false;
    go(f, VISIT_FLOW_RUN);
    f->has_run = true;
    return tell_in_run(f, COMMAND_RESUME, 0);
}

bool
visit_flow_next(struct visit_flow *f, char why[VISIT_FLOW_TEXT_MAX])
{
    why[0] = '\0';
    switch (f->phase) {
    case VISIT_FLOW_CHECK:
        if (f->verdict.sensor != VERDICT_SENSOR_LIVE)
            return refuse(why, f->verdict.message[0] ? f->verdict.message : N_("The sensor is not there yet."));
        break;
    case VISIT_FLOW_PAIN_BEFORE:
        return begin_run(f, why);
    case VISIT_FLOW_RUN:
        return refuse(why, N_("The run ends by its plan; stop cuts it short."));
    case VISIT_FLOW_SAVED:
        return refuse(why, N_("The visit is saved."));
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

static void
run_sentence(const struct visit_flow *f, char out[VISIT_FLOW_TEXT_MAX])
{
    const struct verdict *v = &f->verdict;
    const bool has_risen = f->pain_worst > f->pain_before; /* false when either is unknown */
    if (f->is_stop_asked && isnan(f->config.pain_limit))
        snprintf(out, VISIT_FLOW_TEXT_MAX, "Pain %.0f, and no limit is set for this runner. Decide: stop, or resume.",
                 f->pain_worst);
    else if (f->is_stop_asked)
        snprintf(out, VISIT_FLOW_TEXT_MAX, "Stop: pain %.0f is at this runner's limit of %.0f. Resume only if you are sure.",
                 f->pain_worst, f->config.pain_limit);
    else if (v->sensor != VERDICT_SENSOR_LIVE)
        snprintf(out, VISIT_FLOW_TEXT_MAX, "%s", v->message);
    else if (v->is_paused)
        snprintf(out, VISIT_FLOW_TEXT_MAX, N_("Paused. Resume goes on where it was."));
    else if (v->baseline == VERDICT_BASELINE_UNSTEADY && v->baseline_text[0])
        snprintf(out, VISIT_FLOW_TEXT_MAX, "%s It goes on; skip leaves it, accept takes it as it is.", v->baseline_text);
    else if (v->is_clock_stopped)
        snprintf(out, VISIT_FLOW_TEXT_MAX, N_("Nobody runs: the clock stands until the runner is back."));
    else if (has_risen)
        snprintf(out, VISIT_FLOW_TEXT_MAX, "Pain rose from %.0f to %.0f: shorten the run, or stop.", f->pain_before,
                 f->pain_worst);
    else
        out[0] = '\0';
}

void
visit_flow_sentence(const struct visit_flow *f, char out[VISIT_FLOW_TEXT_MAX])
{
    const struct verdict *v = &f->verdict;
    static const char *const plain[] = {
        [VISIT_FLOW_CAUTIONS] = N_("Read the cautions with the runner."),
        [VISIT_FLOW_PAIN_BEFORE] = N_("Pain now, 0 to 10?"),
        [VISIT_FLOW_AFTER] = N_("Pain and effort now, 0 to 10 each?"),
        [VISIT_FLOW_NOTES] = N_("Notes of this visit?"),
        [VISIT_FLOW_SAVED] = N_("The visit is saved."),
    };
    if (f->phase == VISIT_FLOW_RUN)
        run_sentence(f, out);
    else if (f->phase == VISIT_FLOW_CHECK)
        snprintf(out, VISIT_FLOW_TEXT_MAX, "%s", v->sensor == VERDICT_SENSOR_LIVE
                                                      ? N_("The sensor is live. Let the runner stand still, then step off.")
                                                      : v->message);
    else if (f->phase == VISIT_FLOW_SAVED && !f->has_run)
        snprintf(out, VISIT_FLOW_TEXT_MAX, N_("The visit was given up before the run."));
    else
        snprintf(out, VISIT_FLOW_TEXT_MAX, "%s%s", f->phase > VISIT_FLOW_RUN && f->is_cut_short ? "Cut short. " : "",
                 plain[f->phase]);
}
