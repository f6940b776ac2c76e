/* begun_text.h - what a run began with, as text in its recording's head: the sensor profile that was in force (calibration
 * and all), and the coach's settings (targets, focus, rule, plan). And back, bit for bit.
 *
 *      profile 1                        coach 1
 *      kind 2                           cadence_rule 0
 *      cell 10 -200 0.0012 8388         target cadence_spm 170 180 165.5 1
 *      element_gain 3 1 1 0.98 ...      block 1 300 nan 1 0 0
 *      ...                              ...
 *
 * One line a value or a row of them, in the order of the tables in begun_text.c; the first line has the text's version.
 * Numbers have as many digits as they need to come back; unknown ones are nan. Metrics go by name.
 * Nothing is read from any other file: a profile or plan that was edited since does not matter.
 *
 *      case 1   another version, a word that is not known, a line too few or too many    refused whole
 *
 * Memory: the caller's.   Threads: any.   Errors: false.
 */
#ifndef VISIT_BEGUN_TEXT_H
#define VISIT_BEGUN_TEXT_H

#include "coach/coach.h"
#include "sense/profile.h"

#define BEGUN_TEXT_PROFILE_MAX 229376 /* a mat with a gain and an offset of its own for each element: 8192 * 2 * 14 */
#define BEGUN_TEXT_COACH_MAX 12288

/* Return the length; 0 when it does not fit. */
size_t begun_text_profile(const struct sense_profile *p, char *out, size_t cap);
size_t begun_text_coach(const struct coach_config *c, char *out, size_t cap);

/* False when the text is none that is known here; *p is then not to be used. */
bool begun_text_read_profile(const char *text, size_t len, struct sense_profile *p);

/* Likewise. Belt speed and foot length stay as they were: they are the body's. */
bool begun_text_read_coach(const char *text, size_t len, struct coach_config *c);

#endif
