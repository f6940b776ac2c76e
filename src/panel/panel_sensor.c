/* panel_sensor.c - the sensor step: checked again, loaded, calibrated; and the profile it is read by. */
#include "panel/panel_parts.h"

#include "base/mark.h"
#include "base/str.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define MASS_MIN_KG 5.0
#define MASS_MAX_KG 300.0

static bool
is_past(const struct panel *p)
{
    return p->visit.is_on && p->visit.flow.phase > VISIT_FLOW_PAIN_BEFORE;
}

static void
check_again(struct panel *p)
{
    if (is_past(p))
        panel_say(p, N_("The sensor is checked before the run."));
    else if (p->visit.is_on && p->visit.sensor == PANEL_SENSOR_OPENING)
        panel_say(p, N_("Looking for the sensor still."));
    else
        panel_visit_begin(p);
}

static void
load(struct panel *p)
{
    if (!panel_sensor_is_seen(p))
        panel_say(p, N_("Enter looks for the sensor first."));
    else if (!p->visit.watch.is_loaded) {
        panel_want(p, PANEL_WANTS_LOAD);
        panel_say(p, N_("Now walk over all of it, and press single spots with a thumb."));
    }
}

/* ---------------------------------------------------------------- calibration */

static void
measure(struct panel *p, enum calib_what what, double mass_kg)
{
    struct panel_request *r = panel_want(p, PANEL_WANTS_CALIBRATE);
    r->number = (int) what;
    r->value = mass_kg;
    p->calib.is_on = true;
    p->calib.what = what;
}

static void
begin_to_weigh(struct panel *p)
{
    p->ask.typed[0] = '\0';
    if (!isnan(p->open.kase.runner.body_mass_kg))
        snprintf(p->ask.typed, sizeof p->ask.typed, "%.1f", p->open.kase.runner.body_mass_kg);
    p->context = PANEL_IN_MASS;
}

void
panel_sensor_weigh(struct panel *p)
{
    char text[PANEL_CODE_MAX];
    double mass_kg = 0;
    str_copy(text, sizeof text, p->ask.typed);
    for (char *c = text; *c; c++)
        if (*c == ',')
            *c = '.';
    if (!str_to_double(text, &mass_kg) || !(mass_kg >= MASS_MIN_KG && mass_kg <= MASS_MAX_KG)) {
        panel_say(p, N_("A mass lies between 5 and 300 kg."));
        return;
    }
    p->context = PANEL_IN_CALIBRATION;
    if (panel_sensor_is_seen(p))
        measure(p, CALIB_MASS, mass_kg);
}

static void
next_profile(struct panel *p)
{
    const struct panel_calibration *c = &p->calib.told;
    if (c->n_profiles == 0) {
        panel_say(p, N_("There is no profile to choose."));
        return;
    }
    int next = 0;
    for (int i = 0; i < c->n_profiles; i++)
        if (strcmp(c->profiles[i], c->profile) == 0)
            next = (i + 1) % c->n_profiles;
    struct panel_request *r = panel_want(p, PANEL_WANTS_PROFILE);
    str_copy(r->text, sizeof r->text, c->profiles[next]);
}

static void
undo(struct panel *p)
{
    if (p->calib.told.can_undo)
        p->context = PANEL_ASK_UNDO_CALIBRATION;
    else
        panel_say(p, N_("There is no calibration to take back."));
}

static void
calibrate(struct panel *p, enum panel_action action)
{
    if (p->calib.is_on)
        panel_say(p, N_("One is measured now: wait, or Esc."));
    else if (action == PANEL_DO_PROFILE)
        next_profile(p);
    else if (action == PANEL_DO_UNDO_CALIBRATION)
        undo(p);
    else if (!p->calib.told.profile[0])
        panel_say(p, N_("A calibration belongs to a profile: P chooses one."));
    else if (!panel_sensor_is_seen(p) || !panel_sensor_is_live(p))
        panel_say(p, N_("The sensor must send for that: Esc, then Enter looks for it."));
    else if (action == PANEL_DO_WEIGH)
        begin_to_weigh(p);
    else if (action == PANEL_DO_ZERO)
        measure(p, CALIB_ZERO, p->calib.is_zero_refused);
    else
        measure(p, CALIB_EQUALISE, (double) NAN);
}

void
panel_set_calibration(struct panel *p, const struct panel_calibration *c)
{
    p->calib.is_zero_refused = p->calib.is_on && p->calib.what == CALIB_ZERO && c->is_refused;
    p->calib.told = *c;
    p->calib.is_on = false;
    p->n_changes++;
    /* What is in force from now on was not in force as the sensor was opened. */
    if (c->is_changed && p->visit.is_on && !is_past(p) && p->visit.sensor != PANEL_SENSOR_OPENING)
        panel_visit_begin(p);
}

void
panel_sensor_do(struct panel *p, enum panel_action action)
{
    switch ((int) action) {
    case PANEL_DO_CHECK:
        check_again(p);
        break;
    case PANEL_DO_LOAD:
        load(p);
        break;
    case PANEL_DO_CALIBRATE:
        if (is_past(p))
            panel_say(p, N_("The sensor is calibrated before the run."));
        else
            p->context = PANEL_IN_CALIBRATION;
        break;
    case PANEL_DO_ZERO:
    case PANEL_DO_WEIGH:
    case PANEL_DO_EVEN:
    case PANEL_DO_UNDO_CALIBRATION:
    case PANEL_DO_PROFILE:
        calibrate(p, action);
        break;
    case PANEL_DO_NO:
        if (p->calib.is_on) {
            panel_want(p, PANEL_WANTS_NO_CALIBRATE);
            p->calib.is_on = false;
        } else {
            p->context = (enum panel_context) p->page;
            p->calib.is_zero_refused = false;
        }
        break;
    default:
        break;
    }
}
