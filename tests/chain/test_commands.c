/* The commands around stored visits, run as a person or a script would; and two programs on one store. */
#include "aid/process.h"
#include "aid/store_file.h"
#include "aid/store_rig.h"
#include "ui/theme.h"

#include <cairo.h>
#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define TEXT_MAX (1 << 20)

static struct store_rig rig;
static char text[TEXT_MAX], complaint[TEXT_MAX];

static void
make_rig(void)
{
    cr_assert_eq(store_rig_make(&rig), 0);
    setenv("UNDERFOOT_PROFILES", "profiles", 1);
    snprintf(rig.path, sizeof rig.path, "%s/data/%s", rig.folder, STORE_FILE_NAME);
}

static void
remove_rig(void)
{
    store_rig_remove(&rig);
}

TestSuite(commands, .init = make_rig, .fini = remove_rig, .timeout = 500);

/* Runs the words after the program's name; gives the exit code, with stdout in text and stderr in complaint. */
static int
run(const char *words)
{
    struct process p;
    const int code = process_run_words(&p, rig.folder, 30000, words);
    process_read(p.out_path, text, sizeof text);
    process_read(p.err_path, complaint, sizeof complaint);
    return code;
}

static void
make_visits(int n)
{
    struct store s;
    struct store_runner r;
    cr_assert_eq(store_open(&s, rig.path, 0), ERR_OK, "%s", message_english(&s.why));
    cr_assert_eq(store_runner_ensure(&s, "R-014", &r), ERR_OK);
    cr_assert_eq(store_begin(&s), ERR_OK);
    for (int i = 0; i < n; i++) {
        struct store_visit v = store_visit_default(r.id);
        cr_assert_eq(store_visit_begin(&s, &v), ERR_OK);
        for (uint32_t k = 1; k <= 40; k++) {
            const struct coached_step step = store_rig_step(k, true);
            cr_assert_eq(store_step_put(&s, v.id, &step), ERR_OK);
        }
    }
    cr_assert_eq(store_commit(&s), ERR_OK);
    store_close(&s);
}

Test(commands, a_runner_is_added_edited_shown_and_listed)
{
    cr_assert_eq(run("runner add R-070 --mass 71.5 --pain-limit 4 --shoe road"), 0, "%s", complaint);
    cr_assert_eq(run("runner add R-070"), 1);
    cr_assert(strstr(complaint, "there is a runner R-070 already"), "%s", complaint);
    cr_assert_eq(run("runner edit R-070 --leg 905 --code R-071"), 0, "%s", complaint);
    cr_assert_eq(run("runner show R-071"), 0);
    cr_assert(strstr(text, "body mass    71.5 kg") && strstr(text, "leg length   905 mm") && strstr(text, "pain limit   4"),
              "%s", text);
    cr_assert_eq(run("runner edit R-071 --no-pain-limit"), 0);
    cr_assert_eq(run("runner show R-071"), 0);
    cr_assert(strstr(text, "not set"), "%s", text);
    cr_assert_eq(run("runner list"), 0);
    cr_assert(strstr(text, "R-071") && !strstr(text, "R-070"), "%s", text);
    cr_assert_eq(run("runner show R-070"), 1);
    cr_assert_eq(run("runner add"), 2);
    cr_assert_eq(run("runner add /etc"), 2);
    cr_assert_eq(run("runner dance"), 2);
}

Test(commands, a_runners_display_choices_are_checked_when_typed)
{
    static const struct {
        const char *words, *says;
    } rows[] = {
        { "runner add R-071 --show-as theme=purple", "'theme=purple' is no display choice: there is theme=dark|light" },
        { "runner edit R-070 --show-as foo", "there are theme= language= distance= sound= metronome= volume=" },
        { "runner edit R-070 --show-as language=xx", "there is language=de|en|es|fr|ja" },
    };
    cr_assert_eq(run("runner add R-070 --show-as theme=light"), 0, "%s", complaint);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        cr_assert_eq(run(rows[i].words), 2, "%s: %s", rows[i].words, complaint);
        cr_assert(strstr(complaint, rows[i].says), "%s: %s", rows[i].words, complaint);
        cr_assert_eq(process_count_lines(complaint), 1, "%s", complaint);
    }
    cr_assert_eq(store_file_int(rig.path, "SELECT count(*) FROM runner WHERE display = 'theme=light'"), 1);
    cr_assert_eq(run("runner show R-070"), 0);
    cr_assert(strstr(text, "display      theme=light\n"), "%s", text);
    cr_assert_eq(run("runner edit R-070 --mass 70"), 0, "%s", complaint);
    cr_assert_eq(store_file_int(rig.path, "SELECT count(*) FROM runner WHERE display = 'theme=light'"), 1);
}

/* The upper left pixel of the picture that a run with these words leaves: its ground. */
static uint32_t
ground_of(const char *port, const char *words)
{
    char line[400], path[200];
    snprintf(line, sizeof line, "live --headless --seconds 0.5 --force --runner R-070 --shot %%s/x.png --port %s %s", port, words);
    cr_assert_eq(run(line), 0, "%s: %s", line, complaint);
    snprintf(path, sizeof path, "%s/x.png", rig.folder);
    cairo_surface_t *picture = cairo_image_surface_create_from_png(path);
    cr_assert_eq(cairo_surface_status(picture), CAIRO_STATUS_SUCCESS);
    const uint32_t rgb = *(const uint32_t *) (const void *) cairo_image_surface_get_data(picture) & 0xFFFFFF;
    cairo_surface_destroy(picture);
    return rgb;
}

Test(commands, live_shows_as_the_runner_chose_and_the_command_line_wins)
{
    struct process mimic;
    char port[128];
    const uint32_t dark = theme_of(THEME_DARK).ground & 0xFFFFFF, light = theme_of(THEME_LIGHT).ground & 0xFFFFFF;
    const char *argv[] = { process_program(), "mimic", "--kind", "switches", "--seconds", "60", NULL };
    cr_assert(process_start(&mimic, rig.folder, "mimic", argv));
    cr_assert(process_first_line(mimic.out_path, port, sizeof port, 5000));
    cr_assert_eq(run("runner add R-070"), 0, "%s", complaint);
    cr_expect_eq(ground_of(port, ""), dark);
    cr_assert_eq(run("runner edit R-070 --show-as theme=light"), 0, "%s", complaint);
    cr_expect_eq(ground_of(port, ""), light);
    cr_expect_eq(ground_of(port, "--theme dark"), dark);
    /* Kept by a version that knows more words than this one. */
    cr_assert_eq(run("runner edit R-070 --show-as language=de"), 0, "%s", complaint);
    store_file_sql(rig.path, "UPDATE runner SET display = 'glow=7 theme=light'");
    cr_expect_eq(ground_of(port, ""), light);
    cr_expect(strstr(complaint, "'glow=7' of R-070 is left out"), "%s", complaint);
    process_signal(&mimic, 15);
    process_wait(&mimic, 5000);
}

Test(commands, pain_at_the_runners_own_limit_begins_no_visit)
{
    cr_assert_eq(run("runner add R-070 --pain-limit 4"), 0);
    cr_assert_eq(run("live --headless --runner R-070 --pain 4"), 1);
    cr_assert(strstr(complaint, "pain 4 is at the limit of 4"), "%s", complaint);
    cr_assert_eq(store_file_int(rig.path, "SELECT count(*) FROM visit"), 0);
    cr_assert_eq(run("live --headless --runner R-070 --pain 3 --port /nowhere"), 1);
    cr_assert(!strstr(complaint, "limit"), "%s", complaint);
}

/* A mistyped code would split a course, and has no pain limit. */
Test(commands, a_visit_of_a_runner_who_was_never_added_is_refused)
{
    cr_assert_eq(run("live --headless --port /nowhere --runner R-TYPO"), 2, "no store yet");
    cr_assert(strstr(complaint, "there is no runner R-TYPO: `underfoot runner add R-TYPO` makes it"), "%s", complaint);
    cr_assert_eq(process_count_lines(complaint), 1, "%s", complaint);
    cr_assert_eq(run("runner add R-070"), 0);
    cr_assert_eq(run("live --headless --port /nowhere --runner R-07O"), 2);
    cr_assert(strstr(complaint, "there is no runner R-07O"), "%s", complaint);
    cr_assert_eq(store_file_int(rig.path, "SELECT count(*) FROM runner"), 1);
    cr_assert_eq(run("live --headless --port /nowhere --runner R-070"), 1, "%s", complaint);
    cr_assert(strstr(complaint, "/nowhere"), "%s", complaint);
    cr_assert_eq(run("live --headless --port /nowhere"), 1, "nobody named: %s", complaint);
}

/* The names are link's with care/recordings.h: computed from the visits' own rows. */
Test(commands, recordings_are_shown_with_their_visit_listed_and_forgotten)
{
    char path[200];
    make_visits(2);
    cr_assert_eq(run("visits --recordings"), 0, "%s", complaint);
    cr_expect(strstr(text, "0 recordings, 0.0 MB") && strstr(text, "kept: 1000 visits and 50 GB"), "%s", text);
    snprintf(path, sizeof path, "%s/data/recordings", rig.folder);
    cr_assert_eq(mkdir(path, 0700), 0);
    snprintf(path, sizeof path, "%s/data/recordings/visit-2-%lld.rec", rig.folder,
             (long long) store_file_int(rig.path, "SELECT started_utc_ms FROM visit WHERE id = 2"));
    FILE *f = fopen(path, "w");
    cr_assert(f && fputs("R-014", f) >= 0 && fclose(f) == 0 && truncate(path, 3000000) == 0);
    cr_assert_eq(run("visits show 2"), 0, "%s", complaint);
    cr_expect_not_null(strstr(text, "recording            3.00 MB"), "%s", text);
    cr_assert_eq(run("visits show 2 --json"), 0, "%s", complaint);
    cr_expect_not_null(strstr(text, "\"recording_bytes\": 3000000"), "%s", text);
    cr_assert_eq(run("visits show 1"), 0, "%s", complaint);
    cr_expect_not_null(strstr(text, "recording            none"), "%s", text);
    cr_assert_eq(run("visits --recordings"), 0, "%s", complaint);
    cr_expect(strstr(text, "1 recording, 3.0 MB; room for ") && strstr(text, "R-014"), "%s", text);
    cr_assert_eq(run("visits show 2 --recordings"), 2);
    cr_assert_eq(run("runner forget R-014 --yes R-014"), 0, "%s", complaint);
    cr_expect_not_null(strstr(complaint, "the recordings of the visits (1, 3.0 MB)"), "%s", complaint);
    cr_expect_neq(access(path, F_OK), 0);
    snprintf(path, sizeof path, "%s/data/settings.ini", rig.folder);
    f = fopen(path, "w");
    cr_assert(f && fputs("[recordings]\nkeep_gb = much\n", f) >= 0 && fclose(f) == 0);
    cr_assert_eq(run("visits --recordings"), 1);
    cr_expect_not_null(strstr(complaint, "settings.ini:2: keep_gb is no number above 0, nor all: much"), "%s", complaint);
}

Test(commands, a_runner_is_forgotten_only_when_confirmed_twice_and_then_without_a_trace)
{
    make_visits(2);
    cr_assert_eq(run("runner edit R-014 --shoe Zwiebelkuchen"), 0);
    cr_assert_eq(run("visits add 1 --note Pfefferminztee"), 0, "%s", complaint);
    char page[200];
    snprintf(page, sizeof page, "%s/data/pages", rig.folder);
    cr_assert_eq(mkdir(page, 0700), 0);
    snprintf(page, sizeof page, "%s/data/pages/visit-2.pdf", rig.folder);
    FILE *f = fopen(page, "w");
    cr_assert(f && fputs("R-014", f) >= 0 && fclose(f) == 0);
    cr_assert_eq(run("runner forget R-014"), 1, "no answer is no");
    cr_assert(strstr(complaint, "with all visits (2) and all pages that the panel printed (1)"), "%s", complaint);
    cr_assert_eq(access(page, F_OK), 0);
    cr_assert_eq(run("runner forget R-014 --yes R-015"), 1);
    cr_assert_eq(store_file_int(rig.path, "SELECT count(*) FROM visit"), 2);
    cr_assert_eq(run("runner forget R-014 --yes R-014"), 0, "%s", complaint);
    cr_assert(strstr(complaint, "R-014 is forgotten, with all visits (2) and all pages that the panel printed (1)"), "%s", complaint);
    cr_assert_neq(access(page, F_OK), 0);
    for (size_t i = 0; i < 7; i++) {
        static const char *const tables[] = { "runner", "visit", "step", "block", "note", "pain", "target_set" };
        char sql[64];
        snprintf(sql, sizeof sql, "SELECT count(*) FROM %s", tables[i]);
        cr_assert_eq(store_file_int(rig.path, sql), 0, "%s", tables[i]);
    }
    struct store_file file = store_file_read(rig.path);
    for (size_t i = 0; i + 13 < file.len; i++)
        cr_assert(memcmp(file.data + i, "Zwiebelkuchen", 13) != 0 && memcmp(file.data + i, "Pfefferminztee", 13) != 0 &&
                  memcmp(file.data + i, "R-014", 5) != 0, "at byte %zu", i);
    free(file.data);
}

Test(commands, what_was_said_and_seen_is_added_to_a_visit_all_or_nothing)
{
    make_visits(1);
    cr_assert_eq(run("visits add 1 --note calm --pain-before 1 --pain-after 2 --effort 4 --seen loud --not-seen trunk"), 0, "%s",
                 complaint);
    cr_assert_eq(run("visits add 1 --note lost --seen hair"), 1);
    cr_assert(strstr(complaint, "knee_straight"), "%s", complaint);
    cr_assert_eq(run("report 1 --text"), 0, "%s", complaint);
    cr_assert(strstr(text, "calm") && !strstr(text, "lost") && strstr(text, "before 1") && strstr(text, "loud landing"), "%s",
              text);
    cr_assert(strstr(text, " min of running.\n") && !strstr(text, " \n"), "no blank at a line's end: %s", text);
    cr_assert_eq(run("visits add 9 --note x"), 1);
    cr_assert_eq(run("visits add 1"), 2, "nothing to add");
    cr_assert(strstr(complaint, "add needs something to add"), "%s", complaint);
}

/* A visit with two blocks, pain, notes and marks; the mat measured the belt. */
static void
make_full_visit(void)
{
    struct store s;
    make_visits(1);
    cr_assert_eq(store_open(&s, rig.path, 0), ERR_OK, "%s", message_english(&s.why));
    for (int i = 0; i < 2; i++) {
        const struct store_block b = { .index = i, .part = i, .kind = i ? VERDICT_BLOCK_COACHED : VERDICT_BLOCK_WARM_UP,
                                       .start = { i * 4000000 }, .end = { (i + 1) * 4000000 }, .planned_s = 4,
                                       .belt_speed_m_s = NAN, .shown_share = i ? 0.75 : (double) NAN };
        cr_assert_eq(store_block_put(&s, 1, &b), ERR_OK, "%s", message_english(&s.why));
    }
    for (int i = 0; i < 2; i++) {
        const struct store_note mark = { .at = { 65000000 * (i + 1) }, .text = "mark" };
        cr_assert_eq(store_note_put(&s, 1, &mark), ERR_OK);
    }
    store_close(&s);
    cr_assert_eq(run("visits add 1 --note calm --pain-before 1 --pain-after 2 --effort 4 --seen loud"), 0, "%s", complaint);
    cr_assert_eq(run("visits add 1 --note again"), 0, "%s", complaint);
}

Test(commands, a_visit_is_shown_with_its_blocks_and_what_was_said)
{
    static const char *const lines[] = {
        "\nblock                      min     steps   shown %\n", /* of its steps, not of its plan */
        "\n 1 Warm-up                 0.1         9        44\n",
        "\n 2 Coached                 0.1        10        50\n",
        "\npain 0-10           before 1, worst –, after 2; effort 4\n",
        "loud landing",
        "no diagnosis: what it means for this runner",
        "\nnotes               calm\n                    again\nmarks at            1:05, 2:10\n",
        "\nNot a medical device, no diagnosis",
    };
    char belt[80];
    double sum = 0;
    int n = 0;
    for (uint32_t i = 1; i <= 40; i++) { /* by hand what the mean must be */
        const double value = store_rig_step(i, true).step.value[METRIC_BELT_SPEED_M_S];
        n += !isnan(value);
        sum += isnan(value) ? 0 : value;
    }
    snprintf(belt, sizeof belt, "belt speed          %.2f m/s (measured)\n", sum / n);
    make_full_visit();
    cr_assert_eq(run("visits show 1"), 0, "%s", complaint);
    cr_expect(strstr(text, belt), "%s in: %s", belt, text);
    for (size_t i = 0; i < sizeof lines / sizeof *lines; i++)
        cr_expect(strstr(text, lines[i]), "%s in: %s", lines[i], text);
    cr_expect(!strstr(text, " \n"), "no blank at a line's end: %s", text);
    store_file_sql(rig.path, "UPDATE visit SET belt_speed_m_s = 3.1");
    cr_assert_eq(run("visits show 1"), 0);
    cr_expect(strstr(text, "belt speed          3.10 m/s\n"), "%s", text);
    cr_assert_eq(run("report 1 --text"), 0);
    cr_expect(strstr(text, "marks at            1:05, 2:10\n"), "%s", text);
}

static void
set_language(const char *code)
{
    char path[160];
    snprintf(path, sizeof path, "%s/data/settings.ini", rig.folder);
    FILE *f = fopen(path, "w");
    cr_assert_not_null(f);
    fprintf(f, "[clinic]\nlanguage = %s\n", code);
    cr_assert_eq(fclose(f), 0);
}

Test(commands, a_report_speaks_the_language_asked_for_else_the_clinics_else_the_environments)
{
    make_full_visit();
    cr_assert_eq(run("report 1 --text --language de"), 0, "%s", complaint);
    cr_expect(strstr(text, "Schrittfrequenz") && strstr(text, "vorher 1, höchster –, nachher 2; Anstrengung 4"), "%s", text);
    cr_assert_eq(run("report 1 --text"), 0, "%s", complaint);
    cr_expect(strstr(text, "before 1, worst"), "%s", text);
    setenv("UNDERFOOT_TEST_LANG", "es_ES.UTF-8", 1);
    cr_assert_eq(run("report 1 --text"), 0, "%s", complaint);
    cr_expect(strstr(text, "antes 1, máximo"), "%s", text);
    set_language("fr");
    cr_assert_eq(run("report 1 --text"), 0, "%s", complaint);
    cr_expect(strstr(text, "avant 1, maximum"), "%s", text);
    cr_assert_eq(run("report --course R-014 --text --language ja"), 0, "%s", complaint);
    cr_expect(strstr(text, "ピッチ"), "%s", text);
    cr_assert_eq(run("export 1 --format csv"), 0, "%s", complaint);
    cr_expect(strstr(text, "cadence_spm") && !strstr(text, "cadence;"), "what machines read has no language");
}

Test(commands, a_language_without_words_is_refused_and_a_clinics_unknown_one_is_told_of)
{
    make_full_visit();
    cr_assert_eq(run("report 1 --language xx --out %s/v.pdf"), 2);
    cr_expect(strstr(complaint, "there are no words for --language 'xx'; there are de en es fr ja") &&
                  strchr(complaint, '\n') == strrchr(complaint, '\n'), "%s", complaint);
    set_language("xx");
    cr_assert_eq(run("report 1 --text"), 0, "%s", complaint);
    cr_expect(strstr(complaint, "no words for the language xx") && strstr(text, "before 1"), "%s", complaint);
    set_language("Deutsch");
    cr_assert_eq(run("report 1 --text"), 0);
    cr_expect(strstr(complaint, "settings.ini:2: language is no two small letters"), "%s", complaint);
}

Test(commands, a_visit_as_json_keeps_its_members_and_has_what_was_said)
{
    static const char script[] =
        "/usr/bin/python3 -c \"import json; b=json.load(open('%s'))\n"
        "assert b['steps']==40 and b['visit']['id']==1 and 'mean' in b['cadence_spm']\n"
        "assert b['pain']=={'before':1,'worst':None,'after':2,'effort':4}, b['pain']\n"
        "assert b['signs']['loud']=='present' and 'no diagnosis' in b['signs']['remark']\n"
        "assert b['notes']=='calm\\nagain' and b['marks_s']==[65,130], b['marks_s']\n"
        "assert [k['kind'] for k in b['blocks']]==['warm_up','coached'] and b['blocks'][1]['shown_share']==0.75\n"
        "assert b['blocks'][0]['steps']==9 and b['blocks'][0]['length_s']==4 and b['blocks'][0]['shown_share'] is None\"";
    char command[2048];
    struct process p;
    make_full_visit();
    cr_assert_eq(process_run_words(&p, rig.folder, 30000, "visits show 1 --json"), 0);
    snprintf(command, sizeof command, script, p.out_path);
    cr_assert_eq(system(command), 0);
}

Test(commands, a_visits_summary_ends_with_a_caution)
{
    make_visits(1);
    cr_assert_eq(run("visits show 1"), 0, "%s", complaint);
    cr_assert(strstr(text, "Not a medical device, no diagnosis"), "%s", text);
}

Test(commands, reports_exports_and_copies_name_what_is_wrong)
{
    static const struct {
        const char *words;
        int code;
        const char *says;
    } rows[] = {
        { "report", 2, "--course CODE" },
        { "report 1 --course R-014", 2, "--course CODE" },
        { "report x", 2, "no number" },
        { "report 7", 1, "no visit 7" },
        { "report 1 --out page.gif", 2, ".png" },
        { "report --course R-099", 1, "no runner R-099" },
        { "export", 2, "number of a visit" },
        { "export 1 --format xml", 2, "csv, json, fhir" },
        { "export 7", 1, "no visit 7" },
        { "keep", 2, "name the file" },
        { "demo --headless --plan nosuch", 2, "eight-faded" },
        { "demo --headless --course-visit 2", 2, "needs --plan" },
        { "demo --headless --plan eight-faded --course-visit 9", 2, "has 8 visits" },
        { "demo --headless --plan /nowhere/p.ini", 1, "/nowhere/p.ini" },
    };
    make_visits(1);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        cr_assert_eq(run(rows[i].words), rows[i].code, "%s: %s", rows[i].words, complaint);
        cr_assert(strstr(complaint, rows[i].says), "%s: %s", rows[i].words, complaint);
        cr_assert_str_empty(text, "%s", rows[i].words);
    }
}

Test(commands, export_and_report_write_whole_files)
{
    char words[256];
    make_visits(1);
    cr_assert_eq(run("export 1"), 0);
    cr_assert_eq(process_count_lines(text), 41);
    snprintf(words, sizeof words, "export 1 --format fhir --out %s/v.json", rig.folder);
    cr_assert_eq(run(words), 0, "%s", complaint);
    snprintf(words, sizeof words, "%s/v.json", rig.folder);
    process_read(words, text, sizeof text);
    cr_assert(strstr(text, "\"Bundle\""));
    snprintf(words, sizeof words, "report 1 --out %s/v.png", rig.folder);
    cr_assert_eq(run(words), 0, "%s", complaint);
    cr_assert(strstr(text, "/v.png\n"));
    snprintf(words, sizeof words, "keep %s/copy.sqlite", rig.folder);
    cr_assert_eq(run(words), 0, "%s", complaint);
    snprintf(words, sizeof words, "%s/copy.sqlite", rig.folder);
    cr_assert_eq(store_file_int(words, "SELECT count(*) FROM step"), 40);
}

/* One rule for every file that a command is told to write. */
Test(commands, what_is_there_is_overwritten_only_by_force)
{
    static const char *const lines[] = {
        "keep %s/old.pdf",
        "report 1 --out %s/old.pdf",
        "report 1 --text --out %s/old.pdf",
        "export 1 --out %s/old.pdf",
        "demo --headless --seconds 3 --shot %s/old.png",
        "mimic --seconds 0.1 --truth %s/old.pdf",
        "live --headless --port /nowhere --record %s/old.pdf",
        "replay %s/old.pdf --shot %s/old.png",
        "desk --shot %s/old.png",
    };
    static const char *const names[] = { "pdf", "png" };
    char path[2][200], kept[16];
    make_visits(1);
    for (int i = 0; i < 2; i++) {
        snprintf(path[i], sizeof path[i], "%s/old.%s", rig.folder, names[i]);
        FILE *f = fopen(path[i], "w");
        cr_assert(f && fputs("precious", f) >= 0 && fclose(f) == 0);
    }
    for (size_t i = 0; i < sizeof lines / sizeof *lines; i++) {
        const bool is_desk = strncmp(lines[i], "desk", 4) == 0;
        cr_expect_eq(run(lines[i]), 1, "%s: %s", lines[i], complaint);
        cr_expect(is_desk || strstr(complaint, "is there already and is not overwritten"), "%s: %s", lines[i], complaint);
        for (int k = 0; k < 2; k++)
            cr_expect_str_eq(process_read(path[k], kept, sizeof kept), "precious", "%s", lines[i]);
    }
    cr_assert_eq(run("keep %s/old.pdf --force"), 0, "%s", complaint);
    cr_expect_eq(store_file_int(path[0], "SELECT count(*) FROM step"), 40);
    cr_assert_eq(run("export 1 --force --out %s/old.pdf"), 0, "%s", complaint);
    cr_expect_eq(process_count_lines(process_read(path[0], text, sizeof text)), 41);
    cr_assert_eq(run("demo --headless --seconds 3 --force --shot %s/old.png"), 0, "%s", complaint);
    cr_expect_str_neq(process_read(path[1], kept, sizeof kept), "precious");
}

Test(commands, help_tells_the_rule_of_overwriting_and_is_legible)
{
    static const char *const lines[] = { "keep --help", "report --help", "export --help", "mimic --help", "live --help",
                                         "replay --help", "demo --help", "desk --help" };
    for (size_t i = 0; i < sizeof lines / sizeof *lines; i++) {
        cr_assert_eq(run(lines[i]), 0);
        cr_expect(strstr(text, "overwrite a file that is there already; else it is refused"), "%s: %s", lines[i], text);
        cr_expect(!strstr(text, "e+0"), "numbers as people write them: %s: %s", lines[i], text);
    }
    cr_assert_eq(run("live --help"), 0);
    cr_expect(strstr(text, "--target METRIC=LOW:HIGH target band"), "%s", text);
    cr_assert_eq(run("mimic --help"), 0);
    cr_expect(strstr(text, "(0 to 4294967295)"), "%s", text);
}

/* What the README says to type is taken as it stands: up to the sensor, which is not there. */
Test(commands, the_readmes_live_line_is_taken_as_it_is_written)
{
    static char readme[32768];
    char words[256];
    FILE *f = fopen("README.md", "r");
    if (!f) {
        fprintf(stderr, "skipped: no README.md here\n");
        return;
    }
    readme[fread(readme, 1, sizeof readme - 1, f)] = '\0';
    fclose(f);
    const char *line = strstr(readme, "build/underfoot live ");
    cr_assert(line);
    snprintf(words, sizeof words, "%.*s --headless --port /nowhere", (int) strcspn(line + 16, "\n"), line + 16);
    cr_assert_eq(run("runner add R-014"), 0);
    cr_assert_eq(run(words), 1, "%s: %s", words, complaint);
    cr_assert(strstr(complaint, "/nowhere"), "%s: %s", words, complaint);
}

Test(commands, a_picture_that_can_not_be_kept_is_refused_before_the_run)
{
    cr_assert_eq(run("demo --headless --seconds 3 --shot %s/x.jpg"), 2, "%s", complaint);
    cr_expect(strstr(complaint, "does not end in .png"), "%s", complaint);
    cr_assert_eq(run("demo --headless --seconds 3 --shot %s/no/such/x.png"), 1, "%s", complaint);
    cr_expect(strstr(complaint, "no/such/x.png can't be written: No such file"), "%s", complaint);
    cr_expect(!strstr(complaint, "simulated seconds"), "told before the run: %s", complaint);
}

Test(commands, a_plan_of_ones_own_hides_the_shipped_one_of_that_name)
{
    char path[200], folder[160];
    snprintf(folder, sizeof folder, "%s/config", rig.folder);
    setenv("XDG_CONFIG_HOME", folder, 1);
    snprintf(path, sizeof path, "mkdir -p %s/underfoot/plans", folder);
    cr_assert_eq(system(path), 0);
    snprintf(path, sizeof path, "%s/underfoot/plans/eight-faded.ini", folder);
    FILE *f = fopen(path, "w");
    cr_assert(f && fputs("[plan]\nname = mine\n[visit 1]\nblock = silent minutes 0.1\nblock = silent minutos 2\n", f) >= 0);
    fclose(f);
    cr_assert_eq(run("demo --headless --plan eight-faded"), 1);
    cr_assert(strstr(complaint, "config/underfoot/plans/eight-faded.ini:5: ") && strstr(complaint, "minutos"), "%s", complaint);
}

/* Both write visits of their own to one store at once; each has all of its steps afterwards. */
Test(commands, two_programs_share_one_store)
{
    struct process a, b;
    static const char *const names[] = { "a", "b" };
    struct process *p[] = { &a, &b };
    struct process mimic[2];
    char port[2][200];
    for (int i = 0; i < 2; i++) {
        char name[16];
        snprintf(name, sizeof name, "mimic-%s", names[i]);
        const char *words[] = { process_program(), "mimic", "--kind", "switches", "--seconds", "40", "--pace", "4", NULL };
        cr_assert(process_start(&mimic[i], rig.folder, name, words));
        cr_assert(process_first_line(mimic[i].out_path, port[i], sizeof port[i], 5000));
    }
    for (int i = 0; i < 2; i++) {
        char code[16];
        snprintf(code, sizeof code, "R-%s", names[i]);
        char add[40];
        snprintf(add, sizeof add, "runner add %s", code);
        cr_assert_eq(run(add), 0, "%s", complaint);
        const char *words[] = { process_program(), "live", "--headless", "--port", port[i], "--runner", code, "--seconds", "3",
                                "--baseline", "0", NULL };
        cr_assert(process_start(p[i], rig.folder, names[i], words));
    }
    /* A third one reads and copies meanwhile. */
    char words[256];
    snprintf(words, sizeof words, "keep %s/copy.sqlite --force", rig.folder);
    int n_kept = 0;
    for (int i = 0; i < 10; i++) {
        n_kept += run(words) == 0;
        cr_assert_eq(run("visits"), 0, "%s", complaint);
    }
    cr_assert_gt(n_kept, 0);
    for (int i = 0; i < 2; i++) {
        cr_assert_eq(process_wait(p[i], 20000), 0);
        process_signal(&mimic[i], 15);
        process_wait(&mimic[i], 5000);
    }
    cr_assert_eq(store_file_int(rig.path, "SELECT count(*) FROM visit WHERE state = 'finished' AND n_dropped = 0"), 2);
    cr_assert_geq(store_file_int(rig.path, "SELECT min(n) FROM (SELECT count(*) AS n FROM step GROUP BY visit_id)"), 10);
}

/* Run as a plain user too: what its owner could not open would be no store for long. */
Test(commands, a_hostile_umask_neither_opens_the_data_to_others_nor_shuts_them_to_us)
{
    static const char *const umasks[] = { "0777", "0000" };
    for (int i = 0; i < 2; i++) {
        char words[400], path[300];
        struct process p;
        struct stat st;
        snprintf(words, sizeof words, "umask %s; exec \"$0\" runner add R-07%d", umasks[i], i);
        const char *const argv[] = { "/bin/sh", "-c", words, process_program(), NULL };
        cr_assert_eq(process_run(&p, rig.folder, "umask", 30000, argv), 0);
        snprintf(path, sizeof path, "%s/data", rig.folder);
        cr_assert(stat(path, &st) == 0 && (st.st_mode & 0777) == 0700, "umask %s: %o", umasks[i], st.st_mode);
        cr_assert(stat(rig.path, &st) == 0 && (st.st_mode & 0777) == 0600, "umask %s: %o", umasks[i], st.st_mode);
        snprintf(path, sizeof path, "%s/copy-%d.sqlite", rig.folder, i);
        snprintf(words, sizeof words, "umask %s; exec \"$0\" keep %s", umasks[i], path);
        cr_assert_eq(process_run(&p, rig.folder, "umask", 30000, argv), 0);
        cr_assert(stat(path, &st) == 0 && (st.st_mode & 0777) == 0600, "umask %s: %o", umasks[i], st.st_mode);
        unlink(path);
    }
}

Test(commands, a_kept_copy_is_restored_once_it_is_confirmed_and_a_damaged_store_is_repaired)
{
    char words[512];
    make_visits(2);
    snprintf(words, sizeof words, "keep %s/copy.sqlite", rig.folder);
    cr_assert_eq(run(words), 0, "%s", complaint);
    make_visits(1);
    cr_assert_eq(run("restore"), 2);
    snprintf(words, sizeof words, "restore %s/copy.sqlite", rig.folder);
    cr_assert_eq(run(words), 1, "nothing is typed");
    cr_assert(strstr(text, "lost: 0 runners, 1 visit\n") && strstr(text, "same: 1 runner, 2 visits\n"), "%s", text);
    cr_assert(strstr(complaint, "not confirmed: nothing was changed"), "%s", complaint);
    cr_assert_eq(store_file_int(rig.path, "SELECT count(*) FROM visit"), 3);
    snprintf(words, sizeof words, "restore --yes %s/copy.sqlite", rig.folder);
    cr_assert_eq(run(words), 0, "%s", complaint);
    cr_assert(strstr(complaint, "as it was before it lies in"), "%s", complaint);
    cr_assert_eq(store_file_int(rig.path, "SELECT count(*) FROM visit"), 2);
    cr_assert_eq(run("repair"), 0, "%s", complaint);
    cr_assert(strstr(complaint, "is whole: nothing was changed"), "%s", complaint);
    const int64_t root = store_file_int(rig.path, "SELECT rootpage FROM sqlite_schema WHERE name = 'runner'");
    struct store_file whole = store_file_read(rig.path);
    memset(whole.data + (root - 1) * 4096, 0x5a, 4096); /* the store's pages: SQLite's default */
    store_file_write(rig.path, whole.data, whole.len);
    free(whole.data);
    cr_assert_eq(run("repair"), 0, "%s", complaint);
    cr_assert(strstr(text, "runner                0 rows saved, 1 gap\n") && strstr(text, "lost-1"), "%s", text);
    cr_assert_eq(run("visits"), 0, "%s", complaint);
    cr_assert(strstr(text, "lost-1"), "%s", text);
}
