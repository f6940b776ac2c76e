#include "coach/target_edit.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

static struct target_edit edit;

static void
begin(void)
{
    const struct target_set set = { .n = 2,
                                    .target = { { METRIC_CADENCE_SPM, 162, 170, 158, true },
                                                { METRIC_CONTACT_MS, 200, 280, 265, false } },
                                    .focus = METRIC_CADENCE_SPM };
    const double spread[] = { 3, 7 };
    target_edit_init(&edit, &set, spread);
}

TestSuite(target_edit, .init = begin);

Test(target_edit, undo_takes_edits_back_one_by_one_and_redo_brings_them_again)
{
    target_edit_band(&edit, 0, 164, 172);
    target_edit_shift(&edit, 0, 2);
    cr_assert_eq(edit.now.target[0].low, 166);
    cr_assert(target_edit_undo(&edit));
    cr_assert_eq(edit.now.target[0].low, 164);
    cr_assert(target_edit_undo(&edit));
    cr_assert_eq(edit.now.target[0].low, 162);
    cr_assert(!target_edit_undo(&edit), "nothing is left");
    cr_assert(target_edit_redo(&edit));
    cr_assert(target_edit_redo(&edit));
    cr_assert_eq(edit.now.target[0].low, 166);
    cr_assert(!target_edit_redo(&edit));
}

Test(target_edit, one_band_with_a_warning_is_enough_whichever_it_is)
{
    cr_expect_not(target_edit_is_warned(&edit));
    target_edit_band(&edit, 0, 162, 164.5); /* narrower than the spread of 3 */
    cr_expect(target_edit_is_warned(&edit));
    target_edit_band(&edit, 0, 162, 165);
    cr_expect_not(target_edit_is_warned(&edit));
    target_edit_band(&edit, 1, 200, 206.5); /* of 7 */
    cr_expect(target_edit_is_warned(&edit));
}

Test(target_edit, a_new_edit_forgets_what_was_undone)
{
    target_edit_band(&edit, 0, 164, 172);
    target_edit_undo(&edit);
    target_edit_focus(&edit, METRIC_CONTACT_MS);
    cr_assert(!target_edit_redo(&edit));
    cr_assert(target_edit_undo(&edit));
    cr_assert_eq(edit.now.focus, METRIC_CADENCE_SPM);
}

Test(target_edit, a_drag_is_one_edit_and_a_touch_none)
{
    target_edit_begin_drag(&edit);
    for (int i = 1; i <= 50; i++)
        target_edit_band(&edit, 0, 162 + 0.1 * i, 170);
    cr_assert(!target_edit_undo(&edit), "not in the middle of it");
    target_edit_end_drag(&edit);
    target_edit_begin_drag(&edit);
    target_edit_end_drag(&edit);
    cr_assert_float_eq(edit.now.target[0].low, 167, 1e-9);
    cr_assert(target_edit_undo(&edit));
    cr_assert_eq(edit.now.target[0].low, 162);
    cr_assert(!target_edit_undo(&edit));
}

static struct host_time
at_ms(int ms)
{
    return (struct host_time){ ms * UNITS_US_PER_MS };
}

Test(target_edit, nudges_without_a_pause_are_one_edit)
{
    for (int i = 1; i <= 100; i++)
        target_edit_nudge(&edit, 0, 0, 162 + i, 170 + i, at_ms(100 * i));
    cr_assert_eq(edit.now.target[0].low, 262);
    cr_assert(target_edit_undo(&edit));
    cr_assert_eq(edit.now.target[0].low, 162, "however many there were");
    cr_assert(!target_edit_undo(&edit));
    cr_assert(target_edit_redo(&edit));
    cr_assert_eq(edit.now.target[0].low, 262);
}

Test(target_edit, a_pause_another_part_another_target_and_another_edit_each_begin_an_edit)
{
    target_edit_nudge(&edit, 0, 0, 163, 171, at_ms(0));
    target_edit_nudge(&edit, 0, 0, 164, 172, at_ms(2000)); /* a pause */
    target_edit_nudge(&edit, 0, 1, 165, 172, at_ms(2100)); /* the low edge alone */
    target_edit_nudge(&edit, 1, 1, 202, 280, at_ms(2200));
    target_edit_focus(&edit, METRIC_CONTACT_MS);
    target_edit_nudge(&edit, 1, 1, 204, 280, at_ms(2300));
    target_edit_rest(&edit);
    target_edit_nudge(&edit, 1, 1, 206, 280, at_ms(2400));
    int n = 0;
    while (target_edit_undo(&edit))
        n++;
    cr_assert_eq(n, 7);
    cr_assert(edit.now.target[0].low == 162 && edit.now.target[1].low == 200);
}

Test(target_edit, nudges_that_come_back_to_where_they_began_are_no_edit)
{
    target_edit_nudge(&edit, 0, 0, 163, 171, at_ms(0));
    target_edit_nudge(&edit, 0, 0, 162, 170, at_ms(100));
    cr_assert(!target_edit_undo(&edit));
    target_edit_nudge(&edit, 0, 0, 163, 171, at_ms(200));
    cr_assert(target_edit_undo(&edit));
    cr_assert_eq(edit.now.target[0].low, 162);
}

Test(target_edit, a_nudge_that_goes_on_leaves_the_band_when_an_edge_is_unknown)
{
    target_edit_nudge(&edit, 0, 0, 163, 171, at_ms(0));
    target_edit_nudge(&edit, 0, 0, (double) NAN, 172, at_ms(100));
    target_edit_nudge(&edit, 0, 0, 164, (double) INFINITY, at_ms(200));
    cr_assert(edit.now.target[0].low == 163 && edit.now.target[0].high == 171);
}

Test(target_edit, edges_stay_in_order_and_apart_and_finite)
{
    target_edit_band(&edit, 0, 180, 170);
    cr_assert(edit.now.target[0].low == 170 && edit.now.target[0].high == 180);
    target_edit_band(&edit, 0, 175, 175);
    cr_assert_lt(edit.now.target[0].low, edit.now.target[0].high);
    target_edit_band(&edit, 0, (double) NAN, 180);
    cr_assert_lt(edit.now.target[0].low, edit.now.target[0].high);
}

Test(target_edit, a_band_around_the_baseline_asks_for_no_change)
{
    target_edit_band(&edit, 0, 155, 165);
    cr_assert(!edit.now.target[0].is_change);
    target_edit_band(&edit, 1, 200, 250);
    cr_assert(edit.now.target[1].is_change);
}

Test(target_edit, bounds_warn_with_figures_and_forbid_nothing)
{
    struct message told;
    const char *text;
    cr_assert_eq(target_edit_warnings(&edit, 0), 0);
    target_edit_band(&edit, 0, 176, 184); /* 180 is 13.9 % over 158 */
    cr_assert_eq(target_edit_warnings(&edit, 0), TARGET_WARN_CADENCE_FAR);
    target_warning_tell(edit.now.target, 0, 3, TARGET_WARN_CADENCE_FAR, &told);
    text = message_english(&told);
    cr_assert(strstr(text, "+13.9 %") && strstr(text, "158.0"), "%s", text);
    target_edit_band(&edit, 0, 165, 167);
    cr_assert_eq(target_edit_warnings(&edit, 0), TARGET_WARN_NARROW);
    target_edit_band(&edit, 1, 200, 250);
    cr_assert_eq(target_edit_warnings(&edit, 1), TARGET_WARN_MANY);
    target_warning_tell(edit.now.target, 0, 3, TARGET_WARN_NARROW, &told);
    text = message_english(&told);
    cr_assert(strstr(text, "2 steps/min wide") && strstr(text, "varies by 3"), "%s", text);
}

Test(target_edit, warnings_say_metrics_in_words_not_as_tables_have_them)
{
    struct message told;
    const char *text;
    for (int m = 0; m < METRIC_COUNT; m++) {
        const struct target t = { (enum metric) m, 170, 171, 160, true };
        cr_assert(!strchr(target_metric_words(t.metric), '_'), "%s", target_metric_words(t.metric));
        for (unsigned bit = 1; bit <= TARGET_WARN_MANY; bit <<= 1) {
            target_warning_tell(&t, 0, 3, (enum target_warning) bit, &told);
            text = message_english(&told);
            cr_assert(text[0] && !strchr(text, '_'), "%s", text);
        }
    }
}

Test(target_edit, more_edits_than_are_kept_forget_the_oldest)
{
    for (int i = 0; i < TARGET_EDIT_N_KEPT + 10; i++)
        target_edit_shift(&edit, 0, 0.1);
    int n = 0;
    while (target_edit_undo(&edit))
        n++;
    cr_assert_eq(n, TARGET_EDIT_N_KEPT);
    cr_assert_float_eq(edit.now.target[0].low, 163, 1e-9);
    n = 0;
    while (target_edit_redo(&edit))
        n++;
    cr_assert_eq(n, TARGET_EDIT_N_KEPT);
}

Test(target_edit, the_set_becomes_a_command)
{
    const struct command c = target_edit_command(&edit);
    cr_assert(c.kind == COMMAND_TARGETS && c.n_targets == 2 && c.focus == METRIC_CADENCE_SPM);
    cr_assert_eq(c.target[1].high, 280);
}
