/* What the panel is told of the store and of the folders with plans. */
#include "desk/desk_read.h"

#include "aid/store_file.h"
#include "aid/store_rig.h"
#include "base/monotime.h"
#include "base/str.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static struct store_rig rig;
static struct store store;
static struct panel_case *kase;

static void
put_plan(const char *name, const char *text)
{
    char path[200];
    snprintf(path, sizeof path, "mkdir -p %s/underfoot/plans", rig.folder);
    cr_assert_eq(system(path), 0);
    snprintf(path, sizeof path, "%s/underfoot/plans/%s.ini", rig.folder, name);
    FILE *f = fopen(path, "w");
    cr_assert(f && fputs(text, f) >= 0 && fclose(f) == 0);
}

static void
make_rig(void)
{
    struct store_runner r = store_runner_default("R-014");
    kase = calloc(1, sizeof *kase);
    cr_assert(kase);
    cr_assert_eq(store_rig_make(&rig), 0);
    setenv("XDG_CONFIG_HOME", rig.folder, 1);
    setenv("UNDERFOOT_PROFILES", "profiles", 1);
    cr_assert_eq(store_open(&store, rig.path, 0), ERR_OK, "%s", message_english(&store.why));
    cr_assert_eq(store_runner_save(&store, &r), ERR_OK, "%s", message_english(&store.why));
}

static void
remove_rig(void)
{
    store_close(&store);
    store_rig_remove(&rig);
    free(kase);
}

TestSuite(desk_read, .init = make_rig, .fini = remove_rig);

static const struct panel_plan *
find(const char *id)
{
    for (int i = 0; i < kase->n_plans; i++)
        if (strcmp(kase->plan[i].id, id) == 0)
            return &kase->plan[i];
    return NULL;
}

Test(desk_read, a_wrong_plan_is_listed_with_its_line_and_what_is_wrong_and_is_not_proposed)
{
    put_plan("underfoot-a-broken", "[plan]\nname = Broken\n\n[visit 1]\nblock = coached for ever\n");
    put_plan("mine", "[plan]\nname = Mine\n\n[visit 1]\nblock = coached minutes 10 shown 50%\n");
    cr_assert_eq(desk_read_case(&store, "R-014", NULL, kase), ERR_OK, "%s", message_english(&store.why));
    const struct panel_plan *wrong = find("underfoot-a-broken"), *mine = find("mine");
    cr_assert(wrong && mine);
    cr_assert_eq(strncmp(message_english(&wrong->why), "underfoot-a-broken.ini:5: ", 26), 0, "%s", message_english(&wrong->why));
    cr_assert(wrong->is_own && mine->is_own && message_is_none(&mine->why) && mine->n_visits == 1);
    cr_assert(kase->plan_now >= 0 && message_is_none(&kase->plan[kase->plan_now].why), "%d", kase->plan_now);
}

/* Counts as made here: computed. */
Test(desk_read, any_part_of_a_list_of_5000_runners_and_50000_visits_is_read_found_and_searched, .timeout = 500)
{
    static struct panel_runners list;
    cr_assert_eq(store_begin(&store), ERR_OK);
    for (int i = 1; i < 5000; i++) {
        char code[16];
        snprintf(code, sizeof code, "S-%04d", i);
        struct store_runner r = store_runner_default(code);
        cr_assert_eq(store_runner_save(&store, &r), ERR_OK, "%s", message_english(&store.why));
        for (int v = 0; v < 10; v++) {
            struct store_visit visit = store_visit_default(r.id);
            visit.started_utc_ms = INT64_C(1700000000000) + v;
            cr_assert_eq(store_visit_begin(&store, &visit), ERR_OK, "%s", message_english(&store.why));
        }
    }
    cr_assert_eq(store_commit(&store), ERR_OK);
    const struct host_time begun = monotime_now();
    static struct panel_request q;
    cr_assert_eq(desk_read_runners(&store, &q, &list), ERR_OK, "%s", message_english(&store.why));
    printf("list of 5000 runners, 49990 visits: %.1f ms\n", 1e-3 * (double) units_host_since_us(monotime_now(), begun));
    cr_assert_eq(list.n, PANEL_MAX_RUNNERS);
    cr_assert(list.total == 5000 && list.n_all == 5000 && list.offset == 0 && list.at == -1);
    cr_assert_str_eq(list.runner[0].code, "R-014");
    cr_assert(list.runner[0].n_visits == 0 && list.runner[0].last[0] == '\0');
    cr_assert_str_eq(list.runner[1].code, "S-0001");
    cr_assert_eq(list.runner[1].n_visits, 10);
    cr_assert_str_eq(list.runner[1].last, "2023-11-14"); /* 1700000000 s: 2023-11-14T22:13:20Z */
    /* Any of them, and the end. */
    str_copy(q.runner.code, sizeof q.runner.code, "S-3210");
    cr_assert_eq(desk_read_runners(&store, &q, &list), ERR_OK, "%s", message_english(&store.why));
    cr_assert(list.at == 3210 && list.offset <= 3210 && 3210 < list.offset + list.n);
    cr_assert_str_eq(list.runner[list.at - list.offset].code, "S-3210");
    cr_assert_str_eq(list.finding, "S-3210");
    q.runner.code[0] = '\0';
    q.number = 4900;
    cr_assert_eq(desk_read_runners(&store, &q, &list), ERR_OK, "%s", message_english(&store.why));
    cr_assert(list.n == 100 && list.offset == 4900);
    cr_assert_str_eq(list.runner[99].code, "S-4999");
    q.number = 6000; /* beyond the end, as when others were forgotten elsewhere */
    cr_assert_eq(desk_read_runners(&store, &q, &list), ERR_OK, "%s", message_english(&store.why));
    cr_assert(list.n == PANEL_MAX_RUNNERS && list.offset == 5000 - PANEL_MAX_RUNNERS);
    /* A search, in any case: S-x999, five of them. */
    q.number = 0;
    str_copy(q.text, sizeof q.text, "999");
    str_copy(q.runner.code, sizeof q.runner.code, "S-2999");
    cr_assert_eq(desk_read_runners(&store, &q, &list), ERR_OK, "%s", message_english(&store.why));
    cr_assert(list.n == 5 && list.total == 5 && list.n_all == 5000 && list.at == 2);
    cr_assert_str_eq(list.search, "999");
    str_copy(q.runner.code, sizeof q.runner.code, "R-014"); /* there, but not found by this */
    cr_assert_eq(desk_read_runners(&store, &q, &list), ERR_OK, "%s", message_english(&store.why));
    cr_assert(list.n == 5 && list.at == -1);
}

Test(desk_read, plans_beyond_those_that_are_held_are_counted)
{
    for (int i = 0; i < PANEL_MAX_PLANS + 3; i++) {
        char name[32];
        snprintf(name, sizeof name, "mine-%d", i);
        put_plan(name, "[plan]\nname = Mine\n\n[visit 1]\nblock = coached minutes 10 shown 50%\n");
    }
    cr_assert_eq(desk_read_case(&store, "R-014", NULL, kase), ERR_OK, "%s", message_english(&store.why));
    cr_assert_eq(kase->n_plans, PANEL_MAX_PLANS);
    cr_assert_geq(kase->n_more_plans, 3);
}

/* 60 visits by id, a window of 24: computed. */
Test(desk_read, a_long_course_is_read_window_by_window_and_what_is_proposed_comes_from_the_newest)
{
    static const struct {
        int n_newer, first, n_older, n_left;
    } rows[] = { { 0, 37, 36, 0 }, { 24, 13, 12, 24 }, { 36, 1, 0, 36 }, { 1000, 1, 0, 36 }, { -5, 37, 36, 0 } };
    struct store_runner r;
    cr_assert_eq(store_runner_get(&store, "R-014", &r), ERR_OK, "%s", message_english(&store.why));
    cr_assert_eq(store_begin(&store), ERR_OK);
    for (int v = 0; v < 60; v++) {
        struct store_visit visit = store_visit_default(r.id);
        visit.started_utc_ms = INT64_C(1700000000000) + v;
        snprintf(visit.plan, sizeof visit.plan, v == 59 ? "mine" : "underfoot-ten-to-twenty");
        cr_assert_eq(store_visit_begin(&store, &visit), ERR_OK, "%s", message_english(&store.why));
        cr_assert_eq(visit.id, v + 1);
    }
    cr_assert_eq(store_commit(&store), ERR_OK);
    put_plan("mine", "[plan]\nname = Mine\n\n[visit 1]\nblock = coached minutes 10 shown 50%\n");
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        cr_assert_eq(desk_read_older(&store, "R-014", rows[i].n_newer, NULL, kase), ERR_OK, "%s", message_english(&store.why));
        cr_expect_eq(kase->n_visits, PANEL_MAX_VISITS, "row %zu", i);
        cr_expect_eq(kase->visit[0].id, rows[i].first, "row %zu: %d", i, (int) kase->visit[0].id);
        cr_expect_eq(kase->visit[23].id, rows[i].first + 23, "row %zu", i);
        cr_expect_eq(kase->n_older_visits, rows[i].n_older, "row %zu", i);
        cr_expect_eq(kase->n_newer_visits, rows[i].n_left, "row %zu", i);
        cr_expect(kase->is_turned && kase->plan_now >= 0 && strcmp(kase->plan[kase->plan_now].id, "mine") == 0, "row %zu", i);
    }
    cr_assert_eq(desk_read_case(&store, "R-014", NULL, kase), ERR_OK, "%s", message_english(&store.why));
    cr_assert(kase->visit[23].id == 60 && kase->n_older_visits == 36 && !kase->is_turned);
}

/* A figure that a visit has by another definition than the newest one is not lined up; the page says whose. */
Test(desk_read, the_visits_whose_figure_is_of_another_definition_are_named)
{
    struct store_runner r;
    cr_assert_eq(store_runner_get(&store, "R-014", &r), ERR_OK, "%s", message_english(&store.why));
    for (int v = 0; v < 3; v++) {
        struct store_visit visit = store_visit_default(r.id);
        const struct store_block block = { .kind = VERDICT_BLOCK_FREE, .end = { 40000000 }, .shown_share = NAN };
        visit.started_utc_ms = INT64_C(1700000000000) + v;
        cr_assert_eq(store_visit_begin(&store, &visit), ERR_OK, "%s", message_english(&store.why));
        cr_assert_eq(store_block_put(&store, visit.id, &block), ERR_OK, "%s", message_english(&store.why));
        for (uint32_t i = 1; i <= 40; i++) {
            struct coached_step step = store_rig_step(i, true);
            step.block = 0;
            step.step.flags = 0;
            cr_assert_eq(store_step_put(&store, visit.id, &step), ERR_OK, "%s", message_english(&store.why));
        }
    }
    store_file_sql(rig.path, "UPDATE visit SET definitions = 'cadence_spm=7' WHERE id < 3;"
                             "UPDATE visit SET definitions = 'cadence_spm=8' WHERE id = 3");
    cr_assert_eq(desk_read_case(&store, "R-014", NULL, kase), ERR_OK, "%s", message_english(&store.why));
    int n_seen = 0;
    for (int i = 0; i < kase->n_metrics; i++) {
        cr_expect_str_eq(kase->left_out[i], kase->metric[i] == METRIC_CADENCE_SPM ? "1, 2" : "", "%s",
                         metric_info(kase->metric[i])->name);
        n_seen += kase->metric[i] == METRIC_CADENCE_SPM;
    }
    cr_expect_eq(n_seen, 1);
}
