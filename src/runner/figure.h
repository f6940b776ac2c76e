/* figure.h - numbers as the runner reads them: digits, decimal sign, dash for what is not known.
 *
 * In:  a metric and its value, seconds.   Out: short UTF-8 text.
 * Pure.  Memory: the caller's text.  Errors: none; NAN gives a dash, never 0.
 */
#ifndef RUNNER_FIGURE_H
#define RUNNER_FIGURE_H

#include "base/metric.h"

#define FIGURE_MAX  24
#define FIGURE_DASH "\xE2\x80\x93" /* en dash */

/* value with the digits a runner can use (no more); decimal: "." or ",". */
void figure_value(char text[FIGURE_MAX], enum metric m, double value, const char *decimal);

/* One digit after the decimal sign: belt speed. */
void figure_speed(char text[FIGURE_MAX], double m_s, const char *decimal);

/* Seconds left as m:ss, rounded up, so that 0:00 is the end. */
void figure_clock(char text[FIGURE_MAX], double left_s);

/* Values between which a metric is drawn while there is no target: a plain scale, no verdict. */
void figure_range(enum metric m, double *low, double *high);

#endif
