/* visit_sensor.h - what a visit was measured with, and whether it can be trusted: in one line, and as JSON members.
 *
 * How: kind and name, the check before the visit, calibration (its age, and whether it is to be done again), gain drift
 *      from the momentum balance, packets and records lost; what is not known is left out of the line, null in JSON.
 * Errors: the JSON stream's own (ask ferror()).
 */
#ifndef REPORT_VISIT_SENSOR_H
#define REPORT_VISIT_SENSOR_H

#include "report/json.h"
#include "paper/phrase.h"
#include "store/store.h"

/* "mat, AB-1; check: good; calibration: ...; gain drift +1.2 %; 3 packets lost", in words (phrase.h). Gives out. */
const char *visit_sensor_text(const struct catalogue *w, const struct store_visit *v, char out[PHRASE_MAX]);
/* What a kind in the store is called: "mat". */
const char *visit_sensor_kind(const struct catalogue *w, const char *kind);

/* Names and places of members are a promise. */
void visit_sensor_json(struct json *j, const struct store_visit *v);

#endif
