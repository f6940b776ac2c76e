#include "base/fileio.h"
#include "base/str.h"
#include "setup/calib_file.h"

#include <errno.h>
#include <ini.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define LINE_CHARS 150 /* a line of element values is broken before it gets longer */

static const enum calib_group GROUP[CALIB_N_WHATS] = { CALIB_OFFSETS, CALIB_GAIN, CALIB_GAIN,
                                                       CALIB_ELEMENTS };

static void
about_path(struct message *why, enum message_code code, const char *path)
{
    message_tell(why, code, message_path(path));
}

static void
not_opened(struct message *why, const char *path, const char *reason)
{
    message_tell(why, MESSAGE_CALIB_NOT_OPENED, message_path(path), message_word(reason));
}

/* ------------------------------------------------------------------ reading */

struct loader {
    const char *path;
    const int *only;
    struct sense_profile *profile;
    struct calib_state *state;
    struct calib_history *history;
    struct message *why;
    FILE *f;
    int line;
    bool is_bad;
    struct calib_entry now; /* the section that is read; number 0 before the first */
};

/* Refuses the line that is read. value: what stands there, NULL when the message has no place for it. */
static int
refuse(struct loader *l, enum message_code code, const char *value)
{
    if (!l->is_bad) {
        if (value)
            message_tell(l->why, code, message_place(l->path, l->line), value);
        else
            message_tell(l->why, code, message_place(l->path, l->line));
    }
    l->is_bad = true;
    return 0;
}

static char *
read_line(char *out, int cap, void *user)
{
    struct loader *l = user;
    bool is_hidden;
    if (fileio_line(out, cap, l->f, &is_hidden) == NULL)
        return NULL;
    l->line++;
    if (is_hidden)
        refuse(l, MESSAGE_INI_NO_INI_LINE, NULL);
    return out;
}

static bool
is_taken(const struct loader *l)
{
    return l->only != NULL ? l->only[GROUP[l->now.what]] == l->now.number : !l->now.is_undone;
}

/* Puts what was read of the present section where it belongs. */
static void
note_section(struct loader *l)
{
    struct calib_history *h = l->history;
    if (l->now.number == 0)
        return;
    const enum calib_group group = GROUP[l->now.what];
    if (is_taken(l)) {
        l->state->number[group] = l->now.number;
        l->state->in_force[group] = l->now;
    }
    if (h == NULL)
        return;
    if (h->n == CALIB_FILE_MAX_ENTRIES) {
        memmove(h->entry, h->entry + 1, sizeof h->entry - sizeof h->entry[0]);
        h->n--;
        h->n_older++;
    }
    h->entry[h->n++] = l->now;
    h->last_number = l->now.number;
}

static bool
begin_section(struct loader *l, const char *section)
{
    const bool is_undone = str_begins_with(section, "undone ");
    const char *number = strchr(section, ' ');
    int64_t v;
    if ((!is_undone && !str_begins_with(section, "calibration ")) || !str_to_i64(number, &v) || v < 1 ||
        v > 1000000)
        return false;
    if (v == l->now.number)
        return l->now.is_undone == is_undone;
    if (v < l->now.number)
        return false;
    if (l->now.number != 0 && l->now.what == CALIB_N_WHATS) {
        refuse(l, MESSAGE_CALIB_WHAT_IS_MISSING, NULL);
        return false;
    }
    note_section(l);
    l->now = (struct calib_entry){ .number = (int) v,
                                   .what = CALIB_N_WHATS,
                                   .is_undone = is_undone,
                                   .mass_kg = NAN,
                                   .drift_pct = NAN,
                                   .moved_n = NAN,
                                   .spread_pct = NAN };
    return true;
}

static int
read_numbers(struct loader *l, const char *value, int n, double *first, size_t step_bytes)
{
    char word[40];
    int i = 0;
    for (const char *at = value; *at != 0; i++) {
        const size_t len = strcspn(at, " ");
        double v;
        snprintf(word, sizeof word, "%.*s", (int) (len < sizeof word ? len : sizeof word - 1), at);
        if (i == n || !str_to_double(word, &v))
            return refuse(l, MESSAGE_CALIB_WRONG_COUNT, value);
        memcpy((char *) first + (size_t) i * step_bytes, &v, sizeof v);
        at += len;
        at += strspn(at, " ");
    }
    return i == n ? 1 : refuse(l, MESSAGE_CALIB_WRONG_COUNT, value);
}

static int
read_elements(struct loader *l, const char *value, double min, double max, float *out)
{
    enum message_code fault;
    if (l->profile->kind != FRAME_KIND_MAT)
        return refuse(l, MESSAGE_CALIB_ONLY_MAT, NULL);
    return profile_read_elements(l->profile, value, min, max, out, &fault) ? 1 : refuse(l, fault, value);
}

static int
read_figure(struct loader *l, const char *value, double *out)
{
    return str_to_double(value, out) ? 1 : refuse(l, MESSAGE_PROFILE_NO_NUMBER, value);
}

/* Values, of a section that is in force. */
static int
read_values(struct loader *l, const char *name, const char *value)
{
    struct sense_profile *p = l->profile;
    static const char *const known[] = { "cell_offset_counts",    "zone_offset_counts",
                                         "cell_gain_n_per_count", "gain_n_per_count",
                                         "element_offset_counts", "element_gain" };
    bool is_known = false;
    for (size_t i = 0; i < sizeof known / sizeof *known; i++)
        is_known |= strcmp(name, known[i]) == 0;
    if (!is_known)
        return refuse(l, MESSAGE_CALIB_NO_KEY, name);
    if (!is_taken(l))
        return 1;
    if (strcmp(name, "cell_offset_counts") == 0)
        return read_numbers(l, value, p->n_cells, &p->cell[0].offset_counts, sizeof p->cell[0]);
    if (strcmp(name, "cell_gain_n_per_count") == 0)
        return read_numbers(l, value, p->n_cells, &p->cell[0].gain_n_per_count, sizeof p->cell[0]);
    if (strcmp(name, "zone_offset_counts") == 0)
        return read_numbers(l, value, p->n_zones, &p->zone[0].offset_counts, sizeof p->zone[0]);
    if (strcmp(name, "element_offset_counts") == 0)
        return read_elements(l, value, -65535, 65535, p->element_offset_counts);
    if (strcmp(name, "element_gain") == 0)
        return read_elements(l, value, 0.05, 20, p->element_gain);
    return read_figure(l, value, &p->gain_n_per_count);
}

static int
on_key(void *user, const char *section, const char *name, const char *value)
{
    struct loader *l = user;
    double figure;
    if (!begin_section(l, section))
        return refuse(l, MESSAGE_CALIB_NO_SECTION, section);
    if (strcmp(name, "what") == 0)
        return calib_what_from_name(value, &l->now.what)
                   ? 1
                   : refuse(l, MESSAGE_CALIB_NO_WHAT, value);
    if (strcmp(name, "made") == 0)
        return calib_time_from_text(value, &l->now.made_utc_ms) ? 1 : refuse(l, MESSAGE_CALIB_NO_TIME, value);
    if (strcmp(name, "mass_kg") == 0)
        return read_figure(l, value, &l->now.mass_kg);
    if (strcmp(name, "drift_pct") == 0)
        return read_figure(l, value, &l->now.drift_pct);
    if (strcmp(name, "spread_pct") == 0)
        return read_figure(l, value, &l->now.spread_pct);
    if (strcmp(name, "left") == 0) {
        if (!read_figure(l, value, &figure))
            return 0;
        if (!(figure >= 0 && figure <= FRAME_MAX_ELEMENTS))
            return refuse(l, MESSAGE_PROFILE_NO_NUMBER, value);
        l->now.n_left = (int) figure;
        return 1;
    }
    if (l->now.what == CALIB_N_WHATS)
        return refuse(l, MESSAGE_CALIB_WHAT_IS_LATE, name);
    return read_values(l, name, value);
}

enum err
calib_file_load(const char *path, const int only[CALIB_N_GROUPS], struct sense_profile *profile,
                struct calib_state *state, struct calib_history *history, struct message *why)
{
    struct loader l = {
        .path = path, .only = only, .profile = profile, .state = state, .history = history, .why = why
    };
    message_init(why, MESSAGE_NONE);
    memset(state, 0, sizeof *state);
    if (history != NULL)
        memset(history, 0, sizeof *history);
    const char *reason;
    l.f = fileio_open_plain(path, &reason);
    if (l.f == NULL) {
        if (errno == ENOENT)
            return ERR_OK;
        not_opened(why, path, reason);
        return ERR_OS;
    }
    const int bad_line = ini_parse_stream(read_line, &l, on_key, &l);
    const bool has_read_error = ferror(l.f) != 0;
    fclose(l.f);
    if (bad_line > 0 && !l.is_bad) {
        message_tell(why, MESSAGE_INI_NO_INI_LINE, message_place(path, bad_line));
    } else if (has_read_error)
        about_path(why, MESSAGE_CALIB_NOT_READ, path);
    if (bad_line != 0 || l.is_bad || has_read_error)
        return ERR_FORMAT;
    if (l.now.number != 0 && l.now.what == CALIB_N_WHATS) {
        refuse(&l, MESSAGE_CALIB_WHAT_IS_MISSING, NULL);
        return ERR_FORMAT;
    }
    note_section(&l);
    return ERR_OK;
}

/* ------------------------------------------------------------------ writing */

static void
put_elements(FILE *f, const struct sense_profile *p, const char *name, const float *value, float usual)
{
    for (int i = 0; i < p->n_rows * p->n_cols;) {
        int len = fprintf(f, "%s = %d:%d", name, i / p->n_cols, i % p->n_cols);
        while (i < p->n_rows * p->n_cols && len < LINE_CHARS)
            len += fprintf(f, " %.5g", (double) (value ? value[i++] : usual));
        fputc('\n', f);
    }
}

static void
put_values(FILE *f, enum calib_what what, const struct sense_profile *p)
{
    const enum calib_group group = GROUP[what];
    if (group == CALIB_ELEMENTS)
        put_elements(f, p, "element_gain", p->element_gain, 1);
    else if (group == CALIB_OFFSETS && p->kind == FRAME_KIND_MAT)
        put_elements(f, p, "element_offset_counts", p->element_offset_counts, 0);
    else if (group == CALIB_GAIN && p->kind == FRAME_KIND_MAT)
        fprintf(f, "gain_n_per_count = %.17g\n", p->gain_n_per_count);
    else {
        fputs(p->kind == FRAME_KIND_SWITCHES ? "zone_offset_counts ="
              : group == CALIB_OFFSETS       ? "cell_offset_counts ="
                                             : "cell_gain_n_per_count =",
              f);
        const int n = p->kind == FRAME_KIND_SWITCHES ? p->n_zones : p->n_cells;
        for (int i = 0; i < n; i++)
            fprintf(f, " %.12g",
                    p->kind == FRAME_KIND_SWITCHES ? p->zone[i].offset_counts
                    : group == CALIB_OFFSETS       ? p->cell[i].offset_counts
                                                   : p->cell[i].gain_n_per_count);
        fputc('\n', f);
    }
}

static void
put_entry(FILE *f, const struct calib_entry *e, const struct sense_profile *p)
{
    char made[32];
    fprintf(f, "\n[calibration %d]\nmade = %s\nwhat = %s\n", e->number,
            calib_time_text(e->made_utc_ms, made, sizeof made), calib_what_name(e->what));
    if (!isnan(e->mass_kg))
        fprintf(f, "mass_kg = %.6g\n", e->mass_kg);
    if (!isnan(e->drift_pct))
        fprintf(f, "drift_pct = %.6g\n", e->drift_pct);
    if (!isnan(e->spread_pct))
        fprintf(f, "spread_pct = %.6g\nleft = %d\n", e->spread_pct, e->n_left);
    put_values(f, e->what, p);
}

/* Copies the file as it is, but for the header of one entry (0: none), which becomes that of an undone one.
 */
static enum err
copy_old(FILE *to, const char *path, int undone, struct message *why)
{
    char header[64], *line = NULL;
    size_t cap = 0;
    ssize_t n;
    const char *reason;
    FILE *from = fileio_open_plain(path, &reason);
    if (from == NULL && errno == ENOENT) {
        /* The file's own remark: whoever opens it by hand reads it, and the program does not. */
        fputs("; Calibrations of a sensor, oldest first, written by `underfoot calibrate`. Remove nothing by "
              "hand:\n"
              "; `underfoot calibrate undo` takes the last one back.\n",
              to);
        return ERR_OK;
    }
    if (from == NULL) {
        not_opened(why, path, reason);
        return ERR_OS;
    }
    snprintf(header, sizeof header, "[calibration %d]", undone);
    while ((n = getline(&line, &cap, from)) > 0) { /* whole lines, byte for byte: what stands in them is not ours to change */
        if (undone > 0 && str_begins_with(line, header))
            fprintf(to, "[undone %d]\n", undone);
        else
            fwrite(line, 1, (size_t) n, to);
    }
    const bool has_failed = ferror(from) != 0;
    fclose(from);
    free(line);
    if (has_failed)
        about_path(why, MESSAGE_CALIB_NOT_READ, path);
    return has_failed ? ERR_OS : ERR_OK;
}

static enum err
rewrite(const char *path, int undone, const struct calib_entry *entry, const struct sense_profile *profile,
        struct message *why)
{
    struct fileio_aside aside;
    char folder[FILEIO_PATH_MAX];
    if (!str_copy(folder, sizeof folder, path) || strrchr(folder, '/') == NULL) {
        about_path(why, MESSAGE_CALIB_NO_FOLDER, path);
        return ERR_USAGE;
    }
    *strrchr(folder, '/') = '\0';
    enum err err = fileio_make_folder(folder, why);
    if (err == ERR_OK)
        err = fileio_aside_open(&aside, path, 0600, why);
    if (err != ERR_OK)
        return err;
    err = copy_old(aside.f, path, undone, why);
    if (err != ERR_OK) {
        fileio_aside_abandon(&aside);
        return err;
    }
    if (entry != NULL)
        put_entry(aside.f, entry, profile);
    return fileio_aside_commit(&aside, why);
}

enum err
calib_file_append(const char *path, const struct calib_history *history, const struct sense_profile *profile,
                  struct calib_entry *entry, struct message *why)
{
    entry->number = history->last_number + 1;
    return rewrite(path, 0, entry, profile, why);
}

enum err
calib_file_undo(const char *path, const struct calib_history *history, struct calib_entry *undone,
                struct message *why)
{
    int i = history->n - 1;
    while (i >= 0 && history->entry[i].is_undone)
        i--;
    if (i < 0) {
        message_init(why, MESSAGE_CALIB_NONE_TO_UNDO);
        return ERR_GONE;
    }
    *undone = history->entry[i];
    return rewrite(path, undone->number, NULL, NULL, why);
}
