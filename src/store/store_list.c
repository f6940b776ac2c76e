/* store_list.c - long lists of runners, a page at a time, each with their newest visit. */
#include "store/store.h"

#include "base/str.h"
#include "store/sql.h"
#include "store/store_parts.h"

/* ?1 the search text, in any case. The newest visit is looked up in the index visit_by_runner, which holds the ids. */
#define MATCHING                                                                                                        \
    "SELECT *, (SELECT max(id) FROM visit WHERE runner_id = runner.id) AS last_id FROM runner"                          \
    " WHERE ?1 = '' OR instr(upper(code), upper(?1)) > 0"
#define BY_CODE       " ORDER BY code"
#define BY_LAST_VISIT " ORDER BY last_id DESC NULLS LAST, code"

#define PAGE(order)                                                                                                     \
    "SELECT " STORE_RUNNER_COLUMNS("r.") ", (SELECT count(*) FROM visit WHERE runner_id = r.id),"                       \
    " r.last_id, v.started_utc_ms, v.zone_offset_min"                                                                   \
    " FROM (" MATCHING order " LIMIT ?2 OFFSET ?3) r LEFT JOIN visit v ON v.id = r.last_id" order
#define PLACE(order)                                                                                                    \
    "SELECT place - 1 FROM (SELECT id, row_number() OVER (" order ") AS place FROM (" MATCHING ")) WHERE id = ?2"

static enum err
count_matching(struct store *s, const char *search, int *total)
{
    sqlite3_stmt *st;
    enum err err = sql_prepare(s, &st, "SELECT count(*) FROM runner WHERE ?1 = '' OR instr(upper(code), upper(?1)) > 0",
                               N_("can't read the runners"));
    if (err != ERR_OK)
        return err;
    sql_bind_word(st, 1, search);
    err = sql_next(s, st, N_("can't read the runners"));
    if (err == ERR_OK)
        *total = (int) sql_int(st, 0);
    sql_end(st);
    return err;
}

enum err
store_runners_page(struct store *s, const struct store_runners_query *q,
                   bool (*fn)(void *context, const struct store_runner_row *r), void *context, int *total)
{
    struct store_runner_row row;
    sqlite3_stmt *st;
    enum err err = count_matching(s, q->search, total);
    if (err == ERR_OK)
        err = sql_prepare(s, &st, q->order == STORE_RUNNERS_BY_LAST_VISIT ? PAGE(BY_LAST_VISIT) : PAGE(BY_CODE),
                          N_("can't read the runners"));
    if (err != ERR_OK)
        return err;
    sql_bind_word(st, 1, q->search);
    sql_bind_int(st, 2, q->limit);
    sql_bind_int(st, 3, q->offset);
    while ((err = sql_next(s, st, N_("can't read the runners"))) == ERR_OK) {
        store_read_runner(st, &row.runner);
        row.n_visits = (int) sql_int(st, STORE_N_RUNNER_COLUMNS);
        row.last_visit_id = sql_int(st, STORE_N_RUNNER_COLUMNS + 1);
        row.last_started_utc_ms = sql_int(st, STORE_N_RUNNER_COLUMNS + 2);
        row.last_zone_offset_min = (int) sql_int(st, STORE_N_RUNNER_COLUMNS + 3);
        if (!fn(context, &row))
            break;
    }
    sql_end(st);
    return err == ERR_GONE ? ERR_OK : err;
}

enum err
store_runners_place(struct store *s, const struct store_runners_query *q, int64_t runner_id, int *place)
{
    sqlite3_stmt *st;
    enum err err = sql_prepare(s, &st, q->order == STORE_RUNNERS_BY_LAST_VISIT ? PLACE(BY_LAST_VISIT) : PLACE(BY_CODE),
                               N_("can't read the runners"));
    if (err != ERR_OK)
        return err;
    sql_bind_word(st, 1, q->search);
    sql_bind_int(st, 2, runner_id);
    err = sql_next(s, st, N_("can't read the runners"));
    if (err == ERR_OK)
        *place = (int) sql_int(st, 0);
    sql_end(st);
    return err;
}
