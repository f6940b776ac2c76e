#include <math.h>
#include <string.h>

#include <criterion/criterion.h>

#include "aid/fake_verdict.h"
#include "runner/hearing.h"

static const struct host_time now = { 1000000 };

/* One more step in a state, after a first verdict that only sets the count. */
static struct hearing_now
hear_step(struct hearing_config c, struct verdict *v)
{
    struct hearing h;
    hearing_init(&h, &c);
    cr_assert_eq(hearing_feed(&h, v).sign, TONE_NONE, "what was before is no new step");
    v->n_steps++;
    return hearing_feed(&h, v);
}

Test(hearing, is_off_unless_asked_for)
{
    struct verdict v;
    cr_assert(hearing_is_off(&(struct hearing_config){ .beat_spm = NAN }));
    struct hearing_config c = hearing_config_default();
    cr_assert(hearing_is_off(&c));
    fake_verdict(&v, FAKE_LIVE, now);
    v.bar[1].side = VERDICT_ABOVE;
    struct hearing_now heard = hear_step(c, &v);
    cr_assert(isnan(heard.beat_spm));
    cr_assert_eq(heard.sign, TONE_NONE);
}

Test(hearing, a_step_out_of_the_focus_band_sounds_once_and_one_inside_does_not)
{
    static const enum tone_sign wanted[] = { TONE_NONE, TONE_RISE, TONE_NONE,
                                             TONE_FALL }; /* by enum verdict_side */
    struct hearing_config c = hearing_config_default();
    struct verdict v;
    c.has_signs = true;
    for (int side = VERDICT_UNKNOWN; side <= VERDICT_ABOVE; side++) {
        struct hearing h;
        fake_verdict(&v, FAKE_LIVE, now);
        for (int i = 0; i < v.n_bars; i++)
            v.bar[i].side = v.bar[i].metric == v.focus ? (enum verdict_side) side : VERDICT_BELOW;
        hearing_init(&h, &c);
        hearing_feed(&h, &v);
        v.n_steps += 3; /* the picture was late: still one sign */
        cr_assert_eq(hearing_feed(&h, &v).sign, wanted[side], "side %d", side);
        cr_assert_eq(hearing_feed(&h, &v).sign, TONE_NONE, "no new step");
    }
    fake_verdict(&v, FAKE_LIVE, now);
    v.focus = METRIC_COUNT;
    cr_assert_eq(hear_step(c, &v).sign, TONE_NONE, "nothing leads");
}

Test(hearing, nothing_is_heard_where_nothing_is_shown)
{
    static const enum fake_state quiet[] = { FAKE_SILENT, FAKE_QUIET, FAKE_GONE_IN_SILENCE, FAKE_WAITING,
                                             FAKE_PAUSED, FAKE_ENDED, FAKE_WALKING,         FAKE_STANDING };
    struct hearing_config c = { true, false, 170.0 };
    struct verdict v;
    for (size_t i = 0; i < sizeof quiet / sizeof quiet[0]; i++) {
        fake_verdict(&v, quiet[i], now);
        for (int k = 0; k < v.n_bars; k++)
            v.bar[k].side = VERDICT_ABOVE;
        struct hearing_now heard = hear_step(c, &v);
        cr_assert_not(heard.beat_is_heard, "%s", fake_name(quiet[i]));
        cr_assert_eq(heard.sign, TONE_NONE, "%s", fake_name(quiet[i]));
        cr_assert_eq(heard.beat_spm, 170.0, "but the grid goes on");
    }
    fake_verdict(&v, FAKE_LIVE, now);
    cr_assert(hear_step(c, &v).beat_is_heard);
    v.is_paused = true;
    cr_assert_not(hear_step(c, &v).beat_is_heard);
}

Test(hearing, the_beat_follows_the_cadence_target)
{
    static const struct {
        double low, high, beat;
    } rows[] = { { 170, 180, 175 }, { 170, NAN, 170 }, { NAN, 182, 182 }, { NAN, NAN, NAN } };
    struct hearing_config c = hearing_config_default();
    struct verdict v;
    c.beat_is_target = true;
    fake_verdict(&v, FAKE_LIVE, now);
    cr_assert_eq(v.bar[0].metric, METRIC_CADENCE_SPM);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        v.bar[0].low = rows[i].low;
        v.bar[0].high = rows[i].high;
        double beat = hear_step(c, &v).beat_spm;
        cr_assert(isnan(rows[i].beat) ? isnan(beat) : beat == rows[i].beat, "row %zu: %g", i, beat);
    }
    v.bar[0].metric = METRIC_CONTACT_MS;
    cr_assert(isnan(hear_step(c, &v).beat_spm), "no cadence target, no beat");
}
