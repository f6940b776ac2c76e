/* Where a run's recording lies: a passing name, then its visit's; what is too much goes when a visit has ended, told. */
#include "aid/store_rig.h"
#include "care/recordings.h"
#include "visit/record_place.h"

#include <criterion/criterion.h>
#include <unistd.h>

static struct store_rig rig;

static void
setup(void)
{
    cr_assert_eq(store_rig_make(&rig), 0);
}

static void
teardown(void)
{
    store_rig_remove(&rig);
}

TestSuite(record_place, .init = setup, .fini = teardown);

static void
write_file(const char *path, const char *text)
{
    FILE *f = fopen(path, "w");
    cr_assert(f && fputs(text, f) >= 0 && fclose(f) == 0, "%s", path);
}

/* A visit with a recording of so many MB, named as a run does it. */
static void
run_one(struct store *s, int64_t mb, struct store_visit *v)
{
    struct store_runner r;
    char path[FILEIO_PATH_MAX], found[STORE_PATH_MAX];
    struct message why;
    bool is_place_new;
    int64_t n_bytes;
    cr_assert_eq(record_place_open(rig.path, path, &is_place_new, &why), ERR_OK, "%s", message_english(&why));
    write_file(path, "x");
    cr_assert_eq(truncate(path, (off_t) (mb * 1000000)), 0);
    cr_assert_eq(store_runner_ensure(s, "R-014", &r), ERR_OK);
    *v = store_visit_default(r.id);
    cr_assert_eq(store_visit_begin(s, v), ERR_OK);
    cr_assert_eq(record_place_name(path, v->id, v->started_utc_ms, path, &why), ERR_OK, "%s", message_english(&why));
    cr_assert_eq(recordings_find(s, v, found, &n_bytes), ERR_OK, "the store finds what the run named");
    cr_assert_eq(n_bytes, mb * 1000000);
}

Test(record_place, old_recordings_go_by_the_rule_and_it_is_told)
{
    struct store s;
    struct store_visit v[3];
    char path[200];
    struct message says;
    int64_t n_bytes;
    cr_assert_eq(store_open(&s, rig.path, 0), ERR_OK, "%s", message_english(&s.why));
    for (int i = 0; i < 3; i++)
        run_one(&s, 2 + i, &v[i]);
    record_place_tidy(rig.path, &says);
    cr_expect(message_is_none(&says), "a thousand are kept");
    snprintf(path, sizeof path, "%s/data/settings.ini", rig.folder);
    write_file(path, "[recordings]\nkeep_visits = none\n");
    record_place_tidy(rig.path, &says);
    cr_expect(strstr(message_english(&says), "No old recording was removed: ") && strstr(message_english(&says), "settings.ini:2: keep_visits"), "%s",
              message_english(&says));
    write_file(path, "[recordings]\nkeep_visits = 1\n");
    record_place_tidy(rig.path, &says);
    cr_expect_str_eq(message_english(&says), "2 old recordings went, of visits 1 to 2, 5.0 MB: settings.ini keeps no more.");
    for (int i = 0; i < 3; i++) {
        char found[STORE_PATH_MAX];
        cr_expect_eq(recordings_find(&s, &v[i], found, &n_bytes) == ERR_OK, i == 2);
    }
    store_close(&s);
}
