/* metric_words.h - what a metric is called in a report for people: name, unit, digits. */
#ifndef REPORT_METRIC_WORDS_H
#define REPORT_METRIC_WORDS_H

#include "base/metric.h"
#include "paper/phrase.h"

/* w: words, NULL: English. A metric that no page shows keeps its name in tables. */
const char *metric_words_label(const struct catalogue *w, enum metric m);
const char *metric_words_unit(const struct catalogue *w, enum metric m);
int metric_words_digits(enum metric m);

/* "Cadence, steps/min". Gives out. */
#define METRIC_WORDS_TITLE_MAX 160
const char *metric_words_title(const struct catalogue *w, enum metric m, char out[METRIC_WORDS_TITLE_MAX]);

/* A value as metric_words_digits() has it, shares in per cent. Gives out. */
const char *metric_words_value(const struct catalogue *w, char out[NUMBER_MAX], enum metric m, double value);

#endif
