/* cmd_visits.c - `underfoot visits` lists the stored visits; `underfoot visits show ID` sums one up, `add ID` adds to it.
 *
 * A read-only store is read as it is: the list needs no writing unless the store is from an older version. */
#include "cli/commands.h"

#include "base/str.h"
#include "cli/say_options.h"
#include "cli/say_table.h"
#include "cli/store_word.h"
#include "cli/visits_recordings.h"
#include "coach/tally.h"
#include "paper/local_time.h"
#include "paper/phrase.h"
#include "report/json.h"
#include "report/summary.h"
#include "report/visit_said.h"
#include "store/names.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct visits_list {
    struct json json;
    bool is_json;
    int n;
};

enum { N_COLUMNS = 6 };
static const struct say_column COLUMNS[N_COLUMNS] = {
    { NC_("table", "id"), 6, 0, true },      { NC_("table", "started"), 16, 2, false },
    { NC_("table", "runner"), 12, 2, false }, { NC_("table", "min:s"), 8, 2, true },
    { NC_("table", "steps"), 7, 2, true },   { NC_("table", "state"), 0, 2, false },
};

static void
print_row(const struct store_visit *v)
{
    char started[PHRASE_TIME_MAX];
    char length[32] = "-";

    if (isfinite(v->length_s)) {
        long seconds = lround(v->length_s);
        snprintf(length, sizeof length, "%ld:%02ld", seconds / 60, seconds % 60);
    }
    char id[32], steps[32];
    snprintf(id, sizeof id, "%" PRId64, v->id);
    snprintf(steps, sizeof steps, "%" PRId64, v->n_steps);
    const char *const cell[N_COLUMNS] = { id,     phrase_time(say_catalogue(), started, v->started_utc_ms, v->zone_offset_min),
                                          v->runner_code,
                                          length, steps, say_word(names_visit_end(v)) };
    say_row(stdout, COLUMNS, N_COLUMNS, cell);
}

static void
print_row_json(struct json *j, const struct store_visit *v)
{
    char started[LOCAL_TIME_MAX];

    json_open_object(j, NULL);
    json_int(j, "id", v->id);
    json_text(j, "started", local_time_iso(started, v->started_utc_ms, v->zone_offset_min));
    json_text(j, "runner", v->runner_code);
    json_number(j, "length_s", v->length_s);
    json_int(j, "steps", v->n_steps);
    json_text(j, "state", v->is_finished ? "finished" : "unfinished");
    json_text(j, "plan", v->plan[0] ? v->plan : NULL);
    json_int(j, "course_visit", v->course_visit);
    json_bool(j, "is_cut_short", v->is_cut_short);
    json_close(j);
}

static bool
list_one(void *context, const struct store_visit *v)
{
    struct visits_list *list = context;

    if (list->is_json)
        print_row_json(&list->json, v);
    else if (list->n == 0)
        say_head(stdout, COLUMNS, N_COLUMNS);
    if (!list->is_json)
        print_row(v);
    list->n++;
    return true;
}

static enum err
list_visits(struct store *s, const char *code, bool is_json)
{
    struct visits_list list = { .is_json = is_json };
    struct store_runner runner = { .id = 0 };
    enum err err = code == NULL ? ERR_OK : store_runner_get(s, code, &runner);

    if (err != ERR_OK)
        return err;
    json_init(&list.json, stdout);
    if (is_json)
        json_open_array(&list.json, NULL);
    err = store_visits(s, runner.id, list_one, &list);
    if (is_json)
        json_close(&list.json);
    if (err == ERR_OK && list.n == 0)
        say_note(MESSAGE_VISITS_NONE, message_path(s->path));
    return err;
}

static void
show_text(struct store *s, const struct summary *summary, const struct store_visit *visit, const struct course_visit *v,
          int n_further)
{
    summary_print_figures(stdout, say_catalogue(), summary, visit);
    if (n_further > 0)
        say_line(stdout, MESSAGE_VISITS_FURTHER, n_further);
    visits_recordings_print(s, visit);
    putchar('\n');
    visit_said_print_blocks(stdout, say_catalogue(), v);
    if (v->n_blocks > 0)
        putchar('\n');
    visit_said_print(stdout, say_catalogue(), v);
    printf("\n%s\n", say_word(SUMMARY_CAUTION));
}

static void
show_json(struct store *s, const struct summary *summary, const struct store_visit *visit, const struct course_visit *v,
          int n_further)
{
    struct json j;

    json_init(&j, stdout);
    json_open_object(&j, NULL);
    summary_put_json(&j, summary, visit);
    json_int(&j, "further_measurements", n_further);
    visits_recordings_json(s, visit, &j);
    visit_said_json(&j, v);
    json_open_array(&j, "blocks");
    for (int i = 0; i < v->n_blocks; i++) {
        json_open_object(&j, NULL);
        visit_said_json_block(&j, v, i);
        json_close(&j);
    }
    json_close(&j);
    json_close(&j);
}

static enum err
show_visit(struct store *s, int64_t id, bool is_json)
{
    struct store_visit visit;
    /* Some kilobytes: fine on this thread's stack. */
    struct summary summary;
    struct course course;
    int n_further = 0;
    enum err err = summary_of_visit(s, id, &visit, &summary);

    if (err == ERR_OK)
        err = measurement_count_further(s, id, &n_further);
    if (err == ERR_OK)
        err = course_of_visit(s, id, &course);
    if (err != ERR_OK)
        return err;
    if (is_json)
        show_json(s, &summary, &visit, &course.visit[course.n_visits - 1], n_further);
    else
        show_text(s, &summary, &visit, &course.visit[course.n_visits - 1], n_further);
    course_destroy(&course);
    return ERR_OK;
}

/* What was said and seen, from the command line. */
struct visits_words {
    const char *note, *seen[TALLY_COUNT + 1], *not_seen[TALLY_COUNT + 1];
    double pain_before, pain_after, effort;
};

static bool
tick(const char *const *names, enum tally_state state, enum tally_state ticks[TALLY_COUNT], struct message *why)
{
    for (; *names; names++) {
        const enum tally_sign sign = tally_by_name(*names);
        if (sign == TALLY_COUNT || !tally_row(sign)->is_ticked) {
            message_tell(why, MESSAGE_VISITS_NO_SIGN, *names);
            return false;
        }
        ticks[sign] = state;
    }
    return true;
}

static enum err
put_pain(struct store *s, int64_t id, enum store_pain_when when, double pain, double effort)
{
    const struct store_pain p = { .when = when, .pain = pain, .effort = effort };

    return isnan(pain) && isnan(effort) ? ERR_OK : store_pain_put(s, id, &p);
}

static enum err
add_rows(struct store *s, int64_t id, const struct visits_words *w)
{
    struct store_visit v;
    struct store_note note = { .at = { -1 } };
    enum tally_state ticks[TALLY_COUNT];
    char text[STORE_TEXT_MAX];
    enum err err = store_visit_get(s, id, &v);

    if (err != ERR_OK)
        return err;
    tally_ticks_from_text(v.ticks, ticks);
    if (!tick(w->seen, TALLY_PRESENT, ticks, &s->why) || !tick(w->not_seen, TALLY_ABSENT, ticks, &s->why))
        return ERR_USAGE;
    tally_ticks_to_text(ticks, text, sizeof text);
    if (w->note && !store_word_text(s, note.text, sizeof note.text, w->note, true, N_("the note")))
        return ERR_USAGE;
    err = put_pain(s, id, STORE_PAIN_BEFORE, w->pain_before, NAN);
    if (err == ERR_OK)
        err = put_pain(s, id, STORE_PAIN_AFTER, w->pain_after, w->effort);
    if (err == ERR_OK && w->note)
        err = store_note_put(s, id, &note);
    return err == ERR_OK ? store_visit_set_ticks(s, id, text) : err;
}

static bool
has_words(const struct visits_words *w)
{
    return w->note || w->seen[0] || w->not_seen[0] || !isnan(w->pain_before) || !isnan(w->pain_after) || !isnan(w->effort);
}

/* All of it or nothing. */
static enum err
add_to_visit(struct store *s, int64_t id, const struct visits_words *w)
{
    enum err err = store_begin(s);

    if (err == ERR_OK)
        err = add_rows(s, id, w);
    if (err == ERR_OK)
        return store_commit(s);
    store_rollback(s);
    return err;
}

int
cmd_visits(int argc, char **argv)
{
    bool is_json = false, is_recordings = false;
    const char *runner = NULL, *folder = NULL;
    const char *word[2];
    int64_t id = 0;
    struct visits_words w = { .pain_before = NAN, .pain_after = NAN, .effort = NAN };
    const struct option_row rows[] = {
        { "json", OPTION_FLAG, NULL, N_("print JSON instead of text"), &is_json, NULL, NULL, 0, 0 },
        { "recordings", OPTION_FLAG, NULL, N_("list the recordings: what they take, what room is left, which go first"),
          &is_recordings, NULL, NULL, 0, 0 },
        { "runner", OPTION_TEXT, "CODE", N_("list only this runner's visits"), NULL, &runner, NULL, 0, 0 },
        { "note", OPTION_TEXT, "TEXT", N_("add: a note"), NULL, &w.note, NULL, 0, 0 },
        { "pain-before", OPTION_NUMBER, "N", N_("add: pain before the run, 0 to 10"), NULL, NULL, &w.pain_before, 0, 10 },
        { "pain-after", OPTION_NUMBER, "N", N_("add: pain after it, 0 to 10"), NULL, NULL, &w.pain_after, 0, 10 },
        { "effort", OPTION_NUMBER, "N", N_("add: how hard it felt, 0 to 10"), NULL, NULL, &w.effort, 0, 10 },
        { "seen", OPTION_LIST, "SIGN", N_("add: seen of knee_straight, shin_back, trunk, loud"), NULL, w.seen, NULL, 0,
          TALLY_COUNT },
        { "not-seen", OPTION_LIST, "SIGN", N_("add: looked for, and not there"), NULL, w.not_seen, NULL, 0, TALLY_COUNT },
        store_word_row(&folder),
    };
    const struct options_spec spec = { .command = "visits",
                                       .positional = "[show ID | add ID]",
                                       .summary = N_("Lists the stored visits, the newest first; show ID sums one up; add ID "
                                                  "adds what was\nsaid and seen to it."),
                                       .rows = rows,
                                       .n_rows = (int) (sizeof rows / sizeof rows[0]) };
    int n = say_options(&spec, argc, argv, word, 2);

    if (n == OPTIONS_HELP)
        return 0;
    if (n == OPTIONS_BAD)
        return 2;
    bool is_add = n > 0 && strcmp(word[0], "add") == 0;
    if (n > 0 && !is_add && strcmp(word[0], "show") != 0)
        return say_refuse(&spec, MESSAGE_VISITS_UNKNOWN, word[0]);
    if (is_recordings && (n > 0 || runner || is_json))
        return say_refuse(&spec, MESSAGE_VISITS_RECORDINGS_ALONE);
    if (n > 0 && (n < 2 || !str_to_i64(word[1], &id) || id < 1))
        return say_refuse(&spec, MESSAGE_VISITS_NEEDS_ID, word[0]);
    if (is_add && !has_words(&w))
        return say_refuse(&spec, MESSAGE_VISITS_NOTHING_TO_ADD);

    struct store store = { .db = NULL };
    enum err err = store_word_read(&store, folder);
    if (err == ERR_GONE && n == 0) {
        say_note(MESSAGE_VISITS_NO_STORE, message_of(&store.why));
        if (is_json)
            puts("[]");
        return 0;
    }
    if (err == ERR_OK)
        err = is_recordings ? visits_recordings_list(&store)
              : n == 0 ? list_visits(&store, runner, is_json)
              : is_add ? add_to_visit(&store, id, &w)
                       : show_visit(&store, id, is_json);
    return store_word_end(&store, err);
}
