/* test_forget_all.c - forgetting, row by row and page by page: what goes, what stays, and what keeps the runner. */
#include "care/forget.h"

#include "aid/old_store.h"
#include "aid/store_file.h"
#include "aid/store_suite.h"
#include "base/str.h"
#include "store/measurement.h"
#include "store/pages.h"
#include "store/running.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

TestSuite(forget_all, .init = make_rig, .fini = remove_rig);

Test(forget_all, a_forgotten_runner_leaves_no_row_and_no_trace_in_the_files)
{
    struct store_runner r = store_runner_default("R-FORGET"), other;
    struct store_target_set t = { .n = 0 };
    char command[256];

    open_store();
    strcpy(r.shoe_note, "remarkable-shoe-words");
    cr_assert_eq(store_runner_save(&store, &r), ERR_OK);
    t.runner_id = r.id;
    cr_assert_eq(store_target_set_save(&store, &t), ERR_OK);
    struct store_visit v = store_visit_default(r.id);
    v.target_set_id = t.id;
    cr_assert_eq(store_visit_begin(&store, &v), ERR_OK);
    put_step(v.id, 1, true);
    (void) begin_visit(); /* of another runner */
    struct store_belongings had;
    const int running = running_begin(rig.path, v.id);
    cr_assert_geq(running, 0);
    cr_assert_eq(forget_runner(&store, r.id, &had), ERR_USAGE);
    cr_assert(strstr(message_english(&store.why), "is being run"), "%s", message_english(&store.why));
    running_end(running);
    cr_assert_eq(forget_runner(&store, r.id, &had), ERR_OK, "%s", message_english(&store.why));
    cr_assert(had.n_visits == 1 && had.n_pages == 0);
    cr_assert_eq(forget_runner(&store, r.id, &had), ERR_GONE, "not twice");
    cr_assert_eq(store_runner_get(&store, "R-FORGET", &other), ERR_GONE);
    cr_assert_eq(store_runner_get(&store, "R-014", &other), ERR_OK);
    snprintf(command, sizeof command, "grep -rqa -e R-FORGET -e remarkable-shoe-words '%s'", rig.folder);
    cr_assert_neq(system(command), 0, "nothing of it in any file, with the store still open");
    store_close(&store);
    cr_assert_eq(store_file_int(rig.path, "SELECT count(*) FROM step"), 0);
    cr_assert_eq(store_file_int(rig.path, "SELECT count(*) FROM visit"), 1);
    cr_assert_eq(store_file_int(rig.path, "SELECT count(*) FROM target_set"), 0);
}

/* A file in the folder of the pages; PATH as it is. */
static const char *
in_pages(const char *name)
{
    static char path[4][256];
    static int n;
    char *to = path[n++ % 4];
    snprintf(to, sizeof path[0], "%s/data/pages/%s", rig.folder, name);
    return to;
}

static void
write_page(const char *name)
{
    FILE *f = fopen(in_pages(name), "w");
    cr_assert(f && fputs("a page", f) >= 0 && fclose(f) == 0, "%s", name);
}

static bool
is_there(const char *name)
{
    struct stat st;
    return lstat(in_pages(name), &st) == 0;
}

/* Three visits of R-FORGET, 1 to 3, and the fourth of R-014; the pages of all, and what is like them. */
static int64_t
print_pages(void)
{
    static const char *const names[] = { "visit-1.pdf", "visit-3.pdf", "course-R-FORGET.pdf", ".visit-2.pdf.aside-77",
                                         "visit-4.pdf", "visit-11.pdf", "visit-1.png", "course-R-FORGET-2.pdf", "visit-1.pdf.bak",
                                         "course-R-014.pdf", "visit-01.pdf", "my notes.txt" };
    struct store_runner r = store_runner_default("R-FORGET");
    char path[STORE_PATH_MAX];
    cr_assert_eq(store_runner_save(&store, &r), ERR_OK);
    for (int i = 0; i < 3; i++) {
        struct store_visit v = store_visit_default(r.id);
        cr_assert_eq(store_visit_begin(&store, &v), ERR_OK);
        cr_assert_eq(v.id, i + 1);
    }
    cr_assert_eq(begin_visit(), 4);
    cr_assert_eq(pages_path(&store, 4, "R-014", path), ERR_OK, "%s", message_english(&store.why));
    cr_assert_str_eq(path, in_pages("visit-4.pdf"));
    cr_assert_eq(pages_path(&store, 0, "R-014", path), ERR_OK);
    cr_assert_str_eq(path, in_pages("course-R-014.pdf"));
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        write_page(names[i]);
    return r.id;
}

Test(forget_all, a_forgotten_runners_pages_go_and_no_other_file_does)
{
    static const char *const gone[] = { "visit-1.pdf", "visit-3.pdf", "course-R-FORGET.pdf", ".visit-2.pdf.aside-77" };
    static const char *const kept[] = { "visit-4.pdf", "visit-11.pdf", "visit-1.png", "course-R-FORGET-2.pdf",
                                        "visit-1.pdf.bak", "course-R-014.pdf", "visit-01.pdf", "my notes.txt" };
    struct store_belongings has, had;
    open_store();
    const int64_t id = print_pages();
    cr_assert_eq(forget_belongings(&store, id, &has), ERR_OK);
    cr_assert(has.n_visits == 3 && has.n_pages == 3);
    for (size_t i = 0; i < sizeof gone / sizeof *gone; i++)
        cr_assert(is_there(gone[i]), "asking takes nothing away");
    cr_assert_eq(forget_runner(&store, id, &had), ERR_OK, "%s", message_english(&store.why));
    cr_assert(had.n_visits == 3 && had.n_pages == 3);
    for (size_t i = 0; i < sizeof gone / sizeof *gone; i++)
        cr_expect(!is_there(gone[i]), "%s", gone[i]);
    for (size_t i = 0; i < sizeof kept / sizeof *kept; i++)
        cr_expect(is_there(kept[i]), "%s", kept[i]);
    store_close(&store);
}

/* A page that stays would break the promise: then the rows stay as well, and it says why. */
Test(forget_all, a_page_that_can_not_be_removed_keeps_the_runner)
{
    struct store_belongings had;
    struct store_runner r;
    open_store();
    const int64_t id = print_pages();
    cr_assert_eq(unlink(in_pages("visit-3.pdf")), 0);
    cr_assert_eq(mkdir(in_pages("visit-3.pdf"), 0700), 0);
    cr_assert_eq(forget_runner(&store, id, &had), ERR_OS);
    cr_assert(strstr(message_english(&store.why), "visit-3.pdf"), "%s", message_english(&store.why));
    cr_assert_eq(store_runner_get(&store, "R-FORGET", &r), ERR_OK);
    cr_assert_eq(rmdir(in_pages("visit-3.pdf")), 0);
    cr_assert_eq(forget_runner(&store, id, &had), ERR_OK, "%s", message_english(&store.why));
    store_close(&store);
}

Test(forget_all, a_courses_page_follows_its_runner_to_another_code)
{
    struct store_belongings had;
    struct store_runner r;
    open_store();
    const int64_t id = print_pages();
    cr_assert_eq(store_runner_get(&store, "R-FORGET", &r), ERR_OK);
    str_copy(r.code, sizeof r.code, "R-NEW");
    cr_assert_eq(store_runner_save(&store, &r), ERR_OK, "%s", message_english(&store.why));
    cr_assert(is_there("course-R-NEW.pdf") && !is_there("course-R-FORGET.pdf"));
    r.leg_length_mm = 900;
    cr_assert_eq(store_runner_save(&store, &r), ERR_OK);
    cr_assert(is_there("course-R-NEW.pdf"));
    cr_assert_eq(forget_runner(&store, id, &had), ERR_OK);
    cr_assert(!is_there("course-R-NEW.pdf") && is_there("course-R-FORGET-2.pdf"));
    store_close(&store);
}

/* The other program has the store open and prints until the last moment. */
Test(forget_all, a_runner_is_forgotten_while_another_program_has_the_store_open)
{
    struct store other;
    struct store_belongings had;
    struct store_runner r;
    struct store_visit v;
    open_store();
    const int64_t id = print_pages();
    cr_assert_eq(store_open(&other, rig.path, 0), ERR_OK, "%s", message_english(&other.why));
    cr_assert_eq(store_visit_get(&other, 3, &v), ERR_OK);
    write_page("visit-2.pdf");
    cr_assert_eq(forget_runner(&store, id, &had), ERR_OK, "%s", message_english(&store.why));
    cr_assert_eq(had.n_pages, 4);
    cr_assert(!is_there("visit-2.pdf"));
    cr_assert_eq(store_visit_get(&other, 3, &v), ERR_GONE);
    cr_assert_eq(store_runner_get(&other, "R-FORGET", &r), ERR_GONE);
    cr_assert_eq(forget_runner(&other, id, &had), ERR_GONE);
    cr_assert_eq(store_runner_get(&other, "R-014", &r), ERR_OK);
    store_close(&other);
    store_close(&store);
}

Test(forget_all, a_forgotten_runners_further_measurements_go_with_their_steps)
{
    struct store_belongings had;
    open_store();
    const int64_t visit = begin_visit();
    const struct coached_step step = store_rig_step(1, true);
    struct measurement m = { .visit_id = visit, .software = "x", .is_complete = true, .body_weight_n = (double) NAN };
    cr_assert_eq(measurement_put(&store, &m), ERR_OK, "%s", message_english(&store.why));
    cr_assert_eq(measurement_put_step(&store, &m, &step), ERR_OK, "%s", message_english(&store.why));
    cr_assert_eq(store_file_int(rig.path, "SELECT count(*) FROM measured_step"), 1);
    struct store_runner r;
    cr_assert_eq(store_runner_get(&store, "R-014", &r), ERR_OK);
    cr_assert_eq(forget_runner(&store, r.id, &had), ERR_OK, "%s", message_english(&store.why));
    cr_expect_eq(store_file_int(rig.path, "SELECT count(*) FROM measurement"), 0);
    cr_expect_eq(store_file_int(rig.path, "SELECT count(*) FROM measured_step"), 0);
    store_close(&store);
}

static bool
file_holds(const char *path, const char *word)
{
    struct store_file f = store_file_read(path);
    bool is = false;
    for (size_t i = 0; !is && i + strlen(word) <= f.len; i++)
        is = memcmp(f.data + i, word, strlen(word)) == 0;
    free(f.data);
    return is;
}

Test(forget_all, a_runner_is_forgotten_in_the_copies_too)
{
    char path[512];
    struct store_belongings gone;
    make_version(5);
    open_store();
    cr_assert_eq(find_copies(path), 1);
    cr_assert(file_holds(path, "shoe-of-2"));
    cr_assert_eq(forget_runner(&store, 2, &gone), ERR_OK, "%s", message_english(&store.why));
    store_close(&store);
    cr_expect_eq(find_copies(path), 1);
    cr_expect(!file_holds(path, "shoe-of-2") && !file_holds(path, "R-OLD2"));
    cr_expect_eq(store_file_int(path, "SELECT count(*) FROM step"), 30, "the other runner's steps stay");
    cr_expect_eq(store_file_int(path, "PRAGMA user_version"), 5);
}
