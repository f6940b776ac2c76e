/* page.h - a visit and a course as pages to print: PDF (A4), or PNG; in the language they are asked for.
 *
 * How: set by pango on paper (paper.h). A visit: blocks and the leading figure on one axis of time, then the table of figures,
 *      shares in band, blocks, dose, pain, signs, notes. A course: its visits on one axis, one picture a metric; a dot is a
 *      visit's mean, its whisker one standard deviation from step to step, a ring the visit's own silent baseline, the stripe
 *      the target; the bar at the right edge is the smallest change that is real (course.h).
 *      Colour is never alone: rings and dots, stripes with edges, and letters say the same in grey. Nothing is cut: what
 *      is long wraps, and goes on on the next page.
 * In:  a course; its words (NULL: English), and figures with that language's signs.   Out: one file.  Memory: freed before return.
 * Errors: ERR_USAGE for another ending than .pdf or .png; ERR_OS; a sentence in why.
 */
#ifndef REPORT_PAGE_H
#define REPORT_PAGE_H

#include "base/message.h"
#include "report/course.h"

/* The course's last visit. */
enum err page_visit(const struct course *c, const struct catalogue *w, const char *path, struct message *why);

enum err page_course(const struct course *c, const struct catalogue *w, const char *path, struct message *why);

#endif
