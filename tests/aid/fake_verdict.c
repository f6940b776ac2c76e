#include "aid/fake_verdict.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const char *const fake_names[FAKE_N_STATES] = {
    "live",  "all-in", "four",   "two",   "no-target",       "counting", "walking", "standing", "switches",
    "split", "free",   "silent", "quiet", "gone-in-silence", "waiting",  "paused",  "ended",
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

static void
fake_feet(struct verdict *v)
{
    static const double right[VERDICT_N_LANDINGS] = { 52, 49, 44, 51, 38, 33, 24, 29 };
    static const double left[VERDICT_N_LANDINGS] = { 30, 41, 28, 36, 45, 27, 22, 18 };
    for (int i = 0; i < VERDICT_N_LANDINGS; i++) {
        v->landing[0][i] = (struct verdict_landing) { left[i], STEP_ZONE_REAR, { 1000000 - i * 700000 } };
        v->landing[1][i] = (struct verdict_landing) { right[i], STEP_ZONE_MID, { 1350000 - i * 700000 } };
    }
    v->n_landings[0] = v->n_landings[1] = VERDICT_N_LANDINGS;
    v->zone_low_pct = 34.0;
    v->zone_high_pct = 66.0;
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
    v->n_landings[0] = v->n_landings[1] = 0;
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
    fake_bar(&v->bar[1], METRIC_LANDING_AHEAD_MM, 214.0, 150.0, 190.0);
    fake_bar(&v->bar[2], METRIC_CONTACT_MS, 228.0, 240.0, 270.0);
    fake_feet(v);
    fake_trend(v, 260.0, 205.0);
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
        snprintf(v->message, sizeof v->message,
                 "No data from the sensor on /dev/ttyACM0 for 12 s. Check its cable and its power.");
}

static void
fake_shape_bars(struct verdict *v, enum fake_state state)
{
    if (state == FAKE_ALL_IN) {
        fake_bar(&v->bar[1], METRIC_LANDING_AHEAD_MM, 176.0, 150.0, 190.0);
        fake_bar(&v->bar[2], METRIC_CONTACT_MS, 262.0, 240.0, 270.0);
        fake_trend(v, 230.0, 172.0);
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
        v->zone_low_pct = v->zone_high_pct = NAN;
        v->block = VERDICT_BLOCK_BASELINE;
        v->cue = VERDICT_CUE_NONE;
    }
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
        for (int i = 0; i < VERDICT_N_LANDINGS; i++)
            v->landing[0][i].strike_index_pct = v->landing[1][i].strike_index_pct = NAN;
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
