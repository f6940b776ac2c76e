/* gait.c - frames straight to the gait engine: force or foot switches, with what garbage can be in a number.
 *
 * Input: kind, rate, then again and again (how many frames, shape, level u16): a run of minutes is a few hundred bytes.
 * Whatever came in, a step ends after it begins, steps follow each other, and a figure that is not known is NAN. */
#include "fuzz.h"
#include "gait/engine.h"

#include <math.h>

enum { SHAPE_FLAT, SHAPE_RAMP, SHAPE_HALF_SINE, SHAPE_NAN, SHAPE_INFINITE, SHAPE_HUGE, SHAPE_BACK, SHAPE_GAP, N_SHAPES };
#define FRAMES_MAX 60000

static double
force_of(int shape, int i, int n, double level_n, double before_n)
{
    const double at = (double) i / n;
    switch (shape) {
    case SHAPE_RAMP: return before_n + (level_n - before_n) * at;
    case SHAPE_HALF_SINE: return level_n * sin(3.14159265358979 * at);
    case SHAPE_NAN: return (double) NAN;
    case SHAPE_INFINITE: return i % 2 ? -(double) INFINITY : (double) INFINITY;
    case SHAPE_HUGE: return level_n * 1e300;
    default: return level_n;
    }
}

static void
take_all(struct engine *e)
{
    struct step s;
    while (engine_take(e, &s)) {
        fuzz_must(s.toe_off.us > s.touchdown.us, "a contact ends before it begins");
        for (int m = 0; m < METRIC_COUNT; m++)
            fuzz_must(!isinf(s.value[m]) && isnan(s.value[m]) == (s.standing[m] == METRIC_MISSING), "a figure is infinite, or missing and yet there");
    }
}

int
LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static struct engine e;
    static struct frame_switches switches;
    struct fuzz_input in = { data, size };
    const unsigned head = fuzz_u8(&in);
    const enum frame_kind kind = head % 3 == 0 ? FRAME_KIND_FORCE : head % 3 == 1 ? FRAME_KIND_CELLS : FRAME_KIND_SWITCHES;
    struct engine_config c = engine_config_default(kind);
    const double rate_hz = 50 + 8 * fuzz_u8(&in);
    c.rate_hz = head & 8 ? (double) NAN : rate_hz;
    c.body_mass_kg = head & 16 ? (double) NAN : 70;
    c.belt_speed_m_s = head & 32 ? (double) NAN : 2.8;
    c.foot_length_mm = head & 64 ? (double) NAN : 265;
    c.leg_length_mm = head & 128 ? (double) NAN : 900;
    engine_init(&e, &c);
    switches = (struct frame_switches){ .n_zones = 4, .is_right = { false, false, true, true },
                                        .zone = { FRAME_ZONE_HEEL, FRAME_ZONE_FORE, FRAME_ZONE_HEEL, FRAME_ZONE_FORE } };
    struct frame f = { .kind = kind };
    double before_n = 0, now_us = 0;
    for (int n_fed = 0; in.left > 0 && n_fed < FRAMES_MAX;) {
        const int n = 1 + fuzz_u8(&in), shape = fuzz_u8(&in) % N_SHAPES;
        const unsigned level = fuzz_u16(&in);
        const double level_n = (double) (int16_t) level / 8;
        for (int i = 0; i < n; i++, n_fed++) {
            now_us += 1e6 / rate_hz * (shape == SHAPE_BACK ? -1 : shape == SHAPE_GAP ? 40 : 1);
            f.time.us = (int64_t) now_us;
            f.flags = shape == SHAPE_GAP ? (uint32_t) FRAME_GAP_BEFORE : 0;
            f.n_lost_before = shape == SHAPE_GAP ? level : 0;
            f.force_n = kind == FRAME_KIND_SWITCHES ? (double) NAN : force_of(shape, i, n, level_n, before_n);
            f.cop_fwd_mm = level & 1 ? (double) NAN : 0.5 * (double) (i % 400) - 100;
            f.cop_right_mm = level & 2 ? 60 : -60;
            f.switches = kind == FRAME_KIND_SWITCHES ? &switches : NULL;
            for (int z = 0; z < switches.n_zones; z++) {
                switches.is_down[z] = (level >> z & 1) != 0;
                switches.load[z] = switches.is_down[z] ? 1 : 0;
            }
            engine_feed(&e, &f);
            take_all(&e);
        }
        before_n = level_n;
    }
    engine_finish(&e);
    take_all(&e);
    (void) engine_health(&e);
    return 0;
}
