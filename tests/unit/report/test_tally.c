/* What is counted and compared across visits: signs, dose, the smallest real change. */
#include "coach/dose.h"
#include "coach/tally.h"
#include "report/repeat.h"
#include "report/visit_said.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

Test(tally, nothing_known_is_nothing_counted)
{
    struct tally t;
    const struct tally_figures f = tally_figures_default();
    tally_make(&f, NULL, &t);
    cr_assert(t.n_known == 0 && t.n_present == 0 && t.heel_first == TALLY_UNKNOWN);
}

Test(tally, measured_signs_follow_their_thresholds)
{
    static const struct {
        size_t offset;
        enum tally_sign sign;
        double absent, present;
    } rows[] = {
        { offsetof(struct tally_figures, cadence_spm), TALLY_LOW_CADENCE, 165, 164 },
        { offsetof(struct tally_figures, landing_ahead_mm), TALLY_LANDS_AHEAD, 225, 226 },
        { offsetof(struct tally_figures, transient_share), TALLY_TRANSIENT, 0.5, 0.51 },
        { offsetof(struct tally_figures, load_rate_bw_s), TALLY_LOAD_RATE, 66, 66.1 },
        { offsetof(struct tally_figures, heel_to_fore_ms), TALLY_HEEL_LAG, 40, 41 },
        { offsetof(struct tally_figures, ahead_at_load_mm), TALLY_AHEAD_AT_LOAD, 130, 131 },
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct tally t;
        struct tally_figures f = tally_figures_default();
        double *figure = (double *) (void *) ((char *) &f + rows[i].offset);
        f.leg_length_mm = 900;
        f.foot_length_mm = 260;
        *figure = rows[i].absent;
        tally_make(&f, NULL, &t);
        cr_assert(t.sign[rows[i].sign] == TALLY_ABSENT && t.n_known == 1 && t.n_present == 0, "row %zu", i);
        *figure = rows[i].present;
        tally_make(&f, NULL, &t);
        cr_assert(t.sign[rows[i].sign] == TALLY_PRESENT && t.n_present == 1, "row %zu", i);
    }
}

Test(tally, a_length_that_was_not_entered_leaves_its_sign_unknown)
{
    struct tally t;
    struct tally_figures f = tally_figures_default();
    f.landing_ahead_mm = 400;
    tally_make(&f, NULL, &t);
    cr_assert_eq(t.sign[TALLY_LANDS_AHEAD], TALLY_UNKNOWN);
}

Test(tally, heel_first_is_neutral_and_ticks_count)
{
    struct tally t;
    char text[PHRASE_MAX], words[128];
    struct tally_figures f = tally_figures_default();
    enum tally_state ticks[TALLY_COUNT] = { 0 };
    f.rear_share = 1;
    f.cadence_spm = 150;
    ticks[TALLY_LOUD] = TALLY_PRESENT;
    ticks[TALLY_TRUNK] = TALLY_ABSENT;
    ticks[TALLY_LOW_CADENCE] = TALLY_ABSENT; /* measured: a tick can't change it */
    tally_make(&f, ticks, &t);
    cr_assert(t.n_known == 3 && t.n_present == 2 && t.heel_first == TALLY_PRESENT);
    visit_said_signs(NULL, &t, text);
    cr_assert_str_eq(text, "2 of the 3 signs of overstriding that were looked at: slow steps; loud landing. Lands on the heel: neutral, not "
                           "counted.");
    tally_ticks_to_text(ticks, words, sizeof words);
    cr_assert_str_eq(words, "trunk=no loud=yes");
    enum tally_state back[TALLY_COUNT];
    tally_ticks_from_text("trunk=no loud=yes nonsense cadence=yes low_cadence=yes shin_back=maybe", back);
    for (int i = 0; i < TALLY_COUNT; i++)
        cr_assert_eq(back[i], i == TALLY_LOUD ? TALLY_PRESENT : i == TALLY_TRUNK ? TALLY_ABSENT : TALLY_UNKNOWN, "%d", i);
}

Test(tally, every_sign_has_words_a_rule_and_a_source)
{
    for (int i = 0; i < TALLY_COUNT; i++) {
        const struct tally_row *row = tally_row((enum tally_sign) i);
        cr_assert(row->label[0] && row->rule[0] && row->source[0]);
        cr_assert_eq(tally_by_name(row->name), i);
        cr_assert_eq(row->is_ticked, i >= TALLY_KNEE_STRAIGHT);
    }
    cr_assert_eq(tally_by_name("nothing"), TALLY_COUNT);
    cr_assert(strstr(TALLY_SENTENCE, "no diagnosis"));
}

/* 0.0188 +- 1.96 sqrt(0.00155^2 + 0.00148^2 / 200) = 0.0030; 0.27 +- 1.96 sqrt(0.0323^2 + 0.0176^2 / 200) = 0.06. */
Test(tally, braking_is_told_with_its_error_bar_and_counts_nowhere)
{
    struct tally_figures f = tally_figures_default();
    struct tally t, with;
    char text[PHRASE_MAX];
    f.cadence_spm = 160;
    tally_make(&f, NULL, &t);
    visit_said_signs(NULL, &t, text);
    cr_assert(!tally_has_braking(&t) && !strstr(text, "raking"));
    f.braking_impulse_bw_s = 0.0188;
    f.peak_braking_bw = 0.41; /* far over any published border: no sign of it */
    f.n_braking = 200;
    tally_make(&f, NULL, &with);
    cr_assert_eq(with.n_known, t.n_known);
    cr_assert_eq(with.n_present, t.n_present);
    visit_said_signs(NULL, &with, text);
    cr_assert(strstr(text, "Braking 0.0188 \xc2\xb1 0.0030 BW s, peak 0.41 \xc2\xb1 0.06 BW: estimated"), "%s", text);
}

Test(dose, running_steps_count_with_their_time)
{
    struct dose d = { 0 };
    struct step s = { .gait = STEP_GAIT_RUNNING, .zone = STEP_ZONE_FORE };
    s.value[METRIC_STEP_TIME_S] = 0.36;
    for (int i = 0; i < 100; i++)
        dose_feed(&d, &s);
    s.zone = STEP_ZONE_REAR;
    s.value[METRIC_STEP_TIME_S] = (double) NAN; /* the last one */
    dose_feed(&d, &s);
    s.value[METRIC_STEP_TIME_S] = 20; /* a pause */
    dose_feed(&d, &s);
    s.gait = STEP_GAIT_WALKING;
    dose_feed(&d, &s);
    cr_assert(d.n_steps == 102 && d.n_fore_least == 100 && d.n_fore_most == 100);
    cr_assert_float_eq(d.minutes, 0.6, 1e-9);
}

/* Ours: what can't be told is shown as the span it leaves open. */
Test(dose, mid_and_forefoot_steps_are_counted_as_at_least_and_at_most)
{
    static const enum step_zone zone[] = { STEP_ZONE_REAR, STEP_ZONE_MID, STEP_ZONE_FORE, STEP_ZONE_BORDER, STEP_ZONE_UNKNOWN };
    struct dose d = { 0 };
    char text[DOSE_COUNT_MAX];
    for (int i = 0; i < 5; i++)
        dose_feed(&d, &(struct step) { .gait = STEP_GAIT_RUNNING, .zone = zone[i] });
    cr_assert(d.n_fore_least == 2 && d.n_fore_most == 3);
    dose_fore_text(&d, text);
    cr_assert_str_eq(text, "2-3");
    d.n_fore_most = 2;
    dose_fore_text(&d, text);
    cr_assert_str_eq(text, "2");
}

static char note[PHRASE_MAX];

/* What is said of this dose after that one; "" where it did not grow fast. */
static const char *
growth(struct dose now, struct dose last)
{
    static struct course_visit v;
    v.dose = now;
    v.dose_before = last;
    v.dose_grew = dose_grew(&now, &last);
    return visit_said_growth(NULL, &v, note);
}

Test(dose, a_note_comes_above_thirty_per_cent_and_names_mid_and_forefoot_steps_first)
{
    const struct dose last = { .n_steps = 3000, .n_fore_least = 90, .n_fore_most = 100, .minutes = 20 };
    cr_assert_str_empty(growth((struct dose){ 3890, 100, 100, 25.9 }, last));
    growth((struct dose){ 3950, 100, 100, 26.1 }, last);
    cr_assert(strstr(note, "26 min after 20") && strstr(note, "Nielsen"), "%s", note);
    cr_assert_str_empty(growth((struct dose){ 3000, 290, 290, 20 }, last), "190 more are few");
    growth((struct dose){ 3000, 300, 300, 20 }, last);
    cr_assert(strstr(note, "from 90-100 to 300") && strstr(note, "Achilles"), "%s", note);
    cr_assert_str_empty(growth((struct dose){ 9000, 9000, 9000, 90 }, (struct dose){ 0 }), "nothing to compare with");
}

/* Five pairs with standard deviations 5.7, 4.2, 5.7, 2.8, 2.1: SEM 4.356 (worked example, wwrichard.net). */
Test(repeat, sem_of_pairs_is_the_root_mean_square_of_their_deviations)
{
    static const double sd[] = { 5.7, 4.2, 5.7, 2.8, 2.1 };
    struct repeat r = { 0 };
    for (size_t i = 0; i < 5; i++) {
        const double pair[] = { 100, 100 + sd[i] * sqrt(2) };
        repeat_feed(&r, pair, 2);
    }
    cr_assert_float_eq(repeat_sem(&r), 4.356, 5e-4);
    cr_assert_float_eq(repeat_mdc95(&r), 2.77186 * 4.356, 2e-3);
    cr_assert_eq(r.n_groups, 5);
}

/* Weir 2005: SEM 3.16228 gives MDC 8.76539; 2.4 gives 6.65246; 6.0 gives 16.63115. */
Test(repeat, the_smallest_real_change_follows_from_the_sem)
{
    static const double rows[][2] = { { 3.16228, 8.76539 }, { 2.4, 6.65246 }, { 6.0, 16.63115 }, { 3.0, 8.31558 } };
    for (size_t i = 0; i < 4; i++) {
        struct repeat r = { 0 };
        const double pair[] = { 0, rows[i][0] * sqrt(2) };
        repeat_feed(&r, pair, 2);
        cr_assert_float_eq(repeat_mdc95(&r), rows[i][1], 1e-4);
    }
}

Test(repeat, one_value_is_no_repeat)
{
    struct repeat r = { 0 };
    repeat_feed(&r, (const double[]){ 5 }, 1);
    cr_assert(isnan(repeat_sem(&r)) && isnan(repeat_mdc95(&r)));
}
