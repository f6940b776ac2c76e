/* next_visit.h - where a runner stands in a course: which visit comes next, and with which targets.
 *
 * In:  the runner's stored visits and a plan.   Out: the proposal; a person may choose otherwise.
 * How: the newest visit by that plan's name counts. When it was whole, the next one follows; when it was cut short
 *      or left unfinished, the same one again. Of several the highest course number and the highest id count: a
 *      clock that was set back between two visits, or another time zone, changes nothing.
 *      Targets are those that the runner's last visit with targets was run with, but for those whose figure has another
 *      definition by now (base/metric.h): old and new values can't be told into each other, so such a band says
 *      nothing of today's steps. They are put off, which the caller tells, and the baseline is taken anew.
 */
#ifndef CARE_NEXT_VISIT_H
#define CARE_NEXT_VISIT_H

#include "coach/plan_file.h"
#include "coach/target.h"
#include "store/store.h"

struct next_visit {
    int visit;               /* 1..n_visits; 0: the course is over */
    bool is_repeat;          /* the last one was cut short or left unfinished */
    int n_done;              /* whole visits of this course so far */
    int64_t last_visit_id;   /* of the runner, by any plan; 0: none */
    double usual_speed_m_s;  /* belt speed of the last visit that has one; NAN: none */
    int n_targets;           /* 0: none yet, they come from the baseline */
    int n_put_off;           /* targets of the last visit whose figure is defined otherwise today: not among these */
    struct target target[VERDICT_MAX_BARS];
    enum metric focus;       /* METRIC_COUNT: none */
};

/* plan NULL: targets and last visit alone. */
enum err next_visit_find(struct store *s, int64_t runner_id, const struct plan_file *plan, struct next_visit *out);

/* True when the band is for the figure as it is defined today. */
bool next_visit_is_of_today(const struct store_target *t);

/* A stored set of targets as the coach wants it: the first VERDICT_MAX_BARS that are closed on both sides and of
 * today's definitions. Returns how many. */
int next_visit_targets(const struct store_target_set *set, struct target out[VERDICT_MAX_BARS], enum metric *focus);

#endif
