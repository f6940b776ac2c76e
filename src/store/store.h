/* store.h - the visits on disc: runners, targets, visits, blocks, steps, notes, pain, in one SQLite file.
 *
 * In:  step records and what belongs to a visit.   Out: the same rows again, for summaries and exports.
 * How: one file underfoot.sqlite (mode 0600) in the data folder (mode 0700), see base/fileio.h. WAL with
 *      synchronous=FULL: what is committed survives kill -9 and a power cut. Numbered migrations in
 *      schema.c; a store from a newer version, of another program, or damaged is refused untouched.
 *      Unknown is NAN here and NULL there, never 0. Codes, not names.
 * Visits: a visit is unfinished from its first row until store_visit_end() says otherwise, so a killed
 *      program leaves it unfinished without anyone having to notice.
 * Threads: one thread per struct store. The writer thread opens its own; two stores on one file, or two
 *      programs, wait for each other up to STORE_BUSY_MS.
 * Errors: enum err, and one plain sentence in s->why. Memory: SQLite's own.
 */
#ifndef STORE_STORE_H
#define STORE_STORE_H

#include "base/err.h"
#include "base/message.h"
#include "base/metric.h"
#include "base/units.h"
#include "coach/coached_step.h"
#include "coach/verdict.h"
#include "store/identity.h"

#include <stddef.h>

#define STORE_FILE_NAME "underfoot.sqlite"
#define STORE_BUSY_MS   5000
#define STORE_PATH_MAX  1024
#define STORE_CODE_MAX  32
#define STORE_TEXT_MAX  256
#define STORE_NOTE_MAX  2048
#define STORE_REPORT_MAX 16384
#define STORE_CHECK_HOURS 12 /* a visit that begins so long after a check of its sensor keeps it */

struct sqlite3;
struct sqlite3_stmt;

/* Which file or folder; all 0: none. */
struct store_inode {
    uint64_t device, number;
};

struct store {
    struct sqlite3 *db;            /* NULL when closed */
    struct sqlite3_stmt *put_step, *put_measured_step; /* prepared once, used for every step; NULL before the first */
    char path[STORE_PATH_MAX];
    char home[STORE_PATH_MAX];     /* path without links and from the root on, as it was opened */
    struct store_inode log, index; /* likewise: place.h */
    bool is_full, is_busy; /* the last refusal: no room on the disc; another program writes */
    struct message why; /* valid after any answer but ERR_OK */
};

enum store_open_flag {
    STORE_READ_ONLY = 1 << 0,  /* write nothing, not even a migration */
    STORE_MUST_EXIST = 1 << 1, /* ERR_GONE where there is no store yet, instead of making one */
    STORE_IS_A_COPY = 1 << 3,  /* nothing is lost with it: none is made before it is brought up to date, and nothing told */
    STORE_UNCHECKED = 1 << 2,  /* leave out the page check: the second opening by one program */
};

/* A person on the belt, by code. */
struct store_runner {
    int64_t id;                                         /* 0 = not saved yet */
    char code[STORE_CODE_MAX];                          /* such as R-014; unique */
    double body_mass_kg, leg_length_mm, foot_length_mm; /* NAN = not entered */
    double pain_limit;                                  /* 0-10; NAN = not set: there is no limit of ours */
    char shoe_note[STORE_TEXT_MAX];
    char display[STORE_TEXT_MAX]; /* display choices as key=value words; "" = as shipped */
    int64_t created_utc_ms;       /* 0 = now, at saving */
    char uuid[IDENTITY_MAX];      /* identity.h; "" = a new one, at the first saving; never changed after */
};

struct store_target {
    enum metric metric;
    double low, high; /* NAN = open on that side */
    double baseline;  /* the value it was made from; NAN = none */
    bool is_focus;
    bool is_change; /* asks the runner for something else than the baseline */
    int definition; /* of the figure that the band was made from (base/metric.h); 0, at saving: today's */
};

/* Targets are never changed, only followed by a next version: an old visit shows the band it was run with. */
struct store_target_set {
    int64_t id;
    int64_t runner_id;
    int version;                              /* 1, 2, 3 ... of this runner; given at saving */
    int64_t created_utc_ms;                   /* 0 = now, at saving */
    char reason[STORE_TEXT_MAX];              /* "cadence +5 % of baseline", "by hand" */
    int n;                                    /* <= METRIC_COUNT, no metric twice */
    struct store_target target[METRIC_COUNT]; /* in the order of the bars */
};

enum store_weight_from {
    STORE_WEIGHT_UNKNOWN = 0,
    STORE_WEIGHT_ENTERED,  /* the runner's body mass */
    STORE_WEIGHT_STANDING, /* weighed on the sensor */
    STORE_WEIGHT_MOMENTUM, /* mean force over whole strides */
};

/* Unset text is "", unset number NAN, unset id 0: store_visit_default() gives all that. */
struct store_visit {
    int64_t id;                       /* given by store_visit_begin() */
    int64_t runner_id;                /* required */
    int64_t target_set_id;            /* 0 = no targets */
    int64_t started_utc_ms;           /* 0 = now */
    int64_t ended_utc_ms;             /* 0 = not ended */
    int zone_offset_min;              /* local time minus UTC; filled in when started_utc_ms is 0 */
    char sensor_kind[16];             /* mat, cells, switches, force */
    char sensor_name[STORE_TEXT_MAX]; /* from its hello or profile */
    double rate_hz;
    double belt_speed_m_s; /* entered at the start; blocks have their own */
    char plan[64];         /* "" = free */
    int course_visit;      /* which visit of the plan's course; 0 = none */
    bool is_finished;
    bool is_cut_short;          /* stopped before its plan's end */
    char ticks[STORE_TEXT_MAX]; /* what a person saw, in coach/tally.h's words */
    int64_t n_dropped; /* records that the ring could not hold: lost to the store */
    int64_t n_lost_packets;
    double body_weight_n;
    enum store_weight_from body_weight_from;
    char software[32]; /* program version */
    char uuid[IDENTITY_MAX];          /* identity.h; "" = a new one, at begin */
    char calibration[STORE_TEXT_MAX]; /* of the sensor: how old, and whether it is to be done again; "" = none */
    /* filled in by reading only */
    double gain_drift_pct;     /* force over whole strides against body weight; NAN = not known */
    int64_t check_utc_ms;      /* of the sensor check that the visit was begun with; 0 = none */
    char check_grade[12];      /* its verdict: good, mind, bad, untested */
    char runner_code[STORE_CODE_MAX];
    char runner_uuid[IDENTITY_MAX];
    int64_t n_steps;
    double length_s; /* end minus start; of an unfinished one: last step minus first */
};

/* What is known at the end. */
struct store_visit_end {
    int64_t ended_utc_ms; /* 0 = now */
    bool is_finished;     /* false: stopped by a failure, stays unfinished */
    bool is_cut_short;    /* before its plan's end */
    int64_t n_dropped, n_lost_packets;
    double body_weight_n;
    enum store_weight_from body_weight_from;
    bool has_gain_drift;
    double gain_drift_pct; /* valid when has_gain_drift */
    char calibration[96];  /* goes behind what the visit says of its calibration; "" = nothing */
};

/* A check of a sensor, made before a visit. */
struct store_check {
    int64_t id;                       /* given by store_check_put() */
    char sensor_kind[16];
    char sensor_name[STORE_TEXT_MAX];
    int64_t made_utc_ms;              /* 0 = now */
    char grade[12];                   /* good, mind, bad, untested */
    char report[STORE_REPORT_MAX];    /* JSON of `underfoot check --json` */
};

/* One block of the visit's plan, or a piece of it: new targets, another belt speed and a pause begin a new row. Put
 * again with the same index to change it. */
struct store_block {
    int index; /* 0, 1, 2 ... */
    int part;  /* which block of the plan it is of: rows of one kind and part are pieces of one block; -1 = not known */
    enum verdict_block kind;
    struct dev_time start, end; /* end.us < start.us = still open */
    double planned_s;           /* NAN = free */
    double belt_speed_m_s;
    double shown_share; /* planned share of time with feedback, 0..1; NAN = not planned */
    int64_t target_set_id; /* that it began with; stays when the block is put again; 0 = none */
};

enum store_pain_when {
    STORE_PAIN_BEFORE = 0,
    STORE_PAIN_DURING,
    STORE_PAIN_AFTER,
};

struct store_pain {
    enum store_pain_when when;
    struct dev_time at;  /* valid for STORE_PAIN_DURING */
    double pain, effort; /* 0-10 each; NAN = not asked */
};

/* Also the mark key: a note with the text "mark". */
struct store_note {
    struct dev_time at;     /* < 0 = belongs to the visit as a whole */
    int64_t written_utc_ms; /* 0 = now */
    char text[STORE_NOTE_MAX];
};

/* Opens the store at path, or at the usual place when path is NULL (UNDERFOOT_DATA, then XDG), making folder
 * and file and bringing an older one up to date. flags: enum store_open_flag bits.
 * ERR_OS: folder, file or disc refuses, or read-only; ERR_FORMAT: damaged or no store at all;
 * ERR_UNSUPPORTED: from a newer version; ERR_USAGE: from an older one, and a visit is being run with it; ERR_GONE: see
 * STORE_MUST_EXIST. Before an older store is brought up to date a verified copy of it is made beside it (store_migrate.c,
 * and store_copies.c for its name) and told in a note. On refusal *s is closed, s->why says
 * what to do, and the file is as it was. */
enum err store_open(struct store *s, const char *path, unsigned flags);

/* Accepts a store whose opening failed. */
void store_close(struct store *s);

/* Groups writes. Nothing is on disc until commit answers ERR_OK; after a refusal call rollback. Begin, and with it every
 * writing function below, answers ERR_UNSUPPORTED when another program has brought the tables up to a newer version since
 * they were opened here: nothing is written then. */
enum err store_begin(struct store *s);
enum err store_commit(struct store *s);
void store_rollback(struct store *s);

/* All unset, with the code. */
struct store_runner store_runner_default(const char *code);
/* Inserts (r->id == 0) or updates; sets r->id. ERR_USAGE: empty code, or a code that is taken. */
enum err store_runner_save(struct store *s, struct store_runner *r);
/* Finds by code. ERR_GONE when there is none. */
enum err store_runner_get(struct store *s, const char *code, struct store_runner *out);
/* Finds by code, or makes one with nothing but its code. */
enum err store_runner_ensure(struct store *s, const char *code, struct store_runner *out);
/* Every runner by code; fn returns false to stop. */
enum err store_runners(struct store *s, bool (*fn)(void *context, const struct store_runner *r),
                       void *context);

/* Which runners of a long list: those whose code contains search ("" = all; no matter whether in capitals), limit of them
 * from offset on. */
enum store_runners_order {
    STORE_RUNNERS_BY_CODE = 0,
    STORE_RUNNERS_BY_LAST_VISIT, /* the newest first; those without a visit last, by code */
};
struct store_runners_query {
    char search[STORE_CODE_MAX];
    enum store_runners_order order;
    int offset, limit;
};
/* A runner with what a list says of their visits. The newest is the one begun last (highest id), whatever the clock said. */
struct store_runner_row {
    struct store_runner runner;
    int n_visits;
    int64_t last_visit_id; /* 0 = none: nothing below is valid */
    int64_t last_started_utc_ms;
    int last_zone_offset_min;
};
/* One page of runners, in one query; *total: how many match at all. fn returns false to stop. */
enum err store_runners_page(struct store *s, const struct store_runners_query *q,
                            bool (*fn)(void *context, const struct store_runner_row *r), void *context, int *total);
/* The place of a runner among those that match q, from 0: which offset shows them. ERR_GONE: not among them. */
enum err store_runners_place(struct store *s, const struct store_runners_query *q, int64_t runner_id, int *place);

/* Saves as the runner's next version; sets id and version. */
enum err store_target_set_save(struct store *s, struct store_target_set *t);
/* By id, or with id 0 the runner's newest. ERR_GONE when there is none. */
enum err store_target_set_get(struct store *s, int64_t id, int64_t runner_id, struct store_target_set *out);

struct store_visit store_visit_default(int64_t runner_id);
/* Writes the visit's row, unfinished; sets v->id, and started and zone when they were 0. */
enum err store_visit_begin(struct store *s, struct store_visit *v);
enum err store_visit_end(struct store *s, int64_t visit_id, const struct store_visit_end *end);
/* Keeps the loss count of a running visit up to date, so that a killed one still tells it. */
enum err store_visit_set_dropped(struct store *s, int64_t visit_id, int64_t n_dropped);
/* The targets of a visit that began without, or whose targets changed on the way. */
enum err store_visit_set_targets(struct store *s, int64_t visit_id, int64_t target_set_id);
/* What a person saw; replaces what was there. */
enum err store_visit_set_ticks(struct store *s, int64_t visit_id, const char *ticks);
/* ERR_GONE when there is no such visit. */
enum err store_visit_get(struct store *s, int64_t visit_id, struct store_visit *out);
struct store_visits_query {
    int64_t runner_id; /* 0 = of every runner */
    int offset, limit;
};
/* Newest first; runner_id 0 = of every runner; fn returns false to stop. */
enum err store_visits(struct store *s, int64_t runner_id,
                      bool (*fn)(void *context, const struct store_visit *v), void *context);
/* The same, limit of them from offset on. */
enum err store_visits_page(struct store *s, const struct store_visits_query *q,
                           bool (*fn)(void *context, const struct store_visit *v), void *context);
/* How many a runner has, 0 = all runners together. */
enum err store_visits_count(struct store *s, int64_t runner_id, int *n);

/* Inserts, or replaces the record with the same number: a live step gives way to the settled one, and a live
 * one never replaces a settled one. Block and feedback stay as they were at first: they belong to the moment
 * of the step. NAN becomes NULL. */
enum err store_step_put(struct store *s, int64_t visit_id, const struct coached_step *step);
/* In order of number. *step is borrowed for the call. */
enum err store_steps(struct store *s, int64_t visit_id,
                     bool (*fn)(void *context, const struct coached_step *step), void *context);

enum err store_block_put(struct store *s, int64_t visit_id, const struct store_block *b);
enum err store_blocks(struct store *s, int64_t visit_id,
                      bool (*fn)(void *context, const struct store_block *b), void *context);
enum err store_pain_put(struct store *s, int64_t visit_id, const struct store_pain *p);
enum err store_pains(struct store *s, int64_t visit_id, bool (*fn)(void *context, const struct store_pain *p),
                     void *context);
enum err store_note_put(struct store *s, int64_t visit_id, const struct store_note *n);
enum err store_notes(struct store *s, int64_t visit_id, bool (*fn)(void *context, const struct store_note *n),
                     void *context);

/* Keeps a check; sets id and made_utc_ms. A visit of the same sensor that begins within STORE_CHECK_HOURS gets it. */
enum err store_check_put(struct store *s, struct store_check *c);
/* The check that a visit was begun with. ERR_GONE when there is none. */
enum err store_check_of_visit(struct store *s, int64_t visit_id, struct store_check *out);

/* "unknown", "entered", "standing", "momentum balance". Static storage. */
const char *store_weight_from_name(enum store_weight_from from);

/* Local time minus UTC at that moment, minutes, by the computer's time zone. */
int store_zone_offset_min(int64_t utc_ms);

#endif
