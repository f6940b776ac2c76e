/* panel_keys.h - every key of the panel, page by page: what help strip, drawing, key handling and tests read.
 *
 * A context is a page, or something asked over it; each has one table. Nothing destructive hangs on one key:
 * what destroys or can't be undone opens a question, and the question has keys of its own.
 */
#ifndef PANEL_PANEL_KEYS_H
#define PANEL_PANEL_KEYS_H

#include <stdbool.h>

/* Keys that are no sign; signs are their ASCII, letters in lower case. */
enum panel_key {
    PANEL_KEY_BACKSPACE = 8,
    PANEL_KEY_TAB = 9,
    PANEL_KEY_RETURN = 13,
    PANEL_KEY_ESCAPE = 27,
    PANEL_KEY_UP = 0x100,
    PANEL_KEY_DOWN,
    PANEL_KEY_LEFT,
    PANEL_KEY_RIGHT,
    PANEL_KEY_DELETE,
    PANEL_KEY_HOME,
    PANEL_KEY_END,
    PANEL_KEY_BACK_TAB, /* Shift+Tab */
    PANEL_KEY_SHIFT_UP,
    PANEL_KEY_SHIFT_DOWN,
    PANEL_KEY_F1,
    PANEL_KEY_F2,
    PANEL_KEY_F3,
    PANEL_KEY_F4,
    PANEL_KEY_F5,
    PANEL_KEY_PAGE_UP,
    PANEL_KEY_PAGE_DOWN,
};

enum panel_page { PANEL_RUNNERS = 0, PANEL_VISIT, PANEL_LIVE, PANEL_SUMMARY, PANEL_COURSE, PANEL_N_PAGES };

enum panel_context {
    PANEL_ON_RUNNERS = 0, /* the pages, in the order of enum panel_page */
    PANEL_ON_VISIT,
    PANEL_ON_LIVE,
    PANEL_ON_SUMMARY,
    PANEL_ON_COURSE,
    PANEL_IN_FORM, /* questions over a page, from here on */
    PANEL_ASK_FORGET,
    PANEL_ASK_FORGET_AGAIN,
    PANEL_ASK_NUMBER, /* pain or effort, 0 to 10 */
    PANEL_ASK_SKIP,
    PANEL_ASK_STOP,
    PANEL_ASK_LEAVE,
    PANEL_IN_NOTE,
    PANEL_IN_PLAN_NAME, /* of a plan's copy */
    PANEL_IN_CALIBRATION,
    PANEL_IN_MASS, /* of who stands on the sensor */
    PANEL_ASK_UNDO_CALIBRATION,
    PANEL_ASK_WARNED, /* the run is to begin with warnings in force */
    PANEL_IN_SPEED,   /* of the belt */
    PANEL_IN_SEARCH,  /* in the list of runners */
    PANEL_N_CONTEXTS
};

enum panel_action {
    PANEL_DO_NOTHING = 0,
    PANEL_DO_PAGE,  /* number: enum panel_page */
    PANEL_DO_HIDE,  /* the panel, where it lies over the runner's screen */
    PANEL_DO_LEAVE, /* the program */
    PANEL_DO_UP,
    PANEL_DO_DOWN,
    PANEL_DO_LEFT,
    PANEL_DO_RIGHT,
    PANEL_DO_CHOOSE, /* a row; number: which (from a click) */
    PANEL_DO_PAGE_UP, /* in the list of runners: PAGE_UP to SEARCH */
    PANEL_DO_PAGE_DOWN,
    PANEL_DO_FIRST,
    PANEL_DO_LAST,
    PANEL_DO_SEARCH,
    PANEL_DO_OPEN,   /* the chosen runner's visit page */
    PANEL_DO_ADD,
    PANEL_DO_EDIT,
    PANEL_DO_FORGET,
    PANEL_DO_YES,
    PANEL_DO_NO,
    PANEL_DO_NEXT_FIELD,
    PANEL_DO_LAST_FIELD,
    PANEL_DO_FIELD, /* FIELD: number: which */
    PANEL_DO_ERASE,
    PANEL_DO_GO_ON,   /* the visit's next phase */
    PANEL_DO_CHECK,   /* the sensor once more, before the run */
    PANEL_DO_LOAD,    /* the check's loaded part */
    PANEL_DO_CALIBRATE,
    PANEL_DO_ZERO, /* CALIBRATE: what is measured, or taken back */
    PANEL_DO_WEIGH,
    PANEL_DO_EVEN,
    PANEL_DO_UNDO_CALIBRATION,
    PANEL_DO_PROFILE, /* the next one */
    PANEL_DO_PASS,    /* a question passed over */
    PANEL_DO_PLAN,    /* the next one */
    PANEL_DO_PLAN_AT, /* number: which */
    PANEL_DO_COPY,    /* the plan, to edit it */
    PANEL_DO_EDGE,    /* what the arrows move: band, low edge, high edge */
    PANEL_DO_NUDGE_UP,
    PANEL_DO_NUDGE_DOWN,
    PANEL_DO_FOCUS,
    PANEL_DO_PROPOSE, /* targets by rule from what was measured last; the next rule each time */
    PANEL_DO_UNDO,
    PANEL_DO_REDO,
    PANEL_DO_TICK, /* number: enum tally_sign */
    PANEL_DO_PAUSE,
    PANEL_DO_SKIP,
    PANEL_DO_EXTEND,
    PANEL_DO_FEEDBACK,
    PANEL_DO_PEEK, /* at values that are withheld from the runner, who sees the panel too */
    PANEL_DO_FASTER,
    PANEL_DO_SLOWER,
    PANEL_DO_SPEED, /* of the belt, to be typed */
    PANEL_DO_PAIN,
    PANEL_DO_EFFORT,
    PANEL_DO_NUMBER, /* number: 0..10 */
    PANEL_DO_MARK,
    PANEL_DO_NOTE,
    PANEL_DO_ACCEPT,
    PANEL_DO_STOP,
    PANEL_DO_SAVE,
    PANEL_DO_PRINT,
    PANEL_DO_MUTE,
    PANEL_DO_OLDER, /* visits than those that are shown; and newer */
    PANEL_DO_NEWER,
    PANEL_N_ACTIONS
};

struct panel_key_row {
    int key;
    enum panel_action action;
    int number;
    const char *cap;   /* as on the key: "Space", "F2" */
    const char *words; /* in the help strip; NULL: not shown there (named with another row's) */
};

/* The rows of a context, ended by one with key 0. Static storage. */
const struct panel_key_row *panel_keys(enum panel_context context);

/* The row of a key in a context, or NULL. */
const struct panel_key_row *panel_keys_find(enum panel_context context, int key);

/* The cap of an action's first key in a context; "" when it has none. Static storage. */
const char *panel_keys_cap(enum panel_context context, enum panel_action action, int number);

/* "Runners", ... */
const char *panel_page_name(enum panel_page page);

#endif
