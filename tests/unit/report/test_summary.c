#include "report/summary.h"

#include "aid/store_rig.h"
#include "paper/local_time.h"

#include <criterion/criterion.h>

/* Linked without the store: the one function of it that the text needs. */
const char *
store_weight_from_name(enum store_weight_from from)
{
    return from == STORE_WEIGHT_MOMENTUM ? "momentum balance" : "unknown";
}

static struct summary_maker maker;
static struct summary sum;

static struct coached_step
blank(uint32_t number)
{
    struct coached_step s = store_rig_step(number, true);

    s.step.body_weight_n = NAN;
    for (int m = 0; m < METRIC_COUNT; m++) {
        s.step.value[m] = NAN;
        s.step.standing[m] = METRIC_MISSING;
    }
    return s;
}

static void
feed(const struct coached_step *s)
{
    cr_assert_eq(summary_maker_feed(&maker, s), ERR_OK);
}

static void
feed_value(uint32_t number, enum metric m, double value)
{
    struct coached_step s = blank(number);

    s.step.value[m] = value;
    s.step.standing[m] = (uint8_t) (isnan(value) ? METRIC_MISSING : METRIC_MEASURED);
    feed(&s);
}

static void
make(const struct store_target_set *targets)
{
    struct summary_config c = summary_config_default();

    c.targets = targets;
    cr_assert_eq(summary_make(&maker, &c, &sum), ERR_OK);
}

static void
begin(void)
{
    summary_maker_init(&maker);
}

static void
end(void)
{
    summary_maker_destroy(&maker);
}

TestSuite(summary, .init = begin, .fini = end);

/* Worked examples of the index: Robinson, Herzog, Nigg 1987 (formula), values computed from it by hand. */
Test(summary, the_symmetry_index_is_the_published_one)
{
    cr_assert_float_eq(summary_symmetry_index_pct(1.2, 1.0), 18.1818, 1e-4);
    cr_assert_float_eq(summary_symmetry_index_pct(250, 240), 4.08163, 1e-4);
    cr_assert_float_eq(summary_symmetry_index_pct(62, 70), -12.12121, 1e-4);
    cr_assert_float_eq(summary_symmetry_index_pct(70, 62), 12.12121, 1e-4, "swapped sides turn the sign");
    cr_assert_float_eq(summary_symmetry_index_pct(0, 5), -200, 1e-9);
    cr_assert_float_eq(summary_symmetry_index_pct(5, 0), 200, 1e-9);
    cr_assert(isnan(summary_symmetry_index_pct(0, 0)));
    cr_assert(isnan(summary_symmetry_index_pct(NAN, 1)));
    cr_assert(isnan(summary_symmetry_index_pct(3, -2)), "signed values have none");
}

/* numpy 1.24: i = arange(1, 24); x = where(i % 2 == 1, 240 + 0.5 i, 250 - 0.25 i); x[i == 5] = nan; odd =
 * right; mean, std(ddof=1), median without the nan, of all, of even i, of odd i. */
Test(summary, figures_equal_numpys)
{
    for (uint32_t i = 1; i <= 23; i++)
        feed_value(i, METRIC_CONTACT_MS, i == 5 ? (double) NAN : i % 2 == 1 ? 240 + 0.5 * i : 250 - 0.25 * i);
    make(NULL);
    const struct summary_metric *m = &sum.metric[METRIC_CONTACT_MS];
    cr_assert_eq(m->all.n, 22);
    cr_assert_float_eq(m->all.mean, 246.6590909090909, 1e-9);
    cr_assert_float_eq(m->all.sd, 2.757614409129244, 1e-9);
    cr_assert_float_eq(m->all.median, 246.75, 1e-9);
    cr_assert_eq(m->left.n, 11);
    cr_assert_float_eq(m->left.mean, 247.0, 1e-9);
    cr_assert_float_eq(m->left.sd, 1.6583123951777, 1e-9);
    cr_assert_float_eq(m->left.median, 247.0, 1e-9);
    cr_assert_eq(m->right.n, 11);
    cr_assert_float_eq(m->right.mean, 246.3181818181818, 1e-9);
    cr_assert_float_eq(m->right.sd, 3.6005050150827955, 1e-9);
    cr_assert_float_eq(m->right.median, 246.5, 1e-9);
    cr_assert_float_eq(m->asymmetry_pct, -0.2764212660094004, 1e-9);
    cr_assert_eq(sum.n_steps, 23);
    cr_assert_eq(sum.n_by_foot[STEP_FOOT_RIGHT], 12);
    cr_assert_float_eq(sum.duration_s, 22 * 0.4 + 0.25, 1e-9);
}

Test(summary, nothing_measured_is_unknown_and_not_zero)
{
    make(NULL);
    cr_assert_eq(sum.n_steps, 0);
    cr_assert_eq(sum.gait, STEP_GAIT_UNKNOWN);
    cr_assert(isnan(sum.duration_s));
    cr_assert(isnan(sum.body_weight_n));
    cr_assert(isnan(sum.metric[METRIC_CONTACT_MS].all.mean));
    cr_assert(isnan(sum.metric[METRIC_CONTACT_MS].asymmetry_pct));
    feed_value(1, METRIC_CONTACT_MS, 250);
    make(NULL);
    cr_assert_eq(sum.metric[METRIC_CONTACT_MS].all.mean, 250);
    cr_assert(isnan(sum.metric[METRIC_CONTACT_MS].all.sd), "one value has no spread");
    cr_assert(isnan(sum.metric[METRIC_CADENCE_SPM].all.mean));
}

Test(summary, a_settled_step_counts_in_place_of_its_live_one)
{
    struct coached_step live = blank(1), settled = blank(1);

    live.step.is_settled = false;
    live.step.value[METRIC_CADENCE_SPM] = 100;
    live.step.standing[METRIC_CADENCE_SPM] = METRIC_MEASURED;
    settled.step.value[METRIC_CADENCE_SPM] = 160;
    settled.step.standing[METRIC_CADENCE_SPM] = METRIC_ESTIMATED;
    feed(&live);
    for (uint32_t i = 2; i <= 5; i++) {
        struct coached_step s = blank(i);
        s.step.is_settled = false;
        feed(&s);
    }
    feed(&settled);
    feed(&live); /* late: must not win */
    make(NULL);
    cr_assert_eq(sum.n_steps, 5);
    cr_assert_eq(sum.n_unsettled, 4);
    cr_assert_eq(sum.metric[METRIC_CADENCE_SPM].all.mean, 160);
    cr_assert_eq(sum.metric[METRIC_CADENCE_SPM].n_estimated, 1);
}

Test(summary, figures_are_of_the_main_gait)
{
    for (uint32_t i = 1; i <= 12; i++) {
        struct coached_step s = blank(i);
        s.step.gait = i <= 3 ? STEP_GAIT_WALKING : i == 4 ? STEP_GAIT_UNKNOWN : STEP_GAIT_RUNNING;
        s.step.value[METRIC_CONTACT_MS] = i <= 3 ? 600 : 250;
        s.step.standing[METRIC_CONTACT_MS] = METRIC_MEASURED;
        feed(&s);
    }
    make(NULL);
    cr_assert_eq(sum.gait, STEP_GAIT_RUNNING);
    cr_assert_eq(sum.n_by_gait[STEP_GAIT_WALKING], 3);
    cr_assert_eq(sum.n_steps, 12);
    cr_assert_eq(sum.metric[METRIC_CONTACT_MS].all.n, 9);
    cr_assert_eq(sum.metric[METRIC_CONTACT_MS].all.mean, 250);
}

Test(summary, the_in_band_share_is_apart_for_feedback_shown_and_withheld)
{
    struct store_target_set t = { .n = 2 };

    t.target[0] = (struct store_target){ METRIC_CADENCE_SPM, 165, 175, NAN, true, false, 0 };
    t.target[1] = (struct store_target){ METRIC_CONTACT_MS, NAN, 240, NAN, false, false, 0 };
    for (uint32_t i = 1; i <= 20; i++)
        feed_value(i, METRIC_CADENCE_SPM,
                   i <= 8    ? 165
                   : i <= 10 ? 175
                   : i <= 15 ? 164.99
                   : i < 20  ? 175.01
                             : (double) NAN);
    make(&t);
    const struct summary_band *b = &sum.metric[METRIC_CADENCE_SPM].band;
    /* even numbers were shown: 10 of 20, the last of them has no value; 1..10 are in the band, limits
     * included */
    cr_assert(b->has_target);
    cr_assert_eq(b->n_shown, 9);
    cr_assert_eq(b->n_shown_in, 5);
    cr_assert_eq(b->n_withheld, 10);
    cr_assert_eq(b->n_withheld_in, 5);
    cr_assert_float_eq(b->shown_pct, 500.0 / 9, 1e-9);
    cr_assert_float_eq(b->withheld_pct, 50, 1e-9);
    b = &sum.metric[METRIC_CONTACT_MS].band;
    cr_assert(b->has_target);
    cr_assert(isnan(b->shown_pct), "no steps, no share");
    cr_assert_not(sum.metric[METRIC_PEAK_FORCE_BW].band.has_target);
}

Test(summary, warm_up_and_baseline_do_not_count_as_withheld_feedback)
{
    struct piece piece[] = { { .row = { .index = 0, .kind = VERDICT_BLOCK_BASELINE } },
                             { .row = { .index = 1, .kind = VERDICT_BLOCK_COACHED } },
                             { .row = { .index = 2, .kind = VERDICT_BLOCK_SILENT } } };
    struct store_target_set t = { .n = 1 };
    struct summary_config c = summary_config_default();

    t.target[0] = (struct store_target){ METRIC_CADENCE_SPM, 165, 175, NAN, true, false, 0 };
    for (uint32_t i = 1; i <= 29; i++) /* blocks 0, 1, 2 by tens; even numbers shown */
        feed_value(i, METRIC_CADENCE_SPM, i < 10 ? 150 : 170);
    c.targets = &t;
    piece[1].targets = piece[2].targets = t;
    c.piece = piece;
    c.n_pieces = 3;
    cr_assert_eq(summary_make(&maker, &c, &sum), ERR_OK);
    cr_assert_eq(sum.metric[METRIC_CADENCE_SPM].band.n_shown, 10);
    cr_assert_eq(sum.metric[METRIC_CADENCE_SPM].band.n_withheld, 10);
    cr_assert_eq(sum.metric[METRIC_CADENCE_SPM].band.withheld_pct, 100);
    piece[2].targets.target[0].low = 171;
    cr_assert_eq(summary_make(&maker, &c, &sum), ERR_OK);
    cr_assert_eq(sum.metric[METRIC_CADENCE_SPM].band.withheld_pct, 50, "each block by the targets that it was run with");
    c.n_pieces = 2;
    cr_assert_eq(summary_make(&maker, &c, &sum), ERR_OK);
    cr_assert_eq(sum.metric[METRIC_CADENCE_SPM].band.n_withheld, 5, "steps outside every block were asked nothing");
    c.n_pieces = 0;
    cr_assert_eq(summary_make(&maker, &c, &sum), ERR_OK);
    cr_assert_eq(sum.metric[METRIC_CADENCE_SPM].band.n_withheld, 15, "without blocks all count");
}

Test(summary, an_open_side_of_a_band_lets_all_through)
{
    struct store_target_set t = { .n = 1 };

    t.target[0] = (struct store_target){ METRIC_LOAD_RATE_BW_S, NAN, 60, NAN, true, false, 0 };
    feed_value(2, METRIC_LOAD_RATE_BW_S, -5);
    feed_value(4, METRIC_LOAD_RATE_BW_S, 60);
    feed_value(6, METRIC_LOAD_RATE_BW_S, 61);
    make(&t);
    cr_assert_eq(sum.metric[METRIC_LOAD_RATE_BW_S].band.n_shown_in, 2);
}

Test(summary, signed_metrics_have_no_asymmetry)
{
    for (uint32_t i = 1; i <= 8; i++)
        feed_value(i, METRIC_LANDING_AHEAD_MM, i % 2 == 0 ? 150 : 170);
    make(NULL);
    cr_assert(isnan(sum.metric[METRIC_LANDING_AHEAD_MM].asymmetry_pct));
}

static char *text;
static size_t len;

Test(summary, the_text_is_aligned_and_has_a_dash_for_what_is_missing)
{
    for (uint32_t i = 1; i <= 4; i++)
        feed_value(i, METRIC_CADENCE_SPM, 160 + i % 2);
    make(NULL);
    FILE *f = open_memstream(&text, &len);
    summary_print(f, NULL, &sum, NULL);
    fclose(f);
    cr_assert_str_eq(text, "steps               4 (left 2, right 2), running 4\n"
                           "strike zone         rear 1, mid 1, fore 1, border 0\n"
                           "time measured       0 min 01 s\n"
                           "body weight         -\n"
                           "rate                -\n"
                           "measured            definition 2 of every figure but strike_travel_mm 1, landing_first_mm 1, heel_to_fore_ms 1, "
                           "braking_impulse_bw_s 1, peak_braking_bw 1, braking_end_pct 1\n"
                           "\n"
                           "metric              unit            n      mean        sd    median   asym. %\n"
                           "cadence_spm         steps/min       4    160.50      0.58    160.50       0.6\n"
                           "asym. %: right minus left, of their mean\n");
    free(text);
}

Test(summary, the_json_has_the_promised_members)
{
    struct summary_config c = summary_config_default();

    for (uint32_t i = 1; i <= 4; i++)
        feed_value(i, METRIC_CADENCE_SPM, 160 + i % 2);
    c.body_weight_n = 698.5;
    c.body_weight_from = STORE_WEIGHT_MOMENTUM;
    c.rate_hz = 300;
    cr_assert_eq(summary_make(&maker, &c, &sum), ERR_OK);
    FILE *f = open_memstream(&text, &len);
    summary_print_json(f, &sum, NULL);
    fclose(f);
    static const char *const want[] = {
        "{\n  \"steps\": 4,\n  \"gait\": \"running\",\n  \"body_weight_n\": 698.5,\n"
        "  \"body_weight_from\": \"momentum balance\",\n  \"rate_hz\": 300,\n",
        "  \"cadence_spm\": {\n    \"n\": 4,\n    \"mean\": 160.5,\n    \"sd\": 0.5773502692,\n    "
        "\"median\": 160.5,\n"
        "    \"asymmetry_pct\": 0.6230529595,\n",
        "  \"contact_ms\": {\n    \"n\": 0,\n    \"mean\": null,\n    \"sd\": null,\n    \"median\": null,\n"
        "    \"asymmetry_pct\": null,\n",
    };
    for (size_t i = 0; i < sizeof want / sizeof want[0]; i++)
        cr_expect_not_null(strstr(text, want[i]), "not there: %s\nin %s", want[i], text);
    cr_expect_null(strstr(text, "\"visit\""));
    free(text);
}

Test(summary, a_visits_time_of_day_is_told_in_its_own_zone)
{
    char out[LOCAL_TIME_MAX];

    cr_assert_str_eq(local_time_iso(out, INT64_C(1774786509000), 120), "2026-03-29T14:15:09+02:00");
    cr_assert_str_eq(local_time_short(out, INT64_C(1774786509000), 120), "2026-03-29 14:15");
    cr_assert_str_eq(local_time_iso(out, INT64_C(1774786509000), -570), "2026-03-29T02:45:09-09:30");
    cr_assert_str_eq(local_time_iso(out, 0, -1), "1969-12-31T23:59:00-00:01");
}
