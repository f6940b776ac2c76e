/* pages.h - the pages that the program prints of its own accord: PDFs in the folder `pages` beside the store.
 *
 *      pages/visit-12.pdf         of a visit
 *      pages/course-R-014.pdf     of a runner's course
 *      pages/.NAME.aside-PID      one that was being written when the program was killed (base/fileio.h)
 *
 * They belong to the runner like the rows: gone when the runner is forgotten, and named anew when the code is. Nothing
 * else in that folder is touched, and nothing anywhere else.
 * Errors: enum err, s->why.   Threads: as the store's.
 */
#ifndef STORE_PAGES_H
#define STORE_PAGES_H

#include "store/store.h"

/* Where the page of a visit goes, or with visit_id 0 of a runner's course; makes the folder. */
enum err pages_path(struct store *s, int64_t visit_id, const char *code, char path[STORE_PATH_MAX]);

/* Whose pages: the course of code, and so many visits; borrowed. */
struct pages_owner {
    const char *code;
    const int64_t *visit_id;
    int n_visits;
};

/* Counts them into *n, and with is_removed takes them away. ERR_OS: one can't be removed. */
enum err pages_of(struct store *s, const struct pages_owner *owner, bool is_removed, int *n);

/* The page of a course follows the runner to another code; fine when there is none. */
void pages_follow(const struct store *s, const char *from, const char *to);

#endif
