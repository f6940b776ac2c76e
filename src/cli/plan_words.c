#include "cli/plan_words.h"

#include "base/places.h"
#include "base/str.h"
#include "care/next_visit.h"
#include "cli/say_options.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A runner or store that is not there yet has no visits; a store that can't be read is another matter. Says why. */
static enum err
find_next(const struct app_config *c, const struct plan_file *plan, struct next_visit *next)
{
    struct store s;
    struct store_runner runner = { .id = 0 };
    enum err err = store_open(&s, c->visit.store_path, STORE_MUST_EXIST);
    if (err == ERR_OK) {
        err = store_runner_get(&s, c->visit.runner_code, &runner);
        if (err == ERR_OK)
            err = next_visit_find(&s, runner.id, plan, next);
    }
    if (err == ERR_GONE)
        *next = (struct next_visit){ .visit = 1, .usual_speed_m_s = (double) NAN, .focus = METRIC_COUNT };
    else if (err != ERR_OK)
        say_note_of(&s.why);
    store_close(&s);
    return err == ERR_GONE ? ERR_OK : err;
}

static int
choose_visit(const struct plan_file *plan, double course_visit, const struct options_spec *spec,
             struct next_visit *next)
{
    char typed[SAY_NUMBER_MAX];
    if (!isnan(course_visit) && course_visit > plan->n_visits)
        return say_refuse(spec, MESSAGE_PLAN_FEW_VISITS, say_typed(typed, course_visit), plan->id, plan->n_visits);
    if (isnan(course_visit) && next->visit == 0)
        return say_refuse(spec, MESSAGE_PLAN_IS_OVER, plan->id, plan->n_visits);
    if (!isnan(course_visit)) {
        next->visit = (int) course_visit;
        next->is_repeat = false;
    }
    return 0;
}

static void
set_up(const struct plan_file *plan, const struct next_visit *next, struct app_config *c)
{
    struct pipeline_config *p = &c->session.pipeline;
    if (isnan(p->belt_speed_m_s) && !isnan(next->usual_speed_m_s)) {
        p->belt_speed_m_s = next->usual_speed_m_s;
        say_note(MESSAGE_PLAN_USUAL_SPEED, message_real(p->belt_speed_m_s, 2, MESSAGE_UNIT_M_S),
                 message_real(3.6 * p->belt_speed_m_s, 1, MESSAGE_UNIT_KM_H));
    }
    plan_file_visit_plan(plan, next->visit, p->belt_speed_m_s, &p->coach.plan);
    p->coach.cadence_rule = plan->rule;
    if (next->n_put_off > 0)
        say_note(MESSAGE_PLAN_PUT_OFF, next->n_put_off, c->visit.runner_code);
    if (p->coach.n_targets == 0 && next->n_targets > 0) {
        memcpy(p->coach.target, next->target, sizeof next->target);
        p->coach.n_targets = next->n_targets;
        p->coach.focus = next->focus;
    }
    str_copy(c->visit.plan, sizeof c->visit.plan, plan->id);
    c->visit.course_visit = next->visit;
    const double share = plan_file_shown_share(plan, next->visit);
    say_note(next->is_repeat ? MESSAGE_PLAN_VISIT_AGAIN : MESSAGE_PLAN_VISIT, plan->id, next->visit, plan->n_visits,
             message_real(plan_file_coached_min(plan, next->visit), 0, MESSAGE_UNIT_MIN),
             message_real(isnan(share) ? 0 : 100 * share, 0, MESSAGE_UNIT_PCT),
             message_word(p->coach.n_targets > 0 ? N_("as they are") : N_("from this visit's baseline")));
}

int
plan_words_apply(const char *plan_name, double course_visit, const struct options_spec *spec, struct app_config *c)
{
    char path[PLACES_PATH_MAX];
    struct message why;
    struct next_visit next;
    if (!plan_name)
        return isnan(course_visit) ? 0 : say_refuse(spec, MESSAGE_PLAN_NEEDS_NAME);
    enum err err = places_find("plans", plan_name, path, sizeof path, &why);
    if (err != ERR_OK)
        return say_refuse(spec, MESSAGE_CLI_OPTION_REFUSED, "plan", message_of(&why));
    struct plan_file *plan = malloc(sizeof *plan);
    if (!plan) {
        say_note(MESSAGE_CLI_NO_MEMORY);
        return 1;
    }
    int code = 1;
    if (plan_file_load(plan, path, &why) != ERR_OK)
        say_note_of(&why);
    else if (find_next(c, plan, &next) == ERR_OK) {
        code = choose_visit(plan, course_visit, spec, &next);
        if (code == 0)
            set_up(plan, &next, c);
    }
    free(plan);
    return code;
}
