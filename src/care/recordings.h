/* recordings.h - the recordings of the visits: where they lie beside the store, what they take, and which go when.
 *
 *      recordings/visit-12-1764250000123.rec     of visit 12, which began at that time (UTC, ms)
 *
 * The time is there because a store that was replaced counts its visits anew: a recording belongs to the visit of that
 * number and that begin, or to none in this store; those are listed and never touched. A visit without a recording is
 * no error anywhere. Nothing else in that folder is touched.
 *
 * Keep rule (settings.h: so many visits, so many GB): what is too much goes, the oldest visit first; those that have a
 * baseline, and those of a course that is still open, go last, the oldest first. A visit that runs is left alone.
 * Forgetting a runner: the files are unlinked and the folder is synced; they are not overwritten, since gigabytes of
 * writing would keep other visits from the store meanwhile.
 *
 * This module knows no format (link/recording.h does).   Errors: enum err, s->why.   Threads: as the store's.
 */
#ifndef CARE_RECORDINGS_H
#define CARE_RECORDINGS_H

#include "store/settings.h"
#include "store/store.h"

#define RECORDINGS_FOLDER   "recordings"
#define RECORDINGS_NAME_MAX 64

/* The name of a visit's recording in the folder. */
void recordings_name(int64_t visit_id, int64_t started_utc_ms, char out[RECORDINGS_NAME_MAX]);

/* Where the recording of a visit (id, started_utc_ms) goes or lies; makes the folder (0700). */
enum err recordings_path(struct store *s, const struct store_visit *v, char path[STORE_PATH_MAX]);

/* Its path and size. ERR_GONE, with nothing in why: it has none. */
enum err recordings_find(struct store *s, const struct store_visit *v, char path[STORE_PATH_MAX], int64_t *n_bytes);

struct recordings_one {
    char name[RECORDINGS_NAME_MAX];
    int64_t visit_id, started_utc_ms; /* from the name */
    int64_t n_bytes;
    bool has_visit; /* there is such a visit in this store: what follows is known */
    bool is_kept_last;
    int64_t runner_id;
};

/* All there are, the oldest visit first. */
struct recordings {
    struct recordings_one *one;
    int n;
    int64_t n_bytes;
};
enum err recordings_read(struct store *s, struct recordings *out);
void recordings_free(struct recordings *r); /* twice is allowed */

/* Free for a plain user on the disc that they lie on; < 0: not known. */
int64_t recordings_free_bytes(const struct store *s);

/* What the keep rule took. */
struct recordings_told {
    int n;                   /* recordings that went; 0: nothing */
    int n_kept_last;         /* of these, of baselines and open courses */
    int64_t n_bytes;
    int64_t oldest, newest;  /* visits; valid when n > 0 */
};

/* Applies the rule; told is filled also after a refusal. */
enum err recordings_tidy(struct store *s, const struct settings *rule, struct recordings_told *told);

/* For forgetting: counts the recordings of so many visits (id, begin) into *n and *n_bytes, and with is_removed takes
 * them away. ERR_OS: one can't be removed. */
struct recordings_visit {
    int64_t id, started_utc_ms;
};
enum err recordings_of(struct store *s, const struct recordings_visit *visit, int n_visits, bool is_removed, int *n,
                       int64_t *n_bytes);

#endif
