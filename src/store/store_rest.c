/* store_rest.c - what else belongs to a visit: blocks, pain and effort, notes. */
#include "store/store.h"

#include "base/monotime.h"
#include "store/names.h"
#include "store/sql.h"
#include "store/store_parts.h"

#include <math.h>
#include <string.h>

enum err
store_block_put(struct store *s, int64_t visit_id, const struct store_block *b)
{
    sqlite3_stmt *st;
    enum err err =
        sql_prepare(s, &st,
                    "INSERT INTO block (visit_id, number, kind, start_us, end_us, planned_s,"
                    " belt_speed_m_s, shown_share, target_set_id, part)"
                    " VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)"
                    " ON CONFLICT (visit_id, number) DO UPDATE SET kind = ?3, start_us = ?4, end_us = ?5,"
                    " planned_s = ?6, belt_speed_m_s = ?7, shown_share = ?8, part = ?10",
                    N_("can't save a block"));

    if (err != ERR_OK)
        return err;
    sql_bind_int(st, 1, visit_id);
    sql_bind_int(st, 2, b->index);
    sql_bind_word(st, 3, names_block(b->kind));
    sql_bind_int(st, 4, b->start.us);
    if (b->end.us < b->start.us)
        sql_bind_word(st, 5, NULL);
    else
        sql_bind_int(st, 5, b->end.us);
    sql_bind_number(st, 6, b->planned_s);
    sql_bind_number(st, 7, b->belt_speed_m_s);
    sql_bind_number(st, 8, b->shown_share);
    sql_bind_id(st, 9, b->target_set_id);
    if (b->part < 0)
        sql_bind_word(st, 10, NULL);
    else
        sql_bind_int(st, 10, b->part);
    return store_run(s, st, N_("can't save a block"));
}

enum err
store_blocks(struct store *s, int64_t visit_id, bool (*fn)(void *context, const struct store_block *b),
             void *context)
{
    sqlite3_stmt *st;
    enum err err = sql_prepare(s, &st,
                               "SELECT number, kind, start_us, coalesce(end_us, start_us - 1), planned_s,"
                               " belt_speed_m_s, shown_share, target_set_id, coalesce(part, -1) FROM block"
                               " WHERE visit_id = ?1 ORDER BY number",
                               N_("can't read the blocks"));

    if (err != ERR_OK)
        return err;
    sql_bind_int(st, 1, visit_id);
    while ((err = sql_next(s, st, N_("can't read the blocks"))) == ERR_OK) {
        struct store_block b = { .index = (int) sql_int(st, 0),
                                 .kind = names_block_from(sql_word(st, 1)),
                                 .start = { sql_int(st, 2) },
                                 .end = { sql_int(st, 3) },
                                 .planned_s = sql_number(st, 4),
                                 .belt_speed_m_s = sql_number(st, 5),
                                 .shown_share = sql_number(st, 6),
                                 .target_set_id = sql_int(st, 7),
                                 .part = (int) sql_int(st, 8) };
        if (!fn(context, &b))
            break;
    }
    sql_end(st);
    return err == ERR_GONE ? ERR_OK : err;
}

enum err
store_pain_put(struct store *s, int64_t visit_id, const struct store_pain *p)
{
    sqlite3_stmt *st;
    enum err err = sql_prepare(
        s, &st, "INSERT INTO pain (visit_id, asked, at_us, pain, effort) VALUES (?1, ?2, ?3, ?4, ?5)",
        N_("can't save the pain"));

    if (err != ERR_OK)
        return err;
    sql_bind_int(st, 1, visit_id);
    sql_bind_word(st, 2, names_pain_when(p->when));
    if (p->when == STORE_PAIN_DURING)
        sql_bind_int(st, 3, p->at.us);
    sql_bind_number(st, 4, p->pain);
    sql_bind_number(st, 5, p->effort);
    return store_run(s, st, N_("can't save the pain"));
}

enum err
store_pains(struct store *s, int64_t visit_id, bool (*fn)(void *context, const struct store_pain *p),
            void *context)
{
    sqlite3_stmt *st;
    enum err err =
        sql_prepare(s, &st, "SELECT asked, at_us, pain, effort FROM pain WHERE visit_id = ?1 ORDER BY id",
                    N_("can't read the pain"));

    if (err != ERR_OK)
        return err;
    sql_bind_int(st, 1, visit_id);
    while ((err = sql_next(s, st, N_("can't read the pain"))) == ERR_OK) {
        struct store_pain p = { .when = names_pain_when_from(sql_word(st, 0)),
                                .at = { sql_int(st, 1) },
                                .pain = sql_number(st, 2),
                                .effort = sql_number(st, 3) };
        if (!fn(context, &p))
            break;
    }
    sql_end(st);
    return err == ERR_GONE ? ERR_OK : err;
}

enum err
store_note_put(struct store *s, int64_t visit_id, const struct store_note *n)
{
    sqlite3_stmt *st;
    enum err err = store_text_check(s, n->text, sizeof n->text, true, N_("the note"));

    if (err == ERR_OK)
        err = sql_prepare(s, &st, "INSERT INTO note (visit_id, at_us, written_utc_ms, text) VALUES (?1, ?2, ?3, ?4)",
                          N_("can't save the note"));

    if (err != ERR_OK)
        return err;
    sql_bind_int(st, 1, visit_id);
    if (n->at.us >= 0)
        sql_bind_int(st, 2, n->at.us);
    sql_bind_int(st, 3, n->written_utc_ms != 0 ? n->written_utc_ms : monotime_wall_us() / 1000);
    sql_bind_word(st, 4, n->text);
    return store_run(s, st, N_("can't save the note"));
}

enum err
store_notes(struct store *s, int64_t visit_id, bool (*fn)(void *context, const struct store_note *n),
            void *context)
{
    struct store_note n;
    sqlite3_stmt *st;
    enum err err = sql_prepare(
        s, &st, "SELECT coalesce(at_us, -1), written_utc_ms, text FROM note WHERE visit_id = ?1 ORDER BY id",
        N_("can't read the notes"));

    if (err != ERR_OK)
        return err;
    sql_bind_int(st, 1, visit_id);
    while ((err = sql_next(s, st, N_("can't read the notes"))) == ERR_OK) {
        memset(&n, 0, sizeof n);
        n.at.us = sql_int(st, 0);
        n.written_utc_ms = sql_int(st, 1);
        sql_copy(st, 2, n.text, sizeof n.text);
        if (!fn(context, &n))
            break;
    }
    sql_end(st);
    return err == ERR_GONE ? ERR_OK : err;
}
