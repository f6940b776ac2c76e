/* panel_draw_tally.c - the signs of overstriding: those that are measured, those that a person ticks, and the sentence
 * that belongs to them. */
#include "base/mark.h"
#include "base/str.h"
#include "pages/panel_parts.h"

#include <stdio.h>

struct tally_view {
    enum tally_state state[TALLY_COUNT];
    int n_present, n_known;
    enum tally_state heel_first;
    const struct tally *of; /* NULL: none */
};

static void
look(struct tally_view *v, const struct tally *t, const enum tally_state *ticks)
{
    *v = (struct tally_view){ .heel_first = t ? t->heel_first : TALLY_UNKNOWN, .of = t };
    for (int i = 0; i < TALLY_COUNT; i++) {
        v->state[i] = tally_row((enum tally_sign) i)->is_ticked && ticks ? ticks[i] : t ? t->sign[i] : TALLY_UNKNOWN;
        v->n_known += v->state[i] != TALLY_UNKNOWN;
        v->n_present += v->state[i] == TALLY_PRESENT;
    }
}

/* "Present: slow steps, lands far ahead. Absent: ..." */
static void
measured_words(struct panel_pen *n, const struct tally_view *v, char *out, size_t cap)
{
    static const enum tally_state states[] = { TALLY_PRESENT, TALLY_ABSENT };
    out[0] = '\0';
    for (int k = 0; k < 2; k++) {
        int n_said = 0;
        for (int i = 0; i < TALLY_COUNT; i++) {
            const struct tally_row *row = tally_row((enum tally_sign) i);
            if (row->is_ticked || v->state[i] != states[k])
                continue;
            if (n_said == 0)
                str_append(out, cap, out[0] ? " " : "");
            str_append(out, cap, n_said > 0 ? "," : panel_word(n, k == 0 ? "Present:" : N_("Absent:")));
            str_append(out, cap, " ");
            n_said++;
            str_append(out, cap, panel_word(n, row->label));
        }
        str_append(out, cap, n_said > 0 ? "." : "");
    }
}

/* No sign: the value with its error bar; brief: a line, of the impulse alone. Returns its height. */
static int
draw_braking(struct panel_pen *n, int x, int y, int w, uint32_t ink, const struct tally *t, bool is_brief)
{
    char text[PANEL_WORDS_MAX], a[24], b[24], c[24], d[24];
    if (!t || !tally_has_braking(t))
        return 0;
    panel_value(n, a, METRIC_BRAKING_IMPULSE_BW_S, t->braking_impulse_bw_s);
    panel_value(n, b, METRIC_BRAKING_IMPULSE_BW_S, t->braking_impulse_bar);
    if (is_brief) {
        PANEL_FILL(n, text, "Braking {1} ± {2} mBW s, estimated", a, b);
        return widget_wrap(&n->w, x, y, w, 1, WIDGET_SMALL, ink, text);
    }
    PANEL_FILL(n, text, "Braking {1} ± {2} mBW s, peak {3} ± {4} BW: estimated, for change within this runner, counted nowhere.",
               a, b, panel_number(n, c, t->peak_braking_bw, 2, ""), panel_number(n, d, t->peak_braking_bar, 2, ""));
    return widget_wrap(&n->w, x, y, w, 3, WIDGET_SMALL, ink, text);
}

static void
draw_sign(struct panel_pen *n, int x, int y, int w, int row_px, int i, enum tally_state state)
{
    const struct tally_row *row = tally_row((enum tally_sign) i);
    const int size = n->u * 11 / 10;
    int at = x + size + n->u / 2;
    widget_tick(&n->w, x, y, size, state == TALLY_PRESENT ? 1 : state == TALLY_ABSENT ? 2 : 0);
    if (row->is_ticked) {
        at += widget_cap(&n->w, at, y, panel_keys_cap(PANEL_ON_VISIT, PANEL_DO_TICK, i)) + n->u / 2;
        panel_spot(n, (struct paint_rect){ x, y, w, row_px }, PANEL_DO_TICK, i);
    }
    panel_text(n, at, y, x + w - at,
               panel_ink(WIDGET_SMALL, state == TALLY_UNKNOWN ? n->w.theme->label : n->w.theme->figure), row->label);
}

#define BRIEF_LINES 4

/* brief_lines: what was measured as one text of at most so many lines; 0: a sign a line. is_drawn false: only measured.
 * Returns the y below. */
static int
draw(struct panel_pen *n, int x, int y, int w, const struct tally_view *v, int brief_lines, bool is_drawn)
{
    const bool is_brief = brief_lines > 0;
    const int row_px = n->u * (is_brief ? 14 : 15) / 10;
    const uint32_t figure = is_drawn ? n->w.theme->figure : WIDGET_MEASURE,
                   label = is_drawn ? n->w.theme->label : WIDGET_MEASURE;
    char text[3 * PANEL_WORDS_MAX];
    measured_words(n, v, text, sizeof text);
    if (is_brief)
        y += widget_wrap(&n->w, x, y, w, brief_lines, WIDGET_SMALL, figure, text);
    for (int i = 0; i < TALLY_COUNT; i++) {
        const bool is_ticked = tally_row((enum tally_sign) i)->is_ticked;
        if (!is_ticked && (is_brief || v->state[i] == TALLY_UNKNOWN))
            continue;
        if (is_drawn)
            draw_sign(n, x, y, w, row_px, i, v->state[i]);
        y += row_px;
    }
    if (v->heel_first != TALLY_UNKNOWN && !is_brief)
        y += panel_wrap(n, x, y, w, 1, panel_ink(WIDGET_SMALL, label),
                        v->heel_first == TALLY_PRESENT ? "Heel first: neutral, most runners land so."
                        : N_("Not heel first: neutral."));
    y += draw_braking(n, x, y, w, figure, v->of, is_brief);
    return y + panel_wrap(n, x, y, w, 4, panel_ink(WIDGET_SMALL, label), TALLY_SENTENCE);
}

void
panel_draw_tally(struct panel_pen *n, int x, int y, int w, int bottom_px, const struct tally *t,
                 const enum tally_state *ticks)
{
    struct tally_view v;
    char text[PANEL_WORDS_MAX], present[24], known[24];
    look(&v, t, ticks);
    PANEL_FILL(n, text, "Signs of overstriding: {1} of the {2} looked at", panel_count(present, v.n_present),
               panel_count(known, v.n_known));
    y = panel_heading(n, x, y, w, text);
    int lines = draw(n, x, y, w, &v, 0, false) > bottom_px ? BRIEF_LINES : 0;
    while (lines > 1 && draw(n, x, y, w, &v, lines, false) > bottom_px)
        lines--;
    draw(n, x, y, w, &v, lines, true);
}
