/* panel_form.h - the form of a runner: fields that say what is wrong as one types.
 *
 * In:  signs and keys.   Out: struct panel_runner, once every field is right.
 * Code: 1 to 31 letters, digits, - _ . ; not one that another runner has. Numbers: a plain decimal (comma or
 * point) within the field's range; empty is unknown. Display choices: words of runner/show_as.h; a wrong one is
 * answered by what may stand there, which is in no language. Pure.  Memory: the struct.
 */
#ifndef PANEL_PANEL_FORM_H
#define PANEL_PANEL_FORM_H

#include "panel/panel_data.h"

#define PANEL_FORM_TEXT_MAX PANEL_TEXT_MAX /* what the store holds of a shoe or of display choices */

enum panel_form_field {
    PANEL_FORM_CODE = 0,
    PANEL_FORM_MASS,
    PANEL_FORM_LEG,
    PANEL_FORM_FOOT,
    PANEL_FORM_PAIN_LIMIT,
    PANEL_FORM_SHOE,
    PANEL_FORM_DISPLAY,
    PANEL_FORM_N_FIELDS
};

struct panel_form {
    struct panel_runner was; /* id 0: a new one */
    char text[PANEL_FORM_N_FIELDS][PANEL_FORM_TEXT_MAX];
    char why[PANEL_FORM_N_FIELDS][PANEL_FORM_TEXT_MAX]; /* "": right */
    enum panel_form_field at;
};

/* r NULL: a new runner. others: for codes that are taken, as far as they are held: the store has the last word
 * (panel_form_taken); borrowed for each call. */
void panel_form_init(struct panel_form *f, const struct panel_runner *r, const struct panel_runners *others);

/* UTF-8 signs at the end of the field that has the caret; a control sign is left out. False when a sign had no room:
 * it and what follows it are left out. */
bool panel_form_type(struct panel_form *f, const char *utf8, const struct panel_runners *others);

/* Takes the last sign away. */
void panel_form_erase(struct panel_form *f, const struct panel_runners *others);

void panel_form_go(struct panel_form *f, int by);

/* True, and *out filled, when every field is right; else the caret goes to the first wrong one. */
bool panel_form_take(struct panel_form *f, struct panel_runner *out);

/* The store has that code already; nothing else is changed. */
void panel_form_taken(struct panel_form *f);

/* Label and unit ("" = none), static storage. */
const char *panel_form_label(enum panel_form_field field);
const char *panel_form_hint(enum panel_form_field field);

/* Appends utf8 to text[cap] but for control signs, and takes the last sign away again. Append: false when a sign had no
 * room: it is left out, and so is what follows it. */
bool panel_form_append(char *text, size_t cap, const char *utf8);
void panel_form_cut(char *text);

#endif
