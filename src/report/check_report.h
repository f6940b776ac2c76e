/* check_report.h - what a check of a sensor found, as JSON and as the store's row; `check` and the panel share it.
 *
 * In:  what line and sensor say of themselves, the judged report.   Out: JSON, a row, the row in the store.
 * Threads: any, one at a time.   Errors: false or enum err with a sentence in why.
 */
#ifndef REPORT_CHECK_REPORT_H
#define REPORT_CHECK_REPORT_H

#include "base/message.h"
#include "report/json.h"
#include "sense/sense.h"
#include "setup/check.h"
#include "store/store.h"
#include "wire/wire.h"

/* mat, cells or switches. */
const char *check_report_kind(const struct sense_profile *p);

/* What the line and the board say for check_judge(); its text is static. */
struct check_line check_report_line(const struct wire_health *wire, const struct sense_health *sense);

/* One JSON object: sensor, port, profile, verdict, then each item. */
void check_report_put(struct json *json, const struct check_report *report, const struct sense_profile *p, const char *port);

/* The row as the store keeps it, the JSON in it. False: no memory, or it is too long. */
bool check_report_row(const struct check_report *report, const struct sense_profile *p, const char *port,
                      struct store_check *out);

/* Into the store at path (NULL: the usual place); a visit of the same sensor that begins soon gets it. */
enum err check_report_keep(struct store_check *row, const char *store_path, struct message *why);

#endif
