#include "cli/plan_words.h"

#include "base/log.h"
#include "base/places.h"
#include "base/str.h"
#include "care/next_visit.h"

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
        log_note("%s", message_english(&s.why));
    store_close(&s);
    return err == ERR_GONE ? ERR_OK : err;
}

static int
choose_visit(const struct plan_file *plan, double course_visit, const struct options_spec *spec,
             struct next_visit *next)
{
    if (!isnan(course_visit) && course_visit > plan->n_visits)
        return options_refuse(spec, "--course-visit %g: the plan %s has %d visits", course_visit, plan->id,
                              plan->n_visits);
    if (isnan(course_visit) && next->visit == 0)
        return options_refuse(spec, "the course %s is over for this runner, all %d visits; --course-visit N repeats one",
                              plan->id, plan->n_visits);
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
        log_note("belt speed %.2f m/s (%.1f km/h), as in the last visit, unless the sensor measures it: --speed says another",
                 p->belt_speed_m_s, 3.6 * p->belt_speed_m_s);
    }
    plan_file_visit_plan(plan, next->visit, p->belt_speed_m_s, &p->coach.plan);
    p->coach.cadence_rule = plan->rule;
    if (next->n_put_off > 0)
        log_note("mind: %d of the last visit's targets were made from figures that are measured in another way now: they are put "
                 "off; take the baseline anew, or measure the last visits again (underfoot remeasure --runner %s --keep)",
                 next->n_put_off, c->visit.runner_code);
    if (p->coach.n_targets == 0 && next->n_targets > 0) {
        memcpy(p->coach.target, next->target, sizeof next->target);
        p->coach.n_targets = next->n_targets;
        p->coach.focus = next->focus;
    }
    str_copy(c->visit.plan, sizeof c->visit.plan, plan->id);
    c->visit.course_visit = next->visit;
    log_note("%s: visit %d of %d%s, %.0f min of coached running, feedback in %.0f %% of it; targets %s", plan->id,
             next->visit, plan->n_visits, next->is_repeat ? " (again: it was cut short)" : "",
             plan_file_coached_min(plan, next->visit),
             isnan(plan_file_shown_share(plan, next->visit)) ? 0 : 100 * plan_file_shown_share(plan, next->visit),
             p->coach.n_targets > 0 ? "as they are" : "from this visit's baseline");
}

int
plan_words_apply(const char *plan_name, double course_visit, const struct options_spec *spec, struct app_config *c)
{
    char path[PLACES_PATH_MAX];
    struct message why;
    struct next_visit next;
    if (!plan_name)
        return isnan(course_visit) ? 0 : options_refuse(spec, "--course-visit needs --plan NAME");
    enum err err = places_find("plans", plan_name, path, sizeof path, &why);
    if (err != ERR_OK)
        return options_refuse(spec, "--plan %s", message_english(&why));
    struct plan_file *plan = malloc(sizeof *plan);
    if (!plan) {
        log_note("no memory left for a plan");
        return 1;
    }
    int code = 1;
    if (plan_file_load(plan, path, &why) != ERR_OK)
        log_note("%s", message_english(&why));
    else if (find_next(c, plan, &next) == ERR_OK) {
        code = choose_visit(plan, course_visit, spec, &next);
        if (code == 0)
            set_up(plan, &next, c);
    }
    free(plan);
    return code;
}
