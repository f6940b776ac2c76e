/* panel.h - the physio's panel: five pages, what is asked over them, and what follows from keys and touches.
 *
 *      keys, signs, mouse, touch --> panel --> requests (store, sensor, coach), in order
 *      verdict, figures of the store --> panel --> panel_draw.h
 *
 * Pages: runners, visit, live, summary, course. A visit goes by coach/visit_flow.h: the visit page takes it
 * to the run, the live page through it, the summary page to its saving. Keys: panel_keys.h; a spot that is
 * clicked or touched does what a key does, by the same action.
 *
 *      case 1   a wrong field in the form       stays in the form, says why; nothing is asked of the store
 *      case 2   forget                          asked, then the code must be typed
 *      case 3   skip, end the run, leave        asked, and yes is another key than the one that asked
 *      case 4   pain at the limit               visit_flow pauses and asks to stop; the panel shows it on top
 *      case 5   a drag of a band                told to the coach when it ends; undo takes all of it back
 *      case 6   targets change elsewhere        (the baseline) taken over, unless a drag is on
 *
 * No clock, no thread, no window, no store. Memory: the struct (large; static or on the heap).
 * Threads: one at a time.   Errors: none; what can't be done is told in message.
 */
#ifndef PANEL_PANEL_H
#define PANEL_PANEL_H

#include "base/message.h"
#include "coach/verdict.h"
#include "coach/visit_flow.h"
#include "panel/panel_data.h"
#include "panel/panel_form.h"
#include "panel/panel_keys.h"
#include "setup/calib.h"
#include "setup/check.h"

/* While more than PANEL_N_REQUESTS - PANEL_N_RESERVED wait, keys and touches are refused with a word: nothing that was asked
 * for is dropped. What is reserved is for verdicts and answers, which ask for an end, a pain, a sensor at most once each. */
#define PANEL_N_REQUESTS  96
#define PANEL_N_RESERVED  48
#define PANEL_MAX_SPOTS   512 /* the fullest page has about 130; one that does not fit is logged */

enum panel_request_kind {
    PANEL_WANTS_NOTHING = 0,
    PANEL_WANTS_RUNNERS,     /* the list anew; text: search; number: offset, or around runner.code where that is given */
    PANEL_WANTS_SAVE_RUNNER, /* runner */
    PANEL_WANTS_FORGET,      /* runner */
    PANEL_WANTS_CASE,        /* runner: all of its figures, with the newest visits */
    PANEL_WANTS_VISITS,      /* runner; number: of the newest visits so many are left out, and those before them wanted */
    PANEL_WANTS_SENSOR,      /* runner, plan (index), command: targets as they stand (n_targets 0: none) */
    PANEL_WANTS_RUN,         /* the visit begins in the store; ticks in text; value: entered belt speed, m/s, else NAN */
    PANEL_WANTS_COMMAND,     /* command, for the coach */
    PANEL_WANTS_PAIN,        /* pain */
    PANEL_WANTS_NOTE,  /* text; visit_id 0: of the visit that runs; number: 1 = at this moment (pain.at, filled in by whoever
                          hands it on), 2 = likewise, a mark, 0 = of the whole */
    PANEL_WANTS_TICKS, /* text; visit_id as above */
    PANEL_WANTS_END,   /* the run is over: end the visit, then its case anew */
    PANEL_WANTS_CLOSE, /* given up before the run, or saved: let go of the sensor */
    PANEL_WANTS_PRINT, /* visit_id; 0: the course */
    PANEL_WANTS_COPY,  /* plan (index); text: the copy's name; then the case anew */
    PANEL_WANTS_LOAD,         /* the check's loaded part begins */
    PANEL_WANTS_CALIBRATE,    /* number: enum calib_what; value: mass, kg; for zero 1: nobody is on, for sure */
    PANEL_WANTS_NO_CALIBRATE, /* never mind */
    PANEL_WANTS_UNDO_CALIBRATION,
    PANEL_WANTS_PROFILE, /* text: its name */
    PANEL_WANTS_SAVED, /* the visit has ended, with all that was said of it: is it saved? */
    PANEL_WANTS_HIDE,
    PANEL_WANTS_MUTE, /* sound off, or on again */
    PANEL_WANTS_LEAVE,
};

struct panel_request {
    enum panel_request_kind kind;
    struct panel_runner runner;
    int plan;
    struct command command;
    struct visit_flow_pain pain;
    int64_t visit_id;
    int number;
    double value;
    char text[PANEL_NOTE_MAX];
};

/* The sensor as it is now, before the run. */
struct panel_watch {
    struct panel_elements elements;
    struct check_report check; /* valid when has_check */
    bool has_check;            /* it was looked at long enough */
    bool is_loaded;            /* the check's loaded part runs */
    double calib_left_s;       /* of a calibration that is measured; NAN: none */
};

enum panel_sensor {
    PANEL_SENSOR_CLOSED = 0,
    PANEL_SENSOR_OPENING,
    PANEL_SENSOR_OPEN,
    PANEL_SENSOR_REFUSED,
};

enum panel_edge { PANEL_EDGE_BAND = 0, PANEL_EDGE_LOW, PANEL_EDGE_HIGH, PANEL_EDGE_NONE };

enum panel_input_kind {
    PANEL_INPUT_KEY = 0, /* key */
    PANEL_INPUT_TEXT,    /* text */
    PANEL_INPUT_DOWN,    /* x_px, y_px; mouse or finger */
    PANEL_INPUT_MOVE,
    PANEL_INPUT_UP,
    PANEL_INPUT_WHEEL, /* n_steps */
};

struct panel_input {
    enum panel_input_kind kind;
    int key;
    char text[32];
    int x_px, y_px;
    int n_steps; /* of the wheel; > 0: up */
};

/* A place on the picture that can be touched. Drawing fills them in. */
struct panel_spot {
    int x_px, y_px, w_px, h_px;
    enum panel_action action; /* PANEL_DO_NOTHING: an edge of a target */
    int number;
    int target; /* valid for an edge */
    enum panel_edge edge;
};

/* The scale that a target is drawn and dragged on; values stay while it is dragged. */
struct panel_axis {
    double low, high;      /* values at the bottom and the top */
    int top_px, bottom_px; /* by drawing */
};

/* The runners page: panel_window.c, panel_list.c. Places count in the whole list that the search finds. */
struct panel_list {
    struct panel_runners runners; /* what is held of it */
    bool has_runners;
    int at;                       /* the chosen one */
    char search[PANEL_CODE_MAX];  /* as typed; runners may be of an older one */
    char finding[PANEL_CODE_MAX]; /* to be chosen when the list comes; "": nobody */
    int asked_offset;             /* of the window asked for last */
    int top, n_fit;               /* the first row shown, and how many fit: by drawing, panel_list_show() */
};

/* The runner whose pages are shown: panel_case.c. */
struct panel_open {
    struct panel_case kase; /* valid when has_case */
    bool has_case, is_loading;
    bool is_newest_due; /* the newest visit is to be shown of those that are read */
    int at_visit;     /* of kase, shown on summary and course */
    int n_newest;     /* of newest; valid while kase.n_newer_visits is not 0: see panel_newest() */
    struct panel_visit newest[PANEL_MAX_VISITS];
    double speed_m_s; /* of the belt before the run: the usual one, or as entered; NAN: not known */
    bool is_speed_entered;
    int at_plan; /* of kase.plan; -1: free running */
    enum tally_state ticks[TALLY_COUNT];
};

/* The visit that is under way, and its sensor: panel_flow.c. */
struct panel_run {
    bool is_on; /* flow is valid */
    struct visit_flow flow;
    bool is_end_told;
    bool are_warnings_read; /* the run was begun with them in force */
    enum panel_sensor sensor;
    struct message sensor_told; /* what the worker says of it */
    struct panel_watch watch; /* valid when has_watch */
    bool has_watch;
    struct verdict verdict;
    enum command_feedback feedback;
    int n_marks; /* that are kept */
    double kept_pain_after, kept_effort; /* of what was said after the run: what is on disc; NAN: nothing yet */
    struct panel_recording recording;
    bool is_peeking; /* values are shown though they are withheld from a runner who sees the panel too */
};

/* The calibration of the sensor's profile: panel_sensor.c. */
struct panel_calib {
    struct panel_calibration told;
    bool is_on;           /* one is measured */
    enum calib_what what; /* valid when is_on */
    bool is_zero_refused; /* the last one: asked for once more, it is sure that nobody is on */
};

/* The targets as they are moved: panel_targets.c. */
struct panel_aim {
    struct target_edit edit;
    int at;                /* the chosen one */
    enum panel_edge edge;  /* what the arrows move */
    int n_proposed;        /* how often targets were made by rule: which cadence rule is next */
    uint32_t version;      /* of the coach's, as told by a verdict */
    int n_told;            /* changes told to the coach that no verdict shows yet */
    bool is_untold;        /* changes made while there was no coach yet */
    struct panel_axis axis[VERDICT_MAX_BARS];
    int dragged; /* target; -1: none */
    enum panel_edge dragged_edge;
    double drag_from, drag_low, drag_high;
};

/* What is asked over a page, as far as it is answered: panel_ask.c. */
struct panel_ask {
    struct panel_form form;
    struct panel_runner refused; /* by the store, valid when is_refused: its form comes back when nothing else is asked */
    bool is_refused;
    char typed[PANEL_NOTE_MAX]; /* a note, or the code to forget */
    bool is_effort;             /* in PANEL_ASK_NUMBER: effort, else pain */
    int number;                 /* in PANEL_ASK_NUMBER; -1: none yet */
    bool is_sign_due;           /* a typed sign that belongs to the key before it */
};

/* What goes out: panel_out.c. */
struct panel_out {
    struct message message; /* MESSAGE_NONE: nothing is said */
    struct panel_request request[PANEL_N_REQUESTS];
    int n_requests;
};

/* What can be touched on the picture: drawing's. */
struct panel_spots {
    int n;
    struct panel_spot spot[PANEL_MAX_SPOTS];
};

/* Each part is changed by the file that its line names, and read by all. */
struct panel {
    enum panel_page page;
    enum panel_context context;
    bool is_unsaved;      /* something that was said or run is not in the store yet; told while PANEL_ASK_LEAVE asks */
    bool is_over_screen;  /* the runner's screen lies below: Tab hides the panel; whoever shows it says so */
    struct host_time now; /* as told last */
    uint64_t n_changes;   /* goes up when something must be drawn anew */
    struct panel_list list;
    struct panel_open open;
    struct panel_run visit;
    struct panel_calib calib;
    struct panel_aim aim;
    struct panel_ask ask;
    struct panel_out out;
    struct panel_spots spots;
};

/* The runners page; asks for the list. */
void panel_init(struct panel *p);

/* A key, a sign, a touch. */
void panel_feed(struct panel *p, const struct panel_input *input);

/* What time it is; before each turn's input. */
void panel_set_now(struct panel *p, struct host_time now);

/* One action, as from a key or a spot. */
void panel_do(struct panel *p, enum panel_action action, int number);

/* The newest verdict of the visit that is under way. */
void panel_set_verdict(struct panel *p, const struct verdict *v);

/* Answers to requests. message "" or NULL: all went well. */
void panel_set_runners(struct panel *p, const struct panel_runners *r);
void panel_set_case(struct panel *p, const struct panel_case *c);
/* The store has that code already: nothing of r was saved. */
void panel_runner_refused(struct panel *p, const struct panel_runner *r);
void panel_set_sensor(struct panel *p, enum panel_sensor sensor, const struct message *told); /* told NULL: nothing */
void panel_set_watch(struct panel *p, const struct panel_watch *w);
void panel_set_recording(struct panel *p, const struct panel_recording *r);
void panel_set_unsaved(struct panel *p, bool is_unsaved);
/* What is said of it when the program is to be left. */
const char *panel_leave_sentence(const struct panel *p);
void panel_set_calibration(struct panel *p, const struct panel_calibration *c);
/* What is said from now on: a text of ours, N_("…"), "" for nothing; or a message. */
void panel_say(struct panel *p, const char *english);
void panel_tell(struct panel *p, const struct message *m);

/* Values of the run must not be shown now: feedback is withheld, and the runner sees the panel. */
bool panel_is_withheld(const struct panel *p);

/* The run's values are not live: the sensor is lost, nobody runs, or the newest is older than PANEL_STALE_US, as on the
 * runner's screen. */
#define PANEL_STALE_US INT64_C(4000000)
bool panel_is_stale(const struct panel *p);

/* Age of the newest value, us; -1: there is none. */
int64_t panel_age_us(const struct panel *p);

/* Where the panel stands, in words: "Underfoot: Visit, cautions". */
#define PANEL_TITLE_MAX 80
void panel_title(const struct panel *p, char out[PANEL_TITLE_MAX]);

/* The next request; false when there is none. */
bool panel_take_request(struct panel *p, struct panel_request *out);
/* To look at it first: NULL when there is none; drop it once it is done. */
const struct panel_request *panel_first_request(const struct panel *p);
void panel_drop_request(struct panel *p);

/* True when something may be typed now (an on-screen keyboard would be needed). */
bool panel_is_typing(const struct panel *p);

/* Step by which the arrows move a target of this metric. */
double panel_nudge_step(enum metric m);

/* The sensor's step of the visit is under way; and what its picture shows is now. */
bool panel_sensor_is_seen(const struct panel *p);
bool panel_sensor_is_live(const struct panel *p);

/* The belt's speed is measured by a mat: not entered. */
bool panel_speed_is_measured(const struct panel *p);

/* The store took no visit: back to the visit page. */
void panel_visit_refused(struct panel *p);
/* A pain, an effort or a note that is on disc now: only then it stands on its visit's page. */
struct panel_kept {
    double pain_after, effort; /* of the visit that was just run; NAN: not this */
    int64_t visit_id;          /* of the note; 0: none */
    char note[PANEL_NOTE_MAX];
};
void panel_set_kept(struct panel *p, const struct panel_kept *k);
/* So many marks are on disc now, and so many will never be. */
void panel_set_marked(struct panel *p, int n_kept, int n_refused);

/* The newest visits of the runner, oldest first, whichever the summary and the course show. Returns how many. */
int panel_newest(const struct panel *p, const struct panel_visit **out);

/* On the runners page; NULL: none, or not read yet. */
const struct panel_runner *panel_chosen(const struct panel *p);
/* The list, as searched, is there around the chosen place. */
bool panel_list_is_read(const struct panel *p);
/* The row at that place of the list; NULL: not held now. */
const struct panel_runner *panel_row(const struct panel *p, int at);
/* The first row to be shown where n_fit fit, so that the chosen one is among them. */
int panel_list_show(struct panel *p, int n_fit);

/* Between a value of a target and its place on the picture, cut to the axis. */
double panel_axis_value(const struct panel_axis *a, int y_px);
int panel_axis_y(const struct panel_axis *a, double value);

#endif
