/* writer_home.c - where the rows go: into the store, or into a fresh place while that refuses; and the visit's end. */
#include "store/writer_parts.h"

#include "base/monotime.h"
#include "base/str.h"
#include "store/place.h"
#include "store/reserve.h"
#include "store/sql.h"

#include <stdio.h>

static bool
is_kept(enum err err)
{
    return err == ERR_OK || err == ERR_USAGE;
}

/* A commit into a file that no path leads to succeeds: so the place is looked at on both sides of it. What went into an
 * orphan is still read from there (spill.h). */
static enum err
write_home(struct writer *w)
{
    uint64_t n_new = 0;
    enum err err = place_look(&w->store) == PLACE_IS_OWN ? writer_write(w, &w->store, &n_new) : ERR_GONE;

    if (!is_kept(err) && w->store.is_full && err != ERR_GONE && reserve_give_up(w->store.path))
        err = writer_write(w, &w->store, &n_new);
    if (is_kept(err) && place_look(&w->store) != PLACE_IS_OWN)
        err = ERR_GONE;
    if (err == ERR_OS && w->store.is_busy)
        return err; /* most likely for a moment: told with the spill, if it comes to that */
    if (n_new > 0 || err != ERR_OK || w->status.err != ERR_USAGE) /* what was refused for good stays said */
        writer_set_status(w, n_new, err == ERR_GONE ? ERR_OS : err, &w->store.why);
    return err;
}

static enum err
write_spill(struct writer *w)
{
    uint64_t n_new;
    const enum err err = writer_write(w, &w->spill.store, &n_new);

    /* Kept, but not where it belongs: the store's own reason stays. */
    writer_set_status(w, n_new, ERR_OS, is_kept(err) ? &w->home_why : &w->spill.store.why);
    return err;
}

static void
follow_targets(struct writer *w, struct store *to)
{
    struct store_visit visit;
    if (store_visit_get(to, w->visit_id, &visit) == ERR_OK)
        w->target_set_id = visit.target_set_id;
}

static bool
open_spill(struct writer *w, bool is_orphan)
{
    const struct spill_ask ask = { w->visit_id, &w->row, is_orphan };

    w->home_why = w->store.why;
    if (spill_open(&w->spill, &w->store, &ask) != ERR_OK)
        return false;
    follow_targets(w, &w->spill.store);
    w->home_wait_us = WRITER_HOME_US;
    return true;
}

/* False: the store refuses still, and the visit stays where it is. */
static bool
come_home(struct writer *w)
{
    struct spill_taken taken;
    bool is_home = place_look(&w->store) == PLACE_IS_OWN;
    enum err err = is_home ? spill_take(&w->spill, &w->store, &taken) : ERR_GONE;

    is_home = err == ERR_OK && taken.n_without_runner == 0 && place_look(&w->store) == PLACE_IS_OWN;
    if (err != ERR_OK)
        w->home_why = w->store.why;
    if (!is_home)
        return false;
    w->visit_id = taken.visit_id;
    w->trouble.us = 0;
    follow_targets(w, &w->store);
    return true;
}

void
writer_turn(struct writer *w)
{
    const struct host_time now = monotime_now();
    if (!w->spill.is_open) {
        const enum err err = write_home(w);
        if (is_kept(err)) {
            w->trouble.us = 0;
            return;
        }
        if (w->trouble.us == 0)
            w->trouble = now;
        w->tried = now;
        if (err == ERR_GONE || units_host_since_us(now, w->trouble) >= WRITER_SPILL_US)
            if (!open_spill(w, err == ERR_GONE))
                writer_set_status(w, 0, ERR_OS, &w->home_why);
    } else if (units_host_since_us(now, w->tried) >= w->home_wait_us) {
        w->tried = now;
        if (come_home(w)) {
            (void) write_home(w);
            return;
        }
        w->home_wait_us = w->home_wait_us < WRITER_HOME_MAX_US ? 2 * w->home_wait_us : WRITER_HOME_MAX_US;
    }
    if (w->spill.is_open)
        (void) write_spill(w);
}

/* ---------------------------------------------------------------- the visit's end */

/* By a connection of its own, from the path. */
static enum err
read_back(struct writer *w, const char *path, const struct store_visit_end *end)
{
    struct store s;
    struct store_visit v;
    enum err err = store_open(&s, path, STORE_READ_ONLY | STORE_MUST_EXIST | STORE_UNCHECKED);

    if (err == ERR_OK)
        err = store_visit_get(&s, w->visit_id, &v);
    if (err == ERR_OK && ((w->n_refused == 0 && v.n_steps < (int64_t) w->n_steps) || (end && v.is_finished != end->is_finished))) {
        message_tell(&s.why, MESSAGE_VISIT_LACKS_STEPS, message_path(path), v.n_steps, w->visit_id, w->n_steps);
        err = ERR_FORMAT;
    }
    if (err != ERR_OK)
        w->store.why = s.why;
    store_close(&s);
    return err;
}

static enum err
end_in(struct writer *w, struct store *to, const struct store_visit_end *end)
{
    struct store_visit_end last;
    if (end == NULL)
        return ERR_OK;
    last = *end;
    last.n_dropped = (int64_t) (writer_n_full(w) + w->n_refused);
    return store_visit_end(to, w->visit_id, &last);
}

static enum err
end_home(struct writer *w, const struct store_visit_end *end)
{
    const enum err err = write_home(w);
    enum err end_err = is_kept(err) ? end_in(w, &w->store, end) : err;

    if (end_err == ERR_OS && w->store.is_full && reserve_give_up(w->store.path))
        end_err = end_in(w, &w->store, end);
    if (!is_kept(end_err) || end == NULL)
        return end_err == ERR_OK ? err : end_err;
    /* A visit that is no longer there (its runner was forgotten) can't be read back either: that is what is told. */
    if (err == ERR_USAGE)
        return err;
    end_err = read_back(w, w->store.path, end);
    return end_err == ERR_OK && place_look(&w->store) != PLACE_IS_OWN ? ERR_GONE : end_err;
}

bool
writer_finish(struct writer *w, const struct store_visit_end *end, enum err *err)
{
    sqlite3_busy_timeout(w->store.db, STORE_BUSY_MS);
    if (w->spill.is_open)
        (void) come_home(w);
    *err = ERR_OS;
    if (!w->spill.is_open) {
        *err = end_home(w, end);
        writer_set_status(w, 0, *err == ERR_GONE ? ERR_OS : *err, &w->store.why);
        if (is_kept(*err))
            return true;
        (void) open_spill(w, *err == ERR_GONE);
    }
    if (*err == ERR_GONE)
        *err = ERR_OS;
    if (!w->spill.is_open || !is_kept(write_spill(w)) || end_in(w, &w->spill.store, end) != ERR_OK)
        return false;
    const bool is_there = read_back(w, w->spill.store.path, end) == ERR_OK;
    writer_set_status(w, 0, *err, &w->home_why);
    return is_there;
}
