/* caution.h - what is to be read with the runner before a run: the cautions, the pain limit, the pain.
 *
 * In:  whose run it is.   Out: sentences, for stderr and for a page on the runner's screen.
 * How: the cautions are those of visit_flow.h; then what limit is set for this runner, or that none is; then the pain
 *      that was told, or that it is to be asked. A run without a plan has the same as one by a plan.
 * Errors: none.
 */
#ifndef RUNNER_CAUTION_H
#define RUNNER_CAUTION_H

#include "base/message.h"
#include "ui/canvas.h"
#include "ui/theme.h"

struct caution_case {
    const char *runner_code;
    double pain_limit, pain_before; /* 0-10; NAN: not set, not told */
};

/* The one at i, from 0 on; false after the last. */
bool caution_tell(const struct caution_case *c, int i, struct message *out);

/* Draws all of them over the whole picture, in that language (two letters), and how to go on. */
void caution_draw(const struct caution_case *c, const char *language, struct canvas *canvas, const struct theme *theme);

#endif
