/* What is said of a store that does not keep up, loses records, or has lost the visit. */
#include "visit/store_watch.h"

#include "aid/store_rig.h"
#include "base/monotime.h"
#include "care/forget.h"
#include "store/running.h"

#include <criterion/criterion.h>

static struct store_watch watch;

static bool
judge(double at_s, uint64_t n_written, uint64_t n_waiting, uint64_t n_dropped, enum err err, const char *why)
{
    struct writer_status s = { .n_written = n_written, .n_waiting = n_waiting, .n_dropped = n_dropped, .err = err };
    struct message cause;
    message_init(&s.why, MESSAGE_NONE);
    if (why[0]) {
        message_say(&cause, why);
        message_tell(&s.why, MESSAGE_STORE_FAILED, message_word("can't save"), message_path("/a/" STORE_FILE_NAME), message_of(&cause));
    }
    return store_watch_judge(&watch, &s, (struct host_time){ units_us_from_s(at_s) });
}

Test(store_watch, a_full_disc_is_told_once_and_again_when_it_has_room)
{
    cr_expect(!judge(1, 10, 2, 0, ERR_OK, "") && message_is_none(&watch.says));
    cr_expect(judge(1.3, 10, 4, 0, ERR_OS, "the disc is full"));
    cr_expect_str_eq(message_english(&watch.says), "not saved for now: the disc is full");
    cr_expect_not(judge(1.6, 10, 6, 0, ERR_OS, "the disc is full"), "said already");
    cr_expect(judge(3, 16, 0, 0, ERR_OK, ""));
    cr_expect(!watch.is_bad && message_is_none(&watch.says));
}

Test(store_watch, a_disc_that_hangs_is_told_after_two_seconds)
{
    cr_expect_not(judge(1, 10, 1, 0, ERR_OK, ""));
    cr_expect_not(judge(2.9, 10, 8, 0, ERR_OK, ""));
    cr_expect(judge(3.1, 10, 9, 0, ERR_OK, ""));
    cr_expect_str_eq(message_english(&watch.says), "not saved for now: the disc does not answer");
    cr_expect(judge(3.4, 19, 0, 0, ERR_OK, ""));
    cr_expect_not(judge(60, 19, 0, 0, ERR_OK, ""), "nobody runs: nothing waits");
}

Test(store_watch, what_is_lost_is_told_with_how_much)
{
    cr_expect_not(judge(1, 10, 0, 0, ERR_OK, ""));
    cr_expect(judge(1.3, 10, 1024, 3, ERR_OS, "the disc is full"));
    cr_expect_str_eq(message_english(&watch.says), "3 records are lost: the disc is full");
    cr_expect_not(judge(1.6, 10, 1024, 5, ERR_OS, "the disc is full"));
    cr_expect_str_eq(message_english(&watch.says), "5 records are lost: the disc is full");
}

/* The writer's own thread, waited for by what it says; no time is asserted. */
Test(store_watch, a_visit_whose_rows_were_taken_away_is_told_for_what_it_is)
{
    struct store_rig rig;
    struct store store;
    struct store_belongings had;
    struct visit v = { .is_open = false };
    cr_assert_eq(store_rig_make(&rig), 0);
    cr_assert_eq(store_open(&store, rig.path, 0), ERR_OK, "%s", message_english(&store.why));
    struct store_runner r = store_runner_default("R-014");
    cr_assert_eq(store_runner_save(&store, &r), ERR_OK);
    v.row = store_visit_default(r.id);
    cr_assert_eq(store_visit_begin(&store, &v.row), ERR_OK);
    cr_assert_eq(writer_start(&v.writer, rig.path, v.row.id), ERR_OK);
    v.is_open = true;
    cr_assert_eq(forget_runner(&store, r.id, &had), ERR_USAGE, "not while it runs");
    running_end(v.writer.running_fd); /* as on a file system without locks */
    v.writer.running_fd = -1;
    cr_assert_eq(forget_runner(&store, r.id, &had), ERR_OK, "%s", message_english(&store.why));
    const struct coached_step step = store_rig_step(1, true);
    cr_assert(writer_put_step(&v.writer, &step));
    for (int i = 0; i < 2000 && !watch.is_bad; i++) {
        monotime_sleep_us(5000);
        store_watch_look(&watch, &v, monotime_now());
    }
    cr_expect(strstr(message_english(&watch.says), "is no longer in the store") && !strstr(message_english(&watch.says), "FOREIGN"), "%s",
              message_english(&watch.says));
    cr_expect_eq(writer_stop(&v.writer, NULL) == ERR_OK, true, "nothing waits, nothing more is refused");
    store_close(&store);
    store_rig_remove(&rig);
}
