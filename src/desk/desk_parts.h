/* desk_parts.h - what the files of desk.h share. */
#ifndef DESK_DESK_PARTS_H
#define DESK_DESK_PARTS_H

#include "base/message.h"
#include "desk/desk_marks.h"
#include "desk/desk_work.h"
#include "pages/panel_draw.h"
#include "runner/choices.h"
#include "runner/show.h"

/* Where the panel is drawn: over the whole of the runner's screen, at its side, or in a window of its own. */
enum desk_sheet { DESK_WHOLE = 0, DESK_SIDE, DESK_N_SHEETS };

struct desk {
    const struct app_config *config;
    struct show show;
    struct show_config look; /* of the runner's screen now: config->show with the runner's choices */
    struct show_as choices;  /* look points into it */
    char dressed[PANEL_TEXT_MAX]; /* the words of those choices */
    struct canvas sheet[DESK_N_SHEETS];
    struct panel_draw draw[DESK_N_SHEETS];
    struct panel_words words;
    struct canvas beside; /* the runner's screen, narrower, while the panel is at its side */
    struct screen beside_screen;
    bool is_apart;   /* the panel in a window of its own, also on one display */
    bool has_window; /* sheet[DESK_WHOLE] is a window on a second display */
    bool is_shown;   /* the panel, over the screen */
    enum desk_sheet shown;
    struct panel panel;
    struct host_time drawn;
    unsigned n_warnings; /* of show.n_warnings, said on the panel */
    struct host_time said; /* when the panel's message came */
    struct message said_message;
    struct host_time answered; /* when the worker's newest message came */
    struct message answered_message;
    bool is_touched; /* input since the panel was drawn */
    char title[PANEL_TITLE_MAX];
    bool is_leaving;
    unsigned n_sensors; /* openings asked for */
    bool is_run_open;   /* the worker's answer said so */
    bool is_begin_due;  /* commands wait until the visit is in the store */
    struct desk_marks marks; /* of the open run, that wait for the disc */
    struct desk_work work;
    struct desk_run run;
    struct desk_answer answer;
    struct panel_watch watch; /* the newest taken */
    struct verdict verdict;
    struct message why;
};

/* desk_sheets.c */
enum err desk_open_window(struct desk *d);
enum err desk_open_sheets(struct desk *d);
void desk_close_sheets(struct desk *d);
int desk_sheet_x_px(const struct desk *d, enum desk_sheet which);
void desk_set_shown(struct desk *d, bool is_shown);

/* desk_look.c: the runner's screen and sound as that runner likes them; as configured for one who said nothing. */
void desk_dress(struct desk *d, const struct panel_runner *r);

/* desk_displays.c: with two displays the panel has a window, with one it lies over the runner's screen; also when a
 * display goes or comes in mid-run. */
bool desk_wants_window(const struct desk *d);
enum err desk_follow_displays(struct desk *d);

/* desk_input.c: all events that wait. */
enum err desk_take_events(struct desk *d);

/* desk_ask.c: the panel's requests, and the worker's answers since the last turn. A request that finds no room waits in the
 * panel, with all behind it; at the end the worker gets those that keep something. False: no room. */
bool desk_obey(struct desk *d, const struct panel_request *q);
void desk_take_requests(struct desk *d);
void desk_leave_requests(struct desk *d);
void desk_take_answers(struct desk *d);

#endif
