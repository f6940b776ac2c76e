/* Text that comes from outside, at every boundary: it fits or is refused with a word as it is entered; what is kept reads the
 * same wherever it is shown; nothing that a terminal obeys and no formula comes out; what is no file is refused at once. */
#define _GNU_SOURCE /* memmem */
#include "aid/process.h"
#include "aid/store_file.h"
#include "aid/store_rig.h"
#include "base/str.h"
#include "coach/plan_file.h"
#include "sense/profile.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define TEXT_MAX (1 << 18)
#define LIMIT_MS 30000
#define GONE     "\xef\xbf\xbd" /* U+FFFD */

static struct store_rig rig;
static char text[TEXT_MAX], complaint[TEXT_MAX];

static void
make_rig(void)
{
    cr_assert_eq(store_rig_make(&rig), 0);
    setenv("UNDERFOOT_PROFILES", "profiles", 1);
}

static void
remove_rig(void)
{
    store_rig_remove(&rig);
}

TestSuite(text, .init = make_rig, .fini = remove_rig, .timeout = 500);

static void
make_visit(const char *code)
{
    struct store s;
    struct store_runner r;
    cr_assert_eq(store_open(&s, rig.path, 0), ERR_OK, "%s", message_english(&s.why));
    cr_assert_eq(store_runner_ensure(&s, code, &r), ERR_OK);
    struct store_visit v = store_visit_default(r.id);
    cr_assert_eq(store_visit_begin(&s, &v), ERR_OK);
    for (uint32_t k = 1; k <= 8; k++) {
        const struct coached_step step = store_rig_step(k, true);
        cr_assert_eq(store_step_put(&s, v.id, &step), ERR_OK);
    }
    store_close(&s);
}

/* The program with these words; stdout in text, stderr in complaint. */
#define MAX_WORDS 10
static int
run(const char *const *words)
{
    const char *argv[MAX_WORDS + 2] = { process_program() };
    struct process p;
    for (int i = 0; words[i]; i++)
        argv[i + 1] = words[i];
    const int code = process_run(&p, rig.folder, "run", LIMIT_MS, argv);
    process_read(p.out_path, text, sizeof text);
    process_read(p.err_path, complaint, sizeof complaint);
    return code;
}
#define RUN(...) run((const char *const[]){ __VA_ARGS__, NULL })

static int
run_line(const char *line)
{
    struct process p;
    const int code = process_run_words(&p, rig.folder, LIMIT_MS, line);
    process_read(p.out_path, text, sizeof text);
    process_read(p.err_path, complaint, sizeof complaint);
    return code;
}

/* n bytes of words, each with its place in it, so that a cut or a mix-up shows. */
static char *
long_text(size_t n)
{
    char *out = calloc(1, n + 16);
    cr_assert(out);
    for (size_t at = 0; at < n;)
        at += (size_t) sprintf(out + at, "w%04zu ", at);
    out[n] = '\0';
    if (out[n - 1] == ' ')
        out[n - 1] = '.';
    return out;
}

/* White space apart, which a page breaks lines at. */
static void
squeeze(char *s)
{
    char *to = s;
    for (const char *p = s; *p; p++)
        if (!strchr(" \n\r\t\f", *p))
            *to++ = *p;
    *to = '\0';
}

static void
expect_holds(const char *where, const char *squeezed)
{
    squeeze(text);
    cr_expect(strstr(text, squeezed), "%s has not all of it: %.300s", where, text);
}

/* Word by word in their order: head and foot of a page may stand in between. A word that no line has room for is broken. */
static void
expect_has_words(char *words)
{
    const char *at = text;
    for (char *rest = words, *word; (word = strtok_r(rest, " ", &rest));) {
        const size_t n = strlen(word) > 60 ? 60 : strlen(word);
        const char *found = memmem(at, strlen(at), word, n);
        cr_assert(found, "the page lacks %s and what follows", word);
        at = found + n;
        for (size_t left = strlen(word) - n; left > 0; left--) {
            at += strspn(at, " \n");
            cr_assert_eq(*at, word[strlen(word) - left], "the page lacks an end of %zu letters", left);
            at++;
        }
    }
}

/* ---------------------------------------------------------------- how long */

static void
write_file(char path[160], const char *name, const char *content)
{
    snprintf(path, 160, "%s/%.90s", rig.folder, name);
    FILE *f = fopen(path, "w");
    cr_assert(f && fputs(content, f) >= 0);
    fclose(f);
}

static const char *plan_head = "[plan]\nname = a\n", *plan_rest = "[visit 1]\nblock = baseline minutes 2\n";

/* 0: taken. */
static int
enter_note(const char *s)
{
    return RUN("visits", "add", "1", "--note", s);
}

static int
enter_shoe(const char *s)
{
    return RUN("runner", "edit", "R-014", "--shoe", s);
}

static int
enter_code(const char *s)
{
    return RUN("runner", "add", s);
}

static int
enter_plan_name(const char *s)
{
    char path[160], content[4096] = "[plan]\n";
    struct message why;
    struct plan_file *p = calloc(1, sizeof *p);
    for (size_t at = 0; s[at]; at += strnlen(s + at, 100)) { /* on lines that the parser can read, joined by a blank */
        snprintf(content + strlen(content), 128, "name = %.100s\n", s + at);
    }
    str_append(content, sizeof content, plan_rest);
    write_file(path, "plan.ini", content);
    const int code = plan_file_load(p, path, &why);
    str_copy(complaint, sizeof complaint, message_english(&why));
    free(p);
    return code;
}

static int
enter_plan_file(const char *s)
{
    char path[160], name[96], content[256];
    struct message why;
    struct plan_file *p = calloc(1, sizeof *p);
    snprintf(name, sizeof name, "%s.ini", s);
    snprintf(content, sizeof content, "%s%s", plan_head, plan_rest);
    write_file(path, name, content);
    const int code = plan_file_load(p, path, &why);
    str_copy(complaint, sizeof complaint, message_english(&why));
    cr_assert(code != ERR_OK || strcmp(p->id, s) == 0);
    free(p);
    return code;
}

static int
enter_sensor_name(const char *s)
{
    char path[160], content[256];
    struct message why;
    struct sense_profile *p = calloc(1, sizeof *p);
    snprintf(content, sizeof content, "[sensor]\nname = %s\nkind = switches\n[zone 1]\nname = LH\nfoot = left\nzone = heel\n", s);
    write_file(path, "sensor.ini", content);
    const int code = profile_load(p, path, &why);
    str_copy(complaint, sizeof complaint, message_english(&why));
    cr_assert(code != ERR_OK || strcmp(p->name, s) == 0);
    free(p);
    return code;
}

/* Each place where text is entered: the longest that it takes, in bytes; one more is refused, and the words say what is
 * too long or wrong. The lengths are those of the store's columns as the headers have them. */
Test(text, what_fits_is_taken_whole_and_what_does_not_is_refused_with_a_word)
{
    static const struct {
        const char *what;
        int (*enter)(const char *s);
        size_t longest;
        bool is_spaced;
        const char *says;
    } rows[] = {
        { "note", enter_note, STORE_NOTE_MAX - 1, true, "the note has 2048 bytes, and there is room for 2047" },
        { "shoe", enter_shoe, STORE_TEXT_MAX - 1, true, "the note on the shoe has 256 bytes, and there is room for 255" },
        { "code", enter_code, STORE_CODE_MAX - 1, false, "a code has 1 to 31 letters" },
        { "plan's file", enter_plan_file, PLAN_FILE_ID_MAX - 1, false, "longer than 63 bytes" },
        /* each further line of a text is joined by a blank: 6 of them in 633 bytes */
        { "plan's name", enter_plan_name, PLAN_FILE_TEXT_MAX - 1 - 6, false, "longer than 639 bytes" },
        { "sensor's name", enter_sensor_name, PROFILE_NAME_MAX - 1, false, "too long" },
    };
    make_visit("R-014");
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char *fits = long_text(rows[i].longest), *over = long_text(rows[i].longest + 1);
        if (!rows[i].is_spaced) {
            memset(fits, 'a', rows[i].longest);
            memset(over, 'a', rows[i].longest + 1);
        }
        cr_expect_eq(rows[i].enter(fits), 0, "%s: %s", rows[i].what, complaint);
        cr_expect_neq(rows[i].enter(over), 0, "%s of %zu bytes is taken", rows[i].what, rows[i].longest + 1);
        cr_expect(strstr(complaint, rows[i].says), "%s: %s", rows[i].what, complaint);
        free(fits);
        free(over);
    }
    char *shoe = long_text(STORE_TEXT_MAX - 1);
    cr_assert_eq(RUN("runner", "show", "R-014"), 0);
    cr_expect(strstr(text, shoe), "%s", text);
    free(shoe);
}

/* ---------------------------------------------------------------- the same everywhere */

Test(text, a_note_of_2047_bytes_reads_the_same_wherever_it_is_shown)
{
    char pdf[128], command[400], *note = long_text(STORE_NOTE_MAX - 1), *second = long_text(300);
    memset(second + 20, 'x', 250); /* a word that no line has room for */
    make_visit("R-014");
    cr_assert_eq(RUN("visits", "add", "1", "--note", note), 0, "%s", complaint);
    cr_assert_eq(RUN("visits", "add", "1", "--note", second), 0, "%s", complaint);
    char *words = strdup(note), *more = strdup(second);
    squeeze(note);
    squeeze(second);
    static const char *const lines[] = { "visits show 1", "visits show 1 --json", "report 1 --text", "export 1 --format csv",
                                         "export 1 --format json", "export 1 --format fhir" };
    for (size_t i = 0; i < sizeof lines / sizeof *lines; i++) {
        cr_assert_eq(run_line(lines[i]), 0, "%s", complaint);
        expect_holds(lines[i], note);
        expect_holds(lines[i], second);
    }
    snprintf(pdf, sizeof pdf, "%s/visit.pdf", rig.folder);
    cr_assert_eq(RUN("report", "1", "--out", pdf), 0, "%s", complaint);
    snprintf(command, sizeof command, "pdftotext -raw '%s' '%s/visit.txt'", pdf, rig.folder);
    cr_assert_eq(system(command), 0);
    snprintf(command, sizeof command, "%s/visit.txt", rig.folder);
    process_read(command, text, sizeof text);
    expect_has_words(words);
    expect_has_words(more);
    snprintf(pdf, sizeof pdf, "%s/visit.png", rig.folder);
    cr_assert_eq(RUN("report", "1", "--out", pdf), 0, "%s", complaint);
    free(note);
    free(second);
    free(words);
    free(more);
}

/* So many that they go onto a second page. */
Test(text, many_notes_go_on_where_the_page_ends)
{
    char pdf[128], command[400], note[32];
    struct store s;
    make_visit("R-014");
    cr_assert_eq(store_open(&s, rig.path, 0), ERR_OK);
    for (int i = 1; i <= 120; i++) {
        struct store_note n = { .at = { -1 } };
        snprintf(n.text, sizeof n.text, "note%03d", i);
        cr_assert_eq(store_note_put(&s, 1, &n), ERR_OK);
    }
    store_close(&s);
    snprintf(pdf, sizeof pdf, "%s/visit.pdf", rig.folder);
    cr_assert_eq(RUN("report", "1", "--out", pdf), 0, "%s", complaint);
    snprintf(command, sizeof command, "pdftotext -layout '%s' '%s/visit.txt'", pdf, rig.folder);
    cr_assert_eq(system(command), 0);
    snprintf(command, sizeof command, "%s/visit.txt", rig.folder);
    process_read(command, text, sizeof text);
    cr_expect(strstr(text, "continued"));
    for (int i = 1; i <= 120; i++) {
        snprintf(note, sizeof note, "note%03d", i);
        cr_expect(strstr(text, note), "%s is on no page", note);
    }
}

/* ---------------------------------------------------------------- what is no text */

Test(text, latin_1_and_escapes_are_refused_as_they_are_entered)
{
    make_visit("R-014");
    cr_expect_eq(enter_note("Sp\xfcren"), 1);
    cr_expect(strstr(complaint, "the note is not UTF-8"), "%s", complaint);
    cr_expect_eq(enter_note("\x1b]0;owned\x07"), 1);
    cr_expect(strstr(complaint, "control sign"), "%s", complaint);
    cr_expect_eq(enter_shoe("red\x1b[31m"), 1);
    cr_expect(strstr(complaint, "control sign"), "%s", complaint);
    cr_expect_eq(enter_shoe("two\nlines"), 1);
    cr_expect_eq(enter_sensor_name("m\x1b[2J"), ERR_FORMAT);
    cr_expect_eq(enter_plan_name("caf\xe9"), ERR_FORMAT);
    cr_expect_eq(enter_note("Sp\xc3\xbcren\nin two lines"), 0, "%s", complaint);
}

static bool
is_obeyed(const char *s)
{
    for (const unsigned char *p = (const unsigned char *) s; *p; p++)
        if ((*p < 0x20 && *p != '\n' && *p != '\t') || *p == 0x7F || (p[0] == 0xC2 && p[1] < 0xA0))
            return true;
    return false;
}

/* Rows as an older program, or another's, may have left them. */
Test(text, old_text_that_is_none_blocks_no_page_and_reaches_no_terminal)
{
    char page[128];
    static const char *const lines[] = { "visits", "visits show 1", "visits show 1 --json", "report 1 --text",
                                         "report --course R-014 --text", "export 1 --format csv", "export 1 --format json",
                                         "export 1 --format fhir", "runner list", "runner show R-014" };
    make_visit("R-014");
    store_file_sql(rig.path,
                   "INSERT INTO note (visit_id, written_utc_ms, text) VALUES (1, 1, CAST(x'5370FC72656E1B5B324A9B' AS TEXT));"
                   "UPDATE runner SET shoe_note = CAST(x'1B5D303B6F776E656407E9' AS TEXT);"
                   "UPDATE visit SET plan = CAST(x'706C1B5B33316D616E' AS TEXT)");
    for (size_t i = 0; i < sizeof lines / sizeof *lines; i++) {
        cr_expect_eq(run_line(lines[i]), 0, "%s: %s", lines[i], complaint);
        cr_expect_not(is_obeyed(text), "%s: %s", lines[i], text);
        cr_expect_not(is_obeyed(complaint), "%s: %s", lines[i], complaint);
    }
    cr_assert_eq(run_line("visits show 1"), 0);
    cr_expect(strstr(text, "Sp" GONE "ren" GONE "[2J" GONE), "%s", text);
    snprintf(page, sizeof page, "%s/page.pdf", rig.folder);
    cr_expect_eq(RUN("report", "1", "--out", page), 0, "%s", complaint);
    snprintf(page, sizeof page, "%s/course.pdf", rig.folder);
    cr_expect_eq(RUN("report", "--course", "R-014", "--plan", "all", "--out", page), 0, "%s", complaint);
}

Test(text, what_is_said_of_a_wrong_word_holds_nothing_that_a_terminal_obeys)
{
    cr_expect_neq(RUN("visits\x1b[2J"), 0);
    cr_expect(strstr(complaint, GONE "[2J") && !is_obeyed(complaint), "%s", complaint);
    cr_expect_neq(RUN("steps", "/no/such\x1b[2J.csv", "--rate", "300"), 0);
    cr_expect(strstr(complaint, GONE "[2J") && !is_obeyed(complaint), "%s", complaint);
    cr_expect_neq(RUN("visits", "--colour\x1b[2J"), 0);
    cr_expect(strstr(complaint, GONE "[2J") && !is_obeyed(complaint), "%s", complaint);
}

/* OWASP, CSV Injection: cells that begin with = + - @ or a tab are calculated; a ' before them is shown as text. */
Test(text, no_cell_of_a_table_begins_a_formula_and_numbers_stay_numbers)
{
    static const char *const notes[] = { "=1+1", "+1", "-1", "@SUM(A1)", "say \"so\", twice" };
    static const char *const cells[] = { ",\"'=1+1\",", ",\"'+1\",", ",\"'-1\",", ",\"'@SUM(A1)\",",
                                         ",\"say \"\"so\"\", twice\"," };
    for (size_t i = 0; i < sizeof notes / sizeof *notes; i++) {
        char id[16], line[64];
        make_visit("R-014");
        snprintf(id, sizeof id, "%zu", i + 1);
        cr_assert_eq(RUN("visits", "add", id, "--note", notes[i]), 0, "%s", complaint);
        snprintf(line, sizeof line, "export %s --format csv", id);
        cr_assert_eq(run_line(line), 0, "%s", complaint);
        cr_expect(strstr(text, cells[i]), "%s: %s", notes[i], text);
    }
}

/* ---------------------------------------------------------------- what is no file */

Test(text, folders_pipes_and_devices_are_refused_at_once_wherever_a_file_is_asked_for)
{
    char pipe_path[128], line[400];
    static const char *const commands[] = { "steps %s --rate 300", "replay %s --headless", "live --port %s --headless --seconds 1",
                                            "live --port %s --profile %s --headless", "report 1 --out %s --force",
                                            "export 1 --out %s --force", "keep %s --force" };
    make_visit("R-014");
    snprintf(pipe_path, sizeof pipe_path, "%s/pipe.pdf", rig.folder);
    cr_assert_eq(mkfifo(pipe_path, 0600), 0);
    const char *const others[] = { pipe_path, rig.folder, "/dev/zero" };
    for (size_t i = 0; i < sizeof commands / sizeof *commands; i++)
        for (size_t k = 0; k < sizeof others / sizeof *others; k++) {
            const char *at = strstr(commands[i], "%s"), *again = strstr(at + 2, "%s");
            if (strstr(commands[i], "--port %s --head") && k == 2)
                continue; /* a port is a device: what it sends is judged (test_port) */
            if (again)
                snprintf(line, sizeof line, "%.*s/dev/null%.*s%s%s", (int) (at - commands[i]), commands[i], (int) (again - at - 2),
                         at + 2, others[k], again + 2);
            else
                snprintf(line, sizeof line, "%.*s%s%s", (int) (at - commands[i]), commands[i], others[k], at + 2);
            const int code = run_line(line);
            cr_expect(code == 1 || code == 2, "%s: %d %s", line, code, complaint);
            cr_expect(complaint[0], "%s: without a word", line);
        }
    struct stat st;
    cr_expect(stat(pipe_path, &st) == 0 && S_ISFIFO(st.st_mode), "the pipe was replaced");
    cr_expect(stat("/dev/zero", &st) == 0 && S_ISCHR(st.st_mode), "the device was replaced");
}

/* As version 1 wrote it: the head says where the profile lies. A pipe lies there: to open it would wait for ever. */
Test(text, no_file_that_a_recording_names_is_opened_unasked)
{
    char pipe_path[128], path[160], head[400];
    snprintf(pipe_path, sizeof pipe_path, "%s/profile.ini", rig.folder);
    cr_assert_eq(mkfifo(pipe_path, 0600), 0);
    snprintf(head, sizeof head, "underfoot recording 1\nprofile: %s\n\n", pipe_path);
    write_file(path, "old.rec", head);
    static const char *const commands[] = { "steps", "replay" };
    for (int i = 0; i < 2; i++) {
        cr_expect_neq(i == 0 ? RUN("steps", path) : RUN("replay", path, "--headless"), 0);
        cr_expect(strstr(complaint, "does not hold it") && strstr(complaint, "--profile"), "%s: %s", commands[i], complaint);
    }
}

/* A folder that others may write to is told, with what mends it; one that the program makes is its owner's alone. */
Test(text, a_data_folder_that_others_may_write_to_is_told)
{
    char folder[128];
    struct stat st;
    make_visit("R-014");
    snprintf(folder, sizeof folder, "%s/data", rig.folder);
    cr_assert(stat(folder, &st) == 0 && (st.st_mode & 0777) == 0700);
    cr_assert(stat(rig.path, &st) == 0 && (st.st_mode & 0777) == 0600);
    cr_assert_eq(run_line("visits"), 0);
    cr_expect_null(strstr(complaint, "chmod"), "%s", complaint);
    cr_assert_eq(chmod(folder, 0777), 0);
    cr_assert_eq(run_line("visits"), 0);
    cr_expect(strstr(complaint, "chmod 700") && strstr(complaint, folder), "%s", complaint);
}
