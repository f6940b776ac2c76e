/* page_parts.h - inside report/ only: plots and sentences that the pages share. */
#ifndef REPORT_PAGE_PARTS_H
#define REPORT_PAGE_PARTS_H

#include "base/message.h"
#include "report/course.h"
#include "report/metric_words.h"
#include "paper/paper.h"

/* A small text of a plot: middle at y. */
void page_mark(struct paper *p, double x, double y, enum paper_align align, const char *text);

/* A frame with a value axis from low to high: rounded marks at the left. */
struct page_plot {
    double x, y, width, height; /* of the frame, points */
    double low, high;
};

/* Makes room above and below what is to be shown; something where there is nothing. */
void page_plot_range(struct page_plot *p, double low, double high);
void page_plot_frame(struct paper *p, const struct page_plot *plot);
double page_plot_y(const struct page_plot *p, double value); /* clamped into the frame */
/* The target from low to high (NAN: open), from x on so wide. */
void page_plot_stripe(struct paper *p, const struct page_plot *plot, double x, double width, double low, double high);
/* A disc, or a ring. */
void page_plot_dot(struct paper *p, const struct page_plot *plot, double x, double value, double radius, bool is_ring);

/* What closes every page: which figures are left out and why (course_other_definitions()), which visits were measured again,
 * what BW is. */
void page_remarks(struct paper *p, const struct course *c);

/* The foot of every page. */
#define PAGE_FOOT N_("Not a medical device, no diagnosis: the treating clinician decides.")

#endif
