#include "cli/forcefile.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "base/fileio.h"
#include "base/str.h"

/* Cuts the line into fields in place; returns how many. Spaces and quotes around a field go. */
static int
split(char *line, char **field)
{
    int n = 0;
    char *s = line;
    while (n < FORCEFILE_MAX_COLUMNS) {
        char *end = s + strcspn(s, ",\r\n");
        bool is_last = *end != ',';
        *end = '\0';
        while (*s == ' ' || *s == '\t' || *s == '"')
            s++;
        for (char *tail = s + strlen(s); tail > s && (tail[-1] == ' ' || tail[-1] == '\t' || tail[-1] == '"');)
            *--tail = '\0';
        field[n++] = s;
        if (is_last)
            break;
        s = end + 1;
    }
    return n;
}

/* Reads a line: 1, 0 at the end, -1 when it is too long or holds a zero byte (no text file). */
static int
read_line(struct forcefile *f, char *line)
{
    if (fgets(line, FORCEFILE_LINE_MAX, f->file) == NULL) {
        if (ferror(f->file)) {
            message_tell(&f->why, MESSAGE_FORCEFILE_NOT_READ, message_path(f->path), message_errno(errno));
            return -1;
        }
        return 0;
    }
    f->line++;
    size_t len = strlen(line);
    if (len == 0 || (line[len - 1] != '\n' && !feof(f->file))) {
        message_tell(&f->why, MESSAGE_FORCEFILE_NO_TEXT, message_place(f->path, (int) f->line));
        return -1;
    }
    return 1;
}

static enum err
read_header(struct forcefile *f)
{
    char line[FORCEFILE_LINE_MAX], *field[FORCEFILE_MAX_COLUMNS];
    int got = read_line(f, line);
    if (got < 0)
        return ERR_FORMAT;
    if (got == 0) {
        message_tell(&f->why, MESSAGE_FORCEFILE_IS_EMPTY, message_path(f->path));
        return ERR_FORMAT;
    }
    if (strncmp(line, "\xef\xbb\xbf", 3) == 0) /* a byte order mark */
        memmove(line, line + 3, strlen(line + 3) + 1);
    int n = split(line, field);
    f->column_fz = f->column_copx = f->column_copy = f->column_t = -1;
    for (int i = 0; i < n; i++) {
        int *column = strcasecmp(field[i], "fz") == 0     ? &f->column_fz
                      : strcasecmp(field[i], "copx") == 0 ? &f->column_copx
                      : strcasecmp(field[i], "copy") == 0 ? &f->column_copy
                      : strcasecmp(field[i], "t") == 0    ? &f->column_t
                                                          : NULL;
        if (column != NULL && *column >= 0) {
            message_tell(&f->why, MESSAGE_FORCEFILE_COLUMN_TWICE, message_place(f->path, 1), field[i]);
            return ERR_FORMAT;
        }
        if (column != NULL)
            *column = i;
    }
    if (f->column_fz < 0) {
        message_tell(&f->why, MESSAGE_FORCEFILE_NO_FZ, message_place(f->path, 1));
        return ERR_FORMAT;
    }
    if (f->column_t < 0 && isnan(f->rate_hz)) {
        message_tell(&f->why, MESSAGE_FORCEFILE_NO_T, message_path(f->path));
        return ERR_USAGE;
    }
    return ERR_OK;
}

enum err
forcefile_open(struct forcefile *f, const char *path, double rate_hz)
{
    const char *reason;
    memset(f, 0, sizeof *f);
    f->path = path;
    f->rate_hz = rate_hz;
    f->first_t_s = f->last_t_s = NAN;
    f->file = fileio_open_plain(path, &reason);
    if (f->file == NULL) {
        message_tell(&f->why, MESSAGE_FORCEFILE_NOT_OPENED, message_path(path), message_word(reason));
        return ERR_OS;
    }
    enum err e = read_header(f);
    if (e != ERR_OK)
        forcefile_close(f);
    return e;
}

/* A number of the row; empty is NAN where is_optional. False: why is set. */
static bool
number_of(struct forcefile *f, char **field, int n, int column, const char *name, bool is_optional, double *out)
{
    *out = NAN;
    if (column < 0)
        return true;
    if (column >= n) {
        message_tell(&f->why, MESSAGE_FORCEFILE_FEW_FIELDS, message_place(f->path, (int) f->line), n, name);
        return false;
    }
    const char *text = field[column];
    if (*text == '\0' && is_optional)
        return true;
    if (*text == '\0') {
        message_tell(&f->why, MESSAGE_FORCEFILE_EMPTY_FIELD, message_place(f->path, (int) f->line), name);
        return false;
    }
    if (!str_to_double(text, out) && !(is_optional && strcasecmp(text, "nan") == 0)) {
        message_tell(&f->why, MESSAGE_FORCEFILE_NO_NUMBER, message_place(f->path, (int) f->line), text, name);
        return false;
    }
    return true;
}

int
forcefile_next(struct forcefile *f, struct frame *out)
{
    char line[FORCEFILE_LINE_MAX], *field[FORCEFILE_MAX_COLUMNS];
    int got;
    do
        got = read_line(f, line);
    while (got > 0 && line[strspn(line, " \t\r\n")] == '\0');
    if (got <= 0)
        return got;
    int n = split(line, field);
    double fz, copx, copy, t;
    if (!number_of(f, field, n, f->column_fz, "fz", false, &fz) ||
        !number_of(f, field, n, f->column_copx, "copx", true, &copx) ||
        !number_of(f, field, n, f->column_copy, "copy", true, &copy) ||
        !number_of(f, field, n, f->column_t, "t", false, &t))
        return -1;
    if (f->column_t < 0)
        t = (double) f->n_rows / f->rate_hz;
    if (f->n_rows > 0 && !(t > f->last_t_s)) {
        message_tell(&f->why, MESSAGE_FORCEFILE_NO_ORDER, message_place(f->path, (int) f->line),
                     message_real(f->last_t_s, MESSAGE_DIGITS_AS_NEEDED, MESSAGE_UNIT_S),
                     message_real(t, MESSAGE_DIGITS_AS_NEEDED, MESSAGE_UNIT_S));
        return -1;
    }
    if (fabs(t) > 1e9) {
        message_tell(&f->why, MESSAGE_FORCEFILE_FAR_T, message_place(f->path, (int) f->line), t);
        return -1;
    }
    if (f->n_rows == 0)
        f->first_t_s = t;
    f->last_t_s = t;
    f->n_rows++;
    *out = (struct frame) {
        .time = { units_us_from_s(t) },
        .kind = FRAME_KIND_FORCE,
        .force_n = fz,
        .cop_fwd_mm = copy,
        .cop_right_mm = copx,
    };
    return 1;
}

double
forcefile_rate_hz(const struct forcefile *f)
{
    if (!isnan(f->rate_hz))
        return f->rate_hz;
    return f->n_rows > 1 ? (double) (f->n_rows - 1) / (f->last_t_s - f->first_t_s) : (double) NAN;
}

void
forcefile_close(struct forcefile *f)
{
    if (f->file != NULL)
        fclose(f->file);
    f->file = NULL;
}
