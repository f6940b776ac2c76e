#include "cli/visits_recordings.h"

#include "care/recordings.h"
#include "cli/say.h"
#include "cli/say_table.h"
#include "link/recorder.h"
#include "paper/phrase.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>

#define LABEL_WIDTH 21

enum { N_HEADS = 5, N_COLUMNS = 6 }; /* the last has no head */
static const struct say_column COLUMNS[N_COLUMNS] = {
    { NC_("table", "visit"), 6, 0, true },    { NC_("table", "started"), 16, 2, false },
    { NC_("table", "runner"), 12, 2, false }, { NC_("table", "MB"), 8, 2, true },
    { NC_("table", "MB/min"), 6, 2, true },   { "", 0, 2, false },
};

/* NAN of a visit whose length is not known. */
static double
rate_mb_min(int64_t n_bytes, double length_s)
{
    return isfinite(length_s) && length_s > 0 ? (double) n_bytes / 1e6 / (length_s / 60.0) : (double) NAN;
}

/* Its label stands with those of the summary's figures above it. */
void
visits_recordings_print(struct store *s, const struct store_visit *v)
{
    char path[STORE_PATH_MAX];
    int64_t n_bytes;
    say_cell(stdout, say_table_word(NC_("table", "recording")), LABEL_WIDTH, false);
    if (recordings_find(s, v, path, &n_bytes) == ERR_OK)
        say_line(stdout, MESSAGE_RECORDINGS_OF_VISIT, message_real((double) n_bytes / 1e6, 2, MESSAGE_UNIT_MB),
                 message_real(rate_mb_min(n_bytes, v->length_s), 2, MESSAGE_UNIT_MB), message_path(path));
    else
        printf("%s\n", say_table_word(NC_("table", "none")));
}

void
visits_recordings_json(struct store *s, const struct store_visit *v, struct json *j)
{
    char path[STORE_PATH_MAX];
    int64_t n_bytes;
    if (recordings_find(s, v, path, &n_bytes) == ERR_OK)
        json_int(j, "recording_bytes", n_bytes);
    else
        json_number(j, "recording_bytes", (double) NAN);
}

/* Of the visits whose length is known. */
struct usual {
    double minutes, n_bytes;
};

static enum err
print_one(struct store *s, const struct recordings_one *one, struct usual *usual)
{
    struct store_visit v;
    char started[PHRASE_TIME_MAX], id[32], mb[SAY_NUMBER_MAX], rate[SAY_NUMBER_MAX];
    snprintf(id, sizeof id, "%" PRId64, one->visit_id);
    say_number(mb, (double) one->n_bytes / 1e6, 2);
    if (!one->has_visit) {
        const char *const cell[N_COLUMNS] = { id, "-", "-", mb, "-", say_word(N_("of no visit in this store: never removed")) };
        say_row(stdout, COLUMNS, N_COLUMNS, cell);
        return ERR_OK;
    }
    const enum err err = store_visit_get(s, one->visit_id, &v);
    if (err != ERR_OK)
        return err;
    if (isfinite(v.length_s)) {
        usual->minutes += v.length_s / 60.0;
        usual->n_bytes += (double) one->n_bytes;
    }
    const char *const cell[N_COLUMNS] = { id,
                                          phrase_time(say_catalogue(), started, v.started_utc_ms, v.zone_offset_min),
                                          v.runner_code,
                                          mb,
                                          say_number(rate, rate_mb_min(one->n_bytes, v.length_s), 2),
                                          one->is_kept_last ? say_word(N_("goes last: baseline or open course")) : "" };
    say_row(stdout, COLUMNS, N_COLUMNS, cell);
    return ERR_OK;
}

static void
print_rule(const struct settings *rule)
{
    const struct message_arg gb = message_real(rule->keep_gb, MESSAGE_DIGITS_AS_NEEDED, MESSAGE_UNIT_GB);
    const bool has_gb = isfinite(rule->keep_gb), has_visits = rule->keep_visits != INT64_MAX;
    struct message kept;
    if (has_visits && has_gb)
        message_tell(&kept, MESSAGE_RECORDINGS_RULE_GB, rule->keep_visits, gb);
    else if (has_visits)
        message_tell(&kept, MESSAGE_CLI_VISITS, rule->keep_visits);
    else if (has_gb)
        message_tell(&kept, MESSAGE_RECORDINGS_RULE_ALL_GB, gb);
    else
        message_init(&kept, MESSAGE_RECORDINGS_RULE_ALL);
    say_line(stdout, MESSAGE_RECORDINGS_KEPT, message_of(&kept), SETTINGS_FILE_NAME);
}

/* What they take, and what room is left. */
static void
print_sum(const struct store *s, const struct recordings *r, const struct usual *usual)
{
    const struct message_arg mb = message_real((double) r->n_bytes / 1e6, 1, MESSAGE_UNIT_MB);
    const int64_t free_bytes = recordings_free_bytes(s);
    if (free_bytes < 0) {
        say_line(stdout, MESSAGE_RECORDINGS_SUM, r->n, mb);
        return;
    }
    const double room = fmax((double) (free_bytes - RECORDER_RESERVE_BYTES), 0);
    const struct message_arg room_gb = message_real(room / 1e9, 1, MESSAGE_UNIT_GB);
    const struct message_arg left_gb = message_real((double) RECORDER_RESERVE_BYTES / 1e9, 2, MESSAGE_UNIT_GB);
    if (usual->minutes > 0)
        say_line(stdout, MESSAGE_RECORDINGS_SUM_HOURS, r->n, mb, room_gb, left_gb,
                 message_real(room / (usual->n_bytes / usual->minutes) / 60.0, 0, MESSAGE_UNIT_NONE));
    else
        say_line(stdout, MESSAGE_RECORDINGS_SUM_ROOM, r->n, mb, room_gb, left_gb);
}

enum err
visits_recordings_list(struct store *s)
{
    struct recordings r;
    struct settings rule;
    struct usual usual = { 0, 0 };
    enum err err = settings_load(s->path, &rule, &s->why);
    if (err == ERR_OK)
        err = recordings_read(s, &r);
    if (err != ERR_OK)
        return err;
    if (r.n > 0)
        say_head(stdout, COLUMNS, N_HEADS);
    for (int i = 0; i < r.n && err == ERR_OK; i++)
        err = print_one(s, &r.one[i], &usual);
    print_sum(s, &r, &usual);
    print_rule(&rule);
    recordings_free(&r);
    return err;
}
