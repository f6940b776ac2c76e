/* plan_file.h - a course of visits as a physio writes it down: an INI file, read and checked.
 *
 * In:  a file (profiles/plans/README.md says what may stand in it).   Out: struct plan_file, and from it the
 *      struct plan of any one visit.
 * How: every line is checked where it stands; what the file says as a whole (visits 1, 2, 3 without a hole,
 *      each with blocks; feedback that never rises from visit to visit once it was taken away) at its end. A
 *      refusal names file, line, reason, and what to do.
 *
 *      case 1   a wrong word or number               ERR_FORMAT, its line
 *      case 2   a visit left out, or without blocks  ERR_FORMAT, the last line
 *      case 3   no such file                         ERR_GONE
 *
 * Memory: the struct (about 20 kB).   Threads: one at a time.
 */
#ifndef COACH_PLAN_FILE_H
#define COACH_PLAN_FILE_H

#include "base/err.h"
#include "base/message.h"
#include "coach/plan.h"

#include <stdbool.h>
#include "coach/target.h"

#define PLAN_FILE_MAX_VISITS 24
#define PLAN_FILE_MAX_BLOCKS 12
#define PLAN_FILE_ID_MAX     64
#define PLAN_FILE_TEXT_MAX   640

struct plan_file_block {
    enum verdict_block kind; /* warm-up, baseline, coached, silent, cool-down */
    double minutes;
    double speed_m_s;   /* NAN: not absolute */
    double speed_share; /* of the runner's usual speed; NAN: not said */
    double shown_share; /* 0..1; 0 but in coached blocks */
};

struct plan_file_visit {
    int n_blocks;
    struct plan_file_block block[PLAN_FILE_MAX_BLOCKS];
};

struct plan_file {
    char id[PLAN_FILE_ID_MAX]; /* the file's name without folder and .ini: what --plan and the store call it */
    char name[PLAN_FILE_TEXT_MAX];
    char source[PLAN_FILE_TEXT_MAX];    /* where it is published; "" = nowhere */
    char published[PLAN_FILE_TEXT_MAX]; /* what of it the source says */
    char ours[PLAN_FILE_TEXT_MAX];      /* what of it the source does not say */
    double weeks;                       /* NAN: not said */
    enum plan_spread spread;
    uint64_t seed;
    bool is_bandwidth;
    enum target_rule rule; /* for targets from the baseline */
    int n_visits;
    struct plan_file_visit visit[PLAN_FILE_MAX_VISITS]; /* [0] is visit 1 */
};

/* Reads and checks. ERR_GONE, ERR_OS, ERR_FORMAT with a sentence in why; *p is then half filled. */
enum err plan_file_load(struct plan_file *p, const char *path, struct message *why);

/* True for the id of a plan that comes with the program: shown by its words in the reader's language (the id is what is
 * looked up). A plan of one's own is shown by the name that it was given. */
bool plan_file_is_shipped(const char *id);

/* The blocks of one visit, 1..n_visits. usual_speed_m_s: what shares of speed are of; NAN leaves them open. */
void plan_file_visit_plan(const struct plan_file *p, int visit, double usual_speed_m_s, struct plan *out);

/* Minutes of coached running in a visit, and in the whole course. */
double plan_file_coached_min(const struct plan_file *p, int visit);
double plan_file_course_min(const struct plan_file *p);

/* Share of a visit's coached time in which feedback is shown, 0..1; NAN without coached blocks. */
double plan_file_shown_share(const struct plan_file *p, int visit);

/* Which visit of the course comes after the last one (0: none yet), and whether that one was cut short or
 * left unfinished: then it is the same again. 0: the course is over. */
int plan_file_next_visit(const struct plan_file *p, int last_visit, bool was_whole);

#endif
