/* forgotten.h - who was forgotten here: the file forgotten.list beside the store, and outside it, so that no restored copy and no
 * import brings a runner back unasked. Mode 0600, written aside, synced and renamed.
 *
 *      salt $y$j9T$...                                             of this list, drawn by chance
 *      random 2f1c0f62-6a0c-4a55-9a5e-1f0d2f6b9c11 2026-11-28      who had a random identifier: it and the day, no more
 *      sealed $y$j9T$... 2026-11-28                                who had a derived one: identity.h says why it is sealed
 *      unfinished UUID 2026-11-28                                  a forgetting that was begun, and perhaps killed on its way
 *
 * Whoever adds to the list holds the store's write lock, so that two programs don't write over each other.
 * A line that is none of these is refused: what can't be read could bring somebody back.
 *
 * Memory: the entries.   Threads: one at a time per object.   Errors: enum err, a sentence in why.
 */
#ifndef CARE_FORGOTTEN_H
#define CARE_FORGOTTEN_H

#include "base/err.h"
#include "base/message.h"
#include "store/identity.h"

#define FORGOTTEN_FILE_NAME "forgotten.list"
#define FORGOTTEN_DAY_MAX   16
#define FORGOTTEN_PATH_MAX  1024

enum forgotten_kind {
    FORGOTTEN_IS_RANDOM,
    FORGOTTEN_IS_SEALED,
    FORGOTTEN_IS_UNFINISHED,
};

struct forgotten_one {
    enum forgotten_kind kind;
    char what[IDENTITY_SEAL_MAX];
    char day[FORGOTTEN_DAY_MAX];
};

struct forgotten {
    char path[FORGOTTEN_PATH_MAX];
    char salt[IDENTITY_SALT_MAX];
    struct forgotten_one *one;
    int n;
};

/* The list of the store at that path; none there: an empty one. After a refusal there is nothing to free. */
enum err forgotten_load(const char *store_path, struct forgotten *f, struct message *why);
enum err forgotten_save(const struct forgotten *f, struct message *why);
void forgotten_free(struct forgotten *f); /* twice is allowed */

/* Whether that runner was forgotten, or is being. */
enum err forgotten_knows(const struct forgotten *f, const char *uuid, bool *is, struct message *why);

/* Writes down that a forgetting begins; that it is done; that nothing came of it. Not twice. */
enum err forgotten_begin(struct forgotten *f, const char *uuid, const char *day, struct message *why);
enum err forgotten_finish(struct forgotten *f, const char *uuid, const char *day, struct message *why);
enum err forgotten_undo(struct forgotten *f, const char *uuid, const char *day, struct message *why);

#endif
