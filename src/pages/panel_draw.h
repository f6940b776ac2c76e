/* panel_draw.h - the panel's pages as pixels, and the spots on them that can be touched.
 *
 * In:  struct panel, a canvas.   Out: pixels, only when something changed since the last time; panel.spot.
 * How: a page is drawn whole: it changes a few times a second at most, and never on the runner's time: the
 *      picture is the panel's own (a second window's, or one in memory that is laid over).
 * Threads: main only.   Memory: glyphs at first use.   Errors: none.
 */
#ifndef PAGES_PANEL_DRAW_H
#define PAGES_PANEL_DRAW_H

#include "pages/panel_words.h"
#include "panel/panel.h"
#include "ui/canvas.h"
#include "ui/theme.h"
#include "ui/widget.h"

struct panel_draw {
    struct canvas *canvas; /* borrowed, must outlive */
    struct theme theme;
    const struct panel_words *words; /* NULL: English; borrowed, must outlive; set after init */
    uint64_t drawn;      /* p->n_changes of the last time */
    uint32_t generation; /* of the canvas, then */
    struct widget_log *log; /* NULL: none; else what was drawn last, from n_header on the page, from n_sheet on what is asked */
    int n_header, n_sheet;
    struct paint_rect strip; /* with the keys */
};

void panel_draw_init(struct panel_draw *d, struct canvas *canvas, enum theme_kind theme);

/* Rasterises every plain sign now, so that drawing asks for no memory later. */
void panel_draw_preload(struct panel_draw *d);

/* True when anything was drawn: then present. */
bool panel_draw(struct panel_draw *d, struct panel *p);

#endif
