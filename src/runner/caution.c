#include "runner/caution.h"

#include "base/mark.h"
#include "base/message_words.h"
#include "coach/visit_flow.h"
#include "runner/words.h"
#include "ui/widget.h"

#include <math.h>

#define MAX_LINES 4

static void
tell_limit(const struct caution_case *c, struct message *out)
{
    if (isnan(c->pain_limit))
        message_tell(out, MESSAGE_CAUTION_NO_LIMIT, c->runner_code);
    else
        message_tell(out, MESSAGE_CAUTION_LIMIT, c->runner_code, c->pain_limit);
}

static void
tell_pain(const struct caution_case *c, struct message *out)
{
    if (isnan(c->pain_before))
        message_init(out, MESSAGE_CAUTION_ASK_PAIN);
    else if (isnan(c->pain_limit) && c->pain_before > 0)
        message_tell(out, MESSAGE_CAUTION_PAIN_NO_LIMIT, c->pain_before);
    else
        message_tell(out, MESSAGE_CAUTION_PAIN_IS, c->pain_before);
}

bool
caution_tell(const struct caution_case *c, int i, struct message *out)
{
    int n = 0;
    message_init(out, MESSAGE_NONE);
    while (visit_flow_caution(n))
        n++;
    if (i < n)
        message_tell(out, MESSAGE_CAUTION_IS, message_word(visit_flow_caution(i)));
    else if (i == n)
        tell_limit(c, out);
    else if (i == n + 1)
        tell_pain(c, out);
    return i <= n + 1;
}

/* The unit at which all of it fits: a display may be narrow or low. */
static int
draw_at(const struct caution_case *c, const struct catalogue *words, struct canvas *canvas, const struct theme *theme, int unit_px,
        bool is_measured)
{
    const struct widget_pen w = { &canvas->picture, &canvas->text, theme, unit_px, NULL };
    const int x = 2 * unit_px, width = canvas->picture.width_px - 4 * unit_px;
    struct message told;
    char text[MESSAGE_WORDS_MAX];
    int y = 2 * unit_px;
    if (!is_measured)
        widget_text(&w, x, y, width, TEXT_LEFT, WIDGET_TITLE, true, theme->figure,
                    catalogue_of(words, NULL, N_("Before the run")));
    y += widget_line_px(&w, WIDGET_TITLE) + unit_px / 2;
    for (int i = 0; caution_tell(c, i, &told); i++)
        y += widget_wrap(&w, x, y, width, MAX_LINES, WIDGET_BODY, is_measured ? WIDGET_MEASURE : theme->figure,
                         message_words(&told, words, text, sizeof text)) +
             unit_px / 2;
    y += unit_px / 2;
    y += widget_wrap(&w, x, y, width, MAX_LINES, WIDGET_SMALL, is_measured ? WIDGET_MEASURE : theme->label,
                     catalogue_of(words, NULL, N_("Any key or a touch goes on; so does running.")));
    return y + 2 * unit_px;
}

void
caution_draw(const struct caution_case *c, const char *language, struct canvas *canvas, const struct theme *theme)
{
    struct catalogue words;
    struct message why;
    (void) words_catalogue(&words, language, NULL, &why); /* what it lacks is English, and was told when the screen began */
    const struct paint_rect all = { 0, 0, canvas->picture.width_px, canvas->picture.height_px };
    int unit_px = all.h_px / 20;
    while (unit_px > 8 && draw_at(c, &words, canvas, theme, unit_px, true) > all.h_px)
        unit_px--;
    paint_fill(&canvas->picture, all, theme->ground, 1);
    draw_at(c, &words, canvas, theme, unit_px, false);
    catalogue_close(&words);
    canvas_dirty(canvas, all);
}
