/* Requests and answers between panel and worker: none is lost, and none is taken for another's. */
#include "desk/desk_parts.h"

#include "base/str.h"
#include "aid/said.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static struct desk *d;

/* A desk without a window, a store or a worker's thread: jobs stay where they are put. */
static void
make_desk(void)
{
    d = calloc(1, sizeof *d);
    cr_assert(d);
    pthread_mutex_init(&d->work.guard, NULL);
    pthread_cond_init(&d->work.wake, NULL);
    pthread_cond_init(&d->work.done, NULL);
    desk_answers_init(&d->work.answers);
    panel_init(&d->panel);
    while (panel_first_request(&d->panel))
        panel_drop_request(&d->panel);
}

static void
free_desk(void)
{
    free(d);
}

TestSuite(desk_ask, .init = make_desk, .fini = free_desk);

static void
key(int k)
{
    const struct panel_input input = { .kind = PANEL_INPUT_KEY, .key = k };
    panel_feed(&d->panel, &input);
}

/* A runner's visit page, its sensor being opened. */
static void
open_sensor(void)
{
    static struct panel_runners list;
    static struct panel_case kase;
    list.n = list.total = list.n_all = 1;
    snprintf(list.runner[0].code, sizeof list.runner[0].code, "R-014");
    kase.runner = list.runner[0];
    kase.plan_now = -1;
    panel_set_runners(&d->panel, &list);
    key(PANEL_KEY_RETURN);
    panel_set_case(&d->panel, &kase);
    key(PANEL_KEY_RETURN);
    desk_take_requests(d);
    cr_assert_eq(d->panel.visit.sensor, PANEL_SENSOR_OPENING);
}

Test(desk_ask, the_answer_of_an_opening_that_was_given_up_is_not_the_new_ones)
{
    open_sensor();
    key(PANEL_KEY_ESCAPE); /* given up */
    key('y');
    key(PANEL_KEY_RETURN); /* and asked for again */
    desk_take_requests(d);
    cr_assert_eq(d->panel.visit.sensor, PANEL_SENSOR_OPENING);
    desk_answers_sensor(&d->work.answers, PANEL_SENSOR_OPEN, said("of the first"));
    desk_take_answers(d);
    cr_assert_eq(d->panel.visit.sensor, PANEL_SENSOR_OPENING, "the first one's answer was taken for the second's");
    cr_assert(!d->is_run_open, "the worker closes that run");
    desk_answers_sensor(&d->work.answers, PANEL_SENSOR_REFUSED, said("of the second"));
    desk_take_answers(d);
    cr_assert_eq(d->panel.visit.sensor, PANEL_SENSOR_REFUSED);
    cr_assert_str_eq(message_english(&d->panel.visit.sensor_told), "of the second");
}

Test(desk_ask, the_answer_of_an_opening_after_the_visit_was_given_up_opens_nothing)
{
    open_sensor();
    key(PANEL_KEY_ESCAPE);
    key('y');
    desk_take_requests(d);
    desk_answers_sensor(&d->work.answers, PANEL_SENSOR_OPEN, said("too late"));
    desk_take_answers(d);
    cr_assert_eq(d->panel.visit.sensor, PANEL_SENSOR_CLOSED);
    cr_assert(!d->is_run_open);
}

Test(desk_ask, a_request_that_finds_the_worker_busy_waits_in_the_panel_in_order)
{
    open_sensor();
    const int n_before = d->work.n_jobs;
    for (int i = 0; i < 40; i++) {
        desk_take_requests(d);
        panel_do(&d->panel, PANEL_DO_PRINT, i);
    }
    desk_take_requests(d);
    cr_assert_eq(d->work.n_jobs, DESK_WORK_N_JOBS);
    cr_assert_eq(d->panel.out.n_requests, 40 - (DESK_WORK_N_JOBS - n_before), "the others wait");
    d->work.n_jobs = 0; /* done */
    desk_take_requests(d);
    cr_assert_eq(d->panel.out.n_requests, 0);
    cr_assert_eq(d->work.n_jobs, 40 - (DESK_WORK_N_JOBS - n_before));
}

Test(desk_ask, input_is_refused_with_a_word_before_a_request_would_be_lost)
{
    open_sensor();
    d->is_begin_due = true; /* nothing is taken now */
    for (int i = 0; i < 1000; i++) {
        desk_take_requests(d);
        key(PANEL_KEY_F4);
        key('r');
    }
    cr_assert_eq(d->panel.out.n_requests, PANEL_N_REQUESTS - PANEL_N_RESERVED + 1);
    cr_assert_str_eq(message_english(&d->panel.out.message), "Too much at once: wait a moment, then try that again.");
    d->is_begin_due = false;
    d->work.n_jobs = 0;
    desk_take_requests(d);
    d->work.n_jobs = 0;
    desk_take_requests(d);
    cr_assert_eq(d->panel.out.n_requests, 0);
}

Test(desk_ask, every_message_of_the_worker_is_shown_for_a_while)
{
    struct host_time now = { UNITS_US_PER_S };
    char text[32];
    for (int i = 0; i < DESK_N_MESSAGES; i++) {
        snprintf(text, sizeof text, "message %d", i);
        desk_answers_say(&d->work.answers, said(text));
    }
    for (int i = 0; i < DESK_N_MESSAGES; i++, now.us += 3 * UNITS_US_PER_S) {
        panel_set_now(&d->panel, now);
        desk_take_answers(d);
        desk_take_answers(d); /* not the next one at once */
        snprintf(text, sizeof text, "message %d", i);
        cr_assert_str_eq(message_english(&d->panel.out.message), text);
    }
}

Test(desk_ask, a_message_that_was_answered_by_a_key_makes_room_for_the_next)
{
    panel_set_now(&d->panel, (struct host_time){ UNITS_US_PER_S });
    desk_answers_say(&d->work.answers, said("one"));
    desk_answers_say(&d->work.answers, said("two"));
    desk_take_answers(d);
    cr_assert_str_eq(message_english(&d->panel.out.message), "one");
    key('a');
    desk_take_answers(d);
    cr_assert_str_eq(message_english(&d->panel.out.message), "two");
}

Test(desk_ask, what_came_of_a_calibration_is_not_lost_under_the_next_look_at_it)
{
    static struct panel_calibration c;
    c.is_changed = c.is_refused = true;
    desk_answers_calibration(&d->work.answers, &c);
    c.is_changed = c.is_refused = false;
    desk_answers_calibration(&d->work.answers, &c);
    cr_assert(desk_answers_take(&d->work.answers, &d->answer));
    cr_assert(d->answer.calibration.is_changed && d->answer.calibration.is_refused);
    desk_answers_calibration(&d->work.answers, &c);
    cr_assert(desk_answers_take(&d->work.answers, &d->answer));
    cr_assert(!d->answer.calibration.is_changed && !d->answer.calibration.is_refused, "taken once");
}

Test(desk_ask, what_is_to_be_kept_is_handed_over_as_the_desk_is_left)
{
    open_sensor();
    d->is_begin_due = true;
    d->work.n_jobs = 0;
    key('n'); /* no page with a note: nothing */
    panel_do(&d->panel, PANEL_DO_PAGE, PANEL_SUMMARY);
    panel_do(&d->panel, PANEL_DO_NOTE, 0);
    for (const char *c = "calves"; *c; c++) {
        struct panel_input input = { .kind = PANEL_INPUT_TEXT };
        input.text[0] = *c;
        panel_feed(&d->panel, &input);
    }
    key(PANEL_KEY_RETURN);
    desk_take_requests(d);
    cr_assert_eq(d->work.n_jobs, 0, "it waits");
    desk_leave_requests(d);
    cr_assert_eq(d->work.n_jobs, 1);
    cr_assert_eq(d->work.job[0].kind, PANEL_WANTS_NOTE);
    cr_assert_str_eq(d->work.job[0].text, "calves");
}

/* A visit that is kept, with room for one thing more that was typed. */
static unsigned char memory[2];
static void
keep_a_visit(void)
{
    open_sensor();
    d->work.n_jobs = 0;
    d->is_run_open = true;
    d->verdict.time.us = 7654321;
    atomic_store(&d->run.run.is_keeping, true);
    ring_init(&d->run.run.visit.writer.from_main, memory, 1, 2);
    ring_put(&d->run.run.visit.writer.from_main, "a");
}

Test(desk_ask, a_note_or_pain_that_the_run_has_no_room_for_is_kept_by_the_worker_at_its_moment_and_that_is_said)
{
    struct panel_request note = { .kind = PANEL_WANTS_NOTE, .number = 1, .text = "left calf" };
    const struct panel_request pain = { .kind = PANEL_WANTS_PAIN,
                                        .pain = { VISIT_FLOW_PAIN_WAS_DURING, { 5000000 }, 3, (double) NAN } };
    keep_a_visit();
    cr_assert(desk_obey(d, &note));
    cr_assert(d->work.n_jobs == 0 && message_is_none(&d->panel.out.message), "the run has it");
    cr_assert(desk_obey(d, &note));
    cr_assert_eq(d->work.n_jobs, 1);
    cr_assert_str_eq(d->work.job[0].text, "left calf");
    cr_assert_eq(d->work.job[0].pain.at.us, 7654321);
    cr_assert_str_eq(message_english(&d->panel.out.message), "The disc is slow: what you entered is kept a little later.");
    message_init(&d->panel.out.message, MESSAGE_NONE);
    cr_assert(desk_obey(d, &pain));
    cr_assert_eq(d->work.n_jobs, 2);
    cr_assert(d->work.job[1].pain.at.us == 5000000 && d->work.job[1].pain.pain == 3);
    cr_assert_str_eq(message_english(&d->panel.out.message), "The disc is slow: what you entered is kept a little later.");
    cr_assert_eq(ring_dropped(&d->run.run.visit.writer.from_main), 0, "not counted as lost: it is kept");
    d->work.n_jobs = DESK_WORK_N_JOBS;
    cr_assert(!desk_obey(d, &note), "it waits in the panel");
}

Test(desk_ask, a_runner_whose_code_is_taken_comes_back_to_the_form_and_a_second_is_told)
{
    struct panel_runner r = { .code = "R-014", .shoe = "flat" };
    desk_answers_refused(&d->work.answers, &r);
    str_copy(r.code, sizeof r.code, "R-015");
    desk_answers_refused(&d->work.answers, &r);
    desk_take_answers(d);
    cr_assert_eq(d->panel.context, PANEL_IN_FORM);
    cr_assert_str_eq(d->panel.ask.form.text[PANEL_FORM_CODE], "R-014");
    cr_assert_str_eq(d->panel.ask.form.text[PANEL_FORM_SHOE], "flat");
    cr_assert_str_eq(message_english(&d->panel.out.message), "R-015 was not saved: another runner has this code.");
}

/* The writer's part: so many of what was said are on disc, so many refused. */
static void
settle(uint64_t n_said, uint64_t n_refused)
{
    d->run.run.visit.writer.status.n_said = n_said;
    d->run.run.visit.writer.status.n_said_refused = n_refused;
    desk_take_answers(d);
}

static void
mark_once(void)
{
    const struct panel_request mark = { .kind = PANEL_WANTS_NOTE, .number = 2, .text = "mark" };
    cr_assert(desk_obey(d, &mark));
}

Test(desk_ask, a_mark_is_shown_as_kept_only_once_it_is_on_disc)
{
    static unsigned char room[8];
    keep_a_visit();
    ring_init(&d->run.run.visit.writer.from_main, room, 1, 8);
    ring_put(&d->run.run.visit.writer.from_main, "a"); /* a pain before it */
    mark_once();
    settle(1, 0);
    cr_expect_eq(d->panel.visit.n_marks, 0, "the pain is on disc, the mark is not");
    cr_expect_str_eq(message_english(&d->panel.out.message), "");
    mark_once(); /* does not hold up the first */
    mark_once();
    settle(2, 0);
    cr_expect_eq(d->panel.visit.n_marks, 1);
    cr_expect_str_eq(message_english(&d->panel.out.message), "Marked.");
    settle(3, 0);
    cr_expect_eq(d->panel.visit.n_marks, 1);
    settle(4, 0);
    cr_expect_eq(d->panel.visit.n_marks, 3);
    mark_once();
    settle(5, 1);
    cr_expect_eq(d->panel.visit.n_marks, 3);
    cr_expect_str_eq(message_english(&d->panel.out.message), "The mark is not kept: the store refuses it.");
    mark_once();
    settle(6, 1);
    cr_expect_eq(d->panel.visit.n_marks, 4, "what was refused before is not this one");
    cr_expect_str_eq(message_english(&d->panel.out.message), "Marked.");
}

Test(desk_ask, a_mark_that_the_worker_keeps_is_shown_once_it_has)
{
    keep_a_visit();
    ring_put(&d->run.run.visit.writer.from_main, "b"); /* no room */
    mark_once();
    cr_assert_eq(d->work.n_jobs, 1);
    cr_expect_eq(d->work.job[0].pain.at.us, 7654321, "at its moment");
    settle(2, 0);
    cr_expect_eq(d->panel.visit.n_marks, 0);
    desk_answers_kept(&d->work.answers, &d->work.job[0]);
    desk_take_answers(d);
    cr_expect_eq(d->panel.visit.n_marks, 1);
    cr_expect_str_eq(message_english(&d->panel.out.message), "Marked.");
    desk_take_answers(d);
    cr_expect_eq(d->panel.visit.n_marks, 1, "taken once");
}

Test(desk_ask, a_note_that_the_worker_kept_is_shown_once_also_when_the_page_was_read_again_meanwhile)
{
    static struct panel_case kase = { .plan_now = -1, .n_visits = 1 };
    const struct panel_request note = { .kind = PANEL_WANTS_NOTE, .visit_id = 4, .text = "calf" };
    const struct panel_request other = { .kind = PANEL_WANTS_NOTE, .visit_id = 4, .text = "knee" };
    kase.visit[0].id = 4;
    panel_set_case(&d->panel, &kase);
    cr_assert_str_eq(d->panel.open.kase.visit[0].notes, "");
    desk_answers_kept(&d->work.answers, &note);
    str_copy(kase.visit[0].notes, sizeof kase.visit[0].notes, "calf"); /* read after it was kept */
    desk_answers_case(&d->work.answers, &kase);
    desk_answers_kept(&d->work.answers, &other);
    desk_take_answers(d);
    cr_assert_str_eq(d->panel.open.kase.visit[0].notes, "calf\nknee");
}

Test(desk_ask, marks_of_a_run_that_ended_are_not_told_of_the_next)
{
    keep_a_visit();
    mark_once();
    d->is_run_open = false;
    desk_take_answers(d);
    d->is_run_open = true;
    settle(9, 0);
    cr_expect_eq(d->panel.visit.n_marks, 0);
    cr_expect_str_eq(message_english(&d->panel.out.message), "");
}

Test(desk_ask, all_is_kept_only_when_no_job_that_keeps_waits_and_no_visit_is_left)
{
    cr_assert(desk_work_has_kept_all(&d->work));
    d->work.job[0].kind = PANEL_WANTS_CASE;
    d->work.job[1].kind = PANEL_WANTS_NOTE;
    d->work.n_jobs = 1;
    cr_expect(desk_work_has_kept_all(&d->work), "one that only reads");
    d->work.n_jobs = 2;
    cr_expect_not(desk_work_has_kept_all(&d->work));
    d->work.n_jobs = 0;
    d->work.is_left = true;
    cr_expect_not(desk_work_has_kept_all(&d->work));
    d->work.run = &d->run;
    cr_expect_not(desk_keep_is_elsewhere(&d->work));
    d->run.run.visit.is_open = true;
    cr_expect(desk_keep_is_elsewhere(&d->work), "ended, and no place took it");
    d->run.run.visit.is_open = false;
    d->run.run.visit.aside[0] = '/';
    cr_expect(desk_keep_is_elsewhere(&d->work));
}
