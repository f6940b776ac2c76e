/* visit_json.h - inside report/ only: the members that a visit has in the summary and in the export alike.
 *
 * Names and places of members are a promise; unknown is null.   Errors: the stream's own (ask ferror()).
 */
#ifndef REPORT_VISIT_JSON_H
#define REPORT_VISIT_JSON_H

#include "report/json.h"
#include "store/store.h"

/* started, ended (null while it is open) and state: finished or unfinished. */
void visit_json_when(struct json *j, const struct store_visit *v);

/* How many steps were judged while feedback was on offer and while not, and the share of each in its band. */
void visit_json_in_band(struct json *j, int n_shown, double shown_pct, int n_withheld, double withheld_pct);

#endif
