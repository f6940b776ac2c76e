#include "report/page_parts.h"

#include "base/str.h"

#include <math.h>

#define TURN 6.28318530717958648 /* radians */

static const struct paper_type MARK = { 7, PAPER_INK_FAINT, PAPER_LEFT, false, NULL };

void
page_mark(struct paper *p, double x, double y, enum paper_align align, const char *text)
{
    struct paper_type type = MARK;
    type.align = align;
    paper_set(p, x, y - 0.5 * paper_height(p, 0, &type, text), 0, &type, text);
}

void
page_plot_range(struct page_plot *p, double low, double high)
{
    if (!(low < high)) {
        low = isfinite(low) ? low - 1 : 0;
        high = low + 2;
    }
    p->low = low - 0.08 * (high - low);
    p->high = high + 0.08 * (high - low);
}

double
page_plot_y(const struct page_plot *p, double value)
{
    const double share = (value - p->low) / (p->high - p->low);
    return p->y + p->height * (1 - (share < 0 ? 0 : share > 1 ? 1 : share));
}

/* 1, 2 or 5 times a power of ten, so that about four marks fit. */
static double
mark_step(double span)
{
    const double raw = span / 4, ten = pow(10, floor(log10(raw)));
    return raw / ten >= 7 ? 10 * ten : raw / ten >= 3.5 ? 5 * ten : raw / ten >= 1.5 ? 2 * ten : ten;
}

void
page_plot_frame(struct paper *p, const struct page_plot *plot)
{
    char text[NUMBER_MAX];
    const double step = mark_step(plot->high - plot->low);
    cairo_set_line_width(p->cr, 0.5);
    paper_ink(p->cr, PAPER_INK_FAINT);
    cairo_rectangle(p->cr, plot->x, plot->y, plot->width, plot->height);
    cairo_stroke(p->cr);
    const int needed = step < 1 ? (int) ceil(-log10(step) - 1e-9) : 0;
    for (double v = ceil(plot->low / step) * step; v <= plot->high + 1e-9 * step; v += step) {
        const double y = page_plot_y(plot, v);
        cairo_move_to(p->cr, plot->x - 3, y);
        cairo_line_to(p->cr, plot->x, y);
        cairo_stroke(p->cr);
        page_mark(p, plot->x - 5, y, PAPER_RIGHT, phrase_number(p->words, text, v, needed));
    }
}

void
page_plot_stripe(struct paper *p, const struct page_plot *plot, double x, double width, double low, double high)
{
    const double top = isnan(high) ? plot->y : page_plot_y(plot, high);
    const double bottom = isnan(low) ? plot->y + plot->height : page_plot_y(plot, low);
    if (isnan(low) && isnan(high))
        return;
    cairo_set_antialias(p->cr, CAIRO_ANTIALIAS_NONE); /* no seams between neighbours */
    paper_ink(p->cr, PAPER_INK_BAND);
    cairo_rectangle(p->cr, x, top, width, bottom - top);
    cairo_fill(p->cr);
    paper_ink(p->cr, PAPER_INK_EDGE);
    if (!isnan(high))
        cairo_rectangle(p->cr, x, top, width, 0.5);
    if (!isnan(low))
        cairo_rectangle(p->cr, x, bottom - 0.5, width, 0.5);
    cairo_fill(p->cr);
    cairo_set_antialias(p->cr, CAIRO_ANTIALIAS_DEFAULT);
}

void
page_plot_dot(struct paper *p, const struct page_plot *plot, double x, double value, double radius, bool is_ring)
{
    paper_ink(p->cr, is_ring ? PAPER_INK_OTHER : PAPER_INK_RUN);
    cairo_new_sub_path(p->cr);
    cairo_arc(p->cr, x, page_plot_y(plot, value), radius, 0, TURN);
    is_ring ? cairo_stroke(p->cr) : cairo_fill(p->cr);
}

void
page_remarks(struct paper *p, const struct course *c)
{
    enum metric metrics[METRIC_COUNT];
    const int n = course_metrics(c, metrics);
    char line[PHRASE_MAX] = "", left_out[PHRASE_MAX] = "", part[COURSE_VISITS_TEXT_MAX + 200], visits[COURSE_VISITS_TEXT_MAX];
    char number[NUMBER_MAX];
    int n_again = 0;
    bool has_weights = false;
    for (int i = 0; i < c->n_visits; i++)
        n_again += c->visit[i].measurement.id != 0;
    if (n_again > 0)
        phrase_sentence(line, sizeof line,
                        PHRASE_COUNT(p->words, part, n_again,
                                     NP_("Measured again from the recording of {1} visit.", "Measured again from the recordings of {1} visits."),
                                     phrase_int(number, n_again)));
    for (int i = 0; i < n; i++) {
        has_weights |= str_begins_with(metric_info(metrics[i])->unit, "BW");
        if (!course_other_definitions(c, metrics[i], visits)[0])
            continue;
        str_append(left_out, sizeof left_out, left_out[0] ? phrase_in(p->words, "paper", "; ") : "");
        str_append(left_out, sizeof left_out,
                   PHRASE(p->words, part, N_("{1} of visits {2}"), metric_words_label(p->words, metrics[i]), visits));
    }
    if (left_out[0]) {
        char sentence[PHRASE_MAX];
        phrase_sentence(line, sizeof line, PHRASE(p->words, sentence, N_("Left out, for it is of another definition: {1}."), left_out));
    }
    if (has_weights)
        phrase_sentence(line, sizeof line, phrase(p->words, N_("BW: times this runner's body weight.")));
    p->y += 4;
    if (line[0])
        paper_say(p, &PAPER_SMALL, line);
}
