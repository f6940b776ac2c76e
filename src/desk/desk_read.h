/* desk_read.h - reads the store for the panel: the list of runners, and all figures of one.
 *
 * Takes its time (a course of visits has tens of thousands of steps): never on the thread that draws.
 * Errors: enum err, s->why.
 */
#ifndef DESK_DESK_READ_H
#define DESK_DESK_READ_H

#include "base/catalogue.h"
#include "panel/panel.h"
#include "store/store.h"

/* The window that a PANEL_WANTS_RUNNERS asks for. */
enum err desk_read_runners(struct store *s, const struct panel_request *q, struct panel_runners *out);

/* With the newest visits; what is said of them in words (w NULL: English). ERR_GONE: no such runner. */
enum err desk_read_case(struct store *s, const char *code, const struct catalogue *w, struct panel_case *out);

/* The same with older visits: those before the n_newer newest, as many as there is room for. n_newer too large: the oldest. */
enum err desk_read_older(struct store *s, const char *code, int n_newer, const struct catalogue *w, struct panel_case *out);

/* The row that the store keeps of what the form says. */
void desk_read_to_row(const struct panel_runner *from, struct store_runner *to);

#endif
