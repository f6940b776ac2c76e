/* test_remeasure.c - two lists of steps against each other. */
#include "aid/store_rig.h"
#include "report/remeasure.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { N = 40 };

static struct coached_step then[N + 4], now[N + 4];
static struct remeasure r;

/* Both alike, 400 ms a step (aid/store_rig.h). */
static void
fill(void)
{
    for (uint32_t i = 0; i < N; i++)
        then[i] = now[i] = store_rig_step(i + 1, true);
}

TestSuite(remeasure, .init = fill);

static void
compare(size_t n_then, size_t n_now)
{
    remeasure_compare((struct remeasure_steps){ then, n_then }, (struct remeasure_steps){ now, n_now }, &r);
}

static char *
printed(void)
{
    char *text = NULL;
    size_t len = 0;
    FILE *f = open_memstream(&text, &len);
    remeasure_print(f, &r);
    fclose(f);
    return text;
}

static void
drop(struct coached_step *list, size_t n, size_t at)
{
    memmove(&list[at], &list[at + 1], (n - at - 1) * sizeof *list);
}

Test(remeasure, equal_steps_are_all_the_same_and_nothing_is_printed)
{
    compare(N, N);
    cr_expect_eq(r.n_steps, N);
    cr_expect_eq(r.n_same, N);
    char *text = printed();
    cr_expect_str_eq(text, "");
    free(text);
}

Test(remeasure, every_field_alone_makes_a_step_differ)
{
    struct step *s = &now[7].step;
    const struct step as_it_was = *s;
    for (int field = 0; field < REMEASURE_N_FIELDS; field++) {
        switch (field) {
        case REMEASURE_TOUCHDOWN_MS:
            s->touchdown.us++;
            break;
        case REMEASURE_TOE_OFF_MS:
            s->toe_off.us++;
            break;
        case REMEASURE_COP_FWD_MM:
            s->cop_fwd_mm = nextafter(s->cop_fwd_mm, 1e9);
            break;
        case REMEASURE_COP_RIGHT_MM:
            s->cop_right_mm = nextafter(s->cop_right_mm, 1e9);
            break;
        case REMEASURE_BODY_WEIGHT_N:
            s->body_weight_n = nextafter(s->body_weight_n, 1e9);
            break;
        case REMEASURE_SIDE:
            s->foot = STEP_FOOT_UNKNOWN;
            break;
        case REMEASURE_GAIT:
            s->gait = STEP_GAIT_WALKING;
            break;
        case REMEASURE_STRIKE_ZONE:
            s->zone = s->zone == STEP_ZONE_FORE ? STEP_ZONE_REAR : STEP_ZONE_FORE;
            break;
        case REMEASURE_FLAGS:
            s->flags ^= STEP_FLAG_GAP;
            break;
        case REMEASURE_STANDING:
            s->is_settled = false;
            break;
        default: /* step 8 lacks metrics 1, 8, 15 ... */
            s->value[field] = s->standing[field] == METRIC_MISSING ? s->value[field] : nextafter(s->value[field], 1e9);
        }
        compare(N, N);
        const bool is_missing = field < METRIC_COUNT && s->standing[field] == METRIC_MISSING;
        cr_expect_eq(r.n_same, is_missing ? N : N - 1, "field %d", field);
        cr_expect_eq(r.figure[field].n_differing, !is_missing, "field %d", field);
        *s = as_it_was;
    }
    s->standing[METRIC_CONTACT_MS + 1] = METRIC_MEASURED + METRIC_ESTIMATED - s->standing[METRIC_CONTACT_MS + 1];
    compare(N, N);
    cr_expect_eq(r.figure[REMEASURE_STANDING].n_differing, 1, "measured is not estimated");
}

Test(remeasure, the_largest_keeps_its_sign_and_the_mean_is_of_those_that_differ)
{
    now[2].step.value[METRIC_CONTACT_MS] += 1;
    now[4].step.value[METRIC_CONTACT_MS] -= 4;
    compare(N, N);
    const struct remeasure_figure *f = &r.figure[METRIC_CONTACT_MS];
    cr_expect_eq(f->n_differing, 2);
    cr_expect_float_eq(f->largest, -4, 1e-9);
    cr_expect_float_eq(f->mean, -1.5, 1e-9); /* (1 - 4) / 2 */
    cr_expect_eq(r.n_same, N - 2);
    char *text = printed();
    cr_expect_not_null(strstr(text, "contact_ms                   2     -4.0000     -1.5000       0       0\n"), "%s", text);
    free(text);
}

Test(remeasure, a_value_on_one_side_only_is_lost_or_new_and_never_a_difference)
{
    now[2].step.standing[METRIC_CONTACT_MS] = METRIC_MISSING;
    then[4].step.value[METRIC_CONTACT_MS] = (double) NAN;
    then[4].step.standing[METRIC_CONTACT_MS] = METRIC_MISSING;
    compare(N, N);
    const struct remeasure_figure *f = &r.figure[METRIC_CONTACT_MS];
    cr_expect(f->n_lost == 1 && f->n_new == 1 && f->n_differing == 0 && isnan(f->largest) && isnan(f->mean));
    cr_expect_eq(r.n_same, N - 2);
}

Test(remeasure, what_is_missing_on_both_sides_is_the_same_whatever_stands_there)
{
    then[0].step.standing[METRIC_CONTACT_MS] = now[0].step.standing[METRIC_CONTACT_MS] = METRIC_MISSING;
    then[0].step.value[METRIC_CONTACT_MS] = (double) NAN; /* as it comes back from the store */
    compare(N, N);
    cr_expect_eq(r.n_same, N);
}

Test(remeasure, a_lost_and_a_new_step_do_not_make_those_behind_them_differ)
{
    drop(now, N, 5); /* lost */
    for (size_t i = 5; i < N - 1; i++)
        now[i].step.number--;
    compare(N, N - 1);
    cr_expect(r.n_steps == N && r.n_same == N - 1 && r.n_lost == 1 && r.n_new == 0);
    fill();
    drop(then, N, 5); /* new */
    compare(N - 1, N);
    cr_expect(r.n_steps == N && r.n_same == N - 1 && r.n_lost == 0 && r.n_new == 1);
    cr_expect_eq(r.figure[REMEASURE_TOUCHDOWN_MS].n_new, 1);
    compare(0, N);
    cr_expect(r.n_steps == N && r.n_same == 0 && r.n_new == N);
    compare(N, 0);
    cr_expect(r.n_steps == N && r.n_same == 0 && r.n_lost == N);
    compare(0, 0);
    cr_expect_eq(r.n_steps, 0);
}

Test(remeasure, touchdowns_a_tenth_of_a_second_apart_are_one_step_and_more_are_two)
{
    now[5].step.touchdown.us += REMEASURE_MATCH_US;
    compare(N, N);
    cr_expect(r.n_lost == 0 && r.n_new == 0 && r.n_same == N - 1);
    now[5].step.touchdown.us++;
    compare(N, N);
    cr_expect(r.n_lost == 1 && r.n_new == 1 && r.n_same == N - 1);
    now[5].step.touchdown.us = then[5].step.touchdown.us - REMEASURE_MATCH_US;
    compare(N, N);
    cr_expect(r.n_lost == 0 && r.n_new == 0);
    now[5].step.touchdown.us--;
    compare(N, N);
    cr_expect(r.n_lost == 1 && r.n_new == 1);
}

Test(remeasure, counts_of_several_visits_add_up)
{
    struct remeasure sum = { 0 };
    now[2].step.value[METRIC_CONTACT_MS] += 1;
    compare(N, N);
    remeasure_add(&sum, &r);
    fill();
    for (int i = 2; i < 5; i++)
        now[i].step.value[METRIC_CONTACT_MS] -= 2;
    compare(N, N - 1);
    remeasure_add(&sum, &r);
    const struct remeasure_figure *f = &sum.figure[METRIC_CONTACT_MS];
    cr_expect(sum.n_steps == 2 * N && sum.n_same == N - 1 + N - 4 && sum.n_lost == 1);
    cr_expect_eq(f->n_differing, 4);
    cr_expect_float_eq(f->largest, -2, 1e-9);
    cr_expect_float_eq(f->mean, -1.25, 1e-9); /* (1 - 6) / 4 */
}

Test(remeasure, blocks_and_feedback_are_those_that_the_runner_was_shown)
{
    /* Steps 1 to 9 are in block 0, 10 to 19 in block 1, ...; every second had feedback. */
    const struct store_block block[] = { { .index = 0, .start = { 0 }, .end = { 3900000 } },
                                         { .index = 1, .start = { 3900000 }, .end = { -1 } } };
    for (int i = 0; i < N; i++) {
        now[i].block = 99;
        now[i].is_feedback_shown = !now[i].is_feedback_shown;
    }
    drop(then, N, 4);  /* so that step 5, without feedback, is new; before it step 4, with */
    drop(then, N - 1, 8); /* and step 10, the first of its block */
    remeasure_carry_over((struct remeasure_steps){ then, N - 2 }, block, 2, now, N);
    cr_expect(now[3].block == 0 && now[3].is_feedback_shown);
    cr_expect(now[4].block == 0 && now[4].is_feedback_shown, "as the last step before it in the block");
    cr_expect(now[5].block == 0 && now[5].is_feedback_shown);
    cr_expect(now[6].block == 0 && !now[6].is_feedback_shown);
    cr_expect(now[9].block == 1 && !now[9].is_feedback_shown, "nothing was shown yet in that block");
    cr_expect(now[39].block == 4 && now[39].is_feedback_shown, "the matched keep theirs");
}
