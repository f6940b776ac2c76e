/* A store that no path leads to any more is noticed, and an open store holds nobody up. The states are those of place.h; what
 * SQLite promises of a log that has no reader: sqlite.org/wal.html ("checkpoint starvation"), from memory. */
#include "aid/store_file.h"
#include "aid/store_rig.h"
#include "store/place.h"

#include <criterion/criterion.h>
#include <unistd.h>

static struct store_rig rig;
static struct store s;

static void
make(void)
{
    cr_assert_eq(store_rig_make(&rig), 0);
    cr_assert_eq(store_open(&s, rig.path, 0), ERR_OK, "%s", message_english(&s.why));
}

static void
clean(void)
{
    store_close(&s);
    store_rig_remove(&rig);
}

TestSuite(place, .init = make, .fini = clean);

static void
move(const char *from_ending, const char *to_ending)
{
    char from[128], to[128];
    snprintf(from, sizeof from, "%s%s", rig.path, from_ending);
    snprintf(to, sizeof to, "%s%s", rig.path, to_ending);
    cr_assert_eq(rename(from, to), 0);
}

Test(place, an_untouched_store_is_where_it_was_also_while_others_write_to_it)
{
    cr_expect_eq(place_look(&s), PLACE_IS_OWN);
    store_file_sql(rig.path, "INSERT INTO runner (code, created_utc_ms) VALUES ('R-001', 1)");
    cr_expect_eq(place_look(&s), PLACE_IS_OWN, "%s", message_english(&s.why));
    store_file_sql(rig.path, "VACUUM");
    cr_expect_eq(place_look(&s), PLACE_IS_OWN, "%s", message_english(&s.why));
}

Test(place, a_deleted_a_moved_and_a_replaced_file_are_told_apart)
{
    move("", ".elsewhere");
    cr_expect_eq(place_look(&s), PLACE_HAS_NO_FILE);
    cr_expect(strstr(message_english(&s.why), "deleted or moved"), "%s", message_english(&s.why));
    store_file_write(rig.path, "", 0);
    cr_expect_eq(place_look(&s), PLACE_HAS_OTHER_FILE);
    unlink(rig.path);
    move(".elsewhere", "");
    cr_expect_eq(place_look(&s), PLACE_IS_OWN, "back again, it is");
}

Test(place, a_log_that_went_and_one_that_is_another_are_noticed)
{
    char log[128];
    move("-wal", "-kept");
    cr_expect_eq(place_look(&s), PLACE_HAS_NO_LOG);
    snprintf(log, sizeof log, "%s-wal", rig.path);
    store_file_write(log, "", 0);
    cr_expect_eq(place_look(&s), PLACE_HAS_NO_LOG);
    move("-kept", "-wal");
    cr_expect_eq(place_look(&s), PLACE_IS_OWN);
    move("-shm", "-kept");
    cr_expect_eq(place_look(&s), PLACE_HAS_NO_LOG);
    move("-kept", "-shm");
}

Test(place, a_folder_that_went_is_noticed)
{
    char from[128], to[128];
    snprintf(from, sizeof from, "%s/data", rig.folder);
    snprintf(to, sizeof to, "%s/moved", rig.folder);
    cr_assert_eq(rename(from, to), 0);
    cr_expect_eq(place_look(&s), PLACE_HAS_NO_FOLDER);
    cr_assert_eq(rename(to, from), 0);
    cr_expect_eq(place_look(&s), PLACE_IS_OWN);
}

static bool
take_runner(void *context, const struct store_runner *r)
{
    (void) r;
    ++*(int *) context;
    return false; /* stopped halfway: what is left of the question must not stay open */
}

/* An idle reader with a transaction left open let the log grow to 24.8 MB: SQLite writes back at 1000 pages of 4 KiB, and
 * begins the log anew where nobody reads in it. */
Test(place, an_open_store_that_is_idle_leaves_no_transaction_and_the_log_stays_bounded)
{
    int n = 0;
    struct stat st;
    char log[128];
    struct store writer;
    struct store_runner r;
    cr_assert_eq(store_open(&writer, rig.path, STORE_UNCHECKED), ERR_OK, "%s", message_english(&writer.why));
    cr_assert_eq(store_runner_ensure(&writer, "R-014", &r), ERR_OK, "%s", message_english(&writer.why));
    struct store_visit v = store_visit_default(r.id);
    cr_assert_eq(store_visit_begin(&writer, &v), ERR_OK, "%s", message_english(&writer.why));
    cr_expect_eq(store_runners(&s, take_runner, &n), ERR_OK);
    cr_expect_eq(n, 1);
    cr_expect(place_is_idle(&s));
    cr_assert_eq(store_begin(&s), ERR_OK);
    cr_expect_not(place_is_idle(&s), "a check that can fail");
    store_rollback(&s);
    for (uint32_t i = 0; i < 60; i++) { /* about 100 KB each */
        cr_assert_eq(store_begin(&writer), ERR_OK, "%s", message_english(&writer.why));
        for (uint32_t j = 1; j <= 300; j++) {
            const struct coached_step step = store_rig_step(300 * i + j, true);
            cr_assert_eq(store_step_put(&writer, v.id, &step), ERR_OK, "%s", message_english(&writer.why));
        }
        cr_assert_eq(store_commit(&writer), ERR_OK, "%s", message_english(&writer.why));
        cr_expect(place_is_idle(&s) && place_is_idle(&writer));
    }
    snprintf(log, sizeof log, "%s-wal", rig.path);
    cr_assert_eq(stat(log, &st), 0);
    cr_expect_lt(st.st_size, 5 << 20, "the log has %lld bytes", (long long) st.st_size);
    cr_assert_eq(stat(rig.path, &st), 0);
    cr_expect_gt(st.st_size, 4 << 20, "or the log was never full: %lld bytes", (long long) st.st_size);
    store_close(&writer);
}
