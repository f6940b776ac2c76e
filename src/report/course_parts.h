/* course_parts.h - inside report/ only: the steps of one visit to its figures. */
#ifndef REPORT_COURSE_PARTS_H
#define REPORT_COURSE_PARTS_H

#include "report/course.h"

/* The steps of a visit, borrowed; sets: one target set a block (n = 0: none). */
struct course_steps {
    const struct store_step *step;
    size_t n;
    const struct store_target_set *set;
};

/* Figures, bands, dose and repeats; v->visit, targets, blocks' rows and runner are filled in already. */
void course_figures(struct course_visit *v, const struct course_steps *steps, const struct store_runner *runner,
                    struct repeat repeat[METRIC_COUNT]);

/* Changes, dose notes: across the visits. */
void course_compare(struct course *c);

#endif
