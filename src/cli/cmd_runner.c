/* cmd_runner.c - `underfoot runner`: add, list, show, edit, forget. */
#include "base/log.h"
#include "base/str.h"
#include "base/utf8.h"
#include "care/forget.h"
#include "cli/commands.h"
#include "cli/store_word.h"
#include "paper/number.h"
#include "runner/show_as.h"
#include "runner/words.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

struct runner_words {
    const char *shoe, *display, *code, *yes, *folder;
    double mass_kg, leg_mm, foot_mm, pain_limit;
    bool has_no_pain_limit;
};

struct runner_action {
    const char *name;
    enum err (*run)(struct store *s, const char *code, const struct runner_words *w);
    bool needs_code, writes;
};

static void
set_number(double *to, double from)
{
    if (!isnan(from))
        *to = from;
}

static enum err
save(struct store *s, struct store_runner *r, const struct runner_words *w)
{
    set_number(&r->body_mass_kg, w->mass_kg);
    set_number(&r->leg_length_mm, w->leg_mm);
    set_number(&r->foot_length_mm, w->foot_mm);
    set_number(&r->pain_limit, w->has_no_pain_limit ? (double) NAN : w->pain_limit);
    if (w->has_no_pain_limit)
        r->pain_limit = (double) NAN;
    if (w->shoe && !store_word_text(s, r->shoe_note, sizeof r->shoe_note, w->shoe, false, "the note on the shoe"))
        return ERR_USAGE;
    if (w->display)
        str_copy(r->display, sizeof r->display, w->display);
    if (w->code)
        str_copy(r->code, sizeof r->code, w->code);
    return store_runner_save(s, r);
}

static enum err
add(struct store *s, const char *code, const struct runner_words *w)
{
    struct store_runner r = store_runner_default(code);
    return save(s, &r, w);
}

static enum err
edit(struct store *s, const char *code, const struct runner_words *w)
{
    struct store_runner r;
    const enum err err = store_runner_get(s, code, &r);
    return err == ERR_OK ? save(s, &r, w) : err;
}

static const char *
number(char out[NUMBER_MAX], double value, int digits)
{
    return isfinite(value) ? number_fixed(out, value, digits) : "-";
}

static bool
list_one(void *context, const struct store_runner *r)
{
    char a[NUMBER_MAX], b[NUMBER_MAX], c[NUMBER_MAX], d[NUMBER_MAX];
    int *n = context;
    if ((*n)++ == 0)
        printf("%-12s%10s%10s%10s%12s  %s\n", "code", "mass kg", "leg mm", "foot mm", "pain limit", "shoe");
    printf("%-12s%10s%10s%10s%12s  %s\n", r->code, number(a, r->body_mass_kg, 1), number(b, r->leg_length_mm, 0),
           number(c, r->foot_length_mm, 0), number(d, r->pain_limit, 0), r->shoe_note);
    return true;
}

static enum err
list(struct store *s, const char *code, const struct runner_words *w)
{
    int n = 0;
    (void) code;
    (void) w;
    const enum err err = store_runners(s, list_one, &n);
    if (err == ERR_OK && n == 0)
        log_note("no runners in %s yet", s->path);
    return err;
}

static bool
count_visit(void *context, const struct store_visit *v)
{
    (void) v;
    (*(int *) context)++;
    return true;
}

static enum err
show(struct store *s, const char *code, const struct runner_words *w)
{
    struct store_runner r;
    char text[NUMBER_MAX];
    int n_visits = 0;
    (void) w;
    enum err err = store_runner_get(s, code, &r);
    if (err == ERR_OK)
        err = store_visits(s, r.id, count_visit, &n_visits);
    if (err != ERR_OK)
        return err;
    printf("code         %s\n", r.code);
    printf("body mass    %s kg\n", number(text, r.body_mass_kg, 1));
    printf("leg length   %s mm\n", number(text, r.leg_length_mm, 0));
    printf("foot length  %s mm\n", number(text, r.foot_length_mm, 0));
    printf("pain limit   %s\n", isnan(r.pain_limit) ? "not set: any pain asks for a decision" : number(text, r.pain_limit, 0));
    printf("shoe         %s\n", r.shoe_note[0] ? r.shoe_note : "-");
    printf("display      %s\n", r.display[0] ? r.display : "-");
    printf("visits       %d\n", n_visits);
    return ERR_OK;
}

/* Asks once; true when the code itself is the answer. */
static bool
is_confirmed(const char *code, const char *question)
{
    char line[STORE_CODE_MAX + 2];
    utf8_print(stderr, "%s Type %s to go on: ", question, code);
    if (!fgets(line, sizeof line, stdin))
        return false;
    line[strcspn(line, "\r\n")] = '\0';
    return strcmp(line, code) == 0;
}

static enum err
forget(struct store *s, const char *code, const struct runner_words *w)
{
    struct store_runner r;
    struct store_belongings has;
    char question[240];
    enum err err = store_runner_get(s, code, &r);
    if (err == ERR_OK)
        err = forget_belongings(s, r.id, &has);
    if (err != ERR_OK)
        return err;
    snprintf(question, sizeof question,
             "Forget %s with all visits (%d) and all pages that the panel printed (%d), and with the recordings of the visits "
             "(%d, %.1f MB), for good?", code, has.n_visits, has.n_pages, has.n_recordings,
             (double) has.n_recording_bytes / 1e6);
    const bool is_sure = w->yes ? strcmp(w->yes, code) == 0
                                : is_confirmed(code, question) && is_confirmed(code, "This can't be undone.");
    if (!is_sure) {
        message_sayf(&s->why, "%s was not confirmed twice: nothing is forgotten", code);
        return ERR_USAGE;
    }
    err = forget_runner(s, r.id, &has);
    if (err == ERR_OK)
        log_note("%s is forgotten, with all visits (%d) and all pages that the panel printed (%d), and with the recordings of the "
                 "visits (%d, %.1f MB); the copies beside the store that had them were written anew without them (%d), damaged ones "
                 "removed (%d). What --record wrote, reports, exports and copies outside the store's folder can't be reached "
                 "from here: remove them yourself. A bare identifier stays, so that `underfoot restore` does not bring them back",
                 code, has.n_visits, has.n_pages, has.n_recordings, (double) has.n_recording_bytes / 1e6, has.n_copies,
                 has.n_damaged_copies);
    return err;
}

static const struct runner_action ACTIONS[] = {
    { "add", add, true, true },   { "list", list, false, false },    { "show", show, true, false },
    { "edit", edit, true, true }, { "forget", forget, true, true },
};
#define N_ACTIONS (sizeof ACTIONS / sizeof *ACTIONS)

static const struct runner_action *
find_action(const char *word)
{
    for (size_t i = 0; i < N_ACTIONS; i++)
        if (strcmp(word, ACTIONS[i].name) == 0)
            return &ACTIONS[i];
    return NULL;
}

/* A code is short, without blanks, so that it can be typed and stands in file names. */
static bool
is_code(const char *word)
{
    const size_t len = strlen(word);
    static const char allowed[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_.";
    return len > 0 && len < STORE_CODE_MAX && strspn(word, allowed) == len && word[0] != '-' && word[0] != '.';
}

/* Kept in one order and without what was said twice. */
static int
read_display(const struct options_spec *spec, struct runner_words *w, char text[SHOW_AS_TEXT_MAX])
{
    char languages[WORDS_LANGUAGES_MAX], allowed[SHOW_AS_TEXT_MAX];
    struct show_as as;
    words_languages(NULL, languages);
    if (!show_as_parse(w->display, languages, &as))
        return options_refuse(spec, "--show-as: '%.40s' is no display choice: there %s %s", as.wrong,
                              as.wrong_key == SHOW_AS_N_KEYS ? "are" : "is",
                              show_as_allowed(as.wrong_key, languages, allowed));
    show_as_text(&as, text);
    w->display = text;
    return 0;
}

int
cmd_runner(int argc, char **argv)
{
    const double unknown = (double) NAN;
    struct runner_words w = { .mass_kg = unknown, .leg_mm = unknown, .foot_mm = unknown, .pain_limit = unknown };
    const char *word[2];
    const struct option_row rows[] = {
        { "mass", OPTION_NUMBER, "KG", "body mass", NULL, NULL, &w.mass_kg, 20, 300 },
        { "leg", OPTION_NUMBER, "MM", "leg length", NULL, NULL, &w.leg_mm, 300, 1500 },
        { "foot", OPTION_NUMBER, "MM", "foot length", NULL, NULL, &w.foot_mm, 120, 400 },
        { "pain-limit", OPTION_NUMBER, "N", "of 10: at or above it the display asks to stop; yours to set", NULL, NULL,
          &w.pain_limit, 1, 10 },
        { "no-pain-limit", OPTION_FLAG, NULL, "take the limit away: any pain asks for a decision then",
          &w.has_no_pain_limit, NULL, NULL, 0, 0 },
        { "shoe", OPTION_TEXT, "TEXT", "shoe note", NULL, &w.shoe, NULL, 0, 0 },
        { "show-as", OPTION_TEXT, "WORDS",
          "display choices of every visit: theme=dark|light language=XX distance=M sound=on|off "
          "metronome=SPM|target|off volume=PCT; '': none",
          NULL, &w.display, NULL, 0, 0 },
        { "code", OPTION_TEXT, "CODE", "edit: another code for the runner", NULL, &w.code, NULL, 0, 0 },
        { "yes", OPTION_TEXT, "CODE", "forget: the code once more, instead of being asked twice", NULL, &w.yes, NULL, 0, 0 },
        store_word_row(&w.folder),
    };
    const struct options_spec spec = { "runner", "add|list|show|edit|forget [CODE]",
                                       "Runners by code, such as R-014; no names are needed. forget removes every row of a "
                                       "runner, the recordings of the visits and each page that the panel printed, and writes the store anew, so that nothing "
                                       "of it stays in the data folder.",
                                       rows, (int) (sizeof rows / sizeof *rows) };
    const int n = options_parse(&spec, argc, argv, word, 2);
    if (n < 0)
        return n == OPTIONS_HELP ? 0 : 2;
    const struct runner_action *action = n > 0 ? find_action(word[0]) : NULL;
    if (!action)
        return options_refuse(&spec, "say what to do: add, list, show, edit or forget");
    if ((n == 2) != action->needs_code)
        return options_refuse(&spec, action->needs_code ? "%s needs a runner's code" : "%s takes no code", action->name);
    if ((n == 2 && !is_code(word[1])) || (w.code && !is_code(w.code)))
        return options_refuse(&spec, "a code has 1 to %d letters, digits, or - _ . and begins with none of - .",
                              STORE_CODE_MAX - 1);
    char display[SHOW_AS_TEXT_MAX];
    if (w.display && read_display(&spec, &w, display))
        return 2;
    struct store s = { .db = NULL };
    enum err err = action->writes ? store_word_write(&s, w.folder) : store_word_read(&s, w.folder);
    if (err == ERR_OK)
        err = action->run(&s, n == 2 ? word[1] : NULL, &w);
    return store_word_end(&s, err);
}
