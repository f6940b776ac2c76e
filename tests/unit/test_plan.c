/* needs: coach/plan.c */
#include "coach/plan.h"

#include <criterion/criterion.h>
#include <math.h>

static const struct plan PLAN = { 4,
                                  { { VERDICT_BLOCK_WARM_UP, 60, 2.5, 0 },
                                    { VERDICT_BLOCK_BASELINE, 30, 2.8, 1 },
                                    { VERDICT_BLOCK_COACHED, 200, 2.8, 0.5 },
                                    { VERDICT_BLOCK_SILENT, 40, NAN, 1 } } };

static struct plan_now
at(const struct plan *p, double s)
{
    struct plan_now now;
    plan_at(p, units_us_from_s(s), &now);
    return now;
}

Test(plan, blocks_follow_each_other_and_end)
{
    static const struct {
        double s;
        int index;
        enum verdict_block kind;
        double left_s;
    } rows[] = {
        { 0, 0, VERDICT_BLOCK_WARM_UP, 60 },       { 59.9, 0, VERDICT_BLOCK_WARM_UP, 0.1 },
        { 60, 1, VERDICT_BLOCK_BASELINE, 30 },     { 90, 2, VERDICT_BLOCK_COACHED, 200 },
        { 289.5, 2, VERDICT_BLOCK_COACHED, 0.5 },  { 290, 3, VERDICT_BLOCK_SILENT, 40 },
        { 330, 4, VERDICT_BLOCK_ENDED, NAN },      { 1e6, 4, VERDICT_BLOCK_ENDED, NAN },
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        const struct plan_now now = at(&PLAN, rows[i].s);
        cr_assert_eq(now.index, rows[i].index, "at %g s", rows[i].s);
        cr_assert_eq(now.kind, rows[i].kind, "at %g s", rows[i].s);
        if (isnan(rows[i].left_s))
            cr_assert(isnan(now.left_s));
        else
            cr_assert_float_eq(now.left_s, rows[i].left_s, 1e-6, "at %g s", rows[i].s);
    }
}

Test(plan, feedback_is_shown_in_coached_blocks_alone_and_by_their_share)
{
    int n_shown = 0, n_shown_first_window = 0;
    for (int ms = 0; ms < 330000; ms += 100) {
        const bool is_shown = at(&PLAN, ms * 1e-3).is_feedback_shown;
        n_shown += is_shown;
        if (ms >= 90000 && ms < 90000 + 200000 / 7)
            n_shown_first_window += is_shown;
        if (ms < 90000 || ms >= 290000)
            cr_assert(!is_shown);
    }
    cr_assert_leq(abs(n_shown - 1000), 7); /* half of 200 s, to one sample a window */
    cr_assert_leq(abs(n_shown_first_window - 143), 1); /* 200 s makes 7 windows */
}

Test(plan, shares_of_all_and_nothing)
{
    struct plan p = { 1, { { VERDICT_BLOCK_COACHED, 65, NAN, 1 } } };
    for (double s = 0; s < 65; s += 0.37)
        cr_assert(at(&p, s).is_feedback_shown);
    p.block[0].feedback_share = 0;
    for (double s = 0; s < 65; s += 0.37)
        cr_assert(!at(&p, s).is_feedback_shown);
}

Test(plan, free_running_shows_and_has_no_end)
{
    struct plan p;
    plan_free(&p);
    const struct plan_now now = at(&p, 12345);
    cr_assert_eq(now.kind, VERDICT_BLOCK_FREE);
    cr_assert(now.is_feedback_shown && isnan(now.left_s) && isnan(now.length_s));
}

Test(plan, the_clock_counts_device_time_without_gaps_and_pauses)
{
    struct plan_clock c;
    plan_clock_init(&c);
    cr_assert_eq(plan_clock_feed(&c, (struct dev_time){ 5000000 }, true), 0);
    cr_assert_eq(plan_clock_feed(&c, (struct dev_time){ 5010000 }, true), 10000);
    cr_assert_eq(plan_clock_feed(&c, (struct dev_time){ 6010000 }, false), 10000);
    cr_assert_eq(plan_clock_feed(&c, (struct dev_time){ 6020000 }, true), 20000);
    cr_assert_eq(plan_clock_feed(&c, (struct dev_time){ 46020000 }, true), 20000); /* sensor was gone */
    cr_assert_eq(plan_clock_feed(&c, (struct dev_time){ 46010000 }, true), 20000); /* never back */
    cr_assert_eq(plan_clock_feed(&c, (struct dev_time){ 46030000 }, true), 40000);
}
