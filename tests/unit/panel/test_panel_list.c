/* The list of runners: a window on 5,000 of them, moved, searched, added to. Places and codes: computed from the made list. */
#include "panel/panel_parts.h"

#include "base/str.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#define N_RUNNERS 5000

static struct panel *p;
static struct panel_runners list;
static int n_asked;

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

static void
wheel(int n_steps)
{
    const struct panel_input input = { .kind = PANEL_INPUT_WHEEL, .n_steps = n_steps };
    panel_feed(p, &input);
}

/* What a store with S-0000 to S-4999 answers. */
static void
answer(const struct panel_request *q, struct panel_runners *out)
{
    char code[PANEL_CODE_MAX];
    memset(out, 0, sizeof *out);
    str_copy(out->search, sizeof out->search, q->text);
    str_copy(out->finding, sizeof out->finding, q->runner.code);
    out->n_all = N_RUNNERS;
    out->at = -1;
    out->offset = q->number;
    for (int pass = 0; pass < 2; pass++) { /* the place first, then the window */
        out->total = 0;
        for (int i = 0; i < N_RUNNERS; i++) {
            snprintf(code, sizeof code, "S-%04d", i);
            if (!strstr(code, q->text))
                continue;
            if (pass == 0 && strcmp(code, q->runner.code) == 0) {
                out->at = out->total;
                out->offset = out->at > PANEL_MAX_RUNNERS / 2 ? out->at - PANEL_MAX_RUNNERS / 2 : 0;
            }
            if (pass == 1 && out->total >= out->offset && out->n < PANEL_MAX_RUNNERS) {
                struct panel_runner *r = &out->runner[out->n++];
                *r = (struct panel_runner){ i + 1, "", (double) NAN, (double) NAN, (double) NAN, (double) NAN, "", "", 0, "" };
                str_copy(r->code, sizeof r->code, code);
            }
            out->total++;
        }
    }
}

/* The list's requests are answered; the first of another kind is left. */
static void
answer_all(void)
{
    struct panel_request q;
    while (panel_first_request(p) && panel_first_request(p)->kind == PANEL_WANTS_RUNNERS && panel_take_request(p, &q)) {
        answer(&q, &list);
        panel_set_runners(p, &list);
        n_asked++;
    }
}

static void
make_panel(void)
{
    p = calloc(1, sizeof *p);
    cr_assert(p);
    panel_init(p);
    answer_all();
    panel_list_show(p, 20);
    n_asked = 0;
}

static void
free_panel(void)
{
    free(p);
}

TestSuite(panel_list, .init = make_panel, .fini = free_panel);

#define is_chosen(code) is_chosen_at(code, __LINE__)
static void
is_chosen_at(const char *code, int line)
{
    cr_assert(panel_chosen(p), "line %d: nobody is chosen", line);
    cr_assert_str_eq(panel_chosen(p)->code, code, "line %d: %s", line, panel_chosen(p)->code);
}

/* Answers come 20 rows late, as at a held key with a store that takes two thirds of a second. */
Test(panel_list, the_arrows_go_through_all_5000_and_each_row_is_held_in_time)
{
    for (int way = 0; way < 2; way++)
        for (int i = 0; i < N_RUNNERS; i++) {
            char code[16];
            snprintf(code, sizeof code, "S-%04d", way == 0 ? i : N_RUNNERS - 1 - i);
            is_chosen(code);
            const int top = panel_list_show(p, 20);
            cr_assert(p->list.at >= top && p->list.at < top + 20 && top <= N_RUNNERS - 20);
            for (int row = top; row < top + 20; row++)
                cr_assert(panel_row(p, row), "row %d is blank at %d", row, i);
            if (i == N_RUNNERS - 1)
                break;
            key(way == 0 ? PANEL_KEY_DOWN : PANEL_KEY_UP);
            if (i % 20 == 19)
                answer_all();
        }
    cr_assert_eq(p->list.at, 0);
    cr_assert(n_asked > 50 && n_asked < 250, "%d windows", n_asked);
}

Test(panel_list, home_end_pages_and_the_wheel_move_the_choice)
{
    key(PANEL_KEY_END);
    cr_assert_null(panel_chosen(p), "its row is not held yet");
    key(PANEL_KEY_RETURN);
    cr_assert(p->page == PANEL_RUNNERS && !message_is_none(&p->out.message), "nobody may be opened in its place");
    answer_all();
    is_chosen("S-4999");
    key(PANEL_KEY_DOWN);
    is_chosen("S-4999");
    key(PANEL_KEY_PAGE_UP);
    is_chosen("S-4980"); /* 20 rows fit: 19 on, one stays in sight */
    key(PANEL_KEY_PAGE_DOWN);
    wheel(2);
    is_chosen("S-4993"); /* three rows a step */
    wheel(-1);
    is_chosen("S-4996");
    key(PANEL_KEY_HOME);
    answer_all();
    is_chosen("S-0000");
    wheel(1);
    is_chosen("S-0000");
    key('a');
    wheel(-1);
    is_chosen("S-0000");
}

Test(panel_list, what_is_typed_searches_and_nobody_is_chosen_until_it_is_answered)
{
    struct panel_request first;
    key('s');
    type("s"); /* the sign of that key is not meant for the field */
    cr_assert(p->context == PANEL_IN_SEARCH && !p->list.search[0]);
    type("9");
    cr_assert(panel_take_request(p, &first));
    cr_assert_str_eq(first.text, "9");
    type("99");
    cr_assert_null(panel_chosen(p));
    answer(&first, &list);
    panel_set_runners(p, &list); /* of a search that went on */
    cr_assert_null(panel_chosen(p));
    answer_all();
    cr_assert_eq(n_asked, 1, "of two that wait the newer is asked");
    /* S-0999, S-1999, .. S-4999; and S-999x has no place below 5000. */
    cr_assert(p->list.runners.total == 5 && p->list.runners.n_all == N_RUNNERS && p->list.at == 0);
    is_chosen("S-0999");
    key(PANEL_KEY_DOWN);
    key(PANEL_KEY_DOWN);
    is_chosen("S-2999");
    key(PANEL_KEY_BACKSPACE);
    answer_all();
    cr_assert_str_eq(p->list.search, "99");
    cr_assert_eq(p->list.runners.total, 95); /* x99y or 99 at the end of the four digits: 50 + 50, less x999: 5 */
    type("zz");
    answer_all();
    cr_assert(p->list.runners.total == 0 && !panel_chosen(p));
    key(PANEL_KEY_RETURN);
    cr_assert_eq(p->context, PANEL_ON_RUNNERS, "the search stays, and keys are keys again");
    key(PANEL_KEY_RETURN);
    cr_assert_eq(p->page, PANEL_RUNNERS);
}

Test(panel_list, who_was_found_stays_chosen_when_escape_clears_the_search)
{
    key('/');
    type("/");
    type("3456");
    answer_all();
    is_chosen("S-3456");
    key(PANEL_KEY_ESCAPE);
    cr_assert(p->context == PANEL_ON_RUNNERS && !p->list.search[0]);
    cr_assert_null(panel_chosen(p));
    answer_all();
    is_chosen("S-3456");
    cr_assert_eq(p->list.at, 3456);
}

Test(panel_list, a_saved_runner_is_found_where_it_belongs_however_long_the_list_is)
{
    struct panel_request q;
    key('a');
    type("a");
    type("S-4321"); /* held by the store, not by the window: only the store can know */
    cr_assert_str_eq(p->ask.form.why[PANEL_FORM_CODE], "");
    key(PANEL_KEY_RETURN);
    cr_assert(panel_take_request(p, &q) && q.kind == PANEL_WANTS_SAVE_RUNNER);
    cr_assert_null(panel_chosen(p), "Enter must not open the one before");
    answer_all();
    is_chosen("S-4321");
    cr_assert_eq(p->list.at, 4321);
}

static void
refuse(const char *code)
{
    struct panel_runner r = { 0, "", 71.5, (double) NAN, (double) NAN, 4, "flat", "", 0, "" };
    snprintf(r.code, sizeof r.code, "%s", code);
    panel_runner_refused(p, &r);
}

Test(panel_list, a_code_that_the_store_has_brings_the_form_back_with_all_that_was_typed)
{
    refuse("S-4321");
    cr_assert_eq(p->context, PANEL_IN_FORM);
    cr_assert_eq(p->ask.form.at, PANEL_FORM_CODE);
    cr_assert_str_eq(p->ask.form.why[PANEL_FORM_CODE], "another runner has this code");
    cr_assert_str_eq(p->ask.form.text[PANEL_FORM_CODE], "S-4321");
    cr_assert_str_eq(p->ask.form.text[PANEL_FORM_MASS], "71.5");
    cr_assert_str_eq(p->ask.form.text[PANEL_FORM_SHOE], "flat");
    type("b");
    key(PANEL_KEY_RETURN);
    struct panel_request q;
    cr_assert(panel_take_request(p, &q) && q.kind == PANEL_WANTS_SAVE_RUNNER);
    cr_assert_str_eq(q.runner.code, "S-4321b");
    cr_assert(q.runner.pain_limit == 4 && q.runner.id == 0);
}

Test(panel_list, a_refused_form_waits_while_something_else_is_asked_and_a_second_is_told)
{
    key('s');
    refuse("S-0007");
    refuse("S-0008");
    cr_assert_eq(p->context, PANEL_IN_SEARCH);
    cr_assert(strstr(message_english(&p->out.message), "S-0008"), "%s", message_english(&p->out.message));
    key(PANEL_KEY_ESCAPE);
    cr_assert_eq(p->context, PANEL_IN_FORM);
    cr_assert_str_eq(p->ask.form.text[PANEL_FORM_CODE], "S-0007");
}

Test(panel_list, the_title_says_reading_until_the_row_is_there)
{
    char title[PANEL_TITLE_MAX];
    panel_title(p, title);
    cr_assert_str_eq(title, "Underfoot: Runners, ready");
    key(PANEL_KEY_END);
    panel_title(p, title);
    cr_assert_str_eq(title, "Underfoot: Runners, reading");
    answer_all();
    panel_title(p, title);
    cr_assert_str_eq(title, "Underfoot: Runners, ready");
}

Test(panel_list, a_list_that_became_shorter_keeps_the_choice_within_it)
{
    key(PANEL_KEY_END);
    answer_all();
    list.total = list.n_all = list.offset + 10;
    list.n = 10;
    panel_set_runners(p, &list);
    cr_assert_eq(p->list.at, list.total - 1);
    cr_assert(panel_chosen(p));
}
