#include "sim/demo_runners.h"

#include <math.h>
#include <string.h>

#define LENGTH(a) ((int) (sizeof(a) / sizeof((a)[0])))
#define OWN_SPEED NAN, NAN
#define EVEN      { .step_time = 0 }
#define UNTIRING  { .cadence = 0 }

/* What differs from runner_style_default(); 0 = as there. */
struct demo_row {
    const char *code, *summary;
    double mass_kg, speed_m_s, cadence_spm, duty_factor, strike_index_pct, limb_speed_m_s, foot_length_mm,
        leg_length_mm, width_mm;
    struct runner_asymmetry asymmetry;
    struct runner_fatigue fatigue;
};

static const struct demo_row RUNNERS[] = {
    { "R-014", "overstrides: long slow steps, hard on the heel; answers to feedback well",
      74, 2.8, 157, 0.372, 9, 1.30, 275, 930, 70, { .step_time = 0.01, .contact = -0.02 }, UNTIRING },
    { "R-022", "lands on the midfoot, even and light",
      61, 3.0, 173, 0.345, 46, 0.75, 250, 880, 55, EVEN, UNTIRING },
    { "R-031", "lands on the forefoot, quick steps",
      68, 3.4, 182, 0.320, 74, 0.90, 268, 910, 45, { .contact = 0.01 }, UNTIRING },
    { "R-040", "back from an injury on the right: shorter right contacts, heel left, midfoot right",
      80, 2.6, 164, 0.365, 27, 1.05, 285, 950, 80,
      { .step_time = 0.04, .contact = -0.06, .limb_speed = -0.15, .strike_share = 0.25 }, UNTIRING },
    { "R-053", "tires: steps get slower and heavier by the minute",
      88, 2.7, 166, 0.360, 14, 1.05, 290, 960, 75, EVEN,
      { .cadence = -0.004, .contact = 0.008, .limb_speed = 0.02, .strike_share = -0.003 } },
    { "R-066", "feet cross the middle line",
      55, 2.9, 170, 0.350, 18, 0.95, 240, 840, -15, EVEN, UNTIRING },
};

static const struct runner_segment VISIT[] = {
    { RUNNER_STANDS, 5, 0, 0, 0 },
    { RUNNER_WALKS, 12, 0.8, 1.4, 0 },
    { RUNNER_RUNS, 6, 2.0, NAN, 0 },
    { RUNNER_RUNS, 600, OWN_SPEED, 0 },
    { RUNNER_RUNS, 6, NAN, 2.0, 0 },
    { RUNNER_WALKS, 10, 1.4, 0.8, 0 },
    { RUNNER_STANDS, 5, 0, 0, 0 },
    { RUNNER_IS_OFF, 5, 0, 0, 0 },
};

static const struct runner_segment HARD[] = {
    { RUNNER_IS_OFF, 4, OWN_SPEED, 0 },
    { RUNNER_RUNS, 20, OWN_SPEED, 0 },
    { RUNNER_STUMBLES, 15, OWN_SPEED, 0 },
    { RUNNER_IS_OFF, 6, OWN_SPEED, 0 },
    { RUNNER_RUNS, 20, OWN_SPEED, 0 },
    { RUNNER_RUNS, 4, OWN_SPEED, 170 },
    { RUNNER_RUNS, 15, OWN_SPEED, 0 },
    { RUNNER_RUNS, 10, NAN, 2.2, 0 },
    { RUNNER_WALKS, 15, 1.4, 1.4, 0 },
    { RUNNER_RUNS, 20, 2.2, NAN, 0 },
    { RUNNER_STANDS, 5, 0, 0, 0 },
    { RUNNER_IS_OFF, 3, 0, 0, 0 },
};

static const struct runner_segment WALK[] = { { RUNNER_WALKS, 3600, 1.4, 1.4, 0 } };
static const struct runner_segment STAND[] = { { RUNNER_IS_OFF, 3, 0, 0, 0 }, { RUNNER_STANDS, 3600, 0, 0, 0 } };
static const struct runner_segment EMPTY[] = { { RUNNER_IS_OFF, 3600, OWN_SPEED, 0 } };
static const struct runner_segment RAMP[] = {
    { RUNNER_RUNS, 10, OWN_SPEED, 0 }, { RUNNER_RUNS, 60, NAN, 4.0, 0 },
    { RUNNER_RUNS, 20, 4.0, 4.0, 0 },  { RUNNER_RUNS, 60, 4.0, NAN, 0 },
};
static const struct runner_segment EDGE[] = {
    { RUNNER_RUNS, 15, OWN_SPEED, 0 }, { RUNNER_RUNS, 10, OWN_SPEED, 175 }, { RUNNER_RUNS, 15, OWN_SPEED, 0 },
};

static const struct demo_scenario SCENARIOS[] = {
    { "steady", "runs at one speed for as long as one looks", NULL, 0 },
    { "visit", "stands, walks, ten minutes of running, walks, stands, leaves", VISIT, LENGTH(VISIT) },
    { "hard", "steps on a moving belt, stumbles, steps off and on, lands over the edge, walks, runs, stops", HARD,
      LENGTH(HARD) },
    { "ramp", "belt speeds up to 4 m/s and down again, slowly", RAMP, LENGTH(RAMP) },
    { "edge", "lands over the mat's right edge for ten seconds", EDGE, LENGTH(EDGE) },
    { "walk", "only walks", WALK, LENGTH(WALK) },
    { "stand", "only stands", STAND, LENGTH(STAND) },
    { "empty", "the belt moves, nobody on it", EMPTY, LENGTH(EMPTY) },
};

int
demo_runner_count(void)
{
    return LENGTH(RUNNERS);
}

void
demo_runner_get(int i, struct demo_runner *out)
{
    const struct demo_row *row = &RUNNERS[i];
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
    out->style.asymmetry = row->asymmetry;
    out->style.fatigue = row->fatigue;
}

bool
demo_runner_find(const char *code, struct demo_runner *out)
{
    for (int i = 0; i < LENGTH(RUNNERS); i++) {
        if (strcmp(RUNNERS[i].code, code) == 0) {
            demo_runner_get(i, out);
            return true;
        }
    }
    return false;
}

int
demo_scenario_count(void)
{
    return LENGTH(SCENARIOS);
}

const struct demo_scenario *
demo_scenario_get(int i)
{
    return &SCENARIOS[i];
}

const struct demo_scenario *
demo_scenario_find(const char *name)
{
    for (int i = 0; i < LENGTH(SCENARIOS); i++)
        if (strcmp(SCENARIOS[i].name, name) == 0)
            return &SCENARIOS[i];
    return NULL;
}
