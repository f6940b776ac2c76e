/* test_forget.c - of a runner who was forgotten no byte is left in the data folder: in no copy, page, recording or log. */
#define _GNU_SOURCE /* memmem */
#include "aid/store_file.h"
#include "aid/store_suite.h"
#include "care/forget.h"
#include "care/forgotten.h"
#include "care/recordings.h"
#include "store/copies.h"
#include "store/pages.h"

#include <dirent.h>
#include <unistd.h>

TestSuite(forget, .init = make_rig, .fini = remove_rig);

static const char CODE[] = "R-GOES-71", SHOE[] = "Shoe-that-goes", NOTE[] = "note that goes, of the left calf";

/* How many files under the folder hold these bytes. */
static int
count_files_with(const char *folder, const char *bytes)
{
    int n = 0;
    DIR *d = opendir(folder);
    cr_assert_not_null(d, "%s", folder);
    for (struct dirent *e; (e = readdir(d)) != NULL;) {
        char path[512];
        snprintf(path, sizeof path, "%.200s/%.200s", folder, e->d_name);
        if (e->d_name[0] == '.' && (e->d_name[1] == '\0' || e->d_name[1] == '.'))
            continue;
        if (e->d_type == DT_DIR) {
            n += count_files_with(path, bytes);
            continue;
        }
        struct store_file f = store_file_read(path);
        n += f.len > 0 && memmem(f.data, f.len, bytes, strlen(bytes)) != NULL;
        free(f.data);
    }
    closedir(d);
    return n;
}

static const char *
data_folder(void)
{
    static char folder[128];
    snprintf(folder, sizeof folder, "%s/data", rig.folder);
    return folder;
}

static void
write_file(const char *path, const char *content)
{
    FILE *f = fopen(path, "w");
    cr_assert_not_null(f, "%s", path);
    fputs(content, f);
    fclose(f);
}

/* The runner, a visit with a note, a page and a recording that name them; and another who stays. */
static struct store_runner
make_runner(int64_t *visit_id)
{
    char path[STORE_PATH_MAX];
    struct store_runner r = store_runner_default(CODE);
    struct store_note note = { .at = { -1 } };
    snprintf(r.shoe_note, sizeof r.shoe_note, "%s", SHOE);
    cr_assert_eq(store_runner_save(&store, &r), ERR_OK, "%s", message_english(&store.why));
    struct store_visit v = store_visit_default(r.id);
    cr_assert_eq(store_visit_begin(&store, &v), ERR_OK, "%s", message_english(&store.why));
    for (uint32_t i = 1; i <= 20; i++)
        put_step(v.id, i, true);
    snprintf(note.text, sizeof note.text, "%s", NOTE);
    cr_assert_eq(store_note_put(&store, v.id, &note), ERR_OK, "%s", message_english(&store.why));
    cr_assert_eq(pages_path(&store, v.id, CODE, path), ERR_OK);
    write_file(path, CODE);
    cr_assert_eq(recordings_path(&store, &v, path), ERR_OK);
    write_file(path, CODE);
    *visit_id = v.id;
    return r;
}

static void
expect_no_byte(void)
{
    cr_expect_eq(count_files_with(data_folder(), CODE), 0);
    cr_expect_eq(count_files_with(data_folder(), SHOE), 0);
    cr_expect_eq(count_files_with(data_folder(), NOTE), 0);
}

static void
keep_copy(void)
{
    struct settings rule = settings_default();
    struct message told;
    cr_assert_eq(copies_keep(&store, &rule, &(struct store_stop){ NULL, NULL }, &told), ERR_OK, "%s", message_english(&store.why));
    cr_assert_eq(told.code, MESSAGE_NONE);
}

static void
path_of(const char *ending, char out[512])
{
    snprintf(out, 512, "%.400s.%.40s", rig.path, ending);
}

Test(forget, no_byte_of_the_runner_is_left_in_the_whole_folder_and_everybody_else_stays)
{
    char path[STORE_PATH_MAX], copy[STORE_PATH_MAX], kept[512], sql[256];
    struct store_belongings had;
    struct stat st;
    int64_t visit, gone;
    open_store();
    const int64_t stays = begin_visit();
    struct store_runner r = make_runner(&visit);
    keep_copy();
    cr_assert_eq(copies_path(&store, "before", copy), ERR_OK);
    cr_assert_eq(copies_make(&store, copy), ERR_OK, "%s", message_english(&store.why));
    /* A visit that only a copy has still: after a restore, say. */
    snprintf(sql, sizeof sql, "INSERT INTO visit (id, runner_id, started_utc_ms, zone_offset_min) VALUES (99, %lld, 77, 0)", (long long) r.id);
    store_file_sql(copy, sql);
    struct store_visit lost = { .id = 99, .started_utc_ms = 77 };
    cr_assert_eq(recordings_path(&store, &lost, path), ERR_OK);
    write_file(path, CODE);
    path_of("damaged-2026-11-01", path);
    write_file(path, CODE);
    path_of("keeping", path);
    write_file(path, CODE);
    cr_assert_geq(count_files_with(data_folder(), CODE), 7, "store or log, two copies, page, two recordings, damaged, half made");

    cr_assert_eq(forget_runner(&store, r.id, &had), ERR_OK, "%s", message_english(&store.why));
    cr_expect_eq(had.n_visits, 1);
    cr_expect_eq(had.n_copies, 2);
    cr_expect_eq(had.n_damaged_copies, 1);
    cr_expect_eq(had.n_recordings, 2);
    expect_no_byte();
    cr_assert_eq(store_visit_get(&store, stays, &(struct store_visit){ 0 }), ERR_OK);
    char day[16];
    cr_assert_eq(copies_today(&store, day), ERR_OK);
    snprintf(path, sizeof path, "kept-%s", day);
    path_of(path, kept);
    gone = store_file_int(kept, "SELECT count(*) FROM visit");
    cr_expect_eq(gone, 1, "the other's stays in the copy");
    cr_assert_eq(stat(kept, &st), 0);
    cr_expect_eq(st.st_mode & 0777, 0600);
    store_close(&store);
    expect_no_byte();
}

Test(forget, what_stays_is_a_random_identifier_and_a_day)
{
    struct store_belongings had;
    struct forgotten f;
    struct stat st;
    struct message why;
    int64_t visit;
    bool is = false;
    open_store();
    struct store_runner r = make_runner(&visit), other;
    cr_assert_eq(store_runner_ensure(&store, "R-STAYS", &other), ERR_OK);
    cr_assert_eq(forget_runner(&store, r.id, &had), ERR_OK, "%s", message_english(&store.why));
    cr_assert_eq(forgotten_load(rig.path, &f, &why), ERR_OK, "%s", message_english(&why));
    cr_assert_eq(f.n, 1);
    cr_expect_eq(f.one[0].kind, FORGOTTEN_IS_RANDOM);
    cr_expect_str_eq(f.one[0].what, r.uuid);
    cr_expect_eq(strlen(f.one[0].day), 10);
    cr_assert_eq(forgotten_knows(&f, r.uuid, &is, &why), ERR_OK);
    cr_expect(is);
    cr_assert_eq(forgotten_knows(&f, other.uuid, &is, &why), ERR_OK);
    cr_expect(!is);
    cr_assert_eq(stat(f.path, &st), 0);
    cr_expect_eq(st.st_mode & 0777, 0600);
    forgotten_free(&f);
    store_close(&store);
}

/* Who was there before identifiers were: theirs could be guessed, so only a seal of it stays. */
Test(forget, a_derived_identifier_stays_sealed_and_is_known_again)
{
    struct store_belongings had;
    struct store_runner r;
    struct forgotten f;
    struct message why;
    bool is = false;
    store_file_version_1(rig.path);
    open_store();
    cr_assert_eq(store_runner_get(&store, "R-OLD", &r), ERR_OK);
    cr_assert_not(identity_is_random(r.uuid));
    cr_assert_eq(forget_runner(&store, r.id, &had), ERR_OK, "%s", message_english(&store.why));
    cr_expect_eq(had.n_copies, 1, "the one from before the tables were brought up to date, which has no identifiers yet");
    cr_expect_eq(count_files_with(data_folder(), "R-OLD"), 0);
    cr_expect_eq(count_files_with(data_folder(), r.uuid), 0);
    cr_assert_eq(forgotten_load(rig.path, &f, &why), ERR_OK, "%s", message_english(&why));
    cr_assert_eq(f.n, 1);
    cr_expect_eq(f.one[0].kind, FORGOTTEN_IS_SEALED);
    cr_assert_eq(forgotten_knows(&f, r.uuid, &is, &why), ERR_OK);
    cr_expect(is);
    identity_derived("runner 2 1", r.uuid);
    cr_assert_eq(forgotten_knows(&f, r.uuid, &is, &why), ERR_OK);
    cr_expect(!is);
    forgotten_free(&f);
    store_close(&store);
}

/* Killed before the rows went, and after: both are carried on with, since it was asked for. */
Test(forget, what_a_kill_cut_off_is_carried_on_with)
{
    struct forgotten f;
    struct message why;
    int64_t visit;
    int n = 0;
    for (int is_after = 0; is_after < 2; is_after++) {
        open_store();
        struct store_runner r = make_runner(&visit);
        keep_copy();
        cr_assert_eq(forgotten_load(rig.path, &f, &why), ERR_OK, "%s", message_english(&why));
        cr_assert_eq(forgotten_begin(&f, r.uuid, "2026-11-28", &why), ERR_OK, "%s", message_english(&why));
        forgotten_free(&f);
        if (is_after)
            store_file_sql(rig.path, "PRAGMA foreign_keys = ON; DELETE FROM visit; DELETE FROM runner");
        cr_assert_eq(forget_settle(&store, &n), ERR_OK, "%s", message_english(&store.why));
        cr_expect_eq(n, 1);
        cr_expect_eq(count_files_with(data_folder(), SHOE), 0, "is_after %d", is_after);
        cr_assert_eq(forget_settle(&store, &n), ERR_OK, "%s", message_english(&store.why));
        cr_expect_eq(n, 0);
        cr_assert_eq(forgotten_load(rig.path, &f, &why), ERR_OK, "%s", message_english(&why));
        cr_expect_eq(f.n, 1 + is_after);
        forgotten_free(&f);
        store_close(&store);
    }
}

Test(forget, a_copy_that_can_not_be_read_keeps_the_runner_and_is_named)
{
    struct store_belongings had;
    struct store_runner again;
    struct forgotten f;
    char path[512];
    struct message why;
    int64_t visit;
    open_store();
    struct store_runner r = make_runner(&visit);
    path_of("kept-2026-11-01", path);
    write_file(path, "this is no store");
    cr_assert_neq(forget_runner(&store, r.id, &had), ERR_OK);
    cr_expect_not_null(strstr(message_english(&store.why), "kept-2026-11-01"), "%s", message_english(&store.why));
    cr_assert_eq(store_runner_get(&store, CODE, &again), ERR_OK);
    cr_assert_eq(forgotten_load(rig.path, &f, &why), ERR_OK, "%s", message_english(&why));
    cr_expect_eq(f.n, 0, "nothing came of it");
    forgotten_free(&f);
    cr_assert_eq(unlink(path), 0);
    cr_assert_eq(forget_runner(&store, r.id, &had), ERR_OK, "%s", message_english(&store.why));
    store_close(&store);
}

Test(forget, a_list_with_a_line_that_can_not_be_read_is_refused_with_the_line)
{
    struct forgotten f;
    char path[512];
    struct message why;
    open_store();
    store_close(&store);
    snprintf(path, sizeof path, "%s/" FORGOTTEN_FILE_NAME, data_folder());
    write_file(path, "# remark\nrandom R-014 2026-11-28\n");
    cr_assert_eq(forgotten_load(rig.path, &f, &why), ERR_FORMAT);
    cr_expect_not_null(strstr(message_english(&why), ":2:"), "%s", message_english(&why));
}

Test(forget, kept_copies_are_one_a_day_and_no_more_than_the_rule_says)
{
    static const char *const days[] = { "kept-2026-11-01", "kept-2026-11-02", "kept-2026-11-03" };
    struct settings rule = settings_default();
    struct message told;
    char path[512];
    rule.keep_copies = 2;
    open_store();
    begin_visit();
    for (int i = 0; i < 3; i++) {
        path_of(days[i], path);
        write_file(path, "an older one");
    }
    cr_assert_eq(copies_keep(&store, &rule, &(struct store_stop){ NULL, NULL }, &told), ERR_OK, "%s", message_english(&store.why));
    cr_expect_eq(told.code, MESSAGE_COPIES_OLD_WENT);
    for (int i = 0; i < 3; i++) {
        path_of(days[i], path);
        cr_expect_eq(access(path, F_OK) == 0, i == 2, "%s", path);
    }
    keep_copy(); /* again on that day: the same name, and nothing to tell */
    rule.copies_gb = 1e-6; /* the copy alone is more */
    cr_assert_eq(copies_keep(&store, &rule, &(struct store_stop){ NULL, NULL }, &told), ERR_OK, "%s", message_english(&store.why));
    cr_expect_eq(told.code, MESSAGE_COPIES_TOO_LARGE);
    path_of(days[2], path);
    cr_expect_eq(access(path, F_OK), 0, "what is there stays");
    store_close(&store);
}
