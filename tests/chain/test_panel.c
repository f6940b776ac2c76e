/* The panel driven as a person drives it: the program under Xvfb, keys and mouse by xdotool, a simulated
 * sensor on a pseudo-terminal. What comes of it is read back from the store. PANEL_PICTURES=FOLDER keeps a
 * picture of each page. Says `skipped` where Xvfb or xdotool is missing. A wait in vain says what stood there instead, and
 * keeps a picture of it beside this program. */
#include "aid/process.h"
#include "aid/store_rig.h"
#include "aid/xseat.h"
#include "base/monotime.h"
#include "base/str.h"
#include "store/store.h"

#include <criterion/criterion.h>
#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#define NOTES_MAX   400
#define PATIENCE_MS 20000

struct rig {
    struct store_rig files;
    struct xseat seat;
    struct process mimic, desk;
    char port[128];
    bool has_tools;
};

static struct rig *r;

static void
nap_ms(long ms)
{
    const struct timespec t = { ms / 1000, (ms % 1000) * 1000000 };
    nanosleep(&t, NULL);
}

static void
start_desk(const char *kind, const char *scenario, const char *profile)
{
    const char *const mimic[] = { process_program(), "mimic", "--pace", "4", "--kind", kind, "--scenario", scenario, NULL };
    cr_assert(process_start(&r->mimic, r->files.folder, "mimic", mimic));
    cr_assert(process_first_line(r->mimic.out_path, r->port, sizeof r->port, PATIENCE_MS));
    /* The window system's libraries keep memory of their own to the end; ours is watched by the other tests.
     */
    const char *const desk[] = { "/usr/bin/env",
                                 r->seat.env,
                                 "UNDERFOOT_PROFILES=profiles",
                                 "LSAN_OPTIONS=detect_leaks=0",
                                 process_program(),
                                 "--port",
                                 r->port,
                                 profile ? "--profile" : NULL,
                                 profile,
                                 NULL };
    cr_assert(process_start(&r->desk, r->files.folder, "desk", desk));
}

static void
make_rig(void)
{
    r = calloc(1, sizeof *r);
    cr_assert(r);
    cr_assert_eq(store_rig_make(&r->files), 0);
    r->has_tools = xseat_is_possible();
}

/* In the test itself, so that what was started is ended whatever fails. False where the tools are missing. */
static bool
start_with(const char *kind, const char *scenario, const char *profile)
{
    if (!r->has_tools) {
        printf("skipped: no Xvfb or xdotool here\n");
        return false;
    }
    cr_assert(xseat_open(&r->seat, r->files.folder, PATIENCE_MS), "Xvfb does not start");
    start_desk(kind, scenario, profile);
    return true;
}

static bool
start(void)
{
    return start_with("mat", "steady", NULL);
}

static void
remove_rig(void)
{
    struct process *const all[] = { &r->desk, &r->mimic };
    for (size_t i = 0; i < sizeof all / sizeof *all; i++)
        if (all[i]->pid > 0) {
            process_signal(all[i], SIGKILL);
            process_wait(all[i], 3000);
        }
    xseat_close(&r->seat);
    store_rig_remove(&r->files);
    free(r);
}

static bool
tool(const char *words)
{
    return xseat_do(&r->seat, words);
}

static void
keys(const char *words)
{
    char text[300];
    snprintf(text, sizeof text, "key --delay 80 %s", words);
    cr_assert(tool(text), "%s", text);
    nap_ms(150);
}

static void
type(const char *one_word)
{
    char text[300];
    snprintf(text, sizeof text, "type --delay 25 %s", one_word);
    cr_assert(tool(text), "%s", text);
}

static void
picture(const char *name)
{
    const char *folder = getenv("PANEL_PICTURES");
    char path[300];
    if (!folder)
        return;
    nap_ms(400);
    snprintf(path, sizeof path, "%s/chain-%s.png", folder, name);
    xseat_picture(&r->seat, path);
}

/* ---------------------------------------------------------------- the store, looked at from outside */

static bool
open_store(struct store *s)
{
    char path[300];
    snprintf(path, sizeof path, "%s/data/%s", r->files.folder, STORE_FILE_NAME);
    return store_open(s, path, STORE_READ_ONLY | STORE_MUST_EXIST | STORE_UNCHECKED) == ERR_OK;
}

static bool
has_runner(const char *code, struct store_runner *out)
{
    struct store s;
    const bool is_there = open_store(&s) && store_runner_get(&s, code, out) == ERR_OK;
    store_close(&s);
    return is_there;
}

static bool
has_visit(struct store_visit *out)
{
    struct store s;
    const bool is_there = open_store(&s) && store_visit_get(&s, 1, out) == ERR_OK;
    store_close(&s);
    return is_there;
}

#define WAIT_FOR(condition)                                                                                  \
    do {                                                                                                     \
        int waited_ms = 0;                                                                                   \
        while (!(condition) && waited_ms < PATIENCE_MS) {                                                    \
            nap_ms(100);                                                                                     \
            waited_ms += 100;                                                                                \
        }                                                                                                    \
        cr_assert_lt(waited_ms, PATIENCE_MS, "waited in vain for " #condition "; %s", what_stands());        \
    } while (0)

/* A picture beside this test's own program, which lies in the build folder. */
static const char *
keep_picture(char path[300])
{
    char self[200] = "";
    if (readlink("/proc/self/exe", self, sizeof self - 1) <= 0)
        return "none";
    snprintf(path, 300, "%s-waited-%ld.png", self, (long) getpid());
    return xseat_picture(&r->seat, path) ? path : "none";
}

static bool
is_desk_gone(void)
{
    siginfo_t end = { .si_pid = 0 };
    return waitid(P_PID, (id_t) r->desk.pid, &end, WEXITED | WNOHANG | WNOWAIT) != 0 || end.si_pid != 0;
}

/* For a failure's message: whether the program runs, its windows' titles, a picture, what it said. */
static const char *
what_stands(void)
{
    static char text[1500];
    char titles[400], path[300], says[500];
    snprintf(text, sizeof text, "the program %s, windows: %s, picture: %s, it said: %s",
             is_desk_gone() ? "is gone" : "runs",
             xseat_titles(&r->seat, titles, sizeof titles), keep_picture(path),
             process_read(r->desk.err_path, says, sizeof says));
    return text;
}

struct pains {
    int n[3];
    double last[3], effort;
};

static bool
take_pain(void *context, const struct store_pain *pain)
{
    struct pains *p = context;
    p->n[pain->when]++;
    if (!isnan(pain->pain))
        p->last[pain->when] = pain->pain;
    if (!isnan(pain->effort))
        p->effort = pain->effort;
    return true;
}

static bool
take_note(void *context, const struct store_note *note)
{
    str_append(context, NOTES_MAX, note->text);
    str_append(context, NOTES_MAX, "|");
    return true;
}

/* The window's title says where the panel stands; a pattern is one word. */
static bool
stands_at(const char *pattern)
{
    char words[100];
    snprintf(words, sizeof words, "search --name %s", pattern);
    return tool(words);
}

static void
add_runner(void)
{
    struct store_runner runner;
    WAIT_FOR(stands_at("Runners,.ready"));
    picture("runners-empty");
    keys("a");
    WAIT_FOR(stands_at("Runners,.form"));
    type("R-014");
    keys("Tab");
    type("71,5");
    keys("Tab Tab");
    type("265");
    keys("Tab");
    type("5");
    picture("form");
    keys("Return");
    WAIT_FOR(has_runner("R-014", &runner));
    WAIT_FOR(stands_at("Runners,.ready")); /* the list is there again, and the new one chosen */
    cr_assert_float_eq(runner.body_mass_kg, 71.5, 1e-9);
    cr_assert(isnan(runner.leg_length_mm));
    cr_assert(runner.foot_length_mm == 265 && runner.pain_limit == 5);
    picture("runners");
}

/* Through sensor, cautions and pain, free running with targets by rule. */
static void
begin_visit(void)
{
    struct store_visit v;
    keys("Return");
    WAIT_FOR(stands_at("Visit,.ready"));
    picture("visit");
    keys("Return");
    WAIT_FOR(stands_at("Visit,.sensor"));
    nap_ms(500); /* a verdict comes */
    picture("sensor");
    keys("Return");
    WAIT_FOR(stands_at("Visit,.cautions"));
    picture("cautions");
    keys("Return");
    WAIT_FOR(stands_at("Visit,.number"));
    picture("pain");
    keys("1 Return");
    WAIT_FOR(has_visit(&v));
    cr_assert(!v.is_finished);
    picture("live");
}

static void
end_visit(void)
{
    struct store_visit v = { .is_finished = false };
    keys("Escape");
    WAIT_FOR(stands_at("Live,.stop"));
    picture("end");
    keys("y");
    WAIT_FOR(has_visit(&v) && v.is_finished);
    WAIT_FOR(stands_at("Summary,.number"));
    keys("2 Return 6 Return");
    WAIT_FOR(stands_at("Summary,.ready"));
    keys("n");
    WAIT_FOR(stands_at("Summary,.note"));
    type("calves-fine");
    keys("Return");
    picture("summary");
    keys("r");
    nap_ms(800);
    keys("Return");
    nap_ms(700);
    picture("saved");
    keys("F5");
    picture("course");
}

static void
check_store(void)
{
    struct store s;
    struct store_visit v;
    struct store_target_set targets;
    static struct store_check check;
    struct pains pains = { { 0, 0, 0 }, { NAN, NAN, NAN }, NAN };
    char notes[NOTES_MAX] = "", path[300];
    cr_assert(open_store(&s));
    cr_assert_eq(store_visit_get(&s, 1, &v), ERR_OK);
    cr_assert_str_eq(v.runner_code, "R-014");
    cr_assert_gt(v.n_steps, 20);
    cr_assert_str_eq(v.ticks, "loud=yes");
    cr_assert_eq(store_pains(&s, 1, take_pain, &pains), ERR_OK);
    cr_assert(pains.n[0] == 1 && pains.last[0] == 1, "pain before");
    cr_assert(pains.n[1] == 1 && pains.last[1] == 3, "pain in the run");
    cr_assert(pains.n[2] == 2 && pains.last[2] == 2 && pains.effort == 6, "pain and effort after, each kept as it was said");
    cr_assert_eq(store_notes(&s, 1, take_note, notes), ERR_OK);
    cr_assert(strstr(notes, "mark|") && strstr(notes, "calves-fine|"), "%s", notes);
    cr_assert_eq(store_target_set_get(&s, v.target_set_id, v.runner_id, &targets), ERR_OK);
    cr_assert_gt(targets.version, 2, "every change of targets is a version");
    cr_assert_eq(store_check_of_visit(&s, 1, &check), ERR_OK, "the panel's check is kept with the visit: %s", message_english(&s.why));
    cr_assert(strstr(check.report, "\"noise\"") && strstr(check.report, "\"seconds_empty\"") && check.grade[0], "%s",
              check.report);
    store_close(&s);
    snprintf(path, sizeof path, "%s/data/pages/visit-1.pdf", r->files.folder);
    WAIT_FOR(access(path, R_OK) == 0); /* setting a page takes its time under the sanitizers */
}

/* Another program forgets the runner whose page is on the panel: what was printed goes, and nothing is printed again. */
static void
forget_elsewhere(void)
{
    struct process p;
    char page[2][300], text[500];
    snprintf(page[0], sizeof page[0], "%s/data/pages/visit-1.pdf", r->files.folder);
    snprintf(page[1], sizeof page[1], "%s/data/pages/course-R-014.pdf", r->files.folder);
    cr_assert_eq(process_run_words(&p, r->files.folder, 30000, "visits show 1"), 0);
    char shown[8000];
    cr_assert(strstr(process_read(p.out_path, shown, sizeof shown), "marks at            "), "of the key M: %s", shown);
    keys("r"); /* on the course's page */
    WAIT_FOR(access(page[1], R_OK) == 0);
    cr_assert_eq(process_run_words(&p, r->files.folder, 30000, "runner forget R-014 --yes R-014"), 0, "%s",
                 process_read(p.err_path, text, sizeof text));
    cr_assert(strstr(process_read(p.err_path, text, sizeof text), "visits (1) and all pages that the panel printed (2)"), "%s", text);
    keys("r F4 r");
    nap_ms(1500);
    picture("forgotten-elsewhere");
    for (int i = 0; i < 2; i++)
        cr_assert_neq(access(page[i], F_OK), 0, "%s", page[i]);
}

TestSuite(panel_chain, .init = make_rig, .fini = remove_rig, .timeout = 500);

Test(panel_chain, a_visit_from_a_new_runner_to_the_page_to_print_by_keys)
{
    struct store_visit v;
    if (!start())
        return;
    add_runner();
    WAIT_FOR(stands_at("Runners,.ready"));
    keys("F2");
    WAIT_FOR(stands_at("Visit,.ready"));
    keys("4");
    keys("p p p p p p p p F1");
    begin_visit();
    nap_ms(6000);
    keys("s y");
    nap_ms(1500);
    keys("t");
    nap_ms(600);
    keys("Up Up Up");
    nap_ms(600);
    picture("targets");
    keys("u");
    keys("p 3 Return m");
    keys("Tab");
    picture("runner-screen");
    keys("Tab");
    nap_ms(2000);
    cr_assert(has_visit(&v));
    end_visit();
    check_store();
    forget_elsewhere();
    keys("F1");
    keys("Escape");
    picture("leave");
    keys("y");
    cr_assert_eq(process_wait(&r->desk, PATIENCE_MS), 0);
}

Test(panel_chain, a_runner_is_forgotten_only_when_the_code_is_typed)
{
    struct store_runner runner;
    if (!start())
        return;
    add_runner();
    keys("Delete Return Return");
    keys("Delete y");
    type("R-015");
    keys("Return");
    nap_ms(500);
    cr_assert(has_runner("R-014", &runner));
    keys("BackSpace");
    type("4");
    keys("Return");
    WAIT_FOR(!has_runner("R-014", &runner));
}

Test(panel_chain, a_mouse_does_what_keys_do)
{
    struct store_runner runner;
    if (!start())
        return;
    WAIT_FOR(stands_at("Runners,.ready"));
    /* The only button of the empty page, and the form's first one. */
    cr_assert(tool("mousemove 120 170 click 1"));
    WAIT_FOR(stands_at("Runners,.form"));
    type("R-030");
    picture("form-by-mouse");
    cr_assert(tool("mousemove 480 577 click 1"));
    WAIT_FOR(has_runner("R-030", &runner));
}

static void
fill_store(void)
{
    struct store s;
    char path[300];
    snprintf(path, sizeof path, "%s/data/%s", r->files.folder, STORE_FILE_NAME);
    const enum err err = store_open(&s, path, 0);
    cr_assert_eq(err, ERR_OK, "%s", message_english(&s.why));
    cr_assert_eq(store_begin(&s), ERR_OK, "%s", message_english(&s.why));
    for (int i = 0; i < 5000; i++) {
        char code[16];
        snprintf(code, sizeof code, "S-%04d", i);
        struct store_runner one = store_runner_default(code);
        cr_assert_eq(store_runner_save(&s, &one), ERR_OK, "%s", message_english(&s.why));
        for (int v = 0; v < 10; v++) {
            struct store_visit visit = store_visit_default(one.id);
            visit.started_utc_ms = INT64_C(1700000000000) + v;
            cr_assert_eq(store_visit_begin(&s, &visit), ERR_OK, "%s", message_english(&s.why));
        }
    }
    cr_assert_eq(store_commit(&s), ERR_OK);
    store_close(&s);
}

/* The first code is in the store and not in the window that the panel holds then: the store alone can refuse it. */
Test(panel_chain, the_last_of_5000_runners_is_reached_and_a_code_that_the_store_has_comes_back_to_the_form)
{
    struct store_runner runner;
    if (!r->has_tools) {
        printf("skipped: no Xvfb or xdotool here\n");
        return;
    }
    fill_store();
    cr_assert(xseat_open(&r->seat, r->files.folder, PATIENCE_MS), "Xvfb does not start");
    const struct host_time begun = monotime_now();
    start_desk("mat", "steady", NULL);
    WAIT_FOR(stands_at("Runners,.ready"));
    printf("5000 runners, 50000 visits: %.0f ms from the start of the program to its list\n",
           1e-3 * (double) units_host_since_us(monotime_now(), begun));
    keys("End");
    WAIT_FOR((keys("c"), stands_at("Course,.ready"))); /* refused until the row is read; means nothing on that page */
    keys("F1");
    WAIT_FOR(stands_at("Runners,.ready"));
    picture("runners-last-of-5000");
    keys("e");
    WAIT_FOR(stands_at("Runners,.form"));
    keys("Tab Tab Tab Tab Tab");
    type("last");
    keys("Return");
    WAIT_FOR(has_runner("S-4999", &runner) && strcmp(runner.shoe_note, "last") == 0);
    WAIT_FOR(stands_at("Runners,.ready"));
    keys("a");
    WAIT_FOR(stands_at("Runners,.form"));
    type("S-0001");
    keys("Tab");
    type("71");
    keys("Return");
    nap_ms(500);
    WAIT_FOR(stands_at("Runners,.form"));
    picture("runner-refused");
    type("b");
    keys("Return");
    WAIT_FOR(has_runner("S-0001b", &runner));
    cr_assert_float_eq(runner.body_mass_kg, 71, 1e-9, "what was typed beside the code is lost");
}

static bool
xrandr(const char *a, const char *b, const char *c, const char *d)
{
    return xseat_run(&r->seat, "xrandr", a, b, c, d);
}

/* Xvfb has one output; RandR lets it be called two monitors, which is what the program asks for. */
Test(panel_chain, a_display_that_comes_and_goes_in_mid_run_moves_the_panel_and_the_visit_goes_on)
{
    struct store_visit v = { .n_steps = 0 };
    if (!start())
        return;
    if (!xseat_find("xrandr")) {
        printf("skipped: no xrandr here\n");
        return;
    }
    add_runner();
    WAIT_FOR(stands_at("Runners,.ready"));
    keys("F2");
    WAIT_FOR(stands_at("Visit,.ready"));
    keys("p p p p p p p p F1");
    begin_visit();
    cr_assert(xrandr("--setmonitor", "left", "640/300x720/170+0+0", "screen"));
    cr_assert(xrandr("--setmonitor", "right", "640/300x720/170+640+0", "none"));
    WAIT_FOR(tool("search --name ^Underfoot$") && stands_at("Live,.ready")); /* a window each */
    picture("two-displays");
    nap_ms(2000);
    cr_assert(xrandr("--delmonitor", "right", NULL, NULL));
    WAIT_FOR(!tool("search --name ^Underfoot$"));
    picture("one-display-left");
    nap_ms(1000);
    end_visit();
    cr_assert(has_visit(&v));
    cr_assert(v.is_finished);
    cr_assert_gt(v.n_steps, 10);
}

/* The history as the command tells it: what is kept is the same. */
static bool
history_says(const char *words)
{
    struct process p = { .pid = 0 };
    char text[2000];
    const char *const argv[] = { "/usr/bin/env", "UNDERFOOT_PROFILES=profiles", process_program(), "calibrate", "history",
                                 "--profile",    "cells-4",                     NULL };
    return process_run(&p, r->files.folder, "history", 10000, argv) == 0 &&
           strstr(process_read(p.out_path, text, sizeof text), words) != NULL;
}

Test(panel_chain, the_sensor_is_weighed_and_that_is_taken_back_in_the_panel)
{
    if (!start_with("cells", "stand", "cells-4"))
        return;
    add_runner();
    keys("Return");
    WAIT_FOR(stands_at("Visit,.ready"));
    keys("Return");
    WAIT_FOR(stands_at("Visit,.sensor"));
    keys("z");
    WAIT_FOR(stands_at("Visit,.calibration"));
    keys("w");
    WAIT_FOR(stands_at("Visit,.mass"));
    keys("Return");
    WAIT_FOR(history_says("mass      71.5 kg"));
    cr_assert(history_says("in force: gain by a standing mass"));
    picture("calibration");
    nap_ms(1500); /* the sensor is opened anew, with it */
    keys("u");
    WAIT_FOR(stands_at("Visit,.undo"));
    keys("y");
    WAIT_FOR(history_says("(taken back)"));
    cr_assert(history_says("in force: the profile's own values"));
    keys("Escape");
    WAIT_FOR(stands_at("Visit,.sensor"));
    picture("after-calibration");
}

Test(panel_chain, a_terminated_program_keeps_the_visit)
{
    struct store_visit v;
    if (!start())
        return;
    add_runner();
    begin_visit();
    nap_ms(3000);
    process_signal(&r->desk, SIGTERM);
    cr_assert_eq(process_wait(&r->desk, PATIENCE_MS), 0);
    cr_assert(has_visit(&v));
    cr_assert_gt(v.n_steps, 5);
    cr_assert(v.is_finished);
}

/* What stands on stderr; the program is to end at once, with 1. env: a word for /usr/bin/env. */
static void
check_refused(const char *env, const char *says)
{
    struct store_rig files;
    struct process p = { .pid = 0 };
    char text[600];
    cr_assert_eq(store_rig_make(&files), 0);
    const char *const argv[] = { "/usr/bin/env", env, process_program(), NULL };
    cr_assert_eq(process_run(&p, files.folder, "desk", 10000, argv), 1);
    process_read(p.err_path, text, sizeof text);
    cr_assert(strstr(text, says), "%s", text);
    cr_assert_eq(process_count_lines(strstr(text, "underfoot:")), 1, "%s", text);
    store_rig_remove(&files);
}

Test(panel_alone, without_a_display_it_says_so_in_one_line)
{
    check_refused("UNDERFOOT_ASSETS=build/assets", "no display");
}

/* Else SDL goes on with a driver that shows nothing (seen: a display that began anew as the program came). */
Test(panel_alone, a_display_that_does_not_answer_is_refused)
{
    check_refused("DISPLAY=:47011", "No display: :47011 does not answer");
}
