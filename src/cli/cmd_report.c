/* cmd_report.c - `underfoot report`: the page of a visit, or of a course. */
#include "base/str.h"
#include "cli/commands.h"
#include "cli/overwrite.h"
#include "cli/say_options.h"
#include "cli/store_word.h"
#include "report/page.h"
#include "runner/words.h"
#include "store/settings.h"

#include <stdio.h>
#include <string.h>

struct report_words {
    const char *course, *plan, *out, *folder, *language;
    bool is_text, is_forced;
    int64_t id;
};

/* Where the page goes, unless it is text for the terminal. */
static void
page_path(const struct report_words *w, char path[STORE_PATH_MAX])
{
    if (w->out)
        str_copy(path, STORE_PATH_MAX, w->out);
    else if (w->course)
        snprintf(path, STORE_PATH_MAX, "course-%s.pdf", w->course);
    else
        snprintf(path, STORE_PATH_MAX, "visit-%lld.pdf", (long long) w->id);
}

/* The words of the clinic's language, else the environment's. What can't be had is English, and said so. */
static void
open_words(const char *store_path, struct catalogue *c)
{
    struct settings settings;
    char language[3];
    struct message why;
    words_of_environment(NULL, language);
    if (settings_load(store_path, &settings, &why) != ERR_OK)
        say_note_of(&why);
    if (words_catalogue(c, settings.language[0] ? settings.language : language, NULL, &why) != ERR_OK)
        say_note_of(&why);
}

static enum err
write_report(struct store *s, const struct report_words *w, const struct catalogue *words, const char *path)
{
    struct course c;
    enum err err = w->course ? course_of_runner(s, w->course, w->plan && strcmp(w->plan, "all") == 0 ? "" : w->plan, &c) : course_of_visit(s, w->id, &c);
    if (err != ERR_OK)
        return err;
    if (w->is_text)
        (w->course ? course_print : course_print_visit)(stdout, words, &c);
    if (!w->is_text || w->out) {
        err = (w->course ? page_course : page_visit)(&c, words, path, &s->why);
        if (err == ERR_OK && !w->is_text)
            printf("%s\n", path);
    }
    course_destroy(&c);
    return err;
}

int
cmd_report(int argc, char **argv)
{
    struct report_words w = { .id = 0 };
    const char *word[1];
    const struct option_row rows[] = {
        { "course", OPTION_TEXT, "CODE", N_("the course of a runner, instead of one visit"), NULL, &w.course, NULL, 0, 0 },
        { "plan", OPTION_TEXT, "NAME", N_("of the course: only visits by that plan (the newest one's); all: whatever the plan"), NULL, &w.plan, NULL,
          0, 0 },
        { "out", OPTION_TEXT, "FILE.pdf|png", N_("write there (visit-ID.pdf, course-CODE.pdf)"), NULL, &w.out, NULL, 0, 0 },
        { "language", OPTION_TEXT, "XX", N_("of all words in it (the clinic's, in settings.ini; else the environment's)"), NULL, &w.language, NULL, 0, 0 },
        { "text", OPTION_FLAG, NULL, N_("print it as text instead"), &w.is_text, NULL, NULL, 0, 0 },
        overwrite_row(&w.is_forced),
        store_word_row(&w.folder),
    };
    const struct options_spec spec = { "report", "[ID]",
                                       N_("Makes a page to print of a visit, or of a course, and prints its path."), rows,
                                       (int) (sizeof rows / sizeof *rows) };
    const int n = say_options(&spec, argc, argv, word, 1);
    if (n < 0)
        return n == OPTIONS_HELP ? 0 : 2;
    if ((n == 1) == (w.course != NULL))
        return say_refuse(&spec, MESSAGE_REPORT_WHICH);
    if (n == 1 && (!str_to_i64(word[0], &w.id) || w.id < 1))
        return say_refuse(&spec, MESSAGE_REPORT_NO_ID, word[0]);
    if (w.out && !str_ends_with(w.out, ".pdf") && !str_ends_with(w.out, ".png"))
        return say_refuse(&spec, MESSAGE_REPORT_NO_OUT, w.out);
    char path[STORE_PATH_MAX], languages[WORDS_LANGUAGES_MAX];
    struct message why;
    struct catalogue words;
    page_path(&w, path);
    if ((!w.is_text || w.out) && overwrite_refuses(path, w.is_forced))
        return 1;
    words_languages(NULL, languages);
    if (w.language && words_catalogue(&words, w.language, NULL, &why) != ERR_OK)
        return say_refuse(&spec, MESSAGE_REPORT_NO_LANGUAGE, w.language, languages);
    struct store s = { .db = NULL };
    enum err err = store_word_read(&s, w.folder);
    if (!w.language)
        open_words(s.path, &words);
    if (err == ERR_OK)
        err = write_report(&s, &w, &words, path);
    catalogue_close(&words);
    return store_word_end(&s, err);
}
