/* test_store_list.c - long lists: searched, sorted, a page at a time, and from indexes. */
#include "aid/store_suite.h"
#include "aid/store_trace.h"

#include <stdio.h>
#include <string.h>

TestSuite(store_list, .init = make_rig, .fini = remove_rig);

enum { N_RUNNERS = 300 };

/* every runner but each tenth has (number % 4) + 1 visits, begun in the order of the numbers. */
static void
make_many(void)
{
    open_store();
    cr_assert_eq(store_begin(&store), ERR_OK);
    for (int i = 0; i < N_RUNNERS; i++) {
        char code[16];
        snprintf(code, sizeof code, "R-%03d", i);
        struct store_runner r = store_runner_default(code);
        cr_assert_eq(store_runner_save(&store, &r), ERR_OK, "%s", message_english(&store.why));
        for (int k = 0; i % 10 != 0 && k <= i % 4; k++) {
            struct store_visit v = store_visit_default(r.id);
            v.started_utc_ms = 1000 * (int64_t) i + k + 1;
            v.zone_offset_min = 60;
            cr_assert_eq(store_visit_begin(&store, &v), ERR_OK, "%s", message_english(&store.why));
        }
    }
    cr_assert_eq(store_commit(&store), ERR_OK);
}

struct seen {
    int n, total;
    struct store_runner_row row[N_RUNNERS];
};

static bool
take(void *context, const struct store_runner_row *r)
{
    struct seen *s = context;
    s->row[s->n++] = *r;
    return s->n < N_RUNNERS;
}

static void
read_page(const struct store_runners_query *q, struct seen *out)
{
    out->n = out->total = 0;
    cr_assert_eq(store_runners_page(&store, q, take, out, &out->total), ERR_OK, "%s", message_english(&store.why));
}

Test(store_list, pages_by_code_hold_every_runner_once_with_their_newest_visit)
{
    static struct seen s;
    make_many();
    for (int offset = 0, next = 0; offset < N_RUNNERS + 40; offset += 40) {
        read_page(&(struct store_runners_query){ .offset = offset, .limit = 40 }, &s);
        cr_assert_eq(s.total, N_RUNNERS);
        cr_assert_eq(s.n, N_RUNNERS - offset >= 40 ? 40 : N_RUNNERS - offset > 0 ? N_RUNNERS - offset : 0);
        for (int k = 0; k < s.n; k++, next++) {
            const struct store_runner_row *r = &s.row[k];
            cr_assert_eq(atoi(r->runner.code + 2), next);
            cr_assert_eq(r->n_visits, next % 10 == 0 ? 0 : next % 4 + 1, "%s has %d", r->runner.code, r->n_visits);
            cr_assert_eq(r->last_visit_id == 0, next % 10 == 0);
            if (next % 10 != 0) {
                cr_assert_eq(r->last_started_utc_ms, 1000 * (int64_t) next + next % 4 + 1);
                cr_assert_eq(r->last_zone_offset_min, 60);
            }
        }
    }
    store_close(&store);
}

Test(store_list, a_clock_that_was_set_back_does_not_change_which_visit_is_the_newest)
{
    static struct seen s;
    open_store();
    begin_visit();
    struct store_runner r;
    cr_assert_eq(store_runner_get(&store, "R-014", &r), ERR_OK);
    struct store_visit v = store_visit_default(r.id);
    v.started_utc_ms = 5; /* long before the first one */
    cr_assert_eq(store_visit_begin(&store, &v), ERR_OK);
    read_page(&(struct store_runners_query){ .limit = 10 }, &s);
    cr_assert_eq(s.row[0].last_visit_id, v.id);
    cr_assert_eq(s.row[0].last_started_utc_ms, 5);
    store_close(&store);
}

Test(store_list, the_search_finds_codes_by_a_part_in_any_case)
{
    static struct seen s;
    make_many();
    read_page(&(struct store_runners_query){ .search = "r-01", .limit = 4, .offset = 8 }, &s);
    cr_assert_eq(s.total, 10); /* */
    cr_assert_eq(s.n, 2);
    cr_assert_str_eq(s.row[0].runner.code, "R-018");
    read_page(&(struct store_runners_query){ .search = "%", .limit = 4 }, &s);
    cr_assert_eq(s.total + s.n, 0, "signs of SQL are only signs");
    store_close(&store);
}

Test(store_list, by_last_visit_the_newest_come_first_and_those_without_one_last)
{
    static struct seen s;
    make_many();
    read_page(&(struct store_runners_query){ .order = STORE_RUNNERS_BY_LAST_VISIT, .limit = 3 }, &s);
    cr_assert_str_eq(s.row[0].runner.code, "R-299");
    cr_assert_str_eq(s.row[1].runner.code, "R-298");
    read_page(&(struct store_runners_query){ .order = STORE_RUNNERS_BY_LAST_VISIT, .limit = 3, .offset = 270 }, &s);
    cr_assert_str_eq(s.row[0].runner.code, "R-000");
    cr_assert_str_eq(s.row[1].runner.code, "R-010");
    store_close(&store);
}

Test(store_list, the_place_of_a_runner_is_where_the_page_shows_them)
{
    static struct seen s;
    make_many();
    for (int order = STORE_RUNNERS_BY_CODE; order <= STORE_RUNNERS_BY_LAST_VISIT; order++) {
        const struct store_runners_query q = { .search = "R-1", .order = (enum store_runners_order) order, .limit = -1 };
        read_page(&q, &s);
        cr_assert_eq(s.n, 100); /* no limit */
        for (int i = 0; i < s.n; i++) {
            int place = -1;
            cr_assert_eq(store_runners_place(&store, &q, s.row[i].runner.id, &place), ERR_OK);
            cr_assert_eq(place, i);
        }
        int place;
        cr_assert_eq(store_runners_place(&store, &q, 1, &place), ERR_GONE, "R-000 does not match");
    }
    store_close(&store);
}

static bool
count_visit(void *context, const struct store_visit *v)
{
    int64_t *last_ms = context;
    cr_assert_lt(v->started_utc_ms, *last_ms, "newest first");
    *last_ms = v->started_utc_ms;
    last_ms[1]++;
    return true;
}

Test(store_list, pages_of_visits_hold_every_visit_once)
{
    int64_t seen[2] = { INT64_MAX, 0 };
    int n = 0, n_pages = 0;
    make_many();
    cr_assert_eq(store_visits_count(&store, 0, &n), ERR_OK);
    for (; seen[1] < n && n_pages < n; n_pages++)
        cr_assert_eq(store_visits_page(&store, &(struct store_visits_query){ 0, (int) seen[1], 50 }, count_visit, seen), ERR_OK);
    cr_assert_eq(seen[1], n);
    cr_assert_eq(n_pages, (n + 49) / 50);
    cr_assert_eq(store_visits_count(&store, 4, &n), ERR_OK); /* */
    cr_assert_eq(n, 4);
    store_close(&store);
}

static char last_sql[8192];

static void
keep_sql(const char *sql)
{
    snprintf(last_sql, sizeof last_sql, "%s", sql);
}

static bool
pass(void *context, const struct store_visit *v)
{
    (void) context;
    (void) v;
    return true;
}

/* "SCAN visit" alone reads the rows; "SCAN visit USING COVERING INDEX" reads an index. */
static void
expect_no_table_walk(const char *table)
{
    char plan[2048], walk[64];
    store_trace_plan(rig.path, last_sql, plan);
    snprintf(walk, sizeof walk, "SCAN %s;", table);
    cr_expect_null(strstr(plan, walk), "%s\n%s", plan, last_sql);
    snprintf(walk, sizeof walk, "SCAN %s", table);
    const char *end = plan + strlen(plan) - (strlen(plan) < strlen(walk) ? strlen(plan) : strlen(walk));
    cr_expect_neq(strcmp(end, walk), 0, "%s\n%s", plan, last_sql);
}

Test(store_list, what_the_panel_asks_for_is_looked_up_in_indexes)
{
    static struct seen s;
    char plan[2048];
    make_many();
    store_close(&store);
    store_trace_begin(keep_sql);
    open_store();
    store_trace_fn = keep_sql;
    cr_assert_eq(store_visits_page(&store, &(struct store_visits_query){ 3, 0, 20 }, pass, NULL), ERR_OK);
    expect_no_table_walk("visit");
    store_trace_plan(rig.path, last_sql, plan);
    cr_expect_not_null(strstr(plan, "INDEX visit_by_runner (runner_id=?)"), "%s", plan);
    for (int order = STORE_RUNNERS_BY_CODE; order <= STORE_RUNNERS_BY_LAST_VISIT; order++) {
        store_trace_fn = keep_sql;
        read_page(&(struct store_runners_query){ .order = (enum store_runners_order) order, .limit = 20 }, &s);
        expect_no_table_walk("visit");
        store_trace_plan(rig.path, last_sql, plan);
        cr_expect_not_null(strstr(plan, "INDEX visit_by_runner (runner_id=?)"), "%s", plan);
    }
    store_close(&store);
}
