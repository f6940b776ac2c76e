/* course_parts.h - inside report/ only: the steps of one visit to its figures. */
#ifndef REPORT_COURSE_PARTS_H
#define REPORT_COURSE_PARTS_H

#include "report/course.h"

/* The steps of a visit, borrowed. */
struct course_steps {
    const struct coached_step *step;
    size_t n;
};

/* Joins v's pieces (rows and targets filled in) to its blocks, and says where it began. ERR_MEMORY. */
enum err course_join(struct course_visit *v, const struct course_steps *steps);

/* Figures, bands and dose of v, its repeats to c; v->visit, targets, pieces and blocks are filled in already. */
void course_figures(struct course_visit *v, const struct course_steps *steps, struct course *c);

/* Changes, dose notes: across the visits. */
void course_compare(struct course *c);

/* What is of another definition than the newest visit's goes, once all changes are told. */
void course_leave_out(struct course *c);

/* The newest visit's definitions: what figures are compared by. */
const struct metric_definitions *course_definitions(const struct course *c);

/* Fills in each visit's measurement and run_with; visits are in order. */
enum err course_choose_measurements(struct store *s, struct course *c, int64_t until_id);

#endif
