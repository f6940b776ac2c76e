/* panel_parts.c - what every page is drawn with: words, figures, spots, buttons, sheets. Calls no page. */
#include "pages/panel_parts.h"

#include "base/log.h"
#include "base/mark.h"
#include "base/message_words.h"
#include "base/str.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

const char *
panel_word(const struct panel_pen *n, const char *english)
{
    return panel_words_of(n->words, english);
}

const char *
panel_told(const struct panel_pen *n, const struct message *m, char out[PANEL_TOLD_MAX])
{
    return message_words(m, n->words ? &n->words->catalogue : NULL, out, PANEL_TOLD_MAX);
}

struct panel_ink
panel_ink(enum widget_size size, uint32_t rgb)
{
    return (struct panel_ink){ size, rgb, false, TEXT_LEFT };
}

struct panel_ink
panel_bold(enum widget_size size, uint32_t rgb)
{
    return (struct panel_ink){ size, rgb, true, TEXT_LEFT };
}

int
panel_text(struct panel_pen *n, int x, int y, int w, struct panel_ink ink, const char *english)
{
    return widget_text(&n->w, x, y, w, ink.align, ink.size, ink.is_bold, ink.rgb, panel_word(n, english));
}

int
panel_wrap(struct panel_pen *n, int x, int y, int w, int max_lines, struct panel_ink ink, const char *english)
{
    return widget_wrap(&n->w, x, y, w, max_lines, ink.size, ink.rgb, panel_word(n, english));
}

const char *
panel_count(char text[24], int n)
{
    snprintf(text, 24, "%d", n);
    return text;
}

/* What does not fit can't be touched: the fault is ours, and a visit may be under way, so it is logged and not asserted. */
static void
add_spot(struct panel_spots *spots, const struct panel_spot *spot)
{
    if (spots->n < PANEL_MAX_SPOTS)
        spots->spot[spots->n++] = *spot;
    else
        log_note("panel: more than %d places to be touched: action %d, number %d is left out", PANEL_MAX_SPOTS, spot->action,
                 spot->number);
}

void
panel_spot(struct panel_pen *n, struct paint_rect r, enum panel_action action, int number)
{
    const struct panel_spot spot = { r.x_px, r.y_px, r.w_px, r.h_px, action, number, -1, PANEL_EDGE_NONE };
    add_spot(&n->p->spots, &spot);
}

void
panel_spot_edge(struct panel_pen *n, struct paint_rect r, int target, enum panel_edge edge)
{
    const struct panel_spot spot = { r.x_px, r.y_px, r.w_px, r.h_px, PANEL_DO_NOTHING, 0, target, edge };
    add_spot(&n->p->spots, &spot);
}

void
panel_button(struct panel_pen *n, struct paint_rect r, enum panel_action action, int number,
             const char *label, bool is_on)
{
    widget_button(&n->w, r, panel_keys_cap(n->p->context, action, number), panel_word(n, label), is_on);
    panel_spot(n, r, action, number);
}

int
panel_heading(struct panel_pen *n, int x, int y, int w, const char *text)
{
    panel_text(n, x, y, w, panel_bold(WIDGET_SMALL, n->w.theme->label), text);
    y += widget_line_px(&n->w, WIDGET_SMALL);
    paint_fill(n->w.picture, (struct paint_rect){ x, y, w, 1 }, n->w.theme->rule, 1);
    return y + n->u / 2;
}

int
panel_pair(struct panel_pen *n, int x, int y, int w, const char *label, const char *value)
{
    const int left = w * 3 / 10;
    panel_text(n, x, y, left, panel_ink(WIDGET_BODY, n->w.theme->label), label);
    panel_text(n, x + left, y, w - left, panel_ink(WIDGET_BODY, n->w.theme->figure), value);
    return y + widget_line_px(&n->w, WIDGET_BODY);
}

const char *
panel_metric_label(enum metric m)
{
    switch ((int) m) {
    case METRIC_CADENCE_SPM:
        return N_("cadence, steps/min");
    case METRIC_CONTACT_MS:
        return N_("contact, ms");
    case METRIC_FLIGHT_MS:
        return N_("flight, ms");
    case METRIC_LANDING_AHEAD_MM:
        return N_("landing ahead, mm");
    case METRIC_AHEAD_AT_LOAD_MM:
        return N_("ahead at load, mm");
    case METRIC_LOAD_RATE_BW_S:
        return N_("loading rate, BW/s");
    case METRIC_LOAD_RATE_MAX_BW_S:
        return N_("steepest load, BW/s");
    case METRIC_STRIKE_INDEX_PCT:
        return N_("strike index, %");
    case METRIC_PEAK_FORCE_BW:
        return N_("peak force, BW");
    case METRIC_BRAKING_IMPULSE_BW_S:
        return N_("braking, mBW s");
    case METRIC_PEAK_BRAKING_BW:
        return N_("peak braking, BW");
    case METRIC_COM_DROP_MM:
        return N_("body drop, mm");
    case METRIC_IMPACT_TRANSIENT:
        return N_("transient, share");
    case METRIC_WHOLE_FOOT_AT_LOAD:
        return N_("whole foot, share");
    case METRIC_ASYM_STEP_TIME_PCT:
        return N_("left-right, step time, %");
    case METRIC_ASYM_CONTACT_PCT:
        return N_("left-right, contact, %");
    default:
        return metric_info(m)->name;
    }
}

const char *
panel_number(const struct panel_pen *n, char text[24], double value, int digits, const char *unit)
{
    if (!isfinite(value))
        snprintf(text, 24, PANEL_DASH);
    else
        snprintf(text, 24, "%.*f%s", digits, value, unit);
    str_set_decimal(text, 24, panel_words_decimal(n->words));
    return text;
}

double
panel_scale(enum metric m)
{
    return m == METRIC_BRAKING_IMPULSE_BW_S ? 1000 : 1;
}

static int
digits_of(enum metric m)
{
    const double step = panel_nudge_step(m) * panel_scale(m);
    return step >= 1 ? 0 : step >= 0.05 ? 1 : 2;
}

const char *
panel_value(const struct panel_pen *n, char text[24], enum metric m, double value)
{
    return panel_number(n, text, value * panel_scale(m), digits_of(m), "");
}

const char *
panel_percent(const struct panel_pen *n, char text[24], double pct)
{
    snprintf(text, 24, "%+.1f %%", pct);
    str_set_decimal(text, 24, panel_words_decimal(n->words));
    return text;
}

const char *
panel_change(const struct panel_pen *n, char text[24], enum metric m, double value)
{
    if (!isfinite(value))
        snprintf(text, 24, PANEL_DASH);
    else {
        snprintf(text, 24, "%+.*f", digits_of(m) + 1, value * panel_scale(m));
        if (strspn(text + 1, "0.") == strlen(text + 1)) /* neither +0 nor -0 */
            memmove(text, text + 1, strlen(text));
        str_set_decimal(text, 24, panel_words_decimal(n->words));
    }
    return text;
}

const char *
panel_block_name(enum verdict_block b)
{
    static const char *const names[] = {
        [VERDICT_BLOCK_FREE] = N_("Free running"),
        [VERDICT_BLOCK_WARM_UP] = N_("Warm-up"),
        [VERDICT_BLOCK_BASELINE] = N_("Baseline, silent"),
        [VERDICT_BLOCK_COACHED] = N_("Coached"),
        [VERDICT_BLOCK_SILENT] = N_("Silent"),
        [VERDICT_BLOCK_COOL_DOWN] = N_("Cool-down"),
        [VERDICT_BLOCK_PAUSED] = "Paused",
        [VERDICT_BLOCK_ENDED] = N_("Ended"),
    };
    return names[b];
}

/* ---------------------------------------------------------------- over a page */

struct paint_rect
panel_sheet(struct panel_pen *n, int w, int h, const char *title)
{
    const struct paint_picture *pic = n->w.picture;
    const int top = 3 * n->u + 1, bottom = n->body.y_px + n->body.h_px + widget_line_px(&n->w, WIDGET_BODY);
    if (w > pic->width_px - 2 * n->u)
        w = pic->width_px - 2 * n->u;
    const struct paint_rect r = { (pic->width_px - w) / 2, top + (bottom - top - h) / 2, w, h };
    paint_fill(n->w.picture, (struct paint_rect){ 0, top, pic->width_px, bottom - top }, n->w.theme->ground,
               0.82);
    paint_fill(n->w.picture, r, n->w.theme->ground, 1);
    widget_frame(&n->w, r, n->u >= 24 ? 3 : 2, n->w.theme->stripe_edge);
    panel_text(n, r.x_px + n->u * 3 / 2, r.y_px + n->u, r.w_px - 3 * n->u,
               panel_bold(WIDGET_TITLE, n->w.theme->figure), title);
    /* Nothing below the sheet can be touched. */
    int n_kept = 0;
    for (int i = 0; i < n->p->spots.n; i++)
        if (n->p->spots.spot[i].y_px >= bottom)
            n->p->spots.spot[n_kept++] = n->p->spots.spot[i];
    n->p->spots.n = n_kept;
    return (struct paint_rect){ r.x_px + n->u * 3 / 2, r.y_px + n->u * 7 / 2, r.w_px - 3 * n->u,
                                r.h_px - 5 * n->u };
}

void
panel_yes_no(struct panel_pen *n, struct paint_rect r, const char *yes, const char *no, bool is_yes_usual)
{
    const int h = n->u * 5 / 2, y = r.y_px + r.h_px - h, w = (r.w_px - n->u) / 2;
    panel_button(n, (struct paint_rect){ r.x_px, y, w, h }, PANEL_DO_YES, 0, yes, is_yes_usual);
    panel_button(n, (struct paint_rect){ r.x_px + w + n->u, y, w, h }, PANEL_DO_NO, 0, no, !is_yes_usual);
}
