#include "panel/panel_keys.h"

#include "base/mark.h"
#include "coach/tally.h"

#include <assert.h>
#include <stddef.h>

#define PAGES                                                                                                \
    { PANEL_KEY_F1, PANEL_DO_PAGE, PANEL_RUNNERS, "F1", NULL },                                              \
        { PANEL_KEY_F2, PANEL_DO_PAGE, PANEL_VISIT, "F2", NULL },                                            \
        { PANEL_KEY_F3, PANEL_DO_PAGE, PANEL_LIVE, "F3", NULL },                                             \
        { PANEL_KEY_F4, PANEL_DO_PAGE, PANEL_SUMMARY, "F4", NULL },                                          \
        { PANEL_KEY_F5, PANEL_DO_PAGE, PANEL_COURSE, "F5", NULL },                                           \
    {                                                                                                        \
        PANEL_KEY_TAB, PANEL_DO_HIDE, 0, "Tab", N_("runner's screen")                                            \
    }

#define TARGETS                                                                                              \
    { PANEL_KEY_LEFT, PANEL_DO_LEFT, 0, "\xE2\x86\x90 \xE2\x86\x92", N_("target") },                             \
        { PANEL_KEY_RIGHT, PANEL_DO_RIGHT, 0, "\xE2\x86\x92", NULL },                                        \
        { PANEL_KEY_UP, PANEL_DO_NUDGE_UP, 0, "\xE2\x86\x91 \xE2\x86\x93", N_("move") },                         \
        { PANEL_KEY_DOWN, PANEL_DO_NUDGE_DOWN, 0, "\xE2\x86\x93", NULL },                                    \
        { 'b', PANEL_DO_EDGE, 0, "B", N_("band or edge") }, { 't', PANEL_DO_PROPOSE, 0, "T", N_("by rule") },        \
        { 'o', PANEL_DO_FOCUS, 0, "O", N_("lead") }, { 'u', PANEL_DO_UNDO, 0, "U", N_("undo") },                     \
    {                                                                                                        \
        'y', PANEL_DO_REDO, 0, "Y", N_("redo")                                                                   \
    }

#define BELT                                                                                                 \
    { '=', PANEL_DO_FASTER, 0, "+", NULL }, /* a button shows the first */                                   \
        { '+', PANEL_DO_FASTER, 0, "+ \xE2\x88\x92", "belt" },                                                \
    {                                                                                                        \
        '-', PANEL_DO_SLOWER, 0, "\xE2\x88\x92", NULL                                                       \
    }

#define END                                                                                                  \
    {                                                                                                        \
        0, PANEL_DO_NOTHING, 0, NULL, NULL                                                                   \
    }

#define LIST                                                                                                 \
    { PANEL_KEY_UP, PANEL_DO_UP, 0, "\xE2\x86\x91 \xE2\x86\x93", N_("choose") },                               \
        { PANEL_KEY_DOWN, PANEL_DO_DOWN, 0, "\xE2\x86\x93", NULL },                                         \
        { PANEL_KEY_PAGE_UP, PANEL_DO_PAGE_UP, 0, "PgUp", N_("page up") },                                       \
        { PANEL_KEY_PAGE_DOWN, PANEL_DO_PAGE_DOWN, 0, "PgDn", N_("page down") },                                 \
        { PANEL_KEY_HOME, PANEL_DO_FIRST, 0, "Home", NULL },                                                 \
    {                                                                                                        \
        PANEL_KEY_END, PANEL_DO_LAST, 0, "End", NULL                                                         \
    }

static const struct panel_key_row RUNNERS[] = {
    LIST,
    { 's', PANEL_DO_SEARCH, 0, "S", N_("search") },
    { '/', PANEL_DO_SEARCH, 0, "/", NULL }, /* on some keyboards no key of its own */
    { PANEL_KEY_RETURN, PANEL_DO_OPEN, 0, "Enter", "visit" },
    { 'a', PANEL_DO_ADD, 0, "A", N_("add") },
    { 'e', PANEL_DO_EDIT, 0, "E", N_("edit") },
    { 'c', PANEL_DO_PAGE, PANEL_COURSE, "C", N_("course") },
    { PANEL_KEY_DELETE, PANEL_DO_FORGET, 0, "Del", N_("forget") },
    { PANEL_KEY_ESCAPE, PANEL_DO_LEAVE, 0, "Esc", N_("leave") },
    PAGES,
    END,
};

static const struct panel_key_row VISIT[] = {
    { PANEL_KEY_RETURN, PANEL_DO_GO_ON, 0, "Enter", N_("go on") },
    { 'k', PANEL_DO_CHECK, 0, "K", N_("check again") },
    { 'l', PANEL_DO_LOAD, 0, "L", N_("now load it") },
    { 'z', PANEL_DO_CALIBRATE, 0, "Z", N_("calibrate") },
    { 'p', PANEL_DO_PLAN, 0, "P", "plan" },
    { 'c', PANEL_DO_COPY, 0, "C", N_("copy plan") },
    BELT,
    { 's', PANEL_DO_SPEED, 0, "S", N_("belt speed") },
    TARGETS,
    { '1', PANEL_DO_TICK, TALLY_KNEE_STRAIGHT, "1", NULL },
    { '2', PANEL_DO_TICK, TALLY_SHIN_BACK, "2", NULL },
    { '3', PANEL_DO_TICK, TALLY_TRUNK, "3", NULL },
    { '4', PANEL_DO_TICK, TALLY_LOUD, "4", NULL },
    { PANEL_KEY_ESCAPE, PANEL_DO_STOP, 0, "Esc", N_("back") },
    PAGES,
    END,
};

static const struct panel_key_row LIVE[] = {
    { ' ', PANEL_DO_PAUSE, 0, "Space", N_("pause") },
    { 'p', PANEL_DO_PAIN, 0, "P", N_("pain now") },
    { 's', PANEL_DO_SKIP, 0, "S", N_("skip block") },
    { 'x', PANEL_DO_EXTEND, 0, "X", N_("one minute more") },
    { 'f', PANEL_DO_FEEDBACK, 0, "F", "feedback" },
    { 'i', PANEL_DO_PEEK, 0, "I", N_("peek") },
    BELT,
    { 'm', PANEL_DO_MARK, 0, "M", N_("mark") },
    { 'n', PANEL_DO_NOTE, 0, "N", N_("note") },
    { 'a', PANEL_DO_ACCEPT, 0, "A", N_("take baseline") },
    { 'v', PANEL_DO_MUTE, 0, "V", N_("sound") },
    TARGETS,
    { PANEL_KEY_ESCAPE, PANEL_DO_STOP, 0, "Esc", N_("end the run") },
    PAGES,
    END,
};

static const struct panel_key_row SUMMARY[] = {
    { 'p', PANEL_DO_PAIN, 0, "P", N_("pain after") },
    { 'e', PANEL_DO_EFFORT, 0, "E", "effort" },
    { 'n', PANEL_DO_NOTE, 0, "N", N_("notes") },
    { '1', PANEL_DO_TICK, TALLY_KNEE_STRAIGHT, "1", NULL },
    { '2', PANEL_DO_TICK, TALLY_SHIN_BACK, "2", NULL },
    { '3', PANEL_DO_TICK, TALLY_TRUNK, "3", NULL },
    { '4', PANEL_DO_TICK, TALLY_LOUD, "4", NULL },
    { 'r', PANEL_DO_PRINT, 0, "R", N_("page to print") },
    { PANEL_KEY_RETURN, PANEL_DO_SAVE, 0, "Enter", N_("save") },
    { PANEL_KEY_LEFT, PANEL_DO_LEFT, 0, "\xE2\x86\x90 \xE2\x86\x92", N_("other visits") },
    { PANEL_KEY_RIGHT, PANEL_DO_RIGHT, 0, "\xE2\x86\x92", NULL },
    { PANEL_KEY_ESCAPE, PANEL_DO_PAGE, PANEL_RUNNERS, "Esc", N_("runners") },
    PAGES,
    END,
};

static const struct panel_key_row COURSE[] = {
    { PANEL_KEY_LEFT, PANEL_DO_LEFT, 0, "\xE2\x86\x90 \xE2\x86\x92", "visit" },
    { PANEL_KEY_RIGHT, PANEL_DO_RIGHT, 0, "\xE2\x86\x92", NULL },
    { PANEL_KEY_PAGE_UP, PANEL_DO_OLDER, 0, "PgUp PgDn", N_("older, newer") },
    { PANEL_KEY_PAGE_DOWN, PANEL_DO_NEWER, 0, "PgDn", NULL },
    { PANEL_KEY_RETURN, PANEL_DO_PAGE, PANEL_SUMMARY, "Enter", N_("its summary") },
    { 'r', PANEL_DO_PRINT, 0, "R", N_("page to print") },
    { PANEL_KEY_ESCAPE, PANEL_DO_PAGE, PANEL_RUNNERS, "Esc", N_("runners") },
    PAGES,
    END,
};

static const struct panel_key_row FORM[] = {
    { PANEL_KEY_TAB, PANEL_DO_NEXT_FIELD, 0, "Tab", N_("next field") },
    { PANEL_KEY_DOWN, PANEL_DO_NEXT_FIELD, 0, "\xE2\x86\x93", NULL },
    { PANEL_KEY_BACK_TAB, PANEL_DO_LAST_FIELD, 0, "Shift Tab", N_("field before") },
    { PANEL_KEY_UP, PANEL_DO_LAST_FIELD, 0, "\xE2\x86\x91", NULL },
    { PANEL_KEY_BACKSPACE, PANEL_DO_ERASE, 0, "Backspace", NULL },
    { PANEL_KEY_RETURN, PANEL_DO_YES, 0, "Enter", N_("save") },
    { PANEL_KEY_ESCAPE, PANEL_DO_NO, 0, "Esc", N_("don't save") },
    END,
};

static const struct panel_key_row FORGET[] = {
    { 'y', PANEL_DO_YES, 0, "Y", N_("yes, ask once more") },
    { PANEL_KEY_ESCAPE, PANEL_DO_NO, 0, "Esc", N_("no") },
    END,
};

static const struct panel_key_row FORGET_AGAIN[] = {
    { PANEL_KEY_BACKSPACE, PANEL_DO_ERASE, 0, "Backspace", NULL },
    { PANEL_KEY_RETURN, PANEL_DO_YES, 0, "Enter", N_("forget for good") },
    { PANEL_KEY_ESCAPE, PANEL_DO_NO, 0, "Esc", N_("no") },
    END,
};

static const struct panel_key_row NUMBER[] = {
    { '0', PANEL_DO_NUMBER, 0, "0 to 9", N_("the number (10: 1 then 0)") },
    { '1', PANEL_DO_NUMBER, 1, "1", NULL },
    { '2', PANEL_DO_NUMBER, 2, "2", NULL },
    { '3', PANEL_DO_NUMBER, 3, "3", NULL },
    { '4', PANEL_DO_NUMBER, 4, "4", NULL },
    { '5', PANEL_DO_NUMBER, 5, "5", NULL },
    { '6', PANEL_DO_NUMBER, 6, "6", NULL },
    { '7', PANEL_DO_NUMBER, 7, "7", NULL },
    { '8', PANEL_DO_NUMBER, 8, "8", NULL },
    { '9', PANEL_DO_NUMBER, 9, "9", NULL },
    { PANEL_KEY_LEFT, PANEL_DO_LEFT, 0, "\xE2\x86\x90 \xE2\x86\x92", N_("less, more") },
    { PANEL_KEY_RIGHT, PANEL_DO_RIGHT, 0, "\xE2\x86\x92", NULL },
    { PANEL_KEY_RETURN, PANEL_DO_YES, 0, "Enter", N_("take it") },
    { 'o', PANEL_DO_PASS, 0, "O", N_("not asked") },
    { PANEL_KEY_ESCAPE, PANEL_DO_NO, 0, "Esc", N_("back") },
    END,
};

static const struct panel_key_row SKIP[] = {
    { 'y', PANEL_DO_YES, 0, "Y", N_("yes, on to the next block") },
    { PANEL_KEY_ESCAPE, PANEL_DO_NO, 0, "Esc", N_("no, stay") },
    END,
};

static const struct panel_key_row STOP[] = {
    { 'y', PANEL_DO_YES, 0, "Y", N_("yes, end it") },
    { PANEL_KEY_ESCAPE, PANEL_DO_NO, 0, "Esc", N_("no, go on") },
    END,
};

static const struct panel_key_row LEAVE[] = {
    { 'y', PANEL_DO_YES, 0, "Y", N_("yes, leave") },
    { PANEL_KEY_ESCAPE, PANEL_DO_NO, 0, "Esc", N_("no, stay") },
    END,
};

static const struct panel_key_row NOTE[] = {
    { PANEL_KEY_BACKSPACE, PANEL_DO_ERASE, 0, "Backspace", NULL },
    { PANEL_KEY_RETURN, PANEL_DO_YES, 0, "Enter", N_("keep the note") },
    { PANEL_KEY_ESCAPE, PANEL_DO_NO, 0, "Esc", N_("drop it") },
    END,
};

static const struct panel_key_row PLAN_NAME[] = {
    { PANEL_KEY_BACKSPACE, PANEL_DO_ERASE, 0, "Backspace", NULL },
    { PANEL_KEY_RETURN, PANEL_DO_YES, 0, "Enter", N_("copy it") },
    { PANEL_KEY_ESCAPE, PANEL_DO_NO, 0, "Esc", N_("no") },
    END,
};

static const struct panel_key_row CALIBRATION[] = {
    { 'z', PANEL_DO_ZERO, 0, "Z", N_("zero") },
    { 'w', PANEL_DO_WEIGH, 0, "W", N_("weigh") },
    { 'e', PANEL_DO_EVEN, 0, "E", N_("even out") },
    { 'u', PANEL_DO_UNDO_CALIBRATION, 0, "U", N_("take the last back") },
    { 'p', PANEL_DO_PROFILE, 0, "P", N_("next profile") },
    { PANEL_KEY_ESCAPE, PANEL_DO_NO, 0, "Esc", N_("back") },
    END,
};

static const struct panel_key_row MASS[] = {
    { PANEL_KEY_BACKSPACE, PANEL_DO_ERASE, 0, "Backspace", NULL },
    { PANEL_KEY_RETURN, PANEL_DO_YES, 0, "Enter", N_("weigh") },
    { PANEL_KEY_ESCAPE, PANEL_DO_NO, 0, "Esc", N_("no") },
    END,
};

static const struct panel_key_row UNDO_CALIBRATION[] = {
    { 'y', PANEL_DO_YES, 0, "Y", N_("yes, take it back") },
    { PANEL_KEY_ESCAPE, PANEL_DO_NO, 0, "Esc", N_("no, keep it") },
    END,
};

static const struct panel_key_row WARNED[] = {
    { PANEL_KEY_RETURN, PANEL_DO_YES, 0, "Enter", N_("begin all the same") },
    { PANEL_KEY_ESCAPE, PANEL_DO_NO, 0, "Esc", N_("back to the targets") },
    END,
};

static const struct panel_key_row SPEED[] = {
    { PANEL_KEY_BACKSPACE, PANEL_DO_ERASE, 0, "Backspace", NULL },
    { PANEL_KEY_RETURN, PANEL_DO_YES, 0, "Enter", N_("take it") },
    { PANEL_KEY_ESCAPE, PANEL_DO_NO, 0, "Esc", N_("no") },
    END,
};

static const struct panel_key_row SEARCH[] = {
    LIST,
    { PANEL_KEY_BACKSPACE, PANEL_DO_ERASE, 0, "Backspace", NULL },
    { PANEL_KEY_RETURN, PANEL_DO_YES, 0, "Enter", N_("to the list") },
    { PANEL_KEY_ESCAPE, PANEL_DO_NO, 0, "Esc", N_("no search") },
    END,
};

static const struct panel_key_row *const TABLES[PANEL_N_CONTEXTS] = {
    [PANEL_ON_RUNNERS] = RUNNERS, [PANEL_ON_VISIT] = VISIT,
    [PANEL_ON_LIVE] = LIVE,       [PANEL_ON_SUMMARY] = SUMMARY,
    [PANEL_ON_COURSE] = COURSE,   [PANEL_IN_FORM] = FORM,
    [PANEL_ASK_FORGET] = FORGET,  [PANEL_ASK_FORGET_AGAIN] = FORGET_AGAIN,
    [PANEL_ASK_NUMBER] = NUMBER,  [PANEL_ASK_SKIP] = SKIP,
    [PANEL_ASK_STOP] = STOP,      [PANEL_ASK_LEAVE] = LEAVE,
    [PANEL_IN_NOTE] = NOTE,       [PANEL_IN_PLAN_NAME] = PLAN_NAME,
    [PANEL_IN_CALIBRATION] = CALIBRATION, [PANEL_IN_MASS] = MASS,
    [PANEL_ASK_UNDO_CALIBRATION] = UNDO_CALIBRATION,
    [PANEL_ASK_WARNED] = WARNED,  [PANEL_IN_SPEED] = SPEED,
    [PANEL_IN_SEARCH] = SEARCH,
};

const struct panel_key_row *
panel_keys(enum panel_context context)
{
    assert((int) context >= 0 && context < PANEL_N_CONTEXTS);
    return TABLES[context];
}

const struct panel_key_row *
panel_keys_find(enum panel_context context, int key)
{
    for (const struct panel_key_row *r = panel_keys(context); r->key; r++)
        if (r->key == key)
            return r;
    return NULL;
}

const char *
panel_keys_cap(enum panel_context context, enum panel_action action, int number)
{
    for (const struct panel_key_row *r = panel_keys(context); r->key; r++)
        if (r->action == action && r->number == number)
            return r->cap;
    return "";
}

const char *
panel_page_name(enum panel_page page)
{
    static const char *const names[PANEL_N_PAGES] = { N_("Runners"), N_("Visit"), N_("Live"), N_("Summary"), N_("Course") };
    assert((int) page >= 0 && page < PANEL_N_PAGES);
    return names[page];
}
