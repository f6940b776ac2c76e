/* visit_sensor.h - what a visit was measured with, and whether it can be trusted: in one line, and as JSON members.
 *
 * How: kind and name, the check before the visit, calibration (its age, and whether it is to be done again), gain drift
 *      from the momentum balance, packets and records lost; what is not known is left out of the line, null in JSON.
 * Errors: the JSON stream's own (ask ferror()).
 */
#ifndef REPORT_VISIT_SENSOR_H
#define REPORT_VISIT_SENSOR_H

#include "report/json.h"
#include "store/store.h"

#define VISIT_SENSOR_MAX (3 * STORE_TEXT_MAX)

/* "mat, AB-1; check good; calibration ...; gain drift +1.2 %; 3 packets lost", cut at cap. Gives out. */
const char *visit_sensor_text(const struct store_visit *v, char *out, size_t cap);

/* Names and places of members are a promise. */
void visit_sensor_json(struct json *j, const struct store_visit *v);

#endif
