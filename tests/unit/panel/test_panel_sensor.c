/* The sensor step on the panel: what is live, the loaded part, calibration by keys. */
#include "base/str.h"
#include "panel/panel.h"
#include "aid/said.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

static struct panel panel, *p = &panel;
static struct panel_runners runners;
static struct panel_case kase;
static struct panel_watch watch;
static struct panel_calibration calibration;

static void
key(int k)
{
    const struct panel_input input = { .kind = PANEL_INPUT_KEY, .key = k };
    panel_feed(p, &input);
}

static void
press(int k)
{
    const struct panel_input text = { .kind = PANEL_INPUT_TEXT, .text = { (char) k } };
    key(k);
    panel_feed(p, &text);
}

static struct panel_request
take(enum panel_request_kind kind)
{
    struct panel_request r = { .kind = PANEL_WANTS_NOTHING };
    panel_take_request(p, &r);
    cr_assert_eq(r.kind, kind, "request %d instead of %d: %s", r.kind, kind, message_english(&p->out.message));
    return r;
}

static void
nothing_wanted(void)
{
    struct panel_request r;
    cr_assert(!panel_take_request(p, &r), "request %d is too much", r.kind);
}

static void
show(enum verdict_sensor sensor)
{
    const struct verdict v = { .sensor = sensor, .block = VERDICT_BLOCK_PAUSED, .focus = METRIC_COUNT };
    panel_set_verdict(p, &v);
}

/* On the visit page, the sensor open and looked at. */
static void
open_sensor(void)
{
    panel_init(p);
    take(PANEL_WANTS_RUNNERS);
    runners.n = runners.total = runners.n_all = 1;
    runners.runner[0].id = 1;
    str_copy(runners.runner[0].code, PANEL_CODE_MAX, "R-014");
    runners.runner[0].body_mass_kg = 71.5;
    kase.runner = runners.runner[0];
    kase.plan_now = -1;
    watch.calib_left_s = (double) NAN;
    panel_set_runners(p, &runners);
    key(PANEL_KEY_RETURN);
    take(PANEL_WANTS_CASE);
    panel_set_case(p, &kase);
    key(PANEL_KEY_RETURN);
    take(PANEL_WANTS_SENSOR);
    panel_set_sensor(p, PANEL_SENSOR_OPEN, said("cells"));
    show(VERDICT_SENSOR_LIVE);
    panel_set_watch(p, &watch);
}

static void
set_calibration(const char *profile, bool can_undo, bool is_changed)
{
    str_copy(calibration.profile, sizeof calibration.profile, profile);
    calibration.can_undo = can_undo;
    calibration.is_changed = is_changed;
    panel_set_calibration(p, &calibration);
}

TestSuite(panel_sensor, .init = open_sensor);

Test(panel_sensor, what_is_shown_counts_as_live_only_while_the_sensor_sends)
{
    cr_assert(panel_sensor_is_live(p));
    show(VERDICT_SENSOR_QUIET);
    cr_assert(!panel_sensor_is_live(p));
    show(VERDICT_SENSOR_LIVE);
    cr_assert(panel_sensor_is_live(p));
    show(VERDICT_SENSOR_GONE);
    cr_assert(!panel_sensor_is_live(p));
}

Test(panel_sensor, the_title_says_checking_until_there_is_a_judgement)
{
    char title[PANEL_TITLE_MAX];
    panel_title(p, title);
    cr_assert(strstr(title, "checking"), "%s", title);
    watch.has_check = true;
    panel_set_watch(p, &watch);
    panel_title(p, title);
    cr_assert(strstr(title, "sensor"), "%s", title);
}

Test(panel_sensor, l_begins_the_loaded_part_once_and_only_in_its_step)
{
    key('l');
    take(PANEL_WANTS_LOAD);
    watch.is_loaded = true;
    panel_set_watch(p, &watch);
    key('l');
    nothing_wanted();
    watch.is_loaded = false;
    key(PANEL_KEY_RETURN);
    cr_assert_eq(p->visit.flow.phase, VISIT_FLOW_CAUTIONS);
    key('l');
    nothing_wanted();
    cr_assert_not(message_is_none(&p->out.message));
}

Test(panel_sensor, without_a_profile_nothing_is_calibrated_but_one_can_be_chosen)
{
    set_calibration("", false, false);
    calibration.n_profiles = 2;
    str_copy(calibration.profiles[0], sizeof calibration.profiles[0], "cells-4");
    str_copy(calibration.profiles[1], sizeof calibration.profiles[1], "cells-9");
    panel_set_calibration(p, &calibration);
    key('z');
    cr_assert_eq(p->context, PANEL_IN_CALIBRATION);
    key('z');
    nothing_wanted();
    cr_assert(strstr(message_english(&p->out.message), "profile"), "%s", message_english(&p->out.message));
    key('p');
    cr_assert_str_eq(take(PANEL_WANTS_PROFILE).text, "cells-4");
    set_calibration("cells-4", false, true);
    take(PANEL_WANTS_SENSOR); /* opened anew by it */
    key('p');
    cr_assert_str_eq(take(PANEL_WANTS_PROFILE).text, "cells-9");
}

Test(panel_sensor, a_zero_is_measured_and_then_the_sensor_is_opened_anew)
{
    set_calibration("cells-4", false, false);
    key('z');
    key('z');
    cr_assert_eq(take(PANEL_WANTS_CALIBRATE).number, CALIB_ZERO);
    key('w');
    nothing_wanted();
    cr_assert_eq(p->context, PANEL_IN_CALIBRATION, "one at a time");
    set_calibration("cells-4", true, true);
    take(PANEL_WANTS_SENSOR);
    cr_assert_eq(p->context, PANEL_IN_CALIBRATION, "the sheet stays");
    cr_assert(!p->calib.is_on && !p->visit.has_watch);
}

Test(panel_sensor, a_refused_calibration_leaves_the_sensor_as_it_is)
{
    set_calibration("cells-4", false, false);
    key('z');
    key('e');
    cr_assert_eq(take(PANEL_WANTS_CALIBRATE).number, CALIB_EQUALISE);
    set_calibration("cells-4", false, false);
    nothing_wanted();
    cr_assert(!p->calib.is_on);
}

Test(panel_sensor, a_refused_zero_that_is_asked_for_once_more_is_sure_that_nobody_is_on)
{
    set_calibration("cells-4", false, false);
    key('z');
    key('z');
    cr_assert_eq(take(PANEL_WANTS_CALIBRATE).value, 0);
    calibration.is_refused = true;
    set_calibration("cells-4", false, false);
    key('z');
    cr_assert_eq(take(PANEL_WANTS_CALIBRATE).value, 1);
    set_calibration("cells-4", false, false);
    key(PANEL_KEY_ESCAPE);
    key('z');
    key('z');
    cr_assert_eq(take(PANEL_WANTS_CALIBRATE).value, 0, "forgotten with the sheet");
}

Test(panel_sensor, weighing_asks_for_the_mass_and_knows_the_runners)
{
    set_calibration("cells-4", false, false);
    key('z');
    press('w');
    cr_assert_eq(p->context, PANEL_IN_MASS);
    cr_assert_str_eq(p->ask.typed, "71.5");
    nothing_wanted();
    key(PANEL_KEY_BACKSPACE);
    key(PANEL_KEY_BACKSPACE);
    key(PANEL_KEY_BACKSPACE);
    key(PANEL_KEY_BACKSPACE);
    press('3');
    key(PANEL_KEY_RETURN);
    nothing_wanted();
    cr_assert(strstr(message_english(&p->out.message), "300"), "%s", message_english(&p->out.message));
    press('0');
    press(',');
    press('5');
    key(PANEL_KEY_RETURN);
    const struct panel_request r = take(PANEL_WANTS_CALIBRATE);
    cr_assert(r.number == CALIB_MASS && r.value == 30.5, "%d %g", r.number, r.value);
}

Test(panel_sensor, undo_is_asked_once)
{
    set_calibration("cells-4", false, false);
    key('z');
    key('u');
    cr_assert_eq(p->context, PANEL_IN_CALIBRATION, "there is none");
    set_calibration("cells-4", true, false);
    key('u');
    cr_assert_eq(p->context, PANEL_ASK_UNDO_CALIBRATION);
    key(PANEL_KEY_ESCAPE);
    nothing_wanted();
    key('u');
    key('y');
    take(PANEL_WANTS_UNDO_CALIBRATION);
    cr_assert_eq(p->context, PANEL_IN_CALIBRATION);
}

Test(panel_sensor, escape_leaves_a_measurement_then_the_sheet)
{
    set_calibration("cells-4", false, false);
    key('z');
    key('z');
    take(PANEL_WANTS_CALIBRATE);
    key(PANEL_KEY_ESCAPE);
    take(PANEL_WANTS_NO_CALIBRATE);
    cr_assert_eq(p->context, PANEL_IN_CALIBRATION);
    key(PANEL_KEY_ESCAPE);
    cr_assert_eq(p->context, PANEL_ON_VISIT);
    nothing_wanted();
}

Test(panel_sensor, a_silent_sensor_is_not_calibrated)
{
    set_calibration("cells-4", false, false);
    show(VERDICT_SENSOR_QUIET);
    key('z');
    key('z');
    nothing_wanted();
    cr_assert_not(message_is_none(&p->out.message));
}
