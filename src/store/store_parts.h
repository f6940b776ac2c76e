/* store_parts.h - inside store/ only: what its files share about rows. */
#ifndef STORE_STORE_PARTS_H
#define STORE_STORE_PARTS_H

#include "base/message.h"
#include "store/sql.h"
#include "store/store.h"
#include "store/whole.h"

/* The columns of a runner that store_read_runner() reads, from the first on; of: such as "r.". */
#define STORE_RUNNER_COLUMNS(of)                                                                                        \
    of "id, " of "code, " of "body_mass_kg, " of "leg_length_mm, " of "foot_length_mm, " of "pain_limit, " of             \
       "shoe_note, " of "display, " of "created_utc_ms, " of "uuid"
#define STORE_N_RUNNER_COLUMNS 10

/* ERR_OS, and says that no identifier could be drawn. */
enum err store_no_chance(struct store *s);
void store_read_runner(sqlite3_stmt *st, struct store_runner *out);

/* A transaction around what follows, unless there is one already: *is_own then says so to store_leave(), which commits on
 * ERR_OK, rolls back on anything else, and gives the error. After a refused enter there is nothing to leave. */
enum err store_enter(struct store *s, bool *is_own);
enum err store_leave(struct store *s, bool is_own, enum err err);
/* sql_run() of a statement that writes, in a transaction. */
enum err store_run(struct store *s, sqlite3_stmt *st, const char *what);

/* store_step.c: whose steps a table holds. */
struct store_step_table {
    const char *name, *owner; /* the table, and its column of the owner's id */
};
extern const struct store_step_table STORE_STEPS_OF_VISIT, STORE_STEPS_OF_MEASUREMENT;
enum err store_put_step_into(struct store *s, const struct store_step_table *table, int64_t owner_id,
                             const struct coached_step *step);
enum err store_read_steps_of(struct store *s, const struct store_step_table *table, int64_t owner_id,
                             bool (*fn)(void *context, const struct coached_step *step), void *context);

/* store_keep.c: writes a consistent copy of the store to a new file of mode 0600, on disc when it answers ERR_OK; an older
 * file of that name goes first. */
enum err store_copy_to(struct store *s, const char *path);
/* ERR_GONE: it was stopped; nothing lies there then. */
enum err store_copy_until(struct store *s, const char *path, const struct store_stop *stop);

/* store_migrate.c: true when every table and column of this version is there. */
enum err store_is_up_to_date(struct store *s, int64_t version, bool *is);
/* store_open.c: s->path for the path that a caller gave, NULL for the usual place. */
enum err store_find_path(struct store *s, const char *path);
/* store_keep.c: ERR_OS, with what hindered the copy at path. */
enum err store_refuse_copy(struct store *s, const char *path, int number);
/* store_keep.c: all pages of one database into another one, page by page; SQLite's code, SQLITE_INTERRUPT when stopped. */
int store_copy_pages(sqlite3 *to, sqlite3 *from, const struct store_stop *stop);
/* store_runner.c: the rows of a runner and all that is theirs, inside the caller's transaction. */
enum err store_delete_runner(struct store *s, int64_t id, const char *what);
/* store_migrate.c: to the rows that have no identifier. */
enum err store_give_identities(struct store *s);
/* Lets the connection's statements call underfoot_derived(name), and what derives the UUID of a row from before there were any:
 * by what never changes of it. */
enum err store_teach_derived(struct store *s);
#define STORE_DERIVED_RUNNER(r) "underfoot_derived('runner ' || " #r ".id || ' ' || " #r ".created_utc_ms)"
#define STORE_DERIVED_VISIT(v)                                                                                          \
    "underfoot_derived('visit ' || " #v ".id || ' ' || " #v ".started_utc_ms || ' of runner ' ||"                       \
    " (SELECT id || ' ' || created_utc_ms FROM runner WHERE runner.id = " #v ".runner_id))"
/* Brings the tables up to date, once a verified copy of what was there lies beside the store. */
enum err store_migrate(struct store *s, int64_t version, bool is_copy);

/* store_trust.c: ERR_FORMAT for a store with a trigger, a view or a virtual table, none of which is ever ours, or without
 * one of the tables that its version has; and makes the connection wary of what else is in there. */
enum err store_trust(struct store *s, int64_t version);

/* Says so where others than its owner may write to the store's folder. */
void store_warn_folder(const struct store *s);

/* store_text.c: ERR_USAGE for a text that is not to be kept (base/utf8.h): not UTF-8, with control signs, or longer than
 * cap - 1 bytes. what: "the note". */
enum err store_text_check(struct store *s, const char *text, size_t cap, bool has_lines, const char *what);

/* Finds or makes the sensor's row; *sensor_id is 0 when kind and name are empty. */
enum err store_ensure_sensor(struct store *s, const char *kind, const char *name, int64_t *sensor_id);

#endif
