/* test_restore.c - a kept copy in the place of the store, and what can be saved of a damaged one. */
#include "aid/store_file.h"
#include "aid/store_suite.h"
#include "care/forget.h"
#include "care/keep.h"
#include "care/repair.h"
#include "care/restore.h"
#include "store/copies.h"
#include "store/running.h"

#include <sys/stat.h>
#include <unistd.h>

TestSuite(restore, .init = make_rig, .fini = remove_rig);
TestSuite(repair, .init = make_rig, .fini = remove_rig);

static struct message why;
static char copy[512];

static void
add_visits(const char *code, int n)
{
    struct store_runner r;
    cr_assert_eq(store_runner_ensure(&store, code, &r), ERR_OK, "%s", message_english(&store.why));
    for (int i = 0; i < n; i++) {
        struct store_visit v = store_visit_default(r.id);
        cr_assert_eq(store_visit_begin(&store, &v), ERR_OK, "%s", message_english(&store.why));
        put_step(v.id, 1, true);
    }
}

/* A copy with R-A (2 visits) and R-B; the store of today has R-A with 3 and R-C. */
static void
make_copy_and_go_on(void)
{
    struct store_belongings had;
    struct store_runner r;
    open_store();
    add_visits("R-A", 2);
    add_visits("R-B", 1);
    snprintf(copy, sizeof copy, "%s/copy.sqlite", rig.folder);
    cr_assert_eq(keep_copy(&store, copy), ERR_OK, "%s", message_english(&store.why));
    add_visits("R-A", 1);
    add_visits("R-C", 1);
    (void) had;
    (void) r;
    store_close(&store);
    store_file_sql(rig.path, "PRAGMA foreign_keys = ON; DELETE FROM visit WHERE id = 3; DELETE FROM runner WHERE code = 'R-B'");
}

static void
count_visit(void *context, const char *code, int64_t id, int64_t started_utc_ms, int zone)
{
    (void) id;
    (void) started_utc_ms;
    (void) zone;
    char *codes = context;
    snprintf(codes + strlen(codes), 64 - strlen(codes), "%s ", code);
}

Test(restore, what_is_won_and_lost_is_told_and_the_store_of_today_is_kept_beside_it)
{
    struct restore r;
    char won[64] = "", lost[64] = "";
    make_copy_and_go_on();
    cr_assert_eq(restore_prepare(&r, rig.path, copy, &why), ERR_OK, "%s", why.text);
    cr_expect(r.has_store && !r.is_damaged);
    cr_expect(r.won.n_runners == 1 && r.won.n_visits == 1, "%d %d", r.won.n_runners, r.won.n_visits);
    cr_expect(r.lost.n_runners == 1 && r.lost.n_visits == 2, "%d %d", r.lost.n_runners, r.lost.n_visits);
    cr_expect(r.same.n_runners == 1 && r.same.n_visits == 2);
    cr_assert_eq(restore_visits(&r, false, count_visit, won, &why), ERR_OK, "%s", why.text);
    cr_assert_eq(restore_visits(&r, true, count_visit, lost, &why), ERR_OK, "%s", why.text);
    cr_expect_str_eq(won, "R-B ");
    cr_expect_str_eq(lost, "R-A R-C ");
    cr_assert_eq(restore_commit(&r, &why), ERR_OK, "%s", why.text);
    cr_expect_eq(store_file_int(rig.path, "SELECT count(*) FROM visit"), 3);
    cr_expect_eq(store_file_int(rig.path, "SELECT count(*) FROM runner WHERE code IN ('R-A', 'R-B')"), 2);
    cr_expect_eq(store_file_int(r.kept, "SELECT count(*) FROM visit"), 4, "as it was");
    cr_expect_eq(store_file_int(copy, "SELECT count(*) FROM visit"), 3, "the copy itself is untouched");
    cr_expect_neq(access(r.aside, F_OK), 0);
    open_store();
    add_visits("R-A", 1);
    store_close(&store);
}

Test(restore, nothing_is_changed_until_it_is_committed)
{
    struct restore r;
    make_copy_and_go_on();
    cr_assert_eq(restore_prepare(&r, rig.path, copy, &why), ERR_OK, "%s", why.text);
    restore_drop(&r);
    cr_expect_eq(store_file_int(rig.path, "SELECT count(*) FROM visit"), 4);
    cr_expect_neq(access(r.aside, F_OK), 0);
}

Test(restore, who_was_forgotten_stays_forgotten)
{
    struct restore r;
    struct store_belongings had;
    struct store_runner a;
    make_copy_and_go_on();
    open_store();
    cr_assert_eq(store_runner_get(&store, "R-A", &a), ERR_OK);
    cr_assert_eq(forget_runner(&store, a.id, &had), ERR_OK, "%s", message_english(&store.why));
    store_close(&store);
    cr_assert_eq(restore_prepare(&r, rig.path, copy, &why), ERR_OK, "%s", why.text);
    cr_expect_eq(r.n_forgotten, 1);
    cr_assert_eq(restore_commit(&r, &why), ERR_OK, "%s", why.text);
    cr_expect_eq(store_file_int(rig.path, "SELECT count(*) FROM runner WHERE code = 'R-A'"), 0);
    cr_expect_eq(store_file_int(rig.path, "SELECT count(*) FROM visit"), 1, "of R-B");
}

Test(restore, a_store_that_another_program_has_open_is_left_alone)
{
    struct restore r;
    make_copy_and_go_on();
    open_store(); /* SQLite treats another connection as it treats another program */
    cr_assert_eq(restore_prepare(&r, rig.path, copy, &why), ERR_OK, "%s", why.text);
    cr_expect_eq(restore_commit(&r, &why), ERR_USAGE);
    cr_expect_eq(why.code, MESSAGE_RESTORE_IN_USE);
    cr_expect_neq(access(r.kept, F_OK), 0, "no copy lies about");
    store_close(&store);
    cr_expect_eq(store_file_int(rig.path, "SELECT count(*) FROM visit"), 4);
    const int fd = running_begin(rig.path, 1);
    cr_assert_eq(restore_prepare(&r, rig.path, copy, &why), ERR_OK);
    cr_expect_eq(restore_commit(&r, &why), ERR_USAGE, "a visit runs");
    running_end(fd);
}

Test(restore, what_is_no_whole_copy_of_ours_is_refused)
{
    struct restore r;
    char path[512];
    make_copy_and_go_on();
    snprintf(path, sizeof path, "%s/other", rig.folder);
    cr_expect_neq(restore_prepare(&r, rig.path, path, &why), ERR_OK);
    cr_expect_eq(why.code, MESSAGE_RESTORE_NO_FILE, "not there");
    cr_expect_neq(restore_prepare(&r, rig.path, rig.folder, &why), ERR_OK);
    cr_expect_eq(why.code, MESSAGE_RESTORE_NO_FILE, "a folder");
    cr_assert_eq(mkfifo(path, 0600), 0);
    cr_expect_neq(restore_prepare(&r, rig.path, path, &why), ERR_OK);
    cr_expect_eq(why.code, MESSAGE_RESTORE_NO_FILE, "a pipe");
    cr_assert_eq(unlink(path), 0);
    cr_expect_neq(restore_prepare(&r, rig.path, rig.path, &why), ERR_OK);
    cr_expect_eq(why.code, MESSAGE_RESTORE_IS_ITSELF);
    store_file_write(path, "no store", 8);
    cr_expect_neq(restore_prepare(&r, rig.path, path, &why), ERR_OK);
    cr_expect_eq(why.code, MESSAGE_RESTORE_NOT_OURS);
    cr_assert_eq(unlink(path), 0);
    store_file_sql(path, "CREATE TABLE other (a)");
    cr_expect_neq(restore_prepare(&r, rig.path, path, &why), ERR_OK);
    cr_expect_eq(why.code, MESSAGE_RESTORE_NOT_OURS);
    store_file_sql(copy, "PRAGMA user_version = 1000");
    cr_expect_eq(restore_prepare(&r, rig.path, copy, &why), ERR_UNSUPPORTED);
    cr_expect_eq(why.code, MESSAGE_RESTORE_NEWER);
    cr_expect_eq(store_file_int(rig.path, "SELECT count(*) FROM visit"), 4);
}

Test(restore, an_old_copy_is_brought_up_to_date_where_there_is_no_store)
{
    struct restore r;
    char path[512];
    store_file_version_1(rig.path);
    snprintf(path, sizeof path, "%s/old", rig.folder);
    cr_assert_eq(rename(rig.path, path), 0);
    cr_assert_eq(restore_prepare(&r, rig.path, path, &why), ERR_OK, "%s", why.text);
    cr_expect(!r.has_store && r.won.n_visits == 1);
    cr_assert_eq(restore_commit(&r, &why), ERR_OK, "%s", why.text);
    cr_expect_eq(store_file_int(rig.path, "PRAGMA user_version"), SCHEMA_VERSION);
    cr_expect_eq(store_file_int(rig.path, "SELECT count(*) FROM step"), 1);
    cr_expect_eq(store_file_int(path, "PRAGMA user_version"), 1, "the copy is untouched");
}

Test(restore, a_damaged_store_is_put_aside_with_its_log)
{
    struct restore r;
    char path[512];
    make_copy_and_go_on();
    store_file_write(rig.path, "rubbish where a store was, longer than nothing and no database whatever anybody says........................", 105);
    snprintf(path, sizeof path, "%s-wal", rig.path);
    store_file_write(path, "stale log", 9);
    cr_assert_eq(restore_prepare(&r, rig.path, copy, &why), ERR_OK, "%s", why.text);
    cr_expect(r.is_damaged);
    cr_assert_eq(restore_commit(&r, &why), ERR_OK, "%s", why.text);
    cr_expect_neq(access(path, F_OK), 0, "the log went");
    cr_expect_eq(store_file_int(rig.path, "SELECT count(*) FROM visit"), 3);
    cr_assert_not_null(strstr(r.kept, ".damaged-"), "%s", r.kept);
    struct store_file was = store_file_read(r.kept);
    cr_expect_eq(was.len, 105);
    free(was.data);
    snprintf(path, sizeof path, "%.500s-wal", r.kept);
    cr_expect_eq(access(path, F_OK), 0);
}

/* ------------------------------------------------------------------ repair */

enum { N_STEPS = 3000, PAGE_LEN = 4096 };

static struct repair told;

static void
make_large(void)
{
    open_store();
    add_visits("R-A", 2);
    add_visits("R-B", 1);
    struct store_note note = { .at = { -1 }, .text = "kept" };
    cr_assert_eq(store_note_put(&store, 1, &note), ERR_OK);
    cr_assert_eq(store_begin(&store), ERR_OK);
    for (uint32_t i = 2; i <= N_STEPS; i++)
        put_step(2, i, true);
    cr_assert_eq(store_commit(&store), ERR_OK);
    store_close(&store);
}

/* Overwrites that page, from 1 on. */
static void
ruin_page(long page)
{
    unsigned char rubbish[PAGE_LEN];
    FILE *f = fopen(rig.path, "r+b");
    cr_assert_not_null(f);
    for (size_t i = 0; i < sizeof rubbish; i++)
        rubbish[i] = (unsigned char) (i * 31 + (size_t) page);
    fseek(f, (page - 1) * PAGE_LEN, SEEK_SET);
    cr_assert_eq(fwrite(rubbish, 1, sizeof rubbish, f), sizeof rubbish);
    fclose(f);
}

static const struct repair_table *
table_of(const char *name)
{
    for (int i = 0; i < told.n_tables; i++)
        if (strcmp(told.table[i].name, name) == 0)
            return &told.table[i];
    cr_assert(false, "%s", name);
    return NULL;
}

Test(repair, a_whole_store_is_left_as_it_is)
{
    make_large();
    cr_assert_eq(repair_store(&told, rig.path, &why), ERR_OK, "%s", why.text);
    cr_expect(told.is_whole && told.n_tables == 0);
}

/* Every page but the first, one at a time, in turn: what is lost is what lay on it. */
Test(repair, one_bad_page_costs_no_more_than_what_it_holds, .timeout = 500)
{
    make_large();
    struct store_file whole = store_file_read(rig.path);
    const long n_pages = (long) (whole.len / PAGE_LEN);
    int n_repaired = 0, n_with_most = 0;
    cr_assert_gt(n_pages, 60);
    for (long page = 2; page <= n_pages; page += 1 + page / 8) {
        store_file_write(rig.path, whole.data, whole.len);
        ruin_page(page);
        cr_assert_eq(repair_store(&told, rig.path, &why), ERR_OK, "page %ld: %s", page, why.text);
        if (told.is_whole) /* a page that nothing uses */
            continue;
        n_repaired++;
        cr_expect_eq(store_file_int(rig.path, "SELECT count(*) FROM pragma_integrity_check WHERE integrity_check = 'ok'"), 1);
        cr_expect_eq(store_file_int(rig.path, "SELECT count(*) FROM pragma_foreign_key_check"), 0);
        cr_expect_eq(store_file_int(rig.path, "SELECT count(*) FROM step"), table_of("step")->n_rows);
        n_with_most += table_of("step")->n_rows > N_STEPS * 9 / 10;
        cr_expect_eq(access(told.kept, F_OK), 0);
        cr_assert_eq(unlink(told.kept), 0);
    }
    free(whole.data);
    cr_expect_gt(n_repaired, 10);
    cr_expect_geq(n_with_most, n_repaired * 7 / 10, "%d of %d", n_with_most, n_repaired);
}

Test(repair, visits_of_a_runner_whose_row_is_gone_are_kept_under_another_code)
{
    char sql[128];
    make_large();
    const int64_t root = store_file_int(rig.path, "SELECT rootpage FROM sqlite_schema WHERE name = 'runner'");
    ruin_page((long) root);
    cr_assert_eq(repair_store(&told, rig.path, &why), ERR_OK, "%s", why.text);
    cr_expect_eq(told.n_lost_runners, 2);
    cr_expect_eq(table_of("runner")->n_gaps, 1);
    cr_expect_eq(table_of("step")->n_rows, N_STEPS + 2);
    snprintf(sql, sizeof sql, "SELECT count(*) FROM visit v JOIN runner r ON r.id = v.runner_id WHERE r.code = 'lost-1'");
    cr_expect_eq(store_file_int(rig.path, sql), 2);
    cr_expect_eq(store_file_int(rig.path, "SELECT count(*) FROM runner WHERE uuid IS NULL"), 0);
    open_store();
    store_close(&store);
}

Test(repair, without_the_first_page_it_says_so_and_changes_nothing)
{
    make_large();
    ruin_page(1);
    cr_assert_eq(repair_store(&told, rig.path, &why), ERR_FORMAT);
    cr_expect_eq(why.code, MESSAGE_REPAIR_NO_FIRST_PAGE);
    cr_assert_eq(unlink(rig.path), 0);
    cr_assert_neq(repair_store(&told, rig.path, &why), ERR_OK);
    cr_expect_eq(why.code, MESSAGE_REPAIR_NO_STORE);
}

/* What is kept must be whole: a damaged store is not copied over a good copy. */
Test(repair, a_damaged_store_is_not_kept_over_a_good_copy)
{
    make_copy_and_go_on();
    struct store_file good = store_file_read(copy);
    const int64_t root = store_file_int(rig.path, "SELECT rootpage FROM sqlite_schema WHERE name = 'note'");
    ruin_page((long) root);
    cr_assert_eq(store_open(&store, rig.path, STORE_UNCHECKED), ERR_OK, "%s", message_english(&store.why));
    bool is_whole = true;
    cr_expect_eq(whole_quick(&store, &(struct store_stop){ NULL, NULL }, &is_whole), ERR_OK, "%s", message_english(&store.why));
    cr_expect_not(is_whole);
    cr_expect_eq(keep_copy(&store, copy), ERR_FORMAT);
    cr_expect_not_null(strstr(message_english(&store.why), "underfoot repair"), "%s", message_english(&store.why));
    struct settings rule = settings_default();
    cr_expect_neq(copies_keep(&store, &rule, &(struct store_stop){ NULL, NULL }, &why), ERR_OK);
    store_close(&store);
    struct store_file again = store_file_read(copy);
    cr_expect(good.len == again.len && memcmp(good.data, again.data, good.len) == 0);
    free(good.data);
    free(again.data);
}
