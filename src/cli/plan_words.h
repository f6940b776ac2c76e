/* course.h - a visit by a plan: loads it, finds which visit of the course it is, sets the session up for it.
 *
 * Targets given by hand stand; else those of the runner's last visit; else they come from the visit's own baseline by
 * the plan's rule.
 *
 * In:  a plan's name and the runner's stored visits.   Out: the session's plan and targets, the visit's number.
 * Threads: the main one, before the visit.  Errors: the exit code, after one line on stderr.
 */
#ifndef CLI_PLAN_WORDS_H
#define CLI_PLAN_WORDS_H

#include "base/options.h"
#include "coach/plan_file.h"
#include "visit/app.h"

/* plan_name NULL: nothing to do. course_visit NAN: the one that is next. c's runner, store and figures must be set.
 * Says on stderr which visit it will be. Returns 0, 1, or 2 after one line on stderr. */
int plan_words_apply(const char *plan_name, double course_visit, const struct options_spec *spec, struct app_config *c);

#endif
