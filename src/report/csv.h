/* csv.h - the step table of `underfoot steps` and of the exports, column for column.
 *
 * In:  step records.
 * Out: lines of comma-separated values, a point in numbers in every locale, LF at the end.
 *      Missing is empty. side: left, right; strike_zone: rear, mid, fore, border; impact_transient: yes, no;
 *      flags: words joined by `;` (store/names.h). None of these holds a comma or a quote: none is quoted. What people
 *      wrote is (csv_text): in quotes, and behind a ' where a spreadsheet would take it for a formula. Numbers stay numbers.
 * Errors: the stream's own; ask ferror().
 */
#ifndef REPORT_CSV_H
#define REPORT_CSV_H

#include "gait/step.h"

#include <stdio.h>

void csv_header(FILE *f);

/* The same without the end of the line: for tables that have columns after these. */
void csv_names(FILE *f);
void csv_fields(FILE *f, const struct step *s, double time_zero_s);

/* As many empty values as csv_fields() has. */
void csv_no_fields(FILE *f);

/* A text as one value: in quotes (RFC 4180), each quote in it twice; one that begins with = + - @ or a tab, which
 * spreadsheets calculate, behind a '. NULL or "": nothing. */
void csv_text(FILE *f, const char *text);

/* time_zero_s: what the table's clock reads at device time 0, for the touchdown_s and toeoff_s columns. */
void csv_step(FILE *f, const struct step *s, double time_zero_s);

#endif
