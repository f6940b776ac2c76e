/* What a run began with, as text and back: a recording must not need the files that it was made with. */
#include "visit/begun_text.h"

#include "base/message.h"
#include <criterion/criterion.h>
#include <dirent.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static char text[BEGUN_TEXT_PROFILE_MAX], again[BEGUN_TEXT_PROFILE_MAX];
static struct sense_profile was, is;

static void
check_profile(const char *name)
{
    const size_t len = begun_text_profile(&was, text, sizeof text);
    cr_assert_gt(len, 0, "%s", name);
    cr_assert(begun_text_read_profile(text, len, &is), "%s", name);
    cr_expect_eq(begun_text_profile(&is, again, sizeof again), len, "%s", name);
    cr_expect_eq(memcmp(text, again, len), 0, "%s", name);
    const size_t n = (size_t) (was.n_rows * was.n_cols) * sizeof was.element_gain[0];
    cr_expect_eq(memcmp(is.element_gain, was.element_gain, n), 0, "%s", name);
    cr_expect_eq(memcmp(is.element_offset_counts, was.element_offset_counts, n), 0, "%s", name);
    for (int i = 0; i < was.n_cells; i++)
        cr_expect_eq(memcmp(&is.cell[i].gain_n_per_count, &was.cell[i].gain_n_per_count, sizeof(double)), 0);
}

Test(begun_text, every_shipped_profile_comes_back_bit_for_bit)
{
    char path[300];
    struct message why;
    int n = 0;
    DIR *dir = opendir("profiles/sensors");
    cr_assert(dir);
    for (const struct dirent *e; (e = readdir(dir));) {
        const char *end = strrchr(e->d_name, '.');
        if (!end || strcmp(end, ".ini") != 0)
            continue;
        snprintf(path, sizeof path, "profiles/sensors/%s", e->d_name);
        cr_assert_eq(profile_load(&was, path, &why), ERR_OK, "%s", message_english(&why));
        check_profile(e->d_name);
        n++;
    }
    closedir(dir);
    cr_assert_geq(n, 3);
}

/* The largest mat, each element calibrated: numbers of the longest kind. */
Test(begun_text, the_largest_calibrated_mat_fits)
{
    memset(&was, 0, sizeof was);
    strcpy(was.name, "a mat, by hand");
    was.kind = FRAME_KIND_MAT;
    was.n_rows = 128;
    was.n_cols = 64;
    was.gain_n_per_count = 1.0 / 3;
    was.origin_fwd_mm = (double) NAN;
    for (int i = 0; i < FRAME_MAX_ELEMENTS; i++) {
        was.element_gain[i] = 1.0f - (float) (i + 1) / 30000.0f;
        was.element_offset_counts[i] = -123.0f - (float) i / 7.0f;
    }
    check_profile("mat");
    cr_expect(isnan(is.origin_fwd_mm));
    cr_expect_eq(is.gain_n_per_count, 1.0 / 3);
}

Test(begun_text, what_is_not_known_is_refused)
{
    struct message why;
    cr_assert_eq(profile_load(&was, "profiles/sensors/cells-4.ini", &why), ERR_OK, "%s", message_english(&why));
    const size_t len = begun_text_profile(&was, text, sizeof text);
    cr_expect_eq(begun_text_profile(&was, again, len), 0, "no room for its end");
    for (size_t n = 0; n < len; n++)
        cr_expect(!begun_text_read_profile(text, n, &is), "%zu of %zu bytes", n, len);
    text[8] = '2';
    cr_expect(!begun_text_read_profile(text, len, &is), "version");
    text[8] = '1';
    memcpy(again, text, len);
    memcpy(again + len, "colour 3\n", 9);
    cr_expect(!begun_text_read_profile(again, len + 9, &is), "another line");
    char *kind = strstr(text, "kind ");
    kind[5] = '9';
    cr_expect(!begun_text_read_profile(text, len, &is), "kind");
}

static struct coach_config
make_coach(void)
{
    struct coach_config c = coach_config_default();
    c.belt_speed_m_s = 3;
    c.foot_length_mm = 250;
    c.n_targets = 2;
    c.focus = METRIC_LANDING_AHEAD_MM;
    c.target[0] = (struct target){ METRIC_CADENCE_SPM, 165.1, 171 + 1.0 / 3, (double) NAN, true };
    c.target[1] = (struct target){ METRIC_LANDING_AHEAD_MM, 100, 150, 171.25, false };
    c.cadence_rule = TARGET_RULE_CADENCE_UP_10;
    c.baseline_s = 0.1;
    c.is_waiting = true;
    c.plan.n_blocks = 2;
    c.plan.block[0] = (struct plan_block){ VERDICT_BLOCK_COACHED, 600.5, (double) NAN, 0.8, 300 };
    c.plan.block[1] = (struct plan_block){ VERDICT_BLOCK_SILENT, 60, 2.7, 0, 0 };
    c.plan.speed_share[1] = 0.9;
    c.plan.spread = PLAN_SPREAD_RANDOM;
    c.plan.seed = UINT64_MAX;
    c.plan.is_bandwidth = true;
    return c;
}

static void
check_block(const struct plan_block *a, const struct plan_block *b)
{
    cr_expect_eq(a->kind, b->kind);
    cr_expect_eq(a->length_s, b->length_s);
    cr_expect_eq(memcmp(&a->belt_speed_m_s, &b->belt_speed_m_s, sizeof(double)), 0);
    cr_expect_eq(a->feedback_share, b->feedback_share);
    cr_expect_eq(a->spread_s, b->spread_s);
}

Test(begun_text, targets_and_plan_come_back_bit_for_bit)
{
    const struct coach_config c = make_coach();
    struct coach_config back = coach_config_default();
    const size_t len = begun_text_coach(&c, text, BEGUN_TEXT_COACH_MAX);
    back.belt_speed_m_s = 2;
    cr_assert(len > 0 && begun_text_read_coach(text, len, &back));
    cr_expect_eq(back.belt_speed_m_s, 2, "the body's figures are not the coach's");
    cr_expect(back.n_targets == 2 && back.focus == c.focus && back.cadence_rule == c.cadence_rule);
    cr_expect(back.baseline_s == c.baseline_s && back.is_waiting && back.plan.spread == c.plan.spread);
    cr_expect(back.plan.seed == c.plan.seed && back.plan.is_bandwidth && back.plan.n_blocks == 2);
    cr_expect_eq(back.plan.speed_share[1], 0.9);
    for (int i = 0; i < 2; i++) {
        const struct target *a = &back.target[i], *b = &c.target[i];
        cr_expect(a->metric == b->metric && a->low == b->low && a->high == b->high && a->is_change == b->is_change);
        cr_expect_eq(isnan(a->baseline), isnan(b->baseline));
        check_block(&back.plan.block[i], &c.plan.block[i]);
    }
    for (size_t n = 0; n < len; n++)
        cr_expect(!begun_text_read_coach(text, n, &back), "%zu of %zu bytes", n, len);
}

Test(begun_text, a_plan_of_the_most_blocks_fits)
{
    struct coach_config c = make_coach(), back;
    c.plan.n_blocks = PLAN_MAX_BLOCKS;
    for (int i = 0; i < PLAN_MAX_BLOCKS; i++) {
        c.plan.block[i] = (struct plan_block){ VERDICT_BLOCK_COACHED, 1e-5 / 3, 2.0 / 3, 1.0 / 3, 100.0 / 3 };
        c.plan.speed_share[i] = 1.0 / 3;
    }
    const size_t len = begun_text_coach(&c, text, BEGUN_TEXT_COACH_MAX);
    cr_assert(len > 0 && begun_text_read_coach(text, len, &back));
    check_block(&back.plan.block[PLAN_MAX_BLOCKS - 1], &c.plan.block[0]);
}
