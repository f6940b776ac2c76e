/* forcefile.h - reads a force trace (CSV) frame by frame: what a force plate wrote.
 *
 * In:  a header row, then one row a sample. Columns by name: fz (N, up positive) is required; copx (mm, right
 *      positive), copy (mm, forward positive) and t (s) are optional; others are ignored. An empty COP is
 *      unknown; an empty, non-numeric or not finite fz or t is an error with its line.
 * Out: frames of FRAME_KIND_FORCE. Times are t, or the row's number over the rate where there is no t.
 * Memory: the struct; a row is at most FORCEFILE_LINE_MAX bytes.  Threads: one at a time per file.
 * Errors: why names file and line.
 */
#ifndef CLI_FORCEFILE_H
#define CLI_FORCEFILE_H

#include "base/err.h"
#include "base/message.h"
#include "sense/frame.h"

#include <stdio.h>

#define FORCEFILE_LINE_MAX 4096
#define FORCEFILE_MAX_COLUMNS 128

struct forcefile {
    FILE *file;              /* owned */
    const char *path;        /* must outlive */
    long line;               /* of the row read last; 1 is the header */
    long n_rows;
    int column_fz, column_copx, column_copy, column_t; /* -1 = not there */
    double rate_hz;          /* as given; NAN = from t */
    double first_t_s, last_t_s;
    struct message why;
};

/* rate_hz: nominal sampling rate or NAN when the file has a column t. ERR_OS: can't be read. ERR_FORMAT: no such
 * table. ERR_USAGE: neither rate nor t. On error nothing is left open. */
enum err forcefile_open(struct forcefile *f, const char *path, double rate_hz);

/* The next sample: 1 filled in, 0 end of file, -1 bad row (why). */
int forcefile_next(struct forcefile *f, struct frame *out);

/* Rows over time, Hz; of the rows read so far. NAN before the second row of a file with t. */
double forcefile_rate_hz(const struct forcefile *f);

void forcefile_close(struct forcefile *f);

#endif
