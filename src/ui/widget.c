#include "ui/widget.h"

#include <stdio.h>
#include <string.h>

#include "base/str.h"

#define ELLIPSIS "\xE2\x80\xA6"

int
widget_px(const struct widget_pen *w, enum widget_size size)
{
    static const double shares[] = {
        [WIDGET_SMALL] = 0.82, [WIDGET_BODY] = 1, [WIDGET_TITLE] = 1.45, [WIDGET_FIGURE] = 2.6
    };
    return (int) (w->unit_px * shares[size] + 0.5);
}

int
widget_line_px(const struct widget_pen *w, enum widget_size size)
{
    return (int) (widget_px(w, size) * 1.4 + 0.5);
}

/* Cuts text at signs until it fits with an ellipsis. */
static void
cut(const struct widget_pen *w, int px, enum text_weight weight, char *text, size_t cap, int width_px)
{
    size_t len = strlen(text);
    if (text_width_px(w->text, px, weight, text) <= width_px)
        return;
    char with[WIDGET_MAX_TEXT + 4];
    do {
        while (len > 0 && (text[len - 1] & 0xC0) == 0x80)
            len--;
        if (len > 0)
            len--;
        snprintf(with, sizeof with, "%.*s" ELLIPSIS, (int) len, text);
    } while (len > 0 && text_width_px(w->text, px, weight, with) > width_px);
    str_copy(text, cap, with);
}

static void
note(const struct widget_pen *w, struct paint_rect r, bool is_button, bool is_cut, const char *text)
{
    struct widget_log *l = w->log;
    if (!l || l->n == WIDGET_LOG_MAX || !text[0])
        return;
    l->row[l->n].r = r;
    l->row[l->n].is_button = is_button;
    l->row[l->n].is_cut = is_cut;
    str_copy(l->row[l->n++].text, sizeof l->row[0].text, text);
}

int
widget_text(const struct widget_pen *w, int x_px, int y_px, int width_px, enum text_align align,
            enum widget_size size, bool is_bold, uint32_t rgb, const char *utf8)
{
    char text[WIDGET_MAX_TEXT];
    const int px = widget_px(w, size);
    const enum text_weight weight = is_bold ? TEXT_BOLD : TEXT_REGULAR;
    snprintf(text, sizeof text, "%s", utf8);
    cut(w, px, weight, text, sizeof text, width_px);
    const int x = align == TEXT_RIGHT ? x_px + width_px : align == TEXT_CENTRE ? x_px + width_px / 2 : x_px;
    const int width = text_draw(w->text, w->picture, x, y_px + px, align, px, weight, rgb, 1, text);
    const int left = align == TEXT_RIGHT ? x - width : align == TEXT_CENTRE ? x - width / 2 : x;
    note(w, (struct paint_rect){ left, y_px, width, px * 5 / 4 }, false, strcmp(text, utf8) != 0, utf8);
    return width;
}

/* Signs of Japanese, which may begin a line, but for those that close what is before them. */
static bool
may_begin_line(const char *utf8)
{
    static const char closing[] =
        "\xE3\x80\x81\xE3\x80\x82\xEF\xBC\x8C\xEF\xBC\x8E\xEF\xBC\x9A\xEF\xBC\x9B"
        "\xEF\xBC\x81\xEF\xBC\x9F\xEF\xBC\x89\xE3\x80\x8D\xE3\x80\x8F\xE3\x83\xBC"
        "\xE3\x83\xBB\xE3\x83\x83\xE3\x83\xA3\xE3\x83\xA5\xE3\x83\xA7\xE3\x81\xA3"
        "\xE3\x82\x83\xE3\x82\x85\xE3\x82\x87\xE3\x80\x85";
    if ((unsigned char) utf8[0] < 0xE3 || (unsigned char) utf8[0] > 0xEF)
        return false;
    for (const char *c = closing; *c; c += 3)
        if (strncmp(c, utf8, 3) == 0)
            return false;
    return true;
}

/* Bytes up to the next place after `from` where a line may end. */
static size_t
next_end(const char *text, size_t from)
{
    size_t end = from;
    while (text[end] && text[end] != ' ' && text[end] != '\n') {
        end++;
        if (may_begin_line(text + end))
            break;
    }
    return end;
}

/* The longest start of text that fits the width, at a blank or between two signs where there is one. */
static size_t
take_line(const struct widget_pen *w, int px, const char *text, int width_px)
{
    char line[WIDGET_MAX_TEXT];
    size_t best = 0, i = 0;
    for (;;) {
        const size_t end = next_end(text, i);
        snprintf(line, sizeof line, "%.*s", (int) end, text);
        if (best > 0 && text_width_px(w->text, px, TEXT_REGULAR, line) > width_px)
            return best;
        best = end;
        if (text[end] == '\0' || text[end] == '\n')
            return best;
        i = end + (text[end] == ' ');
    }
}

int
widget_wrap(const struct widget_pen *w, int x_px, int y_px, int width_px, int max_lines,
            enum widget_size size, uint32_t rgb, const char *utf8)
{
    const int px = widget_px(w, size), step_px = widget_line_px(w, size);
    int n = 0;
    for (const char *rest = utf8; *rest && n < max_lines; n++) {
        char line[WIDGET_MAX_TEXT];
        const size_t len = take_line(w, px, rest, width_px);
        const bool is_last = n == max_lines - 1 && rest[len];
        snprintf(line, sizeof line, "%.*s%s", (int) len, rest, is_last ? ELLIPSIS : "");
        if (rgb != WIDGET_MEASURE)
            widget_text(w, x_px, y_px + n * step_px, width_px, TEXT_LEFT, size, false, rgb, line);
        rest += len;
        rest += *rest == ' ' || *rest == '\n';
    }
    return n * step_px;
}

void
widget_frame(const struct widget_pen *w, struct paint_rect r, int line_px, uint32_t rgb)
{
    struct paint_picture *p = w->picture;
    paint_fill(p, (struct paint_rect){ r.x_px, r.y_px, r.w_px, line_px }, rgb, 1);
    paint_fill(p, (struct paint_rect){ r.x_px, r.y_px + r.h_px - line_px, r.w_px, line_px }, rgb, 1);
    paint_fill(p, (struct paint_rect){ r.x_px, r.y_px, line_px, r.h_px }, rgb, 1);
    paint_fill(p, (struct paint_rect){ r.x_px + r.w_px - line_px, r.y_px, line_px, r.h_px }, rgb, 1);
}

static int
line_px(const struct widget_pen *w)
{
    return w->unit_px >= 24 ? 2 : 1;
}

int
widget_cap_width_px(const struct widget_pen *w, const char *cap)
{
    const int px = widget_px(w, WIDGET_SMALL);
    const int width = text_width_px(w->text, px, TEXT_REGULAR, cap) + px;
    return width < px * 2 ? px * 2 : width;
}

int
widget_cap(const struct widget_pen *w, int x_px, int y_px, const char *cap)
{
    const int px = widget_px(w, WIDGET_SMALL);
    const struct paint_rect r = { x_px, y_px, widget_cap_width_px(w, cap), px + px / 2 + 2 };
    paint_fill(w->picture, r, w->theme->track, 1);
    /* The lower edge is thicker, as a key's is. */
    paint_fill(w->picture,
               (struct paint_rect){ r.x_px, r.y_px + r.h_px - 2 * line_px(w), r.w_px, 2 * line_px(w) },
               w->theme->rule, 1);
    widget_text(w, r.x_px, r.y_px + px / 8, r.w_px, TEXT_CENTRE, WIDGET_SMALL, false, w->theme->figure, cap);
    return r.w_px;
}

void
widget_button(const struct widget_pen *w, struct paint_rect r, const char *cap, const char *label, bool is_on)
{
    const int px = widget_px(w, WIDGET_BODY), pad = w->unit_px / 2;
    paint_fill(w->picture, r, is_on ? w->theme->stripe : w->theme->panel, 1);
    widget_frame(w, r, line_px(w), is_on ? w->theme->stripe_edge : w->theme->rule);
    note(w, r, true, false, label);
    int x = r.x_px + pad;
    if (cap && cap[0])
        x += widget_cap(w, x, r.y_px + (r.h_px - (widget_px(w, WIDGET_SMALL) * 3 / 2 + 2)) / 2, cap) + pad;
    widget_text(w, x, r.y_px + (r.h_px - px) / 2 - px / 8, r.x_px + r.w_px - x - pad / 2, TEXT_LEFT,
                WIDGET_BODY, is_on, w->theme->figure, label);
}

void
widget_field(const struct widget_pen *w, struct paint_rect r, const char *label, const char *typed,
             const char *hint, const char *why, bool has_caret)
{
    const int u = w->unit_px, body = widget_px(w, WIDGET_BODY);
    const bool is_wrong = why && why[0];
    widget_text(w, r.x_px, r.y_px, r.w_px, TEXT_LEFT, WIDGET_SMALL, false, w->theme->label, label);
    const struct paint_rect box = { r.x_px, r.y_px + widget_line_px(w, WIDGET_SMALL), r.w_px, body * 2 };
    paint_fill(w->picture, box, w->theme->panel, 1);
    widget_frame(w, box, has_caret ? 2 * line_px(w) : line_px(w),
                 is_wrong    ? w->theme->look[THEME_ABOVE].rgb
                 : has_caret ? w->theme->stripe_edge
                             : w->theme->rule);
    /* The end of a long text is what is being typed. */
    const char *from = typed;
    while (*from && text_width_px(w->text, body, TEXT_REGULAR, from) > box.w_px - 2 * u)
        do
            from++;
        while ((*from & 0xC0) == 0x80);
    const int width = widget_text(w, box.x_px + u / 2, box.y_px + body / 2 - body / 8, box.w_px - u,
                                  TEXT_LEFT, WIDGET_BODY, false, w->theme->figure, from);
    if (has_caret)
        paint_fill(
            w->picture,
            (struct paint_rect){ box.x_px + u / 2 + width + 2, box.y_px + body / 2, 2 * line_px(w), body },
            w->theme->figure, 1);
    char below[WIDGET_MAX_TEXT];
    snprintf(below, sizeof below, "%s%s", is_wrong ? "! " : "", is_wrong ? why : hint ? hint : "");
    widget_text(w, r.x_px, box.y_px + box.h_px + u / 6, r.w_px, TEXT_LEFT, WIDGET_SMALL, is_wrong,
                is_wrong ? w->theme->look[THEME_ABOVE].rgb : w->theme->stale, below);
}

void
widget_row(const struct widget_pen *w, struct paint_rect r, bool is_chosen)
{
    if (!is_chosen)
        return;
    paint_fill(w->picture, r, w->theme->stripe, 1);
    paint_fill(w->picture, (struct paint_rect){ r.x_px, r.y_px, w->unit_px / 4, r.h_px },
               w->theme->stripe_edge, 1);
}

void
widget_tick(const struct widget_pen *w, int x_px, int y_px, int size_px, int state)
{
    const struct paint_rect r = { x_px, y_px, size_px, size_px };
    const double x = x_px, y = y_px, s = size_px, line = size_px / 7.0 + 1;
    paint_fill(w->picture, r, w->theme->panel, 1);
    widget_frame(w, r, line_px(w), w->theme->rule);
    if (state == 1) {
        const struct paint_point mark[] = { { x + 0.22 * s, y + 0.52 * s },
                                            { x + 0.42 * s, y + 0.74 * s },
                                            { x + 0.80 * s, y + 0.26 * s } };
        paint_polyline(w->picture, mark, 3, line, w->theme->figure, 1);
    } else if (state == 2)
        paint_line(w->picture, (struct paint_point){ x + 0.28 * s, y + 0.5 * s },
                   (struct paint_point){ x + 0.72 * s, y + 0.5 * s }, line, w->theme->label, 1);
}
