/* visit_said.h - what a visit has beside its figures: blocks, dose, pain and effort, signs, notes, marks; in words and as JSON.
 *
 * Marks (key M of the panel): in words minutes and seconds from the visit's begin (course.h), as its axis has them; in JSON
 * seconds of the same clock as start_s of the blocks and touchdown_s of the steps.
 * Words: w as phrase.h has it; each gives out, which ends with "…" where it does not fit.
 * JSON: names and places of members are a promise; unknown is null.   Errors: the stream's own (ask ferror()).
 */
#ifndef REPORT_VISIT_SAID_H
#define REPORT_VISIT_SAID_H

#include "report/course.h"
#include "report/json.h"
#include "paper/phrase.h"

#define VISIT_SAID_MARKS_MAX 256

/* "3:12, 7:45"; "" when nothing was marked. More than fit, and those without a time: "3:12, 7:45, +2". Returns out. */
const char *visit_said_marks(const struct course_visit *v, char out[VISIT_SAID_MARKS_MAX]);

/* "Visit 3, cut short. Plan eight-faded, its visit 2." */
const char *visit_said_which(const struct catalogue *w, const struct store_visit *v, char out[PHRASE_MAX]);
/* How it ended, alone: "cut short". */
const char *visit_said_end(const struct catalogue *w, const struct store_visit *v);
/* What a block is called: "Warm-up". */
const char *visit_said_block(const struct catalogue *w, enum verdict_block kind);
/* Whether the dose grew fast: a sentence with figures and source, or "". */
const char *visit_said_growth(const struct catalogue *w, const struct course_visit *v, char out[PHRASE_MAX]);
/* "1200 steps, 80 of them on mid- or forefoot, in 7.1 min of running.", and whether that grew fast. */
const char *visit_said_dose(const struct catalogue *w, const struct course_visit *v, char out[PHRASE_MAX]);
/* "before 1, worst –, after 2; effort 4" */
const char *visit_said_pain(const struct catalogue *w, const struct course_visit *v, char out[PHRASE_MAX]);
/* "3 of the 8 signs of overstriding that were looked at: slow steps; ..." */
const char *visit_said_signs(const struct catalogue *w, const struct tally *t, char out[PHRASE_MAX]);

/* A line a block: kind, minutes, steps, planned share of feedback. Nothing without blocks. */
void visit_said_print_blocks(FILE *f, const struct catalogue *w, const struct course_visit *v);

/* Pain and effort, signs with their sentence, notes, marks. */
void visit_said_print(FILE *f, const struct catalogue *w, const struct course_visit *v);

/* The members pain, signs, notes, marks_s of the object that is open. */
void visit_said_json(struct json *j, const struct course_visit *v);

/* The members of block i that need no figures, into its object: number (from 1), kind, start_s, end_s, length_s, planned_s,
 * belt_speed_m_s, shown_share, steps. */
void visit_said_json_block(struct json *j, const struct course_visit *v, int i);

#endif
