#include "panel/panel_form.h"

#include "base/mark.h"
#include "base/str.h"
#include "base/utf8.h"
#include "runner/show_as.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

_Static_assert(PANEL_FORM_TEXT_MAX >= SHOW_AS_TEXT_MAX, "a field holds all choices");

static const struct {
    const char *label, *hint;
    bool is_number;
    double min, max;
    const char *range; /* min and max in words; NULL: no number */
} FIELDS[PANEL_FORM_N_FIELDS] = {
    [PANEL_FORM_CODE] = { N_("Code"), N_("such as R-014; no name is needed"), false, 0, 0, NULL },
    [PANEL_FORM_MASS] = { N_("Body mass, kg"), N_("20 to 300; empty: from the running itself"), true, 20, 300, N_("from 20 to 300") },
    [PANEL_FORM_LEG] = { N_("Leg length, mm"), N_("300 to 1500"), true, 300, 1500, N_("from 300 to 1500") },
    [PANEL_FORM_FOOT] = { N_("Foot length, mm"), N_("120 to 400"), true, 120, 400, N_("from 120 to 400") },
    [PANEL_FORM_PAIN_LIMIT] = { N_("Pain limit, of 10"),
                                N_("1 to 10; empty: any pain asks to decide"), true, 1, 10, N_("from 1 to 10") },
    [PANEL_FORM_SHOE] = { N_("Shoe"), N_("a note"), false, 0, 0, NULL },
    [PANEL_FORM_DISPLAY] = { N_("Display choices"),
                             N_("such as theme=light language=de distance=3 sound=on metronome=target volume=50"), false, 0, 0, NULL },
};

const char *
panel_form_label(enum panel_form_field field)
{
    return FIELDS[field].label;
}

const char *
panel_form_hint(enum panel_form_field field)
{
    return FIELDS[field].hint;
}

static void
say_taken(struct panel_form *f)
{
    str_copy(f->why[PANEL_FORM_CODE], PANEL_FORM_TEXT_MAX, N_("another runner has this code"));
}

void
panel_form_taken(struct panel_form *f)
{
    say_taken(f);
    f->at = PANEL_FORM_CODE;
}

static void
check_code(struct panel_form *f, const struct panel_runners *others)
{
    static const char allowed[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_.";
    const char *code = f->text[PANEL_FORM_CODE];
    char *why = f->why[PANEL_FORM_CODE];
    why[0] = '\0';
    if (!code[0])
        str_copy(why, PANEL_FORM_TEXT_MAX, N_("a code is needed"));
    else if (strlen(code) >= PANEL_CODE_MAX)
        str_copy(why, PANEL_FORM_TEXT_MAX, N_("at most 31 signs"));
    else if (strspn(code, allowed) != strlen(code))
        str_copy(why, PANEL_FORM_TEXT_MAX, N_("letters, digits, and - _ . only"));
    else if (code[0] == '-' || code[0] == '.')
        str_copy(why, PANEL_FORM_TEXT_MAX, N_("begins with a letter or a digit"));
    for (int i = 0; i < others->n && !why[0]; i++)
        if (strcmp(others->runner[i].code, code) == 0 && others->runner[i].id != f->was.id)
            say_taken(f);
}

/* A comma is a decimal sign in half of the world. */
static bool
read_number(const char *text, double *out)
{
    char plain[PANEL_FORM_TEXT_MAX];
    str_copy(plain, sizeof plain, text);
    char *comma = strchr(plain, ',');
    if (comma)
        *comma = '.';
    return str_to_double(plain, out);
}

static void
check_number(struct panel_form *f, int i)
{
    double value;
    f->why[i][0] = '\0';
    if (!f->text[i][0])
        return;
    if (!read_number(f->text[i], &value))
        str_copy(f->why[i], PANEL_FORM_TEXT_MAX, N_("not a number"));
    else if (value < FIELDS[i].min || value > FIELDS[i].max)
        str_copy(f->why[i], PANEL_FORM_TEXT_MAX, FIELDS[i].range);
}

static void
check_display(struct panel_form *f, const char *languages)
{
    struct show_as as;
    f->why[PANEL_FORM_DISPLAY][0] = '\0';
    if (!show_as_parse(f->text[PANEL_FORM_DISPLAY], languages, &as))
        show_as_allowed(as.wrong_key, languages, f->why[PANEL_FORM_DISPLAY]);
}

static void
check(struct panel_form *f, const struct panel_runners *others)
{
    check_code(f, others);
    check_display(f, others->languages);
    for (int i = 0; i < PANEL_FORM_N_FIELDS; i++)
        if (FIELDS[i].is_number)
            check_number(f, i);
}

static double *
number_of(struct panel_runner *r, int i)
{
    switch (i) {
    case PANEL_FORM_MASS:
        return &r->body_mass_kg;
    case PANEL_FORM_LEG:
        return &r->leg_length_mm;
    case PANEL_FORM_FOOT:
        return &r->foot_length_mm;
    default:
        return &r->pain_limit;
    }
}

void
panel_form_init(struct panel_form *f, const struct panel_runner *r, const struct panel_runners *others)
{
    const double unknown = (double) NAN;
    memset(f, 0, sizeof *f);
    f->was = r ? *r : (struct panel_runner){ 0, "", unknown, unknown, unknown, unknown, "", "", 0, "" };
    str_copy(f->text[PANEL_FORM_CODE], PANEL_FORM_TEXT_MAX, f->was.code);
    str_copy(f->text[PANEL_FORM_SHOE], PANEL_FORM_TEXT_MAX, f->was.shoe);
    str_copy(f->text[PANEL_FORM_DISPLAY], PANEL_FORM_TEXT_MAX, f->was.display);
    for (int i = 0; i < PANEL_FORM_N_FIELDS; i++)
        if (FIELDS[i].is_number && !isnan(*number_of(&f->was, i)))
            snprintf(f->text[i], PANEL_FORM_TEXT_MAX, "%.10g", *number_of(&f->was, i));
    check(f, others);
}

bool
panel_form_append(char *text, size_t cap, const char *utf8)
{
    for (const char *s = utf8; *s;) {
        char sign[8] = "";
        const int n = utf8_len(s);
        memcpy(sign, s, (size_t) n);
        s += n > 0 ? n : 1;
        const enum utf8_fault fault = utf8_judge(sign, sizeof sign, false);
        if (fault == UTF8_IS_FINE && strlen(text) + strlen(sign) >= cap)
            return false;
        if (fault == UTF8_IS_FINE)
            str_append(text, cap, sign);
    }
    return true;
}

void
panel_form_cut(char *text)
{
    size_t len = strlen(text);
    while (len > 0 && (text[len - 1] & 0xC0) == 0x80)
        len--;
    if (len > 0)
        len--;
    text[len] = '\0';
}

bool
panel_form_type(struct panel_form *f, const char *utf8, const struct panel_runners *others)
{
    const bool fits = panel_form_append(f->text[f->at], f->at == PANEL_FORM_CODE ? PANEL_CODE_MAX : PANEL_FORM_TEXT_MAX, utf8);
    check(f, others);
    return fits;
}

void
panel_form_erase(struct panel_form *f, const struct panel_runners *others)
{
    panel_form_cut(f->text[f->at]);
    check(f, others);
}

void
panel_form_go(struct panel_form *f, int by)
{
    const int n = PANEL_FORM_N_FIELDS;
    f->at = (enum panel_form_field)(((int) f->at + by % n + n) % n);
}

bool
panel_form_take(struct panel_form *f, struct panel_runner *out)
{
    struct panel_runner r = f->was;
    for (int i = 0; i < PANEL_FORM_N_FIELDS; i++)
        if (f->why[i][0]) {
            f->at = (enum panel_form_field) i;
            return false;
        }
    str_copy(r.code, sizeof r.code, f->text[PANEL_FORM_CODE]);
    str_copy(r.shoe, sizeof r.shoe, f->text[PANEL_FORM_SHOE]);
    str_copy(r.display, sizeof r.display, f->text[PANEL_FORM_DISPLAY]);
    for (int i = 0; i < PANEL_FORM_N_FIELDS; i++)
        if (FIELDS[i].is_number) {
            double *to = number_of(&r, i);
            if (!f->text[i][0])
                *to = (double) NAN;
            else
                read_number(f->text[i], to);
        }
    *out = r;
    return true;
}
