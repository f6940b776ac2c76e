/* measured.h - which measurement of a visit is read, and how that is said.
 *
 * The rule, for everything that reads steps of visits (summaries, comparison, course, pages, exports):
 *
 *      1  Visits are read alike. An output lines up some visits: a course those that it lists, everything about one visit
 *         that visit and all that its runner made before.
 *      2  Where each of them has a complete measurement of today's definitions (base/metric.h), the newest such of each is
 *         read. The first measurement counts as one where the visit was run with today's definitions.
 *      3  Where one has none, the first of each is read: what the visits were run with.
 *      4  A figure is compared only with figures of the same definition: of the newest visit that is lined up. In the others
 *         it is a dash, and the reason is told. So is the share in the band of a figure that is of another definition than
 *         the one that the visit was run with: the band was made in that one.
 *
 * What the runner was shown is the same in every measurement: blocks, and feedback on offer.
 */
#ifndef REPORT_MEASURED_H
#define REPORT_MEASURED_H

#include "base/catalogue.h"
#include "report/json.h"
#include "store/measurement.h"

#define MEASURED_TEXT_MAX 1536

/* Rule 2 or 3 for the visits in scope. */
enum err measured_is_current(struct store *s, const struct measurement_scope *scope, bool *is);
/* The measurement of a visit by that rule. ERR_GONE: no such visit, s->why says so. */
enum err measured_of_visit(struct store *s, int64_t visit_id, bool is_current, struct measurement *out);

/* "at the visit; definition 1 of every figure", in words (phrase.h). Gives out. */
const char *measured_text(const struct catalogue *w, const struct measurement *m, int zone_offset_min, char out[MEASURED_TEXT_MAX]);
/* "definition 1 of every figure", "definition 1 of every figure but contact_ms 2". Gives out. */
const char *measured_definitions_text(const struct catalogue *w, const struct metric_definitions *d, char out[MEASURED_TEXT_MAX]);
/* The same without blank or comma, for a table: "1", "1;contact_ms=2;flight_ms=3". Gives out. */
const char *measured_definitions_word(const struct metric_definitions *d, char out[MEASURED_TEXT_MAX]);
/* The member "measurement" of the open object. */
void measured_json(struct json *j, const struct measurement *m, int zone_offset_min);

#endif
