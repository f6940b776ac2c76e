#include "cli/visits_recordings.h"

#include "care/recordings.h"
#include "link/recorder.h"
#include "paper/local_time.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>

/* "3.6", or a dash of a visit whose length is not known. */
static const char *
rate_text(char out[32], int64_t n_bytes, double length_s)
{
    if (isfinite(length_s) && length_s > 0)
        snprintf(out, 32, "%.2f", (double) n_bytes / 1e6 / (length_s / 60.0));
    else
        snprintf(out, 32, "-");
    return out;
}

void
visits_recordings_print(struct store *s, const struct store_visit *v)
{
    char path[STORE_PATH_MAX], rate[32];
    int64_t n_bytes;
    if (recordings_find(s, v, path, &n_bytes) == ERR_OK)
        printf("recording            %.2f MB, %s MB a minute: %s\n", (double) n_bytes / 1e6,
               rate_text(rate, n_bytes, v->length_s), path);
    else
        printf("recording            none\n");
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
    char started[LOCAL_TIME_MAX], rate[32];
    if (!one->has_visit) {
        printf("%6" PRId64 "  %-16s  %-12s  %8.2f  %6s  %s\n", one->visit_id, "-", "-", (double) one->n_bytes / 1e6, "-",
               "of no visit in this store: never removed");
        return ERR_OK;
    }
    const enum err err = store_visit_get(s, one->visit_id, &v);
    if (err != ERR_OK)
        return err;
    if (isfinite(v.length_s)) {
        usual->minutes += v.length_s / 60.0;
        usual->n_bytes += (double) one->n_bytes;
    }
    printf("%6" PRId64 "  %-16s  %-12s  %8.2f  %6s  %s\n", v.id, local_time_short(started, v.started_utc_ms, v.zone_offset_min),
           v.runner_code, (double) one->n_bytes / 1e6, rate_text(rate, one->n_bytes, v.length_s),
           one->is_kept_last ? "goes last: baseline or open course" : "");
    return ERR_OK;
}

/* "1000 visits", or "all". */
static void
print_rule(const struct settings *rule)
{
    printf("kept: ");
    if (rule->keep_visits == INT64_MAX)
        printf("all visits");
    else
        printf("%" PRId64 " visits", rule->keep_visits);
    if (isfinite(rule->keep_gb))
        printf(" and %g GB", rule->keep_gb);
    printf(" (%s: [recordings] keep_visits, keep_gb); what is more goes, the oldest first\n", SETTINGS_FILE_NAME);
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
        printf("%6s  %-16s  %-12s  %8s  %6s\n", "visit", "started", "runner", "MB", "MB/min");
    for (int i = 0; i < r.n && err == ERR_OK; i++)
        err = print_one(s, &r.one[i], &usual);
    const double per_min = usual.minutes > 0 ? usual.n_bytes / usual.minutes : (double) NAN;
    const int64_t free_bytes = recordings_free_bytes(s);
    printf("%d recordings, %.1f MB", r.n, (double) r.n_bytes / 1e6);
    if (free_bytes >= 0) {
        const double room = fmax((double) (free_bytes - RECORDER_RESERVE_BYTES), 0);
        printf("; room for %.1f GB more", room / 1e9);
        if (isfinite(per_min))
            printf(", %.0f hours like these", room / per_min / 60.0);
        printf(", %.2f GB are left to the store", (double) RECORDER_RESERVE_BYTES / 1e9);
    }
    printf("\n");
    print_rule(&rule);
    recordings_free(&r);
    return err;
}
