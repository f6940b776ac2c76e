/* visit_said.h - what a visit has beside its figures: blocks, pain and effort, signs, notes, marks; as text and as JSON.
 *
 * Marks (key M of the panel): in text and on the page minutes and seconds from the visit's begin (course.h), as its axis
 * has them; in JSON seconds of the same clock as start_s of the blocks and touchdown_s of the steps.
 * JSON: names and places of members are a promise; unknown is null.   Errors: the stream's own (ask ferror()).
 */
#ifndef REPORT_VISIT_SAID_H
#define REPORT_VISIT_SAID_H

#include "report/course.h"
#include "report/json.h"

#define VISIT_SAID_MARKS_MAX 256

/* "3:12, 7:45"; "" when nothing was marked. More than fit, and those without a time: "3:12, 7:45, +2". Returns out. */
const char *visit_said_marks(const struct course_visit *v, char out[VISIT_SAID_MARKS_MAX]);

/* A line a block: kind, minutes, steps, planned share of feedback. Nothing without blocks. */
void visit_said_print_blocks(FILE *f, const struct course_visit *v);

/* Pain and effort, signs with their sentence, notes, marks. */
void visit_said_print(FILE *f, const struct course_visit *v);

/* The members pain, signs, notes, marks_s of the object that is open. */
void visit_said_json(struct json *j, const struct course_visit *v);

/* The members of block i that need no figures, into its object: number (from 1), kind, start_s, end_s, length_s, planned_s,
 * belt_speed_m_s, shown_share, steps. */
void visit_said_json_block(struct json *j, const struct course_visit *v, int i);

#endif
