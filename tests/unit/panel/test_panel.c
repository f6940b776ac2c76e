/* The panel's logic without a window: keys in, requests out. */
#include "panel/panel_parts.h"
#include "aid/said.h"

#include "base/str.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static struct panel *p;
static struct panel_case kase;

static void
key(int k)
{
    const struct panel_input input = { .kind = PANEL_INPUT_KEY, .key = k };
    panel_feed(p, &input);
}

static void
type(const char *text)
{
    struct panel_input input = { .kind = PANEL_INPUT_TEXT };
    for (; *text; text++) {
        snprintf(input.text, sizeof input.text, "%c", *text);
        panel_feed(p, &input);
    }
}

/* As a keyboard does it: the key, then its sign as text. */
static void
press(int k)
{
    const char sign[2] = { (char) k, '\0' };
    key(k);
    type(sign);
}

/* The next request, which must be of that kind. */
#define take(k) take_at(k, __LINE__)
static struct panel_request
take_at(enum panel_request_kind kind, int line)
{
    struct panel_request r = { .kind = PANEL_WANTS_NOTHING };
    panel_take_request(p, &r);
    cr_assert_eq(r.kind, kind, "line %d: request %d instead of %d", line, r.kind, kind);
    return r;
}

static void
nothing_wanted(void)
{
    struct panel_request r;
    cr_assert(!panel_take_request(p, &r), "request %d is too much", r.kind);
}

static struct verdict
live(enum verdict_block block)
{
    struct verdict v = {
        .sensor = VERDICT_SENSOR_LIVE, .block = block, .focus = METRIC_COUNT, .n_plan_blocks = 5
    };
    v.belt_speed_m_s = 2.8;
    v.block_left_s = v.block_length_s = 60;
    return v;
}

static void
show(enum verdict_block block)
{
    const struct verdict v = live(block);
    panel_set_verdict(p, &v);
}

/* Two runners; the first one is open, with one target and a limit of 4. */
static void
make_panel(void)
{
    static struct panel_runners r;
    p = calloc(1, sizeof *p);
    cr_assert(p);
    panel_init(p);
    take(PANEL_WANTS_RUNNERS);
    memset(&r, 0, sizeof r);
    r.n = r.total = r.n_all = 2;
    for (int i = 0; i < 2; i++) {
        r.runner[i].id = i + 1;
        snprintf(r.runner[i].code, PANEL_CODE_MAX, "R-%03d", 14 + i);
        r.runner[i].body_mass_kg = r.runner[i].leg_length_mm = r.runner[i].foot_length_mm = (double) NAN;
        r.runner[i].pain_limit = 4;
    }
    snprintf(r.languages, sizeof r.languages, "de en");
    panel_set_runners(p, &r);
    memset(&kase, 0, sizeof kase);
    kase.runner = r.runner[0];
    kase.plan_now = -1;
    kase.usual_speed_m_s = (double) NAN;
    kase.targets =
        (struct target_set){ 1, { { METRIC_CADENCE_SPM, 165, 172, 160, true } }, METRIC_CADENCE_SPM };
    for (int i = 0; i < VERDICT_MAX_BARS; i++)
        kase.spread[i] = 2;
}

static void
free_panel(void)
{
    free(p);
}

static void
open_visit_page(void)
{
    key(PANEL_KEY_RETURN);
    cr_assert_eq(p->page, PANEL_VISIT);
    cr_assert_str_eq(take(PANEL_WANTS_CASE).runner.code, "R-014");
    panel_set_case(p, &kase);
}

/* Through sensor, cautions, and a pain of 1, into the run. */
static void
begin_run(void)
{
    open_visit_page();
    key(PANEL_KEY_RETURN);
    cr_assert_eq(take(PANEL_WANTS_SENSOR).command.n_targets, 1);
    panel_set_sensor(p, PANEL_SENSOR_OPEN, said("mat"));
    show(VERDICT_BLOCK_PAUSED);
    key(PANEL_KEY_RETURN);
    key(PANEL_KEY_RETURN);
    cr_assert_eq(p->context, PANEL_ASK_NUMBER);
    key('1');
    key(PANEL_KEY_RETURN);
    cr_assert_eq(p->page, PANEL_LIVE);
}

static void
take_begin(void)
{
    cr_assert_eq(take(PANEL_WANTS_PAIN).pain.pain, 1);
    take(PANEL_WANTS_RUN);
    cr_assert_eq(take(PANEL_WANTS_COMMAND).command.kind, COMMAND_RESUME);
    nothing_wanted();
    show(VERDICT_BLOCK_COACHED);
    nothing_wanted();
}

TestSuite(panel, .init = make_panel, .fini = free_panel);

Test(panel, no_key_means_two_things_in_one_place)
{
    for (int c = 0; c < PANEL_N_CONTEXTS; c++)
        for (const struct panel_key_row *a = panel_keys((enum panel_context) c); a->key; a++) {
            cr_assert(a->cap && a->cap[0]);
            cr_assert(a->action > PANEL_DO_NOTHING && a->action < PANEL_N_ACTIONS);
            for (const struct panel_key_row *b = a + 1; b->key; b++)
                cr_assert_neq(a->key, b->key, "context %d, key %d", c, a->key);
        }
}

/* Case 3: what asked never says yes, so that a key held down destroys nothing. */
Test(panel, yes_is_another_key_than_the_one_that_asked)
{
    static const struct {
        enum panel_context page;
        enum panel_action asks;
        enum panel_context question;
    } rows[] = {
        { PANEL_ON_RUNNERS, PANEL_DO_FORGET, PANEL_ASK_FORGET },
        { PANEL_ON_RUNNERS, PANEL_DO_LEAVE, PANEL_ASK_LEAVE },
        { PANEL_ON_LIVE, PANEL_DO_SKIP, PANEL_ASK_SKIP },
        { PANEL_ON_LIVE, PANEL_DO_STOP, PANEL_ASK_STOP },
        { PANEL_ON_VISIT, PANEL_DO_STOP, PANEL_ASK_STOP },
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        for (const struct panel_key_row *k = panel_keys(rows[i].page); k->key; k++)
            if (k->action == rows[i].asks) {
                const struct panel_key_row *again = panel_keys_find(rows[i].question, k->key);
                cr_assert(!again || again->action == PANEL_DO_NO);
            }
}

Test(panel, every_page_is_reached_from_every_page)
{
    for (int from = 0; from < PANEL_N_PAGES; from++)
        for (int to = 0; to < PANEL_N_PAGES; to++)
            cr_assert(panel_keys_cap((enum panel_context) from, PANEL_DO_PAGE, to)[0]);
}

/* Case 1. */
Test(panel, the_form_says_what_is_wrong_as_one_types)
{
    press('a');
    cr_assert_eq(p->context, PANEL_IN_FORM);
    cr_assert_str_eq(p->ask.form.text[PANEL_FORM_CODE], "", "the key that opened the form is not typed into it");
    type("R-014");
    cr_assert_str_eq(p->ask.form.why[PANEL_FORM_CODE], "another runner has this code");
    type(" ");
    cr_assert_str_eq(p->ask.form.why[PANEL_FORM_CODE], "letters, digits, and - _ . only");
    key(PANEL_KEY_BACKSPACE);
    key(PANEL_KEY_BACKSPACE);
    type("6");
    cr_assert_str_eq(p->ask.form.why[PANEL_FORM_CODE], "");
    key(PANEL_KEY_TAB);
    type("712");
    cr_assert_str_eq(p->ask.form.why[PANEL_FORM_MASS], "from 20 to 300");
    key(PANEL_KEY_RETURN);
    cr_assert_eq(p->context, PANEL_IN_FORM);
    nothing_wanted();
    key(PANEL_KEY_BACKSPACE);
    type(",5");
    key(PANEL_KEY_RETURN);
    const struct panel_runner r = take(PANEL_WANTS_SAVE_RUNNER).runner;
    cr_assert_str_eq(r.code, "R-016");
    cr_assert_float_eq(r.body_mass_kg, 71.5, 1e-9);
    cr_assert(isnan(r.leg_length_mm) && isnan(r.pain_limit) && r.id == 0);
    take(PANEL_WANTS_RUNNERS);
    cr_assert_eq(p->context, PANEL_ON_RUNNERS);
}

Test(panel, the_form_refuses_a_display_choice_that_there_is_not_and_says_what_there_is)
{
    press('e');
    for (int i = PANEL_FORM_CODE; i < PANEL_FORM_DISPLAY; i++)
        key(PANEL_KEY_TAB);
    cr_assert_eq(p->ask.form.at, PANEL_FORM_DISPLAY);
    type("theme=purple");
    cr_assert_str_eq(p->ask.form.why[PANEL_FORM_DISPLAY], "theme=dark|light");
    key(PANEL_KEY_RETURN);
    cr_assert_eq(p->context, PANEL_IN_FORM);
    nothing_wanted();
    for (int i = 0; i < 6; i++)
        key(PANEL_KEY_BACKSPACE);
    type("light language=xx");
    cr_assert_str_eq(p->ask.form.why[PANEL_FORM_DISPLAY], "language=de|en");
    key(PANEL_KEY_BACKSPACE);
    key(PANEL_KEY_BACKSPACE);
    type("de");
    cr_assert_str_eq(p->ask.form.why[PANEL_FORM_DISPLAY], "");
    key(PANEL_KEY_RETURN);
    cr_assert_str_eq(take(PANEL_WANTS_SAVE_RUNNER).runner.display, "theme=light language=de");
}

Test(panel, an_edited_runner_keeps_the_code_and_the_id)
{
    press('e');
    cr_assert_str_eq(p->ask.form.text[PANEL_FORM_CODE], "R-014");
    cr_assert_str_eq(p->ask.form.why[PANEL_FORM_CODE], "");
    key(PANEL_KEY_RETURN);
    cr_assert_eq(take(PANEL_WANTS_SAVE_RUNNER).runner.id, 1);
}

/* Case 2. */
Test(panel, forgetting_is_asked_twice_and_the_code_must_be_typed)
{
    key(PANEL_KEY_DELETE);
    cr_assert_eq(p->context, PANEL_ASK_FORGET);
    key(PANEL_KEY_RETURN);
    key(PANEL_KEY_DELETE);
    nothing_wanted();
    press('y');
    cr_assert_eq(p->context, PANEL_ASK_FORGET_AGAIN);
    type("R-015");
    key(PANEL_KEY_RETURN);
    nothing_wanted();
    key(PANEL_KEY_BACKSPACE);
    type("4");
    key(PANEL_KEY_RETURN);
    cr_assert_eq(take(PANEL_WANTS_FORGET).runner.id, 1);
}

Test(panel, a_visit_goes_by_sensor_cautions_and_pain_to_the_run)
{
    open_visit_page();
    key(PANEL_KEY_RETURN);
    take(PANEL_WANTS_SENSOR);
    key(PANEL_KEY_RETURN);
    cr_assert_not(message_is_none(&p->out.message), "not before the sensor answered");
    panel_set_sensor(p, PANEL_SENSOR_REFUSED, said("no sensor found"));
    key(PANEL_KEY_RETURN);
    take(PANEL_WANTS_SENSOR);
    panel_set_sensor(p, PANEL_SENSOR_OPEN, said("mat"));
    show(VERDICT_BLOCK_PAUSED);
    key(PANEL_KEY_RETURN);
    cr_assert_eq(p->visit.flow.phase, VISIT_FLOW_CAUTIONS);
    key(PANEL_KEY_RETURN);
    key(PANEL_KEY_RETURN);
    cr_assert_eq(p->visit.flow.phase, VISIT_FLOW_PAIN_BEFORE, "no number was said");
    key('1');
    key(PANEL_KEY_RETURN);
    take_begin();
}

Test(panel, the_sensor_is_checked_again_before_the_run_and_not_in_it)
{
    open_visit_page();
    key(PANEL_KEY_RETURN);
    take(PANEL_WANTS_SENSOR);
    key('k');
    nothing_wanted();
    panel_set_sensor(p, PANEL_SENSOR_OPEN, said("mat"));
    show(VERDICT_BLOCK_PAUSED);
    key(PANEL_KEY_RETURN);
    key('k');
    take(PANEL_WANTS_SENSOR);
    cr_assert_eq(p->visit.flow.phase, VISIT_FLOW_CHECK);
    panel_set_sensor(p, PANEL_SENSOR_OPEN, said("mat"));
    show(VERDICT_BLOCK_PAUSED);
    key(PANEL_KEY_RETURN);
    key(PANEL_KEY_RETURN);
    key('1');
    key(PANEL_KEY_RETURN);
    take_begin();
    key(PANEL_KEY_F2);
    key('k');
    nothing_wanted();
}

Test(panel, pain_at_the_limit_before_the_run_asks_once_more)
{
    open_visit_page();
    key(PANEL_KEY_RETURN);
    take(PANEL_WANTS_SENSOR);
    panel_set_sensor(p, PANEL_SENSOR_OPEN, said("mat"));
    show(VERDICT_BLOCK_PAUSED);
    key(PANEL_KEY_RETURN);
    key(PANEL_KEY_RETURN);
    key('1');
    key('0');
    key(PANEL_KEY_RETURN);
    cr_assert_eq(p->page, PANEL_VISIT);
    cr_assert_eq(take(PANEL_WANTS_PAIN).pain.pain, 10);
    nothing_wanted();
    key(PANEL_KEY_RETURN);
    take(PANEL_WANTS_RUN);
}

Test(panel, a_visit_given_up_before_the_run_keeps_nothing)
{
    open_visit_page();
    key(PANEL_KEY_RETURN);
    take(PANEL_WANTS_SENSOR);
    key(PANEL_KEY_ESCAPE);
    cr_assert_eq(p->context, PANEL_ASK_STOP);
    nothing_wanted();
    key('y');
    take(PANEL_WANTS_CLOSE);
    nothing_wanted();
    cr_assert(!p->visit.is_on);
}

Test(panel, keys_of_the_run_reach_the_coach)
{
    static const struct {
        int key;
        enum command_kind kind;
        double number;
    } rows[] = { { ' ', COMMAND_PAUSE, 0 },
                 { 'x', COMMAND_EXTEND, 60 },
                 { 'f', COMMAND_FEEDBACK, COMMAND_FEEDBACK_OFF },
                 { '+', COMMAND_BELT_SPEED, 2.9 },
                 { '-', COMMAND_BELT_SPEED, 2.7 },
                 { 'a', COMMAND_ACCEPT_BASELINE, 0 } };
    begin_run();
    take_begin();
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        key(rows[i].key);
        const struct command c = take(PANEL_WANTS_COMMAND).command;
        cr_assert_eq(c.kind, rows[i].kind);
        cr_assert_float_eq(c.number, rows[i].number, 1e-9);
        nothing_wanted();
    }
    key('s');
    nothing_wanted();
    key('y');
    cr_assert_eq(take(PANEL_WANTS_COMMAND).command.kind, COMMAND_SKIP);
    press('m');
    cr_assert_str_eq(take(PANEL_WANTS_NOTE).text, "mark");
    cr_assert(p->visit.n_marks == 0 && strcmp(message_english(&p->out.message), "The mark is being kept.") == 0, "%s", message_english(&p->out.message));
    panel_set_marked(p, 1, 0);
    cr_assert(p->visit.n_marks == 1 && strcmp(message_english(&p->out.message), "Marked.") == 0, "%s", message_english(&p->out.message));
}

Test(panel, everything_is_called_saved_only_when_it_is)
{
    cr_expect_str_eq(panel_leave_sentence(p), "Everything is saved.");
    panel_set_unsaved(p, true);
    cr_expect(strstr(panel_leave_sentence(p), "Not everything is in the store yet") != NULL);
    p->visit.is_on = true;
    cr_expect_str_eq(panel_leave_sentence(p), "The visit that runs is ended and kept.");
}

/* Case 4. */
Test(panel, a_speed_that_the_mat_measures_is_not_keyed_in)
{
    begin_run();
    take_begin();
    struct verdict v = live(VERDICT_BLOCK_COACHED);
    v.is_speed_measured = true;
    panel_set_verdict(p, &v);
    key('+');
    nothing_wanted();
    cr_assert(strstr(message_english(&p->out.message), "measured"), "%s", message_english(&p->out.message));
}

Test(panel, values_are_withheld_where_the_runner_sees_the_panel_but_for_a_peek)
{
    begin_run();
    take_begin();
    struct verdict v = live(VERDICT_BLOCK_COACHED);
    cr_assert(!v.is_feedback_shown && !panel_is_withheld(p), "a display of its own");
    p->is_over_screen = true;
    cr_assert(panel_is_withheld(p));
    key('i');
    cr_assert(!panel_is_withheld(p));
    key('i');
    cr_assert(panel_is_withheld(p));
    key('i');
    v.is_feedback_shown = true;
    panel_set_verdict(p, &v);
    cr_assert(!panel_is_withheld(p));
    v.is_feedback_shown = false;
    panel_set_verdict(p, &v);
    cr_assert(panel_is_withheld(p), "a peek is asked for anew");
}

Test(panel, pain_at_the_limit_pauses_and_says_stop)
{
    struct message told;
    begin_run();
    take_begin();
    key('p');
    key('4');
    key(PANEL_KEY_RETURN);
    struct verdict v = live(VERDICT_BLOCK_COACHED);
    cr_assert_eq(take(PANEL_WANTS_COMMAND).command.kind, COMMAND_PAUSE);
    const struct panel_request r = take(PANEL_WANTS_PAIN);
    cr_assert(r.pain.pain == 4 && r.pain.when == VISIT_FLOW_PAIN_WAS_DURING);
    visit_flow_sentence(&p->visit.flow, &told);
    cr_assert(strstr(message_english(&told), "Stop"));
    v.is_paused = true;
    panel_set_verdict(p, &v);
    key(' ');
    cr_assert_eq(take(PANEL_WANTS_COMMAND).command.kind, COMMAND_RESUME);
}

Test(panel, a_nudge_is_told_at_once_and_undone)
{
    begin_run();
    take_begin();
    key(PANEL_KEY_UP);
    const struct command first = take(PANEL_WANTS_COMMAND).command;
    cr_assert_eq(first.target[0].low, 166);
    key('b');
    key('b');
    key(PANEL_KEY_UP);
    const struct command c = take(PANEL_WANTS_COMMAND).command;
    cr_assert(c.target[0].low == 166 && c.target[0].high == 174);
    key('u');
    key('u');
    take(PANEL_WANTS_COMMAND);
    const struct command back = take(PANEL_WANTS_COMMAND).command;
    cr_assert(back.target[0].low == 165 && back.target[0].high == 172);
    key('u');
    nothing_wanted();
    key('y');
    cr_assert_eq(take(PANEL_WANTS_COMMAND).command.target[0].low, 166);
}

/* Case 5. */
Test(panel, a_drag_is_told_when_it_ends_and_is_one_edit)
{
    struct panel_input input = { .kind = PANEL_INPUT_DOWN, .x_px = 50 };
    begin_run();
    take_begin();
    p->aim.axis[0].top_px = 100;
    p->aim.axis[0].bottom_px = 500;
    p->spots.n = 1;
    input.y_px = panel_axis_y(&p->aim.axis[0], 172);
    p->spots.spot[0] = (struct panel_spot){ 0, input.y_px - 5, 100, 10, PANEL_DO_NOTHING, 0, 0, PANEL_EDGE_HIGH };
    panel_feed(p, &input);
    input.kind = PANEL_INPUT_MOVE;
    for (int value = 173; value <= 176; value++) {
        input.y_px = panel_axis_y(&p->aim.axis[0], value);
        panel_feed(p, &input);
        nothing_wanted();
    }
    cr_assert_eq(p->aim.edit.now.target[0].high, 176);
    input.kind = PANEL_INPUT_UP;
    panel_feed(p, &input);
    cr_assert_eq(take(PANEL_WANTS_COMMAND).command.target[0].high, 176);
    key('u');
    cr_assert_eq(p->aim.edit.now.target[0].high, 172);
    cr_assert_eq(p->aim.edit.now.target[0].low, 165);
}

/* Case 6. */
Test(panel, targets_from_the_baseline_are_taken_over)
{
    begin_run();
    take_begin();
    struct verdict v = live(VERDICT_BLOCK_COACHED);
    v.target_version = 3;
    v.n_bars = 1;
    v.focus = METRIC_CADENCE_SPM;
    v.bar[0] = (struct verdict_bar){ .metric = METRIC_CADENCE_SPM, .low = 170, .high = 178, .baseline = 165 };
    panel_set_verdict(p, &v);
    cr_assert_eq(p->aim.edit.now.target[0].low, 170);
    nothing_wanted();
}

Test(panel, targets_by_rule_take_the_next_rule_each_time)
{
    kase.targets.n = 0;
    kase.n_visits = 1;
    for (int m = 0; m < METRIC_COUNT; m++)
        kase.visit[0].figure[m] = (struct panel_figure){ .baseline = (double) NAN, .held = (double) NAN };
    kase.visit[0].figure[METRIC_CADENCE_SPM].baseline = 160;
    kase.visit[0].figure[METRIC_CADENCE_SPM].baseline_sd = 1;
    open_visit_page();
    cr_assert_eq(p->aim.edit.now.n, 0);
    key(PANEL_KEY_UP);
    cr_assert(strstr(message_english(&p->out.message), "no target yet"));
    key('t');
    cr_assert_eq(p->aim.edit.now.n, 1);
    cr_assert_float_eq((p->aim.edit.now.target[0].low + p->aim.edit.now.target[0].high) / 2, 168, 1e-6);
    key('t');
    cr_assert_float_eq((p->aim.edit.now.target[0].low + p->aim.edit.now.target[0].high) / 2, 172, 1e-6);
}

/* After the three cadences, where it was measured: 0.80 to 0.95 of the baseline (coach/target.h), and it leads. */
Test(panel, braking_is_made_the_focus_by_hand_where_it_was_measured)
{
    kase.targets.n = 0;
    kase.n_visits = 1;
    for (int m = 0; m < METRIC_COUNT; m++)
        kase.visit[0].figure[m] = (struct panel_figure){ .baseline = (double) NAN, .held = (double) NAN };
    kase.visit[0].figure[METRIC_CADENCE_SPM] = (struct panel_figure){ .baseline = 160, .baseline_sd = 1 };
    kase.visit[0].figure[METRIC_BRAKING_IMPULSE_BW_S] = (struct panel_figure){ .baseline = 0.020, .baseline_sd = 0.003 };
    open_visit_page();
    for (int i = 0; i < 4; i++)
        key('t');
    cr_assert_eq(p->aim.edit.now.focus, METRIC_BRAKING_IMPULSE_BW_S);
    cr_assert_eq(p->aim.edit.now.target[0].metric, METRIC_BRAKING_IMPULSE_BW_S);
    cr_assert_float_eq(p->aim.edit.now.target[0].low, 0.016, 1e-9);
    cr_assert_float_eq(p->aim.edit.now.target[0].high, 0.019, 1e-9);
    key('t');
    cr_assert_eq(p->aim.edit.now.focus, METRIC_CADENCE_SPM);
}

Test(panel, the_end_is_asked_then_pain_and_effort_then_saved)
{
    begin_run();
    take_begin();
    key(PANEL_KEY_ESCAPE);
    nothing_wanted();
    key('y');
    cr_assert_eq(take(PANEL_WANTS_COMMAND).command.kind, COMMAND_END);
    take(PANEL_WANTS_END);
    cr_assert(p->page == PANEL_SUMMARY && p->context == PANEL_ASK_NUMBER);
    key('3');
    key(PANEL_KEY_RETURN);
    const struct visit_flow_pain after = take(PANEL_WANTS_PAIN).pain; /* at once: not as the page is left */
    cr_assert(after.when == VISIT_FLOW_PAIN_WAS_AFTER && after.pain == 3 && isnan(after.effort));
    cr_assert(p->context == PANEL_ASK_NUMBER && p->ask.is_effort);
    key('1');
    key('0');
    key(PANEL_KEY_RETURN);
    cr_assert_eq(p->context, PANEL_ON_SUMMARY);
    const struct visit_flow_pain effort = take(PANEL_WANTS_PAIN).pain;
    cr_assert(effort.when == VISIT_FLOW_PAIN_WAS_AFTER && isnan(effort.pain) && effort.effort == 10);
    kase.n_visits = 1; /* as it was read before that was kept */
    kase.visit[0].pain_after = kase.visit[0].effort = (double) NAN;
    panel_set_case(p, &kase);
    cr_assert(isnan(p->open.kase.visit[0].pain_after) && isnan(p->open.kase.visit[0].effort), "not before it is on disc");
    panel_set_kept(p, &(const struct panel_kept){ .pain_after = 3, .effort = (double) NAN });
    panel_set_kept(p, &(const struct panel_kept){ .pain_after = (double) NAN, .effort = 10 });
    cr_assert(p->open.kase.visit[0].pain_after == 3 && p->open.kase.visit[0].effort == 10);
    panel_set_case(p, &kase);
    cr_assert(p->open.kase.visit[0].pain_after == 3 && p->open.kase.visit[0].effort == 10, "a store that has none of it hides nothing");
    key(PANEL_KEY_RETURN);
    take(PANEL_WANTS_CLOSE);
    cr_assert(!p->visit.is_on);
}

Test(panel, a_note_stands_on_its_visits_page_once_it_is_on_disc)
{
    kase.n_visits = 2;
    kase.visit[0].id = 4;
    kase.visit[1].id = 5;
    str_copy(kase.visit[0].notes, sizeof kase.visit[0].notes, "calf");
    kase.visit[1].notes[0] = '\0';
    panel_set_case(p, &kase);
    panel_set_kept(p, &(const struct panel_kept){ .pain_after = 3, .effort = (double) NAN, .visit_id = 4, .note = "knee" });
    cr_assert_str_eq(p->open.kase.visit[0].notes, "calf\nknee");
    cr_assert_str_eq(p->open.kase.visit[1].notes, "");
    panel_set_kept(p, &(const struct panel_kept){ .pain_after = 3, .effort = 2, .visit_id = 0, .note = "of no visit here" });
    cr_assert_str_eq(p->open.kase.visit[0].notes, "calf\nknee");
}

Test(panel, a_visit_that_the_store_refuses_does_not_run)
{
    begin_run();
    take_begin();
    panel_visit_refused(p);
    take(PANEL_WANTS_CLOSE);
    cr_assert(p->page == PANEL_VISIT && !p->visit.is_on);
    show(VERDICT_BLOCK_COACHED);
    nothing_wanted();
}

Test(panel, a_question_passed_over_is_unknown)
{
    begin_run();
    take_begin();
    show(VERDICT_BLOCK_ENDED);
    take(PANEL_WANTS_END);
    key('o');
    cr_assert(isnan(p->visit.flow.pain_after));
}

Test(panel, a_note_that_is_being_written_outlives_the_end_of_the_run)
{
    begin_run();
    take_begin();
    press('n');
    type("calf");
    show(VERDICT_BLOCK_ENDED);
    take(PANEL_WANTS_END);
    type(" tight");
    key(PANEL_KEY_RETURN);
    cr_assert_str_eq(take(PANEL_WANTS_NOTE).text, "calf tight");
}

Test(panel, no_runner_is_changed_while_a_visit_is_under_way)
{
    begin_run();
    take_begin();
    key(PANEL_KEY_F1);
    press('a');
    cr_assert_eq(p->context, PANEL_ON_RUNNERS);
    key(PANEL_KEY_DELETE);
    cr_assert_eq(p->context, PANEL_ON_RUNNERS);
    key(PANEL_KEY_DOWN);
    key(PANEL_KEY_F3);
    cr_assert_eq(p->page, PANEL_LIVE);
    cr_assert_str_eq(p->open.kase.runner.code, "R-014");
}

Test(panel, a_tick_goes_round_three_states_and_is_kept_with_the_run)
{
    open_visit_page();
    key('1');
    cr_assert_eq(p->open.ticks[TALLY_KNEE_STRAIGHT], TALLY_PRESENT);
    key('1');
    cr_assert_eq(p->open.ticks[TALLY_KNEE_STRAIGHT], TALLY_ABSENT);
    key('1');
    cr_assert_eq(p->open.ticks[TALLY_KNEE_STRAIGHT], TALLY_UNKNOWN);
    nothing_wanted();
}

Test(panel, a_plan_is_copied_under_the_name_that_is_typed_but_not_while_a_visit_is_under_way)
{
    open_visit_page();
    p->open.at_plan = 0;
    key('c');
    cr_assert_eq(p->context, PANEL_IN_PLAN_NAME);
    type("c"); /* of the key that opened it */
    type("mine");
    key(PANEL_KEY_RETURN);
    const struct panel_request r = take(PANEL_WANTS_COPY);
    cr_assert(r.plan == 0 && strcmp(r.text, "mine") == 0, "%s", r.text);
    p->open.at_plan = -1;
    key('c');
    cr_assert_eq(p->context, PANEL_ON_VISIT, "free running is no plan");
    p->open.at_plan = 0;
    p->visit.is_on = true;
    key('c');
    cr_assert_eq(p->context, PANEL_ON_VISIT);
}

/* Whatever is pressed, the state stays sound; run with the sanitizers. */
Test(panel, any_keys_in_any_order_are_survived)
{
    static const int keys[] = { 13,
                                27,
                                9,
                                8,
                                'a',
                                'e',
                                'p',
                                's',
                                'y',
                                'n',
                                'u',
                                'b',
                                'o',
                                't',
                                'f',
                                'x',
                                'm',
                                ' ',
                                '+',
                                '-',
                                '1',
                                '0',
                                PANEL_KEY_UP,
                                PANEL_KEY_DOWN,
                                PANEL_KEY_LEFT,
                                PANEL_KEY_RIGHT,
                                PANEL_KEY_DELETE,
                                PANEL_KEY_F1,
                                PANEL_KEY_F2,
                                PANEL_KEY_F3,
                                PANEL_KEY_F4,
                                PANEL_KEY_F5 };
    uint32_t random = 1;
    struct panel_request r;
    for (int i = 0; i < 200000; i++) {
        random = random * 1664525u + 1013904223u;
        press(keys[(random >> 8) % (sizeof keys / sizeof *keys)]);
        cr_assert((int) p->context >= (int) PANEL_N_PAGES || (int) p->context == (int) p->page);
        cr_assert(p->out.n_requests <= PANEL_N_REQUESTS);
        while (i % 7 == 0 && panel_take_request(p, &r))
            if (r.kind == PANEL_WANTS_CASE)
                panel_set_case(p, &kase);
            else if (r.kind == PANEL_WANTS_SENSOR)
                panel_set_sensor(p, PANEL_SENSOR_OPEN, said(""));
        if (i % 11 == 0)
            show(i % 5000 == 0 ? VERDICT_BLOCK_ENDED : VERDICT_BLOCK_COACHED);
    }
}

Test(panel, forty_nudges_are_undone_at_once_and_done_again)
{
    begin_run();
    take_begin();
    for (int i = 0; i < 40; i++) {
        panel_set_now(p, (struct host_time){ i * 200 * UNITS_US_PER_MS });
        key(PANEL_KEY_UP);
        take(PANEL_WANTS_COMMAND);
    }
    cr_assert_eq(p->aim.edit.now.target[0].low, 205);
    key('u');
    cr_assert_eq(take(PANEL_WANTS_COMMAND).command.target[0].low, 165);
    key('u');
    nothing_wanted();
    key('y');
    cr_assert_eq(take(PANEL_WANTS_COMMAND).command.target[0].low, 205);
}

/* The coach's answers come one by one, while the next nudges are on their way. */
Test(panel, the_coachs_older_answers_do_not_take_a_newer_change_back)
{
    begin_run();
    take_begin();
    struct verdict v = live(VERDICT_BLOCK_COACHED);
    v.n_bars = 1;
    v.focus = METRIC_CADENCE_SPM;
    for (int i = 0; i < 3; i++)
        key(PANEL_KEY_UP);
    for (int i = 1; i <= 3; i++) {
        v.target_version++;
        v.bar[0] = (struct verdict_bar){ .metric = METRIC_CADENCE_SPM, .low = 165 + i, .high = 172 + i, .baseline = 160 };
        panel_set_verdict(p, &v);
        cr_assert_eq(p->aim.edit.now.target[0].low, 168, "after answer %d: %g", i, p->aim.edit.now.target[0].low);
    }
    v.target_version++;
    v.bar[0].low = 170; /* this one is the coach's own */
    panel_set_verdict(p, &v);
    cr_assert_eq(p->aim.edit.now.target[0].low, 170);
}

Test(panel, what_was_changed_while_the_sensor_was_opened_reaches_the_coach)
{
    open_visit_page();
    key(PANEL_KEY_RETURN);
    take(PANEL_WANTS_SENSOR);
    key(PANEL_KEY_UP);
    nothing_wanted();
    panel_set_sensor(p, PANEL_SENSOR_OPEN, said("mat"));
    struct verdict v = live(VERDICT_BLOCK_PAUSED);
    v.target_version = 1;
    v.n_bars = 1;
    v.bar[0] = (struct verdict_bar){ .metric = METRIC_CADENCE_SPM, .low = 165, .high = 172, .baseline = 160 };
    panel_set_verdict(p, &v);
    cr_assert_eq(take(PANEL_WANTS_COMMAND).command.target[0].low, 166);
    cr_assert_eq(p->aim.edit.now.target[0].low, 166);
}

Test(panel, values_go_stale_with_the_sensor_and_with_age)
{
    begin_run();
    take_begin();
    struct verdict v = live(VERDICT_BLOCK_COACHED);
    v.gait = STEP_GAIT_RUNNING;
    v.last_value_at = (struct host_time){ 10 * UNITS_US_PER_S };
    panel_set_now(p, (struct host_time){ 11 * UNITS_US_PER_S });
    panel_set_verdict(p, &v);
    cr_assert(!panel_is_stale(p));
    v.sensor = VERDICT_SENSOR_QUIET;
    panel_set_verdict(p, &v);
    cr_assert(panel_is_stale(p), "at once");
    const uint64_t was = p->n_changes;
    panel_set_now(p, (struct host_time){ 12 * UNITS_US_PER_S });
    cr_assert_gt(p->n_changes, was, "its age is shown, so it is drawn anew without a verdict");
    v.sensor = VERDICT_SENSOR_LIVE;
    panel_set_verdict(p, &v);
    panel_set_now(p, (struct host_time){ 14100 * UNITS_US_PER_MS });
    cr_assert(panel_is_stale(p));
    cr_assert_eq(panel_age_us(p), 4100 * UNITS_US_PER_MS);
}

/* Up to the last step before the run, with a target that has a warning. */
static void
go_to_begin_warned(void)
{
    open_visit_page();
    target_edit_band(&p->aim.edit, 0, 180, 190); /* 15.6 % over 160 */
    key(PANEL_KEY_RETURN);
    take(PANEL_WANTS_SENSOR);
    panel_set_sensor(p, PANEL_SENSOR_OPEN, said("mat"));
    show(VERDICT_BLOCK_PAUSED);
    key(PANEL_KEY_RETURN);
    key(PANEL_KEY_RETURN);
    key('1');
    key(PANEL_KEY_RETURN);
}

Test(panel, a_run_with_warnings_in_force_is_asked_for_once_and_enter_goes_on)
{
    go_to_begin_warned();
    cr_assert_eq(p->context, PANEL_ASK_WARNED);
    cr_assert_eq(take(PANEL_WANTS_PAIN).pain.pain, 1);
    nothing_wanted();
    key(PANEL_KEY_ESCAPE);
    cr_assert(p->context == PANEL_ON_VISIT && p->visit.flow.phase == VISIT_FLOW_PAIN_BEFORE);
    key(PANEL_KEY_RETURN);
    cr_assert_eq(p->context, PANEL_ASK_WARNED, "it was not answered");
    key(PANEL_KEY_RETURN);
    take(PANEL_WANTS_RUN);
    cr_assert_eq(take(PANEL_WANTS_COMMAND).command.kind, COMMAND_RESUME);
    cr_assert_eq(p->page, PANEL_LIVE);
}

Test(panel, targets_mended_at_the_question_are_not_asked_about)
{
    go_to_begin_warned();
    take(PANEL_WANTS_PAIN);
    key(PANEL_KEY_ESCAPE);
    target_edit_band(&p->aim.edit, 0, 165, 172);
    key(PANEL_KEY_RETURN);
    cr_assert_eq(p->page, PANEL_LIVE);
}

Test(panel, a_belt_speed_is_typed_before_a_first_run_and_reaches_store_and_coach_before_it)
{
    open_visit_page();
    cr_assert(isnan(panel_speed_m_s(p)));
    press('+');
    cr_assert_eq(p->context, PANEL_IN_SPEED, "there is nothing to go on from");
    type("20");
    key(PANEL_KEY_RETURN);
    cr_assert(p->context == PANEL_IN_SPEED && !message_is_none(&p->out.message), "too fast");
    key(PANEL_KEY_BACKSPACE);
    type(",6");
    key(PANEL_KEY_RETURN);
    cr_assert_float_eq(panel_speed_m_s(p), 2.6, 1e-9);
    key('+');
    key('+');
    key('-');
    cr_assert_float_eq(panel_speed_m_s(p), 2.7, 1e-9);
    key(PANEL_KEY_RETURN);
    take(PANEL_WANTS_SENSOR);
    panel_set_sensor(p, PANEL_SENSOR_OPEN, said("cells"));
    show(VERDICT_BLOCK_PAUSED);
    key(PANEL_KEY_RETURN);
    key(PANEL_KEY_RETURN);
    key('1');
    key(PANEL_KEY_RETURN);
    take(PANEL_WANTS_PAIN);
    const double told_m_s = take(PANEL_WANTS_RUN).value;
    cr_assert_float_eq(told_m_s, 2.7, 1e-9);
    const struct command c = take(PANEL_WANTS_COMMAND).command;
    cr_assert(c.kind == COMMAND_BELT_SPEED && fabs(c.number - 2.7) < 1e-9);
    cr_assert_eq(take(PANEL_WANTS_COMMAND).command.kind, COMMAND_RESUME);
}

Test(panel, the_usual_speed_is_begun_from_and_not_told_when_nobody_changed_it)
{
    kase.usual_speed_m_s = 2.8;
    begin_run();
    take(PANEL_WANTS_PAIN);
    cr_assert(isnan(take(PANEL_WANTS_RUN).value));
    cr_assert_eq(take(PANEL_WANTS_COMMAND).command.kind, COMMAND_RESUME);
}

Test(panel, faster_in_a_run_of_unknown_speed_asks_for_it_and_invents_none)
{
    begin_run();
    take_begin();
    struct verdict v = live(VERDICT_BLOCK_COACHED);
    v.belt_speed_m_s = (double) NAN;
    panel_set_verdict(p, &v);
    press('+');
    cr_assert_eq(p->context, PANEL_IN_SPEED);
    nothing_wanted();
    type("3.1");
    key(PANEL_KEY_RETURN);
    const double told_m_s = take(PANEL_WANTS_COMMAND).command.number;
    cr_assert_float_eq(told_m_s, 3.1, 1e-9);
    cr_assert_eq(p->context, PANEL_ON_LIVE);
}

Test(panel, a_wrong_plan_is_passed_over_and_says_what_is_wrong_when_it_is_touched)
{
    kase.n_plans = 3;
    for (int i = 0; i < 3; i++)
        snprintf(kase.plan[i].id, sizeof kase.plan[i].id, "plan-%d", i);
    message_say(&kase.plan[1].why, "plan-1.ini:3: minutes must be more than 0");
    open_visit_page();
    key('p');
    cr_assert_eq(p->open.at_plan, 0);
    key('p');
    cr_assert_eq(p->open.at_plan, 2);
    panel_do(p, PANEL_DO_PLAN_AT, 1);
    cr_assert(p->open.at_plan == 2 && strstr(message_english(&p->out.message), "plan-1.ini:3:"), "%s", message_english(&p->out.message));
    key('p');
    cr_assert_eq(p->open.at_plan, -1, "free running");
}

/* The course page at a window of that many visits from the end, of 60; the visit before the window has the id n. */
static void
show_window(int n_newer, bool is_turned)
{
    static struct panel_case k;
    k = kase;
    k.is_turned = is_turned;
    k.n_visits = PANEL_MAX_VISITS;
    k.n_newer_visits = n_newer;
    k.n_older_visits = 60 - PANEL_MAX_VISITS - n_newer;
    for (int i = 0; i < k.n_visits; i++) {
        k.visit[i].id = k.n_older_visits + i + 1;
        k.visit[i].figure[METRIC_CADENCE_SPM] = (struct panel_figure){ .baseline = 100 + (double) k.visit[i].id, .baseline_sd = 1 };
    }
    panel_set_case(p, &k);
}

Test(panel, the_course_turns_to_older_visits_and_back_and_stops_at_either_end)
{
    open_visit_page();
    show_window(0, false);
    key(PANEL_KEY_UP); /* a target that is being chosen stays as it was moved */
    const double moved = p->aim.edit.now.target[0].low;
    cr_assert_neq(moved, 165);
    key(PANEL_KEY_F5);
    key(PANEL_KEY_PAGE_DOWN);
    cr_assert_str_eq(message_english(&p->out.message), "There are no newer visits.");
    key(PANEL_KEY_PAGE_UP);
    cr_assert_eq(take(PANEL_WANTS_VISITS).number, 24);
    key(PANEL_KEY_PAGE_UP); /* not twice while it is read */
    nothing_wanted();
    show_window(24, true);
    cr_assert_eq(p->open.kase.visit[p->open.at_visit].id, 36, "the newest of the older ones");
    key(PANEL_KEY_PAGE_UP);
    cr_assert_eq(take(PANEL_WANTS_VISITS).number, 36, "12 are left: the window stays full");
    show_window(36, true);
    key(PANEL_KEY_PAGE_UP);
    nothing_wanted();
    cr_assert_str_eq(message_english(&p->out.message), "There are no older visits.");
    key(PANEL_KEY_PAGE_DOWN);
    cr_assert_eq(take(PANEL_WANTS_VISITS).number, 12);
    show_window(12, true);
    cr_assert_eq(p->open.at_visit, 0, "the oldest of the newer ones");
    key(PANEL_KEY_LEFT); /* beyond the edge */
    cr_assert_eq(take(PANEL_WANTS_VISITS).number, 36);
    show_window(12, true); /* could not be read: as before */
    cr_assert(!p->open.is_loading);
    cr_assert_eq(p->aim.edit.now.target[0].low, moved);
}

Test(panel, older_visits_that_are_shown_are_not_taken_for_the_newest)
{
    const struct panel_visit *newest;
    open_visit_page();
    show_window(0, false);
    key(PANEL_KEY_F5);
    key(PANEL_KEY_PAGE_UP);
    take(PANEL_WANTS_VISITS);
    show_window(24, true);
    cr_assert_eq(panel_newest(p, &newest), PANEL_MAX_VISITS);
    cr_assert_eq(newest[PANEL_MAX_VISITS - 1].id, 60);
    key(PANEL_KEY_F2);
    nothing_wanted();
    key('t'); /* by rule from the newest baseline: 160 + 5 % = 168, in the middle of the band */
    cr_assert_float_eq((p->aim.edit.now.target[0].low + p->aim.edit.now.target[0].high) / 2, 168, 1.5);
    key(PANEL_KEY_F4); /* the summary begins with the newest visit */
    cr_assert_eq(take(PANEL_WANTS_VISITS).number, 0);
    show_window(0, true);
    cr_assert_eq(p->open.kase.visit[p->open.at_visit].id, 60);
}

Test(panel, a_note_that_has_no_more_room_says_so_and_keeps_what_was_typed)
{
    begin_run();
    take_begin();
    key('n');
    cr_assert_eq(p->context, PANEL_IN_NOTE);
    for (int i = 0; i < PANEL_NOTE_MAX && strlen(p->ask.typed) < PANEL_NOTE_MAX - 2; i++)
        type("a");
    cr_assert_null(strstr(message_english(&p->out.message), "no more letters"));
    const struct panel_input wide = { .kind = PANEL_INPUT_TEXT, .text = "\xc3\xbc" }; /* two bytes, and room for one */
    panel_feed(p, &wide);
    cr_assert(strstr(message_english(&p->out.message), "no more letters"), "%s", message_english(&p->out.message));
    cr_assert_eq(strlen(p->ask.typed), PANEL_NOTE_MAX - 2);
    type("b");
    cr_assert_eq(p->ask.typed[PANEL_NOTE_MAX - 2], 'b');
}
