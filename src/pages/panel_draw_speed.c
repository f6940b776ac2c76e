/* panel_draw_speed.c - the belt's speed on the visit page, and the field that it is typed into. */
#include "base/mark.h"
#include "pages/panel_parts.h"

#include <math.h>
#include <stdio.h>

#define KMH_PER_M_S 3.6

static void
speed_text(const struct panel_pen *n, char out[PANEL_WORDS_MAX])
{
    const struct panel *p = n->p;
    const bool is_usual = !p->open.is_speed_entered && !isnan(p->open.speed_m_s);
    char m_s[24], km_h[24];
    panel_words_fill(n->words, out, PANEL_WORDS_MAX, is_usual ? "{1} m/s, {2} km/h, the usual" : N_("{1} m/s, {2} km/h"),
                     (const char *const[]){ panel_number(n, m_s, p->open.speed_m_s, 1, ""),
                                            panel_number(n, km_h, KMH_PER_M_S * p->open.speed_m_s, 1, "") },
                     2);
}

/* "measured", the speed, or what needs one. */
static int
draw_words(struct panel_pen *n, int x, int y, int w, bool is_drawn)
{
    const struct panel *p = n->p;
    const bool is_known = panel_speed_is_measured(p) || !isnan(p->open.speed_m_s);
    char text[PANEL_WORDS_MAX] = "";
    if (!panel_speed_is_measured(p))
        speed_text(n, text);
    const char *words = panel_speed_is_measured(p) ? N_("measured by the mat")
                        : is_known ? text
                                   : N_("Not entered. Landing ahead, strike index and plans in % of the usual speed need it.");
    const uint32_t rgb = !is_drawn  ? WIDGET_MEASURE
                         : is_known ? n->w.theme->figure
                                    : n->w.theme->look[THEME_ABOVE].rgb;
    return panel_wrap(n, x, y, w, is_known ? 1 : 3, panel_ink(is_known ? WIDGET_BODY : WIDGET_SMALL, rgb), words);
}

int
panel_speed_px(struct panel_pen *n, int w)
{
    const int buttons = panel_speed_is_measured(n->p) ? 0 : n->u * 11 / 4;
    return widget_line_px(&n->w, WIDGET_SMALL) + n->u / 2 + draw_words(n, 0, 0, w, false) + buttons;
}

void
panel_draw_speed(struct panel_pen *n, struct paint_rect r)
{
    const int bh = n->u * 9 / 4, gap = n->u / 2, bw = (r.w_px - 2 * gap) / 3;
    int y = panel_heading(n, r.x_px, r.y_px, r.w_px, "Belt speed");
    y += draw_words(n, r.x_px, y, r.w_px, true) + n->u / 4;
    if (panel_speed_is_measured(n->p))
        return;
    panel_button(n, (struct paint_rect){ r.x_px, y, bw, bh }, PANEL_DO_SLOWER, 0, N_("Slower"), false);
    panel_button(n, (struct paint_rect){ r.x_px + bw + gap, y, bw, bh }, PANEL_DO_FASTER, 0, N_("Faster"), false);
    panel_button(n, (struct paint_rect){ r.x_px + 2 * (bw + gap), y, bw, bh }, PANEL_DO_SPEED, 0, N_("Type"), isnan(n->p->open.speed_m_s));
}

void
panel_draw_typed_speed(struct panel_pen *n)
{
    const struct paint_rect r = panel_sheet(n, 40 * n->u, 18 * n->u, "Belt speed");
    widget_field(&n->w, (struct paint_rect){ r.x_px, r.y_px, r.w_px, 5 * n->u }, panel_word(n, "Belt speed, m/s"), n->p->ask.typed,
                 panel_word(n, "as the treadmill shows it; km/h divided by 3.6"), "", true);
    panel_yes_no(n, r, N_("Take it"), N_("No"), true);
}
