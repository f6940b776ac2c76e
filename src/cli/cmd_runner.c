/* cmd_runner.c - `underfoot runner`: add, list, show, edit, forget. */
#include "base/str.h"
#include "base/utf8.h"
#include "care/forget.h"
#include "cli/commands.h"
#include "cli/say_options.h"
#include "cli/say_table.h"
#include "cli/store_word.h"
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
    if (w->shoe && !store_word_text(s, r->shoe_note, sizeof r->shoe_note, w->shoe, false, N_("the note on the shoe")))
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

enum { N_COLUMNS = 6 };
static const struct say_column COLUMNS[N_COLUMNS] = {
    { NC_("table", "code"), 12, 0, false },   { NC_("table", "mass kg"), 8, 2, true },
    { NC_("table", "leg mm"), 8, 2, true },   { NC_("table", "foot mm"), 8, 2, true },
    { NC_("table", "pain limit"), 10, 2, true }, { NC_("table", "shoe"), 0, 2, false },
};

static bool
list_one(void *context, const struct store_runner *r)
{
    char a[SAY_NUMBER_MAX], b[SAY_NUMBER_MAX], c[SAY_NUMBER_MAX], d[SAY_NUMBER_MAX];
    int *n = context;
    if ((*n)++ == 0)
        say_head(stdout, COLUMNS, N_COLUMNS);
    const char *const cell[N_COLUMNS] = { r->code,
                                          say_number(a, r->body_mass_kg, 1),
                                          say_number(b, r->leg_length_mm, 0),
                                          say_number(c, r->foot_length_mm, 0),
                                          say_number(d, r->pain_limit, 0),
                                          r->shoe_note };
    say_row(stdout, COLUMNS, N_COLUMNS, cell);
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
        say_note(MESSAGE_RUNNER_NONE, message_path(s->path));
    return err;
}

static bool
count_visit(void *context, const struct store_visit *v)
{
    (void) v;
    (*(int *) context)++;
    return true;
}

/* A line for each, the figure with its unit. */
static void
print_runner(const struct store_runner *r, int n_visits)
{
    static const char *const label[] = { NC_("table", "code"),       NC_("table", "body mass"), NC_("table", "leg length"),
                                         NC_("table", "foot length"), NC_("table", "pain limit"), NC_("table", "shoe"),
                                         NC_("table", "display"),     NC_("table", "visits") };
    enum { N_LABELS = sizeof label / sizeof *label };
    char mass[SAY_NUMBER_MAX], leg[SAY_NUMBER_MAX], foot[SAY_NUMBER_MAX], pain[SAY_NUMBER_MAX], visits[SAY_NUMBER_MAX];
    const char *const value[N_LABELS] = { r->code,
                                          say_number(mass, r->body_mass_kg, 1),
                                          say_number(leg, r->leg_length_mm, 0),
                                          say_number(foot, r->foot_length_mm, 0),
                                          isnan(r->pain_limit) ? say_word(N_("not set: any pain asks for a decision"))
                                                               : say_number(pain, r->pain_limit, 0),
                                          r->shoe_note[0] ? r->shoe_note : "-",
                                          r->display[0] ? r->display : "-",
                                          say_number(visits, n_visits, 0) };
    static const char *const unit[N_LABELS] = { "", " kg", " mm", " mm", "", "", "", "" };
    const int width = say_labels_width(label, N_LABELS);
    for (int i = 0; i < N_LABELS; i++) {
        say_label(stdout, label[i], width);
        utf8_print(stdout, "%s%s\n", value[i], unit[i]);
    }
}

static enum err
show(struct store *s, const char *code, const struct runner_words *w)
{
    struct store_runner r;
    int n_visits = 0;
    (void) w;
    enum err err = store_runner_get(s, code, &r);
    if (err == ERR_OK)
        err = store_visits(s, r.id, count_visit, &n_visits);
    if (err != ERR_OK)
        return err;
    print_runner(&r, n_visits);
    return ERR_OK;
}

/* Asks once; true when the code itself is the answer. */
static bool
is_confirmed(const char *code, const char *question)
{
    char line[STORE_CODE_MAX + 2];
    utf8_print(stderr, "%s ", question);
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
    char question[SAY_MAX], again[SAY_MAX];
    enum err err = store_runner_get(s, code, &r);
    if (err == ERR_OK)
        err = forget_belongings(s, r.id, &has);
    if (err != ERR_OK)
        return err;
    const struct message_arg recordings_mb = message_real((double) has.n_recording_bytes / 1e6, 1, MESSAGE_UNIT_MB);
    say_text(question, MESSAGE_RUNNER_ASK, code, has.n_visits, has.n_pages, has.n_recordings, recordings_mb);
    say_text(again, MESSAGE_RUNNER_ASK_AGAIN, code);
    const bool is_sure = w->yes ? strcmp(w->yes, code) == 0
                                : is_confirmed(code, question) && is_confirmed(code, again);
    if (!is_sure) {
        message_tell(&s->why, MESSAGE_RUNNER_NOT_CONFIRMED, code);
        return ERR_USAGE;
    }
    err = forget_runner(s, r.id, &has);
    if (err != ERR_OK)
        return err;
    struct message copies;
    message_tell(&copies, MESSAGE_RUNNER_FORGOTTEN_COPIES, has.n_copies, has.n_damaged_copies);
    say_note(MESSAGE_RUNNER_FORGOTTEN, code, has.n_visits, has.n_pages, has.n_recordings,
             message_real((double) has.n_recording_bytes / 1e6, 1, MESSAGE_UNIT_MB), message_of(&copies));
    return ERR_OK;
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
        return say_refuse(spec, as.wrong_key == SHOW_AS_N_KEYS ? MESSAGE_RUNNER_NO_CHOICE_KEY : MESSAGE_RUNNER_NO_CHOICE, as.wrong,
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
        { "mass", OPTION_NUMBER, "KG", N_("body mass"), NULL, NULL, &w.mass_kg, 20, 300 },
        { "leg", OPTION_NUMBER, "MM", N_("leg length"), NULL, NULL, &w.leg_mm, 300, 1500 },
        { "foot", OPTION_NUMBER, "MM", N_("foot length"), NULL, NULL, &w.foot_mm, 120, 400 },
        { "pain-limit", OPTION_NUMBER, "N", N_("of 10: at or above it the display asks to stop; yours to set"), NULL, NULL,
          &w.pain_limit, 1, 10 },
        { "no-pain-limit", OPTION_FLAG, NULL, N_("take the limit away: any pain asks for a decision then"),
          &w.has_no_pain_limit, NULL, NULL, 0, 0 },
        { "shoe", OPTION_TEXT, "TEXT", N_("shoe note"), NULL, &w.shoe, NULL, 0, 0 },
        { "show-as", OPTION_TEXT, "WORDS",
          N_("display choices of every visit: theme=dark|light language=XX distance=M sound=on|off "
          "metronome=SPM|target|off volume=PCT; '': none"),
          NULL, &w.display, NULL, 0, 0 },
        { "code", OPTION_TEXT, "CODE", N_("edit: another code for the runner"), NULL, &w.code, NULL, 0, 0 },
        { "yes", OPTION_TEXT, "CODE", N_("forget: the code once more, instead of being asked twice"), NULL, &w.yes, NULL, 0, 0 },
        store_word_row(&w.folder),
    };
    const struct options_spec spec = { "runner", "add|list|show|edit|forget [CODE]",
                                       N_("Runners by code, such as R-014; no names are needed. forget removes every row of a "
                                       "runner, the recordings of the visits and each page that the panel printed, and writes the store anew, so that nothing "
                                       "of it stays in the data folder."),
                                       rows, (int) (sizeof rows / sizeof *rows) };
    const int n = say_options(&spec, argc, argv, word, 2);
    if (n < 0)
        return n == OPTIONS_HELP ? 0 : 2;
    const struct runner_action *action = n > 0 ? find_action(word[0]) : NULL;
    if (!action)
        return say_refuse(&spec, MESSAGE_RUNNER_WHAT);
    if ((n == 2) != action->needs_code)
        return say_refuse(&spec, action->needs_code ? MESSAGE_RUNNER_NEEDS_CODE : MESSAGE_RUNNER_TAKES_NO_CODE, action->name);
    if ((n == 2 && !is_code(word[1])) || (w.code && !is_code(w.code)))
        return say_refuse(&spec, MESSAGE_RUNNER_CODE_FORM, STORE_CODE_MAX - 1);
    char display[SHOW_AS_TEXT_MAX];
    if (w.display && read_display(&spec, &w, display))
        return 2;
    struct store s = { .db = NULL };
    enum err err = action->writes ? store_word_write(&s, w.folder) : store_word_read(&s, w.folder);
    if (err == ERR_OK)
        err = action->run(&s, n == 2 ? word[1] : NULL, &w);
    return store_word_end(&s, err);
}
