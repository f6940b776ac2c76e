#include "aid/fake_verdict.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const char *const fake_names[FAKE_N_STATES] = {
    "live",  "all-in", "four",   "two",   "no-target",       "counting", "walking", "standing", "switches",
    "near", "no-place", "split", "free",   "silent", "quiet", "gone-in-silence", "waiting",  "paused",  "ended",
};

const char *
fake_name(enum fake_state state)
{
    return fake_names[state];
}

static void
fake_bar(struct verdict_bar *b, enum metric m, double value, double low, double high)
{
    *b = (struct verdict_bar) { .metric = m,
                                .standing = isnan(value) ? METRIC_MISSING : METRIC_MEASURED,
                                .value = value,
                                .value_left = value * 1.06,
                                .value_right = value * 0.94,
                                .low = low,
                                .high = high,
                                .baseline = NAN };
    if (m == METRIC_LANDING_AHEAD_MM)
        b->standing = METRIC_ESTIMATED;
    if (!isnan(value) && !isnan(low))
        b->side = value < low ? VERDICT_BELOW : value > high ? VERDICT_ABOVE : VERDICT_IN;
}

/* Left: a heel landing, far ahead; right: a forefoot landing, in the band. Eight earlier steps of each. */
static void
fake_feet(struct verdict *v)
{
    static const double left[VERDICT_N_LANDINGS] = { 284, 262, 291, 276, 258, 281, 295, 270 };
    static const double right[VERDICT_N_LANDINGS] = { 236, 251, 229, 243, 258, 238, 224, 246 };
    v->landing[0] = (struct verdict_landing) { .middle_mm = 278, .first_mm = 222, .side = VERDICT_ABOVE };
    v->landing[1] = (struct verdict_landing) { .middle_mm = 241, .first_mm = 283, .side = VERDICT_IN };
    for (int i = 0; i < VERDICT_N_LANDINGS; i++) {
        v->landing[0].earlier_mm[i] = left[i];
        v->landing[1].earlier_mm[i] = right[i];
    }
    v->landing[0].n_earlier = v->landing[1].n_earlier = VERDICT_N_LANDINGS;
    v->has_landing = true;
    v->landing_standing = METRIC_ESTIMATED;
    v->landing_low_mm = 210;
    v->landing_high_mm = 250;
}

/* A slow fall from well above the band into it, with a silent window and a pause without steps. */
static void
fake_trend(struct verdict *v, double from, double to)
{
    v->trend_head = 57;
    for (int age = 0; age < VERDICT_TREND_SLOTS; age++) {
        int slot = (v->trend_head - age + VERDICT_TREND_SLOTS) % VERDICT_TREND_SLOTS;
        double share = 1.0 - (double) age / VERDICT_TREND_SLOTS;
        double wave = 0.12 * sin(age * 0.7) + 0.1 * sin(age * 0.23);
        v->trend[slot] = (float) (from + (to - from) * (share + wave));
        v->trend_is_silent[slot] = age > 96 && age < 150;
        if (age > 200 && age < 212)
            v->trend[slot] = NAN;
    }
}

static void
fake_no_values(struct verdict *v)
{
    for (int i = 0; i < v->n_bars; i++) {
        v->bar[i].value = v->bar[i].value_left = v->bar[i].value_right = NAN;
        v->bar[i].side = VERDICT_UNKNOWN;
        v->bar[i].standing = METRIC_MISSING;
    }
    for (int i = 0; i < VERDICT_TREND_SLOTS; i++)
        v->trend[i] = NAN;
    for (int foot = 0; foot < 2; foot++)
        v->landing[foot] = (struct verdict_landing) { .middle_mm = NAN, .first_mm = NAN };
    v->has_landing = false;
    v->cue = VERDICT_CUE_NONE;
    v->last_value_at = (struct host_time) { 0 };
}

/* Running, sensor live, coached, three bars. */
static void
fake_live(struct verdict *v, struct host_time now)
{
    *v = (struct verdict) {
        .serial = 1,
        .time = { 60000000 },
        .arrived = now,
        .last_value_at = now,
        .sensor = VERDICT_SENSOR_LIVE,
        .gait = STEP_GAIT_RUNNING,
        .n_steps = 1532,
        .is_feedback_shown = true,
        .block = VERDICT_BLOCK_COACHED,
        .block_left_s = 192.0,
        .block_length_s = 300.0,
        .belt_speed_m_s = 3.1,
        .foot_length_mm = 265.0,
        .n_bars = 3,
        .focus = METRIC_LANDING_AHEAD_MM,
        .cue = VERDICT_CUE_LAND_NEARER,
    };
    fake_bar(&v->bar[0], METRIC_CADENCE_SPM, 171.4, 168.0, 178.0);
    fake_bar(&v->bar[1], METRIC_LANDING_AHEAD_MM, 262.0, 210.0, 250.0);
    fake_bar(&v->bar[2], METRIC_CONTACT_MS, 228.0, 240.0, 270.0);
    fake_feet(v);
    fake_trend(v, 310.0, 258.0);
}

static void
fake_shape_gait(struct verdict *v, enum fake_state state, struct host_time now)
{
    if (state == FAKE_COUNTING || state == FAKE_STANDING)
        fake_no_values(v);
    v->gait = state == FAKE_COUNTING   ? STEP_GAIT_UNKNOWN
              : state == FAKE_WALKING ? STEP_GAIT_WALKING
                                      : STEP_GAIT_STANDING;
    if (state == FAKE_WALKING)
        v->last_value_at.us = now.us - 6000000;
}

static void
fake_shape_sensor(struct verdict *v, enum fake_state state, struct host_time now)
{
    v->sensor = state == FAKE_WAITING ? VERDICT_SENSOR_WAITING
                : state == FAKE_QUIET ? VERDICT_SENSOR_QUIET
                                      : VERDICT_SENSOR_GONE;
    v->is_feedback_shown = state != FAKE_GONE_IN_SILENCE;
    v->last_value_at.us = now.us - 12300000;
    if (state == FAKE_WAITING)
        fake_no_values(v);
    if (state == FAKE_QUIET)
        message_say(&v->message, "No data from the sensor on /dev/ttyACM0 for 12 s. Check its cable and its power.");
}

static void
fake_shape_bars(struct verdict *v, enum fake_state state)
{
    if (state == FAKE_ALL_IN) {
        fake_bar(&v->bar[1], METRIC_LANDING_AHEAD_MM, 233.0, 210.0, 250.0);
        fake_bar(&v->bar[2], METRIC_CONTACT_MS, 262.0, 240.0, 270.0);
        fake_trend(v, 290.0, 231.0);
        for (int foot = 0; foot < 2; foot++) {
            for (int k = 0; k < VERDICT_N_LANDINGS; k++)
                v->landing[foot].earlier_mm[k] -= foot == 0 ? 40 : 14;
            v->landing[foot].middle_mm -= foot == 0 ? 40 : 14;
            v->landing[foot].first_mm -= foot == 0 ? 40 : 4;
            v->landing[foot].side = VERDICT_IN;
        }
        v->cue = VERDICT_CUE_NONE;
    } else if (state == FAKE_FOUR) {
        v->n_bars = 4;
        fake_bar(&v->bar[2], METRIC_LOAD_RATE_BW_S, 71.0, 40.0, 58.0);
        fake_bar(&v->bar[3], METRIC_CONTACT_MS, NAN, 240.0, 270.0);
    } else if (state == FAKE_TWO) {
        v->n_bars = 2;
        v->block = VERDICT_BLOCK_COOL_DOWN;
    } else if (state == FAKE_NO_TARGET) {
        for (int i = 0; i < v->n_bars; i++)
            fake_bar(&v->bar[i], v->bar[i].metric, v->bar[i].value, NAN, NAN);
        v->landing_low_mm = v->landing_high_mm = NAN;
        v->landing[0].side = v->landing[1].side = VERDICT_UNKNOWN;
        v->block = VERDICT_BLOCK_BASELINE;
        v->cue = VERDICT_CUE_NONE;
    }
}

/* Left just under the body, below its band; right still coming; a band that reaches behind the body's line. */
static void
fake_near(struct verdict *v)
{
    fake_bar(&v->bar[1], METRIC_LANDING_AHEAD_MM, 62.0, 80.0, 140.0);
    v->landing_low_mm = 80;
    v->landing_high_mm = 140;
    v->landing[0] = (struct verdict_landing) { .middle_mm = 52, .first_mm = -14, .side = VERDICT_BELOW, .n_earlier = 3,
                                               .earlier_mm = { 44, 60, 52 } };
    v->landing[1] = (struct verdict_landing) { .middle_mm = NAN, .first_mm = NAN, .n_earlier = 2, .earlier_mm = { 101, 90 } };
    v->cue = VERDICT_CUE_REACH_MORE;
}

/* Switches without a belt speed, say: two bars, and nothing of where the feet land. */
static void
fake_no_place(struct verdict *v)
{
    v->n_bars = 2;
    fake_bar(&v->bar[1], METRIC_CONTACT_MS, 228.0, 240.0, 270.0);
    v->focus = METRIC_CADENCE_SPM;
    v->cue = VERDICT_CUE_LONGER_CONTACT;
    v->belt_speed_m_s = NAN;
    fake_trend(v, 160.0, 172.0);
    for (int foot = 0; foot < 2; foot++)
        v->landing[foot] = (struct verdict_landing) { .middle_mm = NAN, .first_mm = NAN };
    v->has_landing = false;
}

void
fake_verdict(struct verdict *v, enum fake_state state, struct host_time now)
{
    fake_live(v, now);
    fake_shape_bars(v, state);
    if (state == FAKE_COUNTING || state == FAKE_WALKING || state == FAKE_STANDING)
        fake_shape_gait(v, state, now);
    if (state == FAKE_QUIET || state == FAKE_GONE_IN_SILENCE || state == FAKE_WAITING)
        fake_shape_sensor(v, state, now);
    if (state == FAKE_SWITCHES)
        v->landing[0].first_mm = v->landing[1].first_mm = NAN;
    if (state == FAKE_NEAR)
        fake_near(v);
    if (state == FAKE_NO_PLACE)
        fake_no_place(v);
    if (state == FAKE_SPLIT)
        v->focus = METRIC_ASYM_CONTACT_PCT;
    if (state == FAKE_FREE) {
        v->block = VERDICT_BLOCK_FREE;
        v->block_left_s = v->block_length_s = v->belt_speed_m_s = NAN;
    }
    if (state == FAKE_SILENT) {
        v->is_feedback_shown = false;
        v->block = VERDICT_BLOCK_SILENT;
    }
    if (state == FAKE_PAUSED)
        v->block = VERDICT_BLOCK_PAUSED;
    if (state == FAKE_ENDED)
        v->block = VERDICT_BLOCK_ENDED;
}
