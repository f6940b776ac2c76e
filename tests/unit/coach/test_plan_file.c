#include "coach/plan_file.h"

#include "base/message.h"
#include <criterion/criterion.h>
#include <dirent.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static struct plan_file plan;
static struct message why;

static void
load(const char *name)
{
    char path[128];
    snprintf(path, sizeof path, "profiles/plans/%s.ini", name);
    cr_assert_eq(plan_file_load(&plan, path, &why), ERR_OK, "%s", message_english(&why));
}

/* Writes text to a file of its own and loads that. */
static enum err
load_text(const char *text)
{
    char path[] = "/tmp/underfoot-plan-XXXXXX";
    const int fd = mkstemp(path);
    cr_assert(fd >= 0);
    cr_assert_eq(write(fd, text, strlen(text)), (ssize_t) strlen(text));
    close(fd);
    const enum err err = plan_file_load(&plan, path, &why);
    unlink(path);
    return err;
}

/* Linear from 15 to 30 minutes over eight sessions: 15.00, 17.14, 19.29, 21.43, 23.57, 25.71, 27.86, 30.00, 180 in all,
 * inside the reviewed 177-196 (Davis et al. 2020, PMC7083994); full feedback in 1-4, less and less in 5-8 (Bowser et al. 2018,
 * Med Sci Sports Exerc 50:2500-2506). */
static void
check_eight(int first)
{
    static const double minutes[] = { 15.00, 17.14, 19.29, 21.43, 23.57, 25.71, 27.86, 30.00 };
    double sum = 0, before = 2;
    for (int i = 0; i < 8; i++) {
        const double share = plan_file_shown_share(&plan, first + i);
        cr_assert_float_eq(plan_file_coached_min(&plan, first + i), minutes[i], 0.005, "visit %d", first + i);
        sum += plan_file_coached_min(&plan, first + i);
        if (i < 4)
            cr_assert_eq(share, 1, "visit %d", first + i);
        else
            cr_assert_lt(share, before, "visit %d", first + i);
        before = share;
    }
    cr_assert_float_eq(sum, 180, 0.05);
}

Test(plan_file, the_published_eight_sessions_rise_and_fade)
{
    static const char *const names[] = { "eight-faded", "in-field-cadence", "mirror-faded" };
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        load(names[i]);
        cr_assert_eq(plan.n_visits, 8);
        check_eight(1);
    }
    load("in-field-cadence");
    cr_assert_eq(plan.rule, TARGET_RULE_CADENCE_UP_7_5);
    load("mirror-faded");
    cr_assert(plan.is_bandwidth);
}

Test(plan_file, the_control_part_is_silent_and_then_comes_the_same_again_with_feedback)
{
    load("eight-plus-control");
    cr_assert_eq(plan.n_visits, 16);
    for (int i = 1; i <= 8; i++) {
        cr_assert_eq(plan_file_coached_min(&plan, i), 0);
        cr_assert(isnan(plan_file_shown_share(&plan, i)));
        cr_assert_float_eq(plan.visit[i - 1].block[2].minutes, plan.visit[i + 7].block[2].minutes, 1e-9);
    }
    check_eight(9);
}

Test(plan_file, six_runs_of_twenty_minutes_in_three_weeks)
{
    load("six-times-twenty");
    cr_assert_eq(plan.n_visits, 6);
    cr_assert_eq(plan.weeks, 3);
    cr_assert_eq(plan_file_course_min(&plan), 120);
}

Test(plan_file, every_shipped_plan_loads_and_says_what_is_published_and_what_is_ours)
{
    DIR *d = opendir("profiles/plans");
    int n = 0;
    cr_assert(d);
    for (const struct dirent *e; (e = readdir(d));) {
        char name[256];
        const size_t len = strlen(e->d_name);
        if (len < 5 || strcmp(e->d_name + len - 4, ".ini") != 0)
            continue;
        snprintf(name, sizeof name, "%.*s", (int) len - 4, e->d_name);
        load(name);
        cr_assert_str_eq(plan.id, name);
        cr_assert(plan.ours[0] && (plan.source[0] != '\0') == (plan.published[0] != '\0'), "%s", name);
        for (int i = 0; i < plan.n_visits; i++)
            cr_assert(plan.visit[i].block[1].kind == VERDICT_BLOCK_BASELINE && plan.visit[i].block[1].minutes == 3, "%s", name);
        n++;
    }
    closedir(d);
    cr_assert_geq(n, 6);
}

Test(plan_file, a_visit_becomes_blocks_with_speeds_of_the_runner)
{
    struct plan p;
    load("underfoot-ten-to-twenty");
    plan_file_visit_plan(&plan, 2, 3.0, &p);
    cr_assert_eq(p.n_blocks, 5);
    cr_assert_float_eq(p.block[0].belt_speed_m_s, 2.4, 1e-9);
    cr_assert_eq(p.block[2].kind, VERDICT_BLOCK_COACHED);
    cr_assert_eq(p.block[2].length_s, 720);
    cr_assert_float_eq(p.block[2].feedback_share, 0.8, 1e-9);
    cr_assert_eq(p.spread, PLAN_SPREAD_WINDOWS);
    struct plan q;
    plan_file_visit_plan(&plan, 3, (double) NAN, &q);
    cr_assert(isnan(q.block[0].belt_speed_m_s));
    cr_assert_neq(p.seed, q.seed);
}

Test(plan_file, the_next_visit_follows_a_whole_one_and_repeats_one_that_was_not)
{
    load("eight-faded");
    cr_assert_eq(plan_file_next_visit(&plan, 0, false), 1);
    cr_assert_eq(plan_file_next_visit(&plan, 1, true), 2);
    cr_assert_eq(plan_file_next_visit(&plan, 3, false), 3);
    cr_assert_eq(plan_file_next_visit(&plan, 8, false), 8);
    cr_assert_eq(plan_file_next_visit(&plan, 8, true), 0);
}

#define HEAD "[plan]\nname = mine\n"
#define ONE "[visit 1]\nblock = coached minutes 5 shown 100%\n"

Test(plan_file, a_wrong_file_is_refused_with_line_and_reason)
{
    static const struct {
        const char *text;
        int line;
        const char *says;
    } rows[] = {
        { HEAD "lenght = 3\n" ONE, 3, "no: lenght" },
        { HEAD "weeks = soon\n" ONE, 3, "weeks must be a number" },
        { HEAD "spread = evenly\n" ONE, 3, "windows or random" },
        { HEAD "seed = -1\n" ONE, 3, "seed must be" },
        { HEAD "feedback = never\n" ONE, 3, "always or outside_band" },
        { HEAD "target = faster\n" ONE, 3, "cadence_up_5" },
        { HEAD "weeks = 2\nweeks = 3\n" ONE, 4, "given twice" },
        { HEAD "[visits]\n", 3, "" },
        { HEAD "[visit 2]\nblock = coached minutes 5 shown 100%\n", 4, "follow each other" },
        { HEAD "[visit 0]\nblock = coached minutes 5 shown 100%\n", 4, "visits 1 to 24" },
        { HEAD "[visit 1]\nblok = coached minutes 5 shown 100%\n", 4, "'block = ...'" },
        { HEAD "[visit 1]\nblock = sprint minutes 5\n", 4, "not: sprint" },
        { HEAD "[visit 1]\nblock = coached minutes 5\n", 4, "add 'shown N%'" },
        { HEAD "[visit 1]\nblock = coached shown 50%\n", 4, "add 'minutes N'" },
        { HEAD "[visit 1]\nblock = silent minutes 5 shown 50%\n", 4, "only coached blocks" },
        { HEAD "[visit 1]\nblock = coached minutes 0 shown 50%\n", 4, "0.05 to 120" },
        { HEAD "[visit 1]\nblock = coached minutes 5 shown 120%\n", 4, "0% to 100%" },
        { HEAD "[visit 1]\nblock = coached minutes 5 shown 50\n", 4, "0% to 100%" },
        { HEAD "[visit 1]\nblock = coached minutes 5 shown 50% speed 10\n", 4, "0.3 to 7" },
        { HEAD "[visit 1]\nblock = coached minutes\n", 4, "is written" },
        { HEAD "[visit 1]\nblock = \n", 4, "is written" },
        { HEAD "[visit 1]\nblock = a b c d e f g h i j k l m\n", 4, "is written" },
        { HEAD "nonsense\n" ONE, 3, "not a [section]" },
        { "[plan]\nweeks = 2\n" ONE, 4, "without a name" },
        { HEAD, 2, "without a visit" },
        { HEAD "[visit 1]\nblock = coached minutes 5 shown 50%\n[visit 2]\nblock = coached minutes 5 shown 60%\n", 6,
          "no more feedback than the visit before" },
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char line[16];
        if (strcmp(rows[i].text, HEAD "[visits]\n") == 0)
            continue; /* a section without a key says nothing yet */
        cr_assert_eq(load_text(rows[i].text), ERR_FORMAT, "row %zu", i);
        snprintf(line, sizeof line, ":%d: ", rows[i].line);
        cr_assert(strstr(message_english(&why), line) && strstr(message_english(&why), rows[i].says), "row %zu: %s", i, message_english(&why));
        cr_assert(strstr(message_english(&why), "/tmp/underfoot-plan-"), "row %zu names the file: %s", i, message_english(&why));
    }
    cr_assert_eq(load_text(HEAD ONE), ERR_OK, "%s", message_english(&why));
}

Test(plan_file, a_random_spread_and_its_seed_are_an_option)
{
    struct plan p;
    cr_assert_eq(load_text("[plan]\nname = mine\nspread = random\nseed = 14\n" ONE), ERR_OK, "%s", message_english(&why));
    plan_file_visit_plan(&plan, 1, 3, &p);
    cr_assert(p.spread == PLAN_SPREAD_RANDOM && plan.seed == 14);
}

Test(plan_file, a_missing_file_and_a_long_line_are_told)
{
    char text[400] = HEAD "source = ";
    cr_assert_eq(plan_file_load(&plan, "/nowhere/at/all.ini", &why), ERR_GONE);
    cr_assert(strstr(message_english(&why), "/nowhere/at/all.ini"));
    memset(text + strlen(text), 'x', 250);
    cr_assert_eq(load_text(text), ERR_FORMAT);
    cr_assert(strstr(message_english(&why), "198 characters"), "%s", message_english(&why));
}

Test(plan_file, thirteen_blocks_are_too_many)
{
    char text[1024] = HEAD "[visit 1]\n";
    for (int i = 0; i < 13; i++)
        strcat(text, "block = silent minutes 1\n");
    cr_assert_eq(load_text(text), ERR_FORMAT);
    cr_assert(strstr(message_english(&why), ":16: ") && strstr(message_english(&why), "at most 12"), "%s", message_english(&why));
}
