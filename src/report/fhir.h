/* fhir.h - a visit as a FHIR R4 Bundle of type collection: the runner by code, the body mass, one Observation a figure.
 *
 * How: a local code system (FHIR_SYSTEM) with text, since no published code means running cadence, contact time or loading
 *      rate, and a walking code would say something else. Units in UCUM; body-weight ratios as annotations ({BW}), so the
 *      body mass stands in the same bundle. A figure that could not be had has dataAbsentReason instead of a value.
 *      Ids follow from visit and figure: the same visit gives the same bundle again.
 * No name and no birth date: none is stored.
 * In:  a course; its last visit is written.   Out: one JSON object.
 * Memory: none kept.  Errors: the stream's own (ask ferror()).
 * Source: FHIR R4 (hl7.org/fhir/R4), Bundle and Observation; ucum.org.
 */
#ifndef REPORT_FHIR_H
#define REPORT_FHIR_H

#include "report/course.h"

#include <stdio.h>

/* A URI of our own, without a web site behind it. */
#define FHIR_SYSTEM "urn:uuid:7d1f5c0e-52a6-8b3c-9e41-756e64657266"

/* The UCUM code of a metric; static storage. */
const char *fhir_ucum(enum metric m);

/* The last visit of c. Errors: the stream's own. */
void fhir_print(FILE *f, const struct course *c);

#endif
