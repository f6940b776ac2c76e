#include <math.h>
#include <stdio.h>
#include <string.h>

#include "runner/screen_parts.h"

int
screen_write(struct screen *s, int x_px, int baseline_px, enum text_align align, struct screen_type type,
             const char *utf8)
{
    return text_draw(&s->canvas->text, &s->canvas->picture, x_px, baseline_px, align, type.type_px, type.weight, type.rgb,
                     1.0, utf8);
}

int
screen_width(struct screen *s, int type_px, enum text_weight w, const char *utf8)
{
    return text_width_px(&s->canvas->text, type_px, w, utf8);
}

/* Baseline that puts digits of that size in the middle of r. */
int
screen_middle(struct screen *s, struct paint_rect r, int type_px, enum text_weight w)
{
    return r.y_px + (r.h_px + text_digit_height_px(&s->canvas->text, type_px, w)) / 2;
}

/* r cut in horizontal bands: the part from share a to share b of its height. */
struct paint_rect
screen_band(struct paint_rect r, double a, double b)
{
    int y0 = (int) lround(r.y_px + a * r.h_px), y1 = (int) lround(r.y_px + b * r.h_px);
    return (struct paint_rect){ r.x_px, y0, r.w_px, y1 - y0 };
}

void
screen_centre_line(struct screen *s, struct paint_rect r, int type_px, enum text_weight w, uint32_t rgb,
                   const char *utf8)
{
    screen_write(s, r.x_px + r.w_px / 2, screen_middle(s, r, type_px, w), TEXT_CENTRE,
                 (struct screen_type){ type_px, w, rgb }, utf8);
}

/* Bytes of utf8 that fit width_px, cut at a space (or, where there is none, between signs). */
static int
screen_line_len(struct screen *s, int type_px, enum text_weight w, const char *utf8, int width_px)
{
    char line[WORDS_SENTENCE_MAX + 8];
    int fits = 0, total = (int) strlen(utf8);
    for (int i = 1; i <= total && i < (int) sizeof line; i++) {
        bool is_start = (utf8[i] & 0xC0) != 0x80;
        bool is_cut = i == total || utf8[i] == ' ' || (is_start && (unsigned char) utf8[i] >= 0xE3);
        if (!is_cut)
            continue;
        memcpy(line, utf8, (size_t) i);
        line[i] = '\0';
        if (screen_width(s, type_px, w, line) > width_px)
            break;
        fits = i;
    }
    return fits > 0 ? fits : total;
}

static int
screen_count_lines(struct screen *s, int type_px, enum text_weight w, const char *utf8, int width_px)
{
    int n = 0;
    for (const char *at = utf8; *at != '\0'; n++) {
        at += screen_line_len(s, type_px, w, at, width_px);
        at += *at == ' ' ? 1 : 0;
    }
    return n;
}

/* Draws a sentence in as many lines as it needs, centred in r; smaller until it fits. */
void
screen_paragraph(struct screen *s, struct paint_rect r, int type_px, enum text_align align,
                 enum text_weight w, uint32_t rgb, const char *utf8)
{
    char line[WORDS_SENTENCE_MAX + 8];
    int n = screen_count_lines(s, type_px, w, utf8, r.w_px);
    while (type_px > 10 && n * type_px * 13 / 10 > r.h_px) {
        type_px = type_px * 8 / 10;
        n = screen_count_lines(s, type_px, w, utf8, r.w_px);
    }
    int step = type_px * 13 / 10;
    int digit = text_digit_height_px(&s->canvas->text, type_px, w);
    int baseline = r.y_px + (r.h_px - (n - 1) * step + digit) / 2;
    int x = align == TEXT_LEFT ? r.x_px : r.x_px + r.w_px / 2;
    /* Lines of about the same length: as narrow as the same number of lines allows. */
    while (r.w_px > 4 * type_px && screen_count_lines(s, type_px, w, utf8, r.w_px * 24 / 25) == n)
        r.w_px = r.w_px * 24 / 25;
    for (const char *at = utf8; *at != '\0'; baseline += step) {
        int len = screen_line_len(s, type_px, w, at, r.w_px);
        snprintf(line, sizeof line, "%.*s", len, at);
        screen_write(s, x, baseline, align, (struct screen_type){ type_px, w, rgb }, line);
        at += len;
        at += *at == ' ' ? 1 : 0;
    }
}
