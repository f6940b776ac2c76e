/* store.c - a store that somebody else has had in hand: opened, listed, summed up, exported, copied, a runner forgotten.
 *
 *      first byte 0   the rest is the file as it stands
 *                 1   a sound store of ours in which bytes are changed: again and again place (u16 page, u16 byte), value
 *                 2   a sound store of ours in which the rest has been run as SQL, as another program may
 * The SQL may not open other files, and ends after so many steps. */
#include "care/forget.h"
#include "care/keep.h"
#include "fuzz.h"
#include "report/export.h"
#include "report/summary.h"
#include "store/store.h"

#include <sqlite3.h>
#include <math.h>
#include <sys/stat.h>

#define SQL_STEPS_MAX 20000
#define N_STEPS 40

static uint8_t *sound;
static size_t sound_len;

static void
fill(struct store *s)
{
    struct store_runner r = store_runner_default("R-014");
    struct store_target_set t = { .n = 1, .target = { { .metric = METRIC_CADENCE_SPM, .low = 170, .high = 180, .baseline = 165 } } };
    r.body_mass_kg = 74;
    fuzz_must(store_runner_save(s, &r) == ERR_OK, message_english(&s->why));
    t.runner_id = r.id;
    t.created_utc_ms = INT64_C(1767225600000);
    fuzz_must(store_target_set_save(s, &t) == ERR_OK, message_english(&s->why));
    for (int k = 0; k < 2; k++) {
        struct store_visit v = store_visit_default(r.id);
        v.target_set_id = t.id;
        v.started_utc_ms = INT64_C(1767225600000) + k * INT64_C(604800000);
        strcpy(v.sensor_kind, "cells");
        fuzz_must(store_visit_begin(s, &v) == ERR_OK, message_english(&s->why));
        struct store_block b = { .kind = VERDICT_BLOCK_COACHED, .end = { 20000000 }, .planned_s = 20, .belt_speed_m_s = 2.8,
                                 .shown_share = 1, .target_set_id = t.id };
        fuzz_must(store_block_put(s, v.id, &b) == ERR_OK, message_english(&s->why));
        for (uint32_t i = 0; i < N_STEPS; i++) {
            struct coached_step c = { .step = { .number = i, .is_settled = true, .gait = STEP_GAIT_RUNNING } };
            c.step.foot = i % 2 ? STEP_FOOT_LEFT : STEP_FOOT_RIGHT;
            c.step.touchdown.us = i * 350000;
            c.step.toe_off.us = c.step.touchdown.us + 250000;
            for (int m = 0; m < METRIC_COUNT; m++) {
                c.step.value[m] = 100 + (double) i;
                c.step.standing[m] = METRIC_MEASURED;
            }
            fuzz_must(store_step_put(s, v.id, &c) == ERR_OK, message_english(&s->why));
        }
        struct store_note note = { .at = { 1000000 }, .written_utc_ms = v.started_utc_ms, .text = "mark" };
        struct store_pain pain = { .when = STORE_PAIN_AFTER, .pain = 1, .effort = 4 };
        const struct store_visit_end end = { .ended_utc_ms = v.started_utc_ms + 20000, .is_finished = true, .body_weight_n = 700 };
        fuzz_must(store_note_put(s, v.id, &note) == ERR_OK && store_pain_put(s, v.id, &pain) == ERR_OK &&
                      store_visit_end(s, v.id, &end) == ERR_OK, message_english(&s->why));
    }
}

/* A sound store, in small pages, into memory; nothing of it is open any more. */
static void
make_sound(void)
{
    struct store s;
    char path[FUZZ_PATH_MAX];
    fuzz_path(path, "sound.sqlite");
    fuzz_must(store_open(&s, path, 0) == ERR_OK, message_english(&s.why));
    fill(&s);
    fuzz_must(sqlite3_exec(s.db, "PRAGMA journal_mode = DELETE; PRAGMA page_size = 512; VACUUM; PRAGMA journal_mode = WAL", NULL, NULL, NULL) == SQLITE_OK,
              "the sound store can't be made small");
    store_close(&s);
    FILE *f = fopen(path, "rb");
    struct stat st;
    fuzz_must(f != NULL && fstat(fileno(f), &st) == 0, "the sound store is gone");
    sound_len = (size_t) st.st_size;
    sound = malloc(sound_len);
    fuzz_must(sound != NULL && fread(sound, 1, sound_len, f) == sound_len, "the sound store can't be read");
    fclose(f);
}

static int
may(void *context, int action, const char *a, const char *b, const char *c, const char *d)
{
    (void) context; (void) a; (void) b; (void) c; (void) d;
    return action == SQLITE_ATTACH || action == SQLITE_DETACH ? SQLITE_DENY : SQLITE_OK;
}

static int
count(void *context)
{
    return --*(int *) context < 0;
}

static void
run_sql(const char *path, const uint8_t *text, size_t len)
{
    struct sqlite3 *db = NULL;
    int left = SQL_STEPS_MAX / 100;
    char *sql = malloc(len + 1);
    fuzz_must(sql != NULL && sqlite3_open(path, &db) == SQLITE_OK, "no room");
    memcpy(sql, text, len);
    sql[len] = '\0';
    sqlite3_limit(db, SQLITE_LIMIT_LENGTH, 100000);
    sqlite3_set_authorizer(db, may, NULL);
    sqlite3_progress_handler(db, 100, count, &left);
    sqlite3_exec(db, sql, NULL, NULL, NULL);
    sqlite3_close(db);
    free(sql);
}

struct look_job {
    struct store *s;
    FILE *out;
    int n;
};

static bool
look(void *context, const struct store_visit *v)
{
    struct look_job *job = context;
    struct store *s = job->s;
    struct store_visit visit;
    struct summary summary;
    struct course course;
    summary_of_visit(s, v->id, &visit, &summary);
    export_csv(s, v->id, job->out);
    export_json(s, v->id, true, job->out);
    export_fhir(s, v->id, job->out);
    if (course_of_visit(s, v->id, &course) == ERR_OK) {
        course_print_visit(job->out, NULL, &course);
        course_destroy(&course);
    }
    return ++job->n < 4;
}

static bool
last_runner(void *context, const struct store_runner *r)
{
    *(int64_t *) context = r->id;
    return true;
}

static void
use(const char *path, FILE *out)
{
    struct store s;
    struct course course;
    struct store_belongings had;
    char copy[FUZZ_PATH_MAX];
    int64_t runner_id = 0;
    if (store_open(&s, path, STORE_MUST_EXIST) != ERR_OK) {
        fuzz_must(!message_is_none(&s.why), "a store is refused without a word");
        store_close(&s);
        return;
    }
    struct look_job job = { &s, out, 0 };
    store_visits(&s, 0, look, &job);
    if (course_of_runner(&s, "R-014", NULL, &course) == ERR_OK) {
        course_print(out, NULL, &course);
        course_destroy(&course);
    }
    fuzz_path(copy, "copy.sqlite");
    keep_copy(&s, copy);
    store_runners(&s, last_runner, &runner_id);
    forget_runner(&s, runner_id, &had);
    store_close(&s);
}

int
LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static FILE *out;
    char path[FUZZ_PATH_MAX], beside[FUZZ_PATH_MAX + 8];
    if (size == 0)
        return 0;
    if (sound == NULL) {
        make_sound();
        out = fopen("/dev/null", "w");
        fuzz_must(out != NULL, "nowhere to print to");
    }
    if (data[0] % 3 == 0)
        fuzz_file(path, "underfoot.sqlite", data + 1, size - 1);
    else
        fuzz_file(path, "underfoot.sqlite", sound, sound_len);
    for (int i = 0; i < 2; i++) {
        snprintf(beside, sizeof beside, "%s%s", path, i ? "-wal" : "-shm");
        unlink(beside);
    }
    if (data[0] % 3 == 1) {
        FILE *f = fopen(path, "r+b");
        fuzz_must(f != NULL, "a file of our own can't be opened");
        for (struct fuzz_input in = { data + 1, size - 1 }; in.left > 0;) {
            const size_t page = fuzz_u16(&in), byte = fuzz_u16(&in) % 512;
            fseek(f, (long) ((page * 512 + byte) % sound_len), SEEK_SET);
            fputc(fuzz_u8(&in), f);
        }
        fclose(f);
    } else if (data[0] % 3 == 2)
        run_sql(path, data + 1, size - 1);
    use(path, out);
    return 0;
}
