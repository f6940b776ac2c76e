/* panel_data.h - what the panel shows of the store, as plain figures: filled in by whoever reads the store.
 *
 * The panel itself knows no store and no file, so that nothing it does can wait for a disc.
 * Unknown is NAN, "" or 0 for ids. Memory: fixed, a few hundred kB in all.
 */
#ifndef PANEL_PANEL_DATA_H
#define PANEL_PANEL_DATA_H

#include "base/metric.h"
#include "coach/plan.h"
#include "coach/tally.h"
#include "coach/target_edit.h"
#include "sense/frame.h"
#include "wire/packet.h"

#include <stdbool.h>
#include <stdint.h>

#define PANEL_CODE_MAX    32
#define PANEL_TEXT_MAX    256
#define PANEL_NOTE_MAX    2048 /* STORE_NOTE_MAX */
#define PANEL_MAX_RUNNERS 256
#define PANEL_MAX_VISITS  24
#define PANEL_MAX_PLANS   24
#define PANEL_MAX_METRICS 6

struct panel_runner {
    int64_t id; /* 0: not in the store yet */
    char code[PANEL_CODE_MAX];
    double body_mass_kg, leg_length_mm, foot_length_mm, pain_limit;
    char shoe[PANEL_TEXT_MAX];
    char display[PANEL_TEXT_MAX];
    int n_visits;
    char last[24]; /* date of the last visit; "" */
};

/* A window on the list, by code: those whose code contains search, from offset on. */
struct panel_runners {
    char search[PANEL_CODE_MAX];  /* "": all */
    int total, n_all;             /* that the search finds; that there are */
    int offset, n;                /* of runner[0] among those that are found; of runner */
    char finding[PANEL_CODE_MAX]; /* whose place was asked for; "": nobody's */
    int at;                       /* that place; -1: not among those that are found */
    struct panel_runner runner[PANEL_MAX_RUNNERS];
    char languages[64]; /* of the runner's screen, as "de en"; "": not known */
};

/* One metric of one visit. */
struct panel_figure {
    double baseline, baseline_sd, held, held_sd, low, high, shown_pct, withheld_pct;
    double change;    /* held mean from the course's first baseline */
    bool is_other_speed, is_last_other_speed; /* the belt ran at another speed: not like with like */
    bool is_real;     /* more than the smallest change that is real for this runner */
    double from_last; /* held mean from the last visit's */
    bool is_last_real;
};

/* A block of a visit, by the figure that leads. NAN: not known. */
#define PANEL_MAX_BLOCKS 12
struct panel_block {
    enum verdict_block kind;
    double minutes, speed_m_s, mean, sd;
    double shown_pct, withheld_pct; /* of its steps in the band, with feedback on offer and without */
};

struct panel_visit {
    int64_t id;
    char when[24], plan[64];
    int course_visit;
    bool is_finished, is_cut_short;
    double minutes; /* of running */
    int n_steps, n_fore_least, n_fore_most; /* as in coach/dose.h */
    double pain_before, pain_worst, pain_after, effort;
    struct panel_figure figure[METRIC_COUNT];
    enum metric leads;
    int n_blocks, n_more_blocks; /* of block; and that did not fit into it */
    struct panel_block block[PANEL_MAX_BLOCKS];
    struct tally tally;
    char ticks[PANEL_TEXT_MAX];
    char sensor[2 * PANEL_TEXT_MAX]; /* what it was measured with: check, calibration, drift, what was lost */
    char dose_note[2 * PANEL_TEXT_MAX]; /* "" = did not grow fast */
    char notes[PANEL_NOTE_MAX];
    char marks[PANEL_TEXT_MAX]; /* when: "3:12, 7:45"; "" */
};

/* How the recording of the visit stands. */
struct panel_recording {
    bool is_kept;         /* a recording was begun: what follows is valid */
    bool has_ended_early;
    double mb_per_min;    /* NAN: not known yet */
    double room_h;        /* what the room left is in hours of recording; NAN: not known */
};

/* What each element of the sensor carries, for a picture of it. A mat of more than PANEL_MAX_SIDE rows or columns is shown
 * by the greatest of each few. */
#define PANEL_MAX_SIDE 48
struct panel_elements {
    enum frame_kind kind;
    int n_rows, n_cols; /* mat; row 0 rearmost. Cells and switches: 1 row */
    float share[PANEL_MAX_SIDE * PANEL_MAX_SIDE]; /* row-major; 0 nothing, 1 full scale (cells:
                                                   * PANEL_CELL_FULL_N); NAN: not known */
    double total_n;     /* NAN: not known */
    bool is_relative;   /* uncalibrated: newton are the sensor's own */
    char name[PACKET_MAX_CELLS][16]; /* of cells and zones */
};
#define PANEL_CELL_FULL_N 500.0

/* The calibration of the sensor's profile. */
#define PANEL_MAX_CALIBRATIONS 7
#define PANEL_MAX_PROFILES     24
struct panel_calibration {
    char profile[64]; /* ""; none: raw counts */
    struct message says; /* what is in force, how old it is, whether it is to be done again; MESSAGE_NONE: nothing is */
    bool is_due;
    bool is_changed; /* by what was asked last: the sensor is to be opened anew */
    bool is_refused; /* what was measured last could not be taken */
    int n, n_older;  /* of entry: the newest, oldest first; and older ones that did not fit */
    struct message entry[PANEL_MAX_CALIBRATIONS];
    bool can_undo;
    int n_profiles, n_more_profiles; /* that may be chosen; and that did not fit */
    char profiles[PANEL_MAX_PROFILES][64];
};

struct panel_plan {
    char id[64], name[128], source[PANEL_TEXT_MAX];
    bool is_own;
    int visit, n_visits; /* proposed: 1..n_visits; 0: the course is over */
    bool is_repeat;
    double coached_min, shown_share;
    struct plan plan; /* of that visit */
    enum target_rule rule;
    struct message why; /* MESSAGE_NONE; else what is wrong with the file and in which line: it can't be chosen */
};

/* One runner with all that the pages need. */
struct panel_case {
    struct panel_runner runner;
    int n_visits;                               /* of visit, oldest first: a window on all of them */
    int n_older_visits, n_newer_visits;         /* that lie before and after the window */
    bool is_turned;                             /* the window alone was asked for: it need not end with the newest */
    struct panel_visit visit[PANEL_MAX_VISITS];
    int n_metrics;
    enum metric metric[PANEL_MAX_METRICS]; /* worth a place, the leading one first */
    char left_out[PANEL_MAX_METRICS][PANEL_TEXT_MAX]; /* visits that have it by another definition: "2, 3"; "" */
    double mdc[METRIC_COUNT];              /* smallest change that is real */
    int n_plans, n_more_plans; /* of plan; and that did not fit into it */
    struct panel_plan plan[PANEL_MAX_PLANS];
    int plan_now;                    /* index of the proposed one; -1: free running */
    struct target_set targets;       /* of the last visit; n 0: none yet */
    int n_put_off;                   /* targets of it whose figure is defined otherwise today: not among these */
    double spread[VERDICT_MAX_BARS]; /* of the runner in the last baseline, one a target */
    double usual_speed_m_s;
};

#endif
