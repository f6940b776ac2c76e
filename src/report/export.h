/* export.h - a stored visit for other programs: a step table, everything as JSON, or FHIR (fhir.h).
 *
 * CSV: the columns of `underfoot steps`, then block (number, from 1), block_kind, feedback (shown, withheld), notes (all
 *      notes of the visit, in its first row alone: csv_text), definitions (base/metric.h: the number that most figures
 *      have, then those that have another: "2;strike_travel_mm=1").
 * JSON: one object: visit, runner, targets, blocks with their figures and bands, changes, dose, pain, signs, notes,
 *      marks_s (on the clock of start_s and touchdown_s), and with the steps asked for an array of one object a step. Names are a promise; unknown is null.
 * Errors: enum err with s->why; the stream's own (ask ferror()).
 */
#ifndef REPORT_EXPORT_H
#define REPORT_EXPORT_H

#include "report/course.h"

#include <stdio.h>

enum err export_csv(struct store *s, int64_t visit_id, FILE *f);
enum err export_json(struct store *s, int64_t visit_id, bool has_steps, FILE *f);
enum err export_fhir(struct store *s, int64_t visit_id, FILE *f);

#endif
