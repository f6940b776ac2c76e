/* panel_draw_warnings.c - what speaks against the targets as they stand, with which target it is of and why. */
#include "base/mark.h"
#include "base/str.h"
#include "pages/panel_parts.h"

#include <stdio.h>
#include <string.h>

/* "cadence" of "cadence, steps/min", in the physio's language. */
static const char *
short_label(const struct panel_pen *n, enum metric m, char out[PANEL_WORDS_MAX])
{
    str_copy(out, PANEL_WORDS_MAX, panel_word(n, panel_metric_label(m)));
    char *comma = strrchr(out, ',');
    if (comma)
        *comma = '\0';
    return out;
}

/* Metrics that are asked to change, in words, one after the other. */
static void
changed_metrics(const struct panel_pen *n, char *out, size_t cap)
{
    const struct target_edit *e = &n->p->aim.edit;
    char metric[PANEL_WORDS_MAX];
    out[0] = '\0';
    for (int i = 0; i < e->now.n; i++)
        if (e->now.target[i].is_change) {
            if (out[0])
                str_append(out, cap, ", ");
            str_append(out, cap, short_label(n, e->now.target[i].metric, metric));
        }
}

static const char *
warning_text(const struct panel_pen *n, int i, enum target_warning warning, bool is_short, char out[4 * PANEL_WORDS_MAX])
{
    const struct target_edit *e = &n->p->aim.edit;
    const struct target *t = &e->now.target[i];
    char metric[PANEL_WORDS_MAX], a[24], b[24], all[3 * PANEL_WORDS_MAX];
    const size_t cap = 4 * PANEL_WORDS_MAX;
    const char *english = "";
    const char *part[3] = { short_label(n, t->metric, metric), a, b };
    a[0] = b[0] = '\0';
    switch (warning) {
    case TARGET_WARN_CADENCE_FAR:
        panel_percent(n, a, 100 * (0.5 * (t->low + t->high) / t->baseline - 1));
        panel_value(n, b, t->metric, t->baseline);
        english = is_short ? N_("{1}: {2} over the baseline.")
                           : N_("{1}: {2} over the baseline of {3}. Trials went to +10 %; more costs effort and feels awkward.");
        break;
    case TARGET_WARN_NARROW:
        panel_number(n, a, (t->high - t->low) * panel_scale(t->metric), 1, "");
        panel_number(n, b, e->spread[i] * panel_scale(t->metric), 1, "");
        english = is_short ? N_("{1}: a band of {2}; steps vary by {3}.")
                           : N_("{1}: the band is {2} wide; this runner varies by {3} from step to step and can't stay in it.");
        break;
    case TARGET_WARN_MANY:
        changed_metrics(n, all, sizeof all);
        part[0] = all;
        english = is_short ? N_("{1}: more than one change.")
                           : N_("{1}: more than one is asked to change. One thing at a time is easier to learn and to undo.");
        break;
    }
    return panel_words_fill(n->words, out, cap, english, part, 3);
}

/* All warnings of all targets, that of many changes once. Returns the height. */
static int
list_warnings(struct panel_pen *n, int x, int y, int w, bool is_short, bool is_drawn)
{
    const struct target_edit *e = &n->p->aim.edit;
    const int from = y, in = n->u * 3 / 2;
    bool is_many_told = false;
    for (int i = 0; i < e->now.n; i++) {
        const unsigned warnings = target_edit_warnings(e, i);
        for (unsigned bit = 1; bit <= TARGET_WARN_MANY; bit <<= 1) {
            char text[4 * PANEL_WORDS_MAX];
            if (!(warnings & bit) || (bit == TARGET_WARN_MANY && is_many_told))
                continue;
            is_many_told = is_many_told || bit == TARGET_WARN_MANY;
            warning_text(n, i, (enum target_warning) bit, is_short, text);
            if (is_drawn)
                panel_text(n, x, y, n->u,
                           (struct panel_ink){ WIDGET_BODY, n->w.theme->look[THEME_ABOVE].rgb, true, TEXT_CENTRE },
                           "!");
            y += widget_wrap(&n->w, x + in, y, w - in, is_short ? 1 : 4, WIDGET_SMALL,
                             is_drawn ? n->w.theme->figure : WIDGET_MEASURE, text) +
                 n->u / 4;
        }
    }
    return y - from;
}

int
panel_draw_warnings(struct panel_pen *n, int x, int y, int w, int max_px)
{
    const bool is_short = list_warnings(n, x, y, w, false, false) > max_px;
    return list_warnings(n, x, y, w, is_short, true);
}

int
panel_warnings_px(struct panel_pen *n, int w, int max_px)
{
    const int whole = list_warnings(n, 0, 0, w, false, false);
    return whole <= max_px ? whole : list_warnings(n, 0, 0, w, true, false);
}

void
panel_draw_warned(struct panel_pen *n)
{
    const struct paint_rect r = panel_sheet(n, 46 * n->u, 24 * n->u, N_("Begin with these targets?"));
    const int buttons = n->u * 7 / 2;
    const int y = r.y_px + panel_draw_warnings(n, r.x_px, r.y_px, r.w_px, r.h_px - buttons - 3 * n->u) + n->u / 2;
    panel_wrap(n, r.x_px, y, r.w_px, 2, panel_ink(WIDGET_BODY, n->w.theme->label),
               "Nothing of this forbids the run: you decide.");
    panel_yes_no(n, r, N_("Begin all the same"), N_("Back to the targets"), true);
}
