#include "runner/caution.h"

#include "coach/visit_flow.h"
#include "ui/widget.h"

#include <math.h>
#include <stdio.h>

#define MAX_LINES 4

static void
limit_sentence(const struct caution_case *c, char out[CAUTION_TEXT_MAX])
{
    if (isnan(c->pain_limit))
        snprintf(out, CAUTION_TEXT_MAX, "No pain limit is set for %.40s: any pain asks for a decision, stop or go on.",
                 c->runner_code);
    else
        snprintf(out, CAUTION_TEXT_MAX, "The pain limit of %.40s is %g of 10: at or above it, stop.", c->runner_code,
                 c->pain_limit);
}

static void
pain_sentence(const struct caution_case *c, char out[CAUTION_TEXT_MAX])
{
    if (isnan(c->pain_before))
        snprintf(out, CAUTION_TEXT_MAX, "Ask for the pain now, 0 to 10; --pain N keeps it with the visit.");
    else if (isnan(c->pain_limit) && c->pain_before > 0)
        snprintf(out, CAUTION_TEXT_MAX, "Pain before the run: %g of 10, and no limit is set. Decide: not today, or run anyway.",
                 c->pain_before);
    else
        snprintf(out, CAUTION_TEXT_MAX, "Pain before the run: %g of 10.", c->pain_before);
}

bool
caution_sentence(const struct caution_case *c, int i, char out[CAUTION_TEXT_MAX])
{
    int n = 0;
    while (visit_flow_caution(n))
        n++;
    if (i < n)
        snprintf(out, CAUTION_TEXT_MAX, "%s", visit_flow_caution(i));
    else if (i == n)
        limit_sentence(c, out);
    else if (i == n + 1)
        pain_sentence(c, out);
    return i <= n + 1;
}

/* The unit at which all of it fits: a display may be narrow or low. */
static int
draw_at(const struct caution_case *c, struct canvas *canvas, const struct theme *theme, int unit_px, bool is_measured)
{
    const struct widget_pen w = { &canvas->picture, &canvas->text, theme, unit_px, NULL };
    const int x = 2 * unit_px, width = canvas->picture.width_px - 4 * unit_px;
    char text[CAUTION_TEXT_MAX];
    int y = 2 * unit_px;
    if (!is_measured)
        widget_text(&w, x, y, width, TEXT_LEFT, WIDGET_TITLE, true, theme->figure, "Before the run");
    y += widget_line_px(&w, WIDGET_TITLE) + unit_px / 2;
    for (int i = 0; caution_sentence(c, i, text); i++)
        y += widget_wrap(&w, x, y, width, MAX_LINES, WIDGET_BODY, is_measured ? WIDGET_MEASURE : theme->figure, text) +
             unit_px / 2;
    y += unit_px / 2;
    y += widget_wrap(&w, x, y, width, MAX_LINES, WIDGET_SMALL, is_measured ? WIDGET_MEASURE : theme->label,
                     "Any key or a touch goes on; so does running.");
    return y + 2 * unit_px;
}

void
caution_draw(const struct caution_case *c, struct canvas *canvas, const struct theme *theme)
{
    const struct paint_rect all = { 0, 0, canvas->picture.width_px, canvas->picture.height_px };
    int unit_px = all.h_px / 20;
    while (unit_px > 8 && draw_at(c, canvas, theme, unit_px, true) > all.h_px)
        unit_px--;
    paint_fill(&canvas->picture, all, theme->ground, 1);
    draw_at(c, canvas, theme, unit_px, false);
    canvas_dirty(canvas, all);
}
