/* panel_parts.h - what the files of panel.h share. Calls go down only:
 *
 *      panel.c                      any key, touch, verdict, answer
 *      panel_ask.c                  what is asked over a page, answered
 *      panel_visit.c                keys of the visit's pages
 *      panel_run.c  panel_list.c    keys of the run; of the runners page
 *      panel_targets.c panel_speed.c panel_sensor.c
 *      panel_flow.c                 the visit's phases
 *      panel_page.c                 which page
 *      panel_window.c               which runners are held, and who is chosen
 *      panel_out.c                  requests and messages
 *      panel_form.c panel_keys.c    know no panel
 */
#ifndef PANEL_PANEL_PARTS_H
#define PANEL_PANEL_PARTS_H

#include "panel/panel.h"

/* Puts a request of that kind into the queue and returns it to be filled; never NULL. */
struct panel_request *panel_want(struct panel *p, enum panel_request_kind kind);
/* So many wait that input has to. */
bool panel_is_full(const struct panel *p);

/* panel_page.c: with nothing asked over it; or only where a page makes sense, else a word why not. */
void panel_to_page(struct panel *p, enum panel_page page);
void panel_go_to(struct panel *p, enum panel_page page);

/* panel_flow.c */
void panel_visit_begin(struct panel *p);               /* the sensor is opened, or opened and checked anew */
void panel_turn(struct panel *p, bool is_to_older); /* the window on the visits: panel_page.c */
void panel_visit_ask(struct panel *p, bool is_effort); /* pain, or effort */
void panel_visit_sync(struct panel *p);                /* passes on what the flow gave, and follows its phase */
/* What was said after the run, and is kept, stands on the visit's own page: a case that was read from a store that had none of it
 * (the visit is kept elsewhere meanwhile) does not hide it. */
void panel_visit_show_said(struct panel *p);
void panel_visit_close(struct panel *p);               /* lets go of the sensor */

/* panel_targets.c: dragging, nudging, taking over. */
void panel_targets_begin(struct panel *p, const struct target_set *set, const double *spread);
void panel_targets_follow(struct panel *p, const struct verdict *v);
void panel_targets_nudge(struct panel *p, int direction);
void panel_targets_propose(struct panel *p);
void panel_targets_told(struct panel *p); /* a change to be passed on */
void panel_targets_grab(struct panel *p, int target, enum panel_edge edge, int y_px);
void panel_targets_drag(struct panel *p, int y_px);
void panel_targets_drop(struct panel *p);

/* panel_speed.c: the belt's speed before the run and in it. */
#define PANEL_SPEED_MIN_M_S 0.1
#define PANEL_SPEED_MAX_M_S 12.0
double panel_speed_m_s(const struct panel *p);
void panel_speed_do(struct panel *p, enum panel_action action); /* FASTER, SLOWER, SPEED */
void panel_speed_typed(struct panel *p);
void panel_speed_begin_run(struct panel *p); /* tells the coach what was entered */

/* panel_sensor.c: the sensor step's check and calibration. */
void panel_sensor_do(struct panel *p, enum panel_action action);
void panel_sensor_weigh(struct panel *p); /* the typed mass stands still */

/* panel_run.c: keys of the run; and those of targets, before it too. */
void panel_run_do(struct panel *p, enum panel_action action, int number);
bool panel_run_is_of_targets(struct panel *p, enum panel_action action); /* done, then */

/* panel_window.c: the list is asked for anew, around the chosen place, or around the runner of that code where it is not
 * ""; who is then chosen. */
void panel_window_ask(struct panel *p, const char *code);
void panel_window_move(struct panel *p, int to);            /* the choice, within the list */
void panel_window_search(struct panel *p, const char *code); /* the search changed; code as above */

/* panel_list.c: keys of the runners page, and of its search. */
void panel_list_do(struct panel *p, enum panel_action action, int number);
bool panel_list_is_of_search(enum panel_action action); /* any other ends the typing, and is done */
void panel_list_search(struct panel *p, enum panel_action action, int number);
void panel_list_type(struct panel *p, const char *utf8);
void panel_list_form_again(struct panel *p); /* the refused one, when nothing is asked and no visit is under way */

/* panel_visit.c: keys of the visit's pages, and the visit's way through its phases. */
void panel_visit_go_on(struct panel *p);
void panel_visit_do(struct panel *p, enum panel_action action, int number);
void panel_visit_number(struct panel *p, bool is_passed);

/* panel_ask.c: an action, or what is typed, while something is asked over a page. */
void panel_ask_do(struct panel *p, enum panel_action action, int number);
void panel_ask_type(struct panel *p, const char *utf8);

#endif
