#include "sim/cast.h"

#include "base/mark.h"

#include <math.h>
#include <string.h>

#define LENGTH(a) ((int) (sizeof(a) / sizeof((a)[0])))
#define OWN_SPEED NAN, NAN

/* What differs from runner_style_default(); 0 = as there. */
struct cast_row {
    const char *code, *summary;
    double mass_kg, speed_m_s, cadence_spm, duty_factor, strike_index_pct, limb_speed_m_s, foot_length_mm,
        leg_length_mm, width_mm, wander_mm;
    struct runner_asymmetry asymmetry;
    struct runner_fatigue fatigue;
};

static const struct cast_row RUNNERS[] = {
    { .code = "R-014",
      .summary = N_("overstrides: long slow steps, hard on the heel; answers to feedback well"),
      .mass_kg = 74,
      .speed_m_s = 2.8,
      .cadence_spm = 157,
      .duty_factor = 0.372,
      .strike_index_pct = 13,
      .limb_speed_m_s = 1.30,
      .foot_length_mm = 275,
      .leg_length_mm = 930,
      .width_mm = 70,
      .asymmetry = { .step_time = 0.01, .contact = -0.02 } },
    { .code = "R-022",
      .summary = N_("lands on the midfoot, even and light"),
      .mass_kg = 61,
      .speed_m_s = 3.0,
      .cadence_spm = 173,
      .duty_factor = 0.345,
      .strike_index_pct = 46,
      .limb_speed_m_s = 0.75,
      .foot_length_mm = 250,
      .leg_length_mm = 880,
      .width_mm = 55 },
    { .code = "R-031",
      .summary = N_("lands on the forefoot, quick steps"),
      .mass_kg = 68,
      .speed_m_s = 3.4,
      .cadence_spm = 182,
      .duty_factor = 0.320,
      .strike_index_pct = 76,
      .limb_speed_m_s = 0.90,
      .foot_length_mm = 268,
      .leg_length_mm = 910,
      .width_mm = 45,
      .asymmetry = { .contact = 0.01 } },
    { .code = "R-040",
      .summary = N_("right foot spared: shorter contacts, on the midfoot; the left lands on the heel"),
      .mass_kg = 80,
      .speed_m_s = 2.6,
      .cadence_spm = 164,
      .duty_factor = 0.365,
      .strike_index_pct = 29,
      .limb_speed_m_s = 1.05,
      .foot_length_mm = 285,
      .leg_length_mm = 950,
      .width_mm = 80,
      .asymmetry = { .step_time = 0.04, .contact = -0.06, .limb_speed = -0.15, .strike_share = 0.28 } },
    { .code = "R-053",
      .summary = N_("tires: steps get slower and heavier by the minute"),
      .mass_kg = 88,
      .speed_m_s = 2.7,
      .cadence_spm = 166,
      .duty_factor = 0.360,
      .strike_index_pct = 14,
      .limb_speed_m_s = 1.05,
      .foot_length_mm = 290,
      .leg_length_mm = 960,
      .width_mm = 75,
      .fatigue = { .cadence = -0.004, .contact = 0.008, .limb_speed = 0.02, .strike_share = -0.003 } },
    { .code = "R-066",
      .summary = N_("feet almost on one line, and wanders: crosses the middle line again and again"),
      .mass_kg = 55,
      .speed_m_s = 2.9,
      .cadence_spm = 170,
      .duty_factor = 0.350,
      .strike_index_pct = 18,
      .limb_speed_m_s = 0.95,
      .foot_length_mm = 240,
      .leg_length_mm = 840,
      .width_mm = 14,
      .wander_mm = 22 },
};

static const struct runner_segment VISIT[] = {
    { RUNNER_STANDS, 5, 0, 0, 0 },      { RUNNER_WALKS, 12, 0.8, 1.4, 0 }, { RUNNER_RUNS, 6, 2.0, NAN, 0 },
    { RUNNER_RUNS, 600, OWN_SPEED, 0 }, { RUNNER_RUNS, 6, NAN, 2.0, 0 },   { RUNNER_WALKS, 10, 1.4, 0.8, 0 },
    { RUNNER_STANDS, 5, 0, 0, 0 },      { RUNNER_IS_OFF, 5, 0, 0, 0 },
};

static const struct runner_segment HARD[] = {
    { RUNNER_IS_OFF, 4, OWN_SPEED, 0 },    { RUNNER_RUNS, 20, OWN_SPEED, 0 },
    { RUNNER_STUMBLES, 15, OWN_SPEED, 0 }, { RUNNER_IS_OFF, 6, OWN_SPEED, 0 },
    { RUNNER_RUNS, 20, OWN_SPEED, 0 },     { RUNNER_RUNS, 4, OWN_SPEED, 170 },
    { RUNNER_RUNS, 15, OWN_SPEED, 0 },     { RUNNER_RUNS, 10, NAN, 2.2, 0 },
    { RUNNER_WALKS, 15, 1.4, 1.4, 0 },     { RUNNER_RUNS, 20, 2.2, NAN, 0 },
    { RUNNER_STANDS, 5, 0, 0, 0 },         { RUNNER_IS_OFF, 3, 0, 0, 0 },
};

static const struct runner_segment WALK[] = { { RUNNER_WALKS, 3600, 1.4, 1.4, 0 } };
static const struct runner_segment STAND[] = { { RUNNER_IS_OFF, 3, 0, 0, 0 },
                                               { RUNNER_STANDS, 3600, 0, 0, 0 } };
static const struct runner_segment EMPTY[] = { { RUNNER_IS_OFF, 3600, OWN_SPEED, 0 } };
static const struct runner_segment RAMP[] = {
    { RUNNER_RUNS, 10, OWN_SPEED, 0 },
    { RUNNER_RUNS, 60, NAN, 4.0, 0 },
    { RUNNER_RUNS, 20, 4.0, 4.0, 0 },
    { RUNNER_RUNS, 60, 4.0, NAN, 0 },
};
static const struct runner_segment EDGE[] = {
    { RUNNER_RUNS, 15, OWN_SPEED, 0 },
    { RUNNER_RUNS, 10, OWN_SPEED, 175 },
    { RUNNER_RUNS, 15, OWN_SPEED, 0 },
};

static const struct cast_scenario SCENARIOS[] = {
    { "steady", N_("runs at one speed for as long as one looks"), NULL, 0 },
    { "visit", N_("stands, walks, ten minutes of running, walks, stands, leaves"), VISIT, LENGTH(VISIT) },
    { "hard", N_("steps on a moving belt, stumbles, steps off and on, lands over the edge, walks, runs, stops"),
      HARD, LENGTH(HARD) },
    { "ramp", N_("belt speeds up to 4 m/s and down again, slowly"), RAMP, LENGTH(RAMP) },
    { "edge", N_("lands over the mat's right edge for ten seconds"), EDGE, LENGTH(EDGE) },
    { "walk", N_("only walks"), WALK, LENGTH(WALK) },
    { "stand", N_("only stands"), STAND, LENGTH(STAND) },
    { "empty", N_("the belt moves, nobody on it"), EMPTY, LENGTH(EMPTY) },
};

int
cast_runner_count(void)
{
    return LENGTH(RUNNERS);
}

void
cast_runner_get(int i, struct cast_runner *out)
{
    const struct cast_row *row = &RUNNERS[i];
    out->code = row->code;
    out->summary = row->summary;
    out->style = runner_style_default();
    out->style.mass_kg = row->mass_kg;
    out->style.speed_m_s = row->speed_m_s;
    out->style.cadence_spm = row->cadence_spm;
    out->style.duty_factor = row->duty_factor;
    out->style.strike_index_pct = row->strike_index_pct;
    out->style.limb_speed_m_s = row->limb_speed_m_s;
    out->style.foot_length_mm = row->foot_length_mm;
    out->style.foot_width_mm = 0.36 * row->foot_length_mm;
    out->style.leg_length_mm = row->leg_length_mm;
    out->style.width_mm = row->width_mm;
    if (row->wander_mm > 0)
        out->style.wander_mm = row->wander_mm;
    out->style.asymmetry = row->asymmetry;
    out->style.fatigue = row->fatigue;
}

bool
cast_runner_find(const char *code, struct cast_runner *out)
{
    for (int i = 0; i < LENGTH(RUNNERS); i++) {
        if (strcmp(RUNNERS[i].code, code) == 0) {
            cast_runner_get(i, out);
            return true;
        }
    }
    return false;
}

int
cast_scenario_count(void)
{
    return LENGTH(SCENARIOS);
}

const struct cast_scenario *
cast_scenario_get(int i)
{
    return &SCENARIOS[i];
}

const struct cast_scenario *
cast_scenario_find(const char *name)
{
    for (int i = 0; i < LENGTH(SCENARIOS); i++)
        if (strcmp(SCENARIOS[i].name, name) == 0)
            return &SCENARIOS[i];
    return NULL;
}
