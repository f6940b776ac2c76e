/* copies.h - the copies of a store that the program makes of its own accord, in the store's own folder: what they are called, and
 * when they go. How a runner is forgotten in them: care/forget_copies.h.
 *
 *      underfoot.sqlite.v5-2026-11-28        as it was on that day, of version 5; -2, -3 ... when there is one already
 *      underfoot.sqlite.kept-2026-11-28      as it was after the last visit of that day
 *      underfoot.sqlite.before-2026-11-28    as it was before another one was restored in its place
 *      underfoot.sqlite.damaged-2026-11-28   the files of a damaged store (with -wal), once another one took its place
 *      underfoot.sqlite.copying (forgetting, restoring, repairing)    under way when the program was killed
 *
 * A new one is written under another name, read again page by page, on disc, and only then given its name.
 * Kept ones: one a day, the newest `keep` of them, and no more than `gb` together ([copies] in settings.ini); the oldest go. The
 * others are made once in a long time, and stay until a person takes them away.
 * A copy that a person made with `underfoot keep` is theirs, and left alone.
 *
 * Memory: none.   Threads: as the store's.   Errors: enum err, s->why.
 */
#ifndef STORE_COPIES_H
#define STORE_COPIES_H

#include "base/message.h"
#include "store/settings.h"
#include "store/store.h"
#include "store/whole.h"

enum copies_kind {
    COPIES_NONE = 0, /* not one of ours */
    COPIES_OF_VERSION,
    COPIES_KEPT,
    COPIES_BEFORE,
    COPIES_DAMAGED,
    COPIES_HALF_MADE,
};

/* What an entry of the store's folder is. */
enum copies_kind copies_kind_of(const char *entry, const char *store_name);

/* Every one of them; fn gives ERR_OK to go on. */
enum err copies_each(struct store *s, enum err (*fn)(void *context, enum copies_kind kind, const char *path), void *context);

/* Today, as 2026-11-28. */
enum err copies_today(struct store *s, char day[16]);
/* The path of a new one: STORE.WORD-DAY, which is no file yet. */
enum err copies_path(struct store *s, const char *word, char path[STORE_PATH_MAX]);
/* STORE.WORD, for what is under way. ERR_USAGE: too long. */
enum err copies_aside(struct store *s, const char *word, char path[STORE_PATH_MAX + 16]);

/* Every page is read and checked. ERR_FORMAT: not whole. */
enum err copies_verify(struct store *s, const char *path);
/* Besides, that no row refers to one that is not there. */
enum err copies_verify_references(struct store *s, const char *path);
/* The file at path, and the name of it, are on disc. */
enum err copies_sync(struct store *s, const char *path);

/* A verified copy of the whole store at path, which is no file yet. */
enum err copies_make(struct store *s, const char *path);

/* After a visit: today's kept copy, and the rule. *told: what was done, or why not; MESSAGE_NONE: nothing to say.
 * ERR_GONE: it was asked to stop. */
enum err copies_keep(struct store *s, const struct settings *rule, const struct store_stop *stop, struct message *told);

#endif
