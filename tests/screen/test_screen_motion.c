/* How the runner's screen moves, and what it draws anew: no more than what changed, and never a flash. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include <criterion/criterion.h>

#include "aid/screen_rig.h"
#include "runner/screen.h"

Test(screen_motion, nothing_is_drawn_when_nothing_changed)
{
    static struct rig r;
    rig_open(&r, THEME_DARK);
    rig_show(&r, FAKE_LIVE);
    uint64_t before = r.canvas.n_presents;
    for (int i = 0; i < 30; i++)
        cr_assert_not(rig_frame(&r, &r.verdict));
    cr_assert_eq(r.canvas.n_presents, before);
    rig_close(&r);
}

/* Pixels sent by the next frame. */
static int
sent(struct rig *r, const struct verdict *v)
{
    int n = 0;
    r->now.us += frame_us;
    screen_update(&r->screen, v, r->now);
    screen_draw(&r->screen, r->now);
    for (int i = 0; i < r->canvas.n_dirty; i++)
        n += r->canvas.dirty[i].w_px * r->canvas.dirty[i].h_px;
    canvas_present(&r->canvas);
    return n;
}

Test(screen_motion, one_bar_moving_redraws_its_figure_and_then_a_band_round_its_top)
{
    static struct rig r;
    rig_open(&r, THEME_DARK);
    rig_show(&r, FAKE_LIVE);
    const struct screen_layout *l = &r.screen.layout;
    struct paint_rect c = l->column[0];
    r.verdict.bar[0].value = 172.0;
    r.now.us += frame_us;
    screen_update(&r.screen, &r.verdict, r.now);
    cr_assert(screen_draw(&r.screen, r.now));
    cr_assert_eq(r.canvas.n_dirty, 1, "its figure; the bar is about to move");
    cr_assert_eq(r.canvas.dirty[0].w_px, c.w_px);
    canvas_present(&r.canvas);
    int n_moved = 0;
    for (int i = 0; i < 12; i++) {
        int n = sent(&r, NULL);
        cr_assert(n < c.w_px * l->bars.h_px / 4, "frame %d: %d pixels", i, n);
        n_moved += n > 0;
    }
    cr_assert(n_moved > 4 && n_moved < 12, "it moves, and comes to rest: %d", n_moved);
    rig_close(&r);
}

Test(screen_motion, a_step_redraws_one_foots_column_and_then_the_rows_of_its_mark)
{
    static struct rig r;
    rig_open(&r, THEME_DARK);
    rig_show(&r, FAKE_LIVE);
    const struct screen_layout *l = &r.screen.layout;
    r.verdict.landing[1].earlier_mm[0] += 9.0;
    r.verdict.landing[1].middle_mm += 4.0;
    r.verdict.landing[1].first_mm += 3.0;
    r.verdict.trend[r.verdict.trend_head] += 4.0f;
    int n = sent(&r, &r.verdict), foot = l->foot[1].w_px * (l->foot[1].h_px + l->foot_label[1].h_px);
    cr_assert(n > foot && n < foot + l->trend.w_px * l->trend.h_px / 10, "%d pixels, the foot's column is %d",
              n, foot);
    n = sent(&r, NULL);
    cr_assert(n > 0 && n < foot / 2, "%d pixels", n);
    rig_close(&r);
}

/* Whatever is drawn in parts must be what drawing everything anew would give. */
Test(screen_motion, what_is_drawn_in_parts_is_what_is_drawn_at_once, .timeout = 500)
{
    static struct rig r;
    static uint32_t in_parts[1280 * 720];
    for (int kind = THEME_DARK; kind <= THEME_LIGHT; kind++) {
        rig_open(&r, (enum theme_kind) kind);
        for (int i = 0; i < 900; i++) {
            if (i % 150 == 0)
                fake_verdict(&r.verdict,
                             (const enum fake_state[]){ FAKE_LIVE, FAKE_FOUR, FAKE_SPLIT }[i / 150 % 3],
                             r.now);
            if (i % 12 == 0) { /* a step */
                for (int b = 0; b < r.verdict.n_bars; b++) {
                    struct verdict_bar *bar = &r.verdict.bar[b];
                    bar->value += bar->value * 0.06 * sin(i * 0.37 + b);
                    bar->value_left = bar->value * 1.07;
                    bar->value_right = bar->value * (0.95 + 0.1 * sin(i * 0.11));
                    bar->side = bar->value < bar->low    ? VERDICT_BELOW
                                : bar->value > bar->high ? VERDICT_ABOVE
                                                         : VERDICT_IN;
                }
                struct verdict_landing *at = &r.verdict.landing[i / 12 % 2];
                at->earlier_mm[0] = 250.0 + 60.0 * sin(i * 0.7);
                at->middle_mm = i % 132 ? 250.0 + 70.0 * sin(i * 0.05) : (double) NAN;
                at->first_mm = i % 96 ? 150.0 + 90.0 * sin(i * 0.09) : (double) NAN;
                at->side = (enum verdict_side)(1 + i / 60 % 3);
                r.verdict.trend[r.verdict.trend_head] = i % 36 ? (float) r.verdict.bar[1].value : NAN;
                r.verdict.last_value_at = r.now;
            }
            if (i % 30 == 0)
                r.verdict.trend_head = (r.verdict.trend_head + 1) % VERDICT_TREND_SLOTS;
            if (i % 400 == 350)
                r.verdict.gait = STEP_GAIT_WALKING;
            rig_frame(&r, &r.verdict);
            memcpy(in_parts, r.canvas.picture.pixel, sizeof in_parts);
            memset(r.screen.drawn, 0, sizeof r.screen.drawn);
            screen_draw(&r.screen, r.now);
            cr_assert_eq(memcmp(in_parts, r.canvas.picture.pixel, sizeof in_parts), 0, "theme %d, frame %d",
                         kind, i);
        }
        rig_close(&r);
    }
}

Test(screen_motion, no_glyph_is_made_after_the_start)
{
    static struct rig r;
    rig_open(&r, THEME_DARK);
    rig_show(&r, FAKE_LIVE);
    int n_glyphs = r.canvas.text.n_glyphs, n_faces = r.canvas.text.n_faces;
    for (int i = 0; i < 600; i++) {
        r.verdict.bar[i % 3].value = 100 + i;
        r.verdict.cue = (enum verdict_cue)(i / 60 % VERDICT_CUE_COUNT);
        r.verdict.block_left_s = 600 - i;
        r.verdict.block = (enum verdict_block)(VERDICT_BLOCK_WARM_UP + i / 100 % 3);
        r.verdict.belt_speed_m_s = 2.0 + i / 300.0;
        r.verdict.last_value_at = r.now;
        rig_frame(&r, &r.verdict);
    }
    r.verdict.block_length_s = 700.0;
    for (int i = 0; i < 240; i++) { /* silent, sensor lost in each way, waiting, paused, ended; and back */
        static const enum verdict_sensor sensors[] = { VERDICT_SENSOR_QUIET, VERDICT_SENSOR_GONE,
                                                       VERDICT_SENSOR_GARBLED, VERDICT_SENSOR_WAITING,
                                                       VERDICT_SENSOR_LIVE };
        static const enum verdict_block blocks[] = { VERDICT_BLOCK_COACHED, VERDICT_BLOCK_SILENT,
                                                     VERDICT_BLOCK_PAUSED, VERDICT_BLOCK_ENDED };
        r.verdict.sensor = sensors[i / 10 % 5];
        r.verdict.block = blocks[i / 50 % 4];
        r.verdict.is_feedback_shown = i / 50 % 4 != 1;
        message_init(&r.verdict.message, MESSAGE_NONE);
        if (r.verdict.sensor == VERDICT_SENSOR_QUIET)
            message_say(&r.verdict.message, "No data from the sensor on /dev/ttyUSB0 for 12 s.");
        r.now.us += 400000;
        r.verdict.block_left_s -= 0.5;
        rig_frame(&r, &r.verdict);
    }
    cr_assert_eq(r.canvas.text.n_glyphs, n_glyphs);
    cr_assert_eq(r.canvas.text.n_faces, n_faces);
    rig_close(&r);
}

Test(screen_motion, a_bar_is_on_its_way_in_the_first_frame_after_its_verdict)
{
    static struct rig r;
    rig_open(&r, THEME_DARK);
    rig_show(&r, FAKE_LIVE);
    int before = bar_top(&r, 0);
    r.verdict.bar[0].value = 177.5;
    rig_frame(&r, &r.verdict);
    rig_frame(&r, NULL);
    int soon = bar_top(&r, 0);
    for (int i = 0; i < 10; i++)
        rig_frame(&r, NULL);
    int after = bar_top(&r, 0);
    cr_assert(soon < before && after < soon, "%d, %d, %d", before, soon, after);
    rig_close(&r);
}

/* Flashes (pairs of opposing changes of at least a tenth of full luminance) in the worst second, of one pixel
 * in each bar, when the verdict flips at every frame: WCAG 2.3.1 counts more than three as a failure. */
Test(screen_motion, nothing_flashes_above_three_hertz_whatever_the_verdicts_do)
{
    static struct rig r;
    static double seen[600];
    rig_open(&r, THEME_DARK);
    rig_show(&r, FAKE_LIVE);
    const struct screen_layout *l = &r.screen.layout;
    int x = l->bar[0].x_px + 6, y = l->bars.y_px + l->bars.h_px - 6;
    for (int i = 0; i < 600; i++) {
        r.verdict.bar[0].side = i % 2 ? VERDICT_BELOW : VERDICT_IN;
        r.verdict.last_value_at = r.now;
        rig_frame(&r, &r.verdict);
        seen[i] = theme_luminance(pixel(&r, x, y));
    }
    int n_turns[600] = { 0 }, direction = 0, n_all = 0;
    double turn = seen[0];
    for (int i = 1; i < 600; i++) {
        if (fabs(seen[i] - turn) >= 0.1 && (seen[i] > turn ? 1 : -1) != direction) {
            direction = seen[i] > turn ? 1 : -1;
            n_turns[i] = 1;
            n_all++;
            turn = seen[i];
        } else if ((direction > 0 && seen[i] > turn) || (direction < 0 && seen[i] < turn)) {
            turn = seen[i];
        }
    }
    cr_assert(n_all > 4, "the look does follow, only not at once: %d", n_all);
    for (int i = 60; i < 600; i++) {
        int in_a_second = 0;
        for (int k = i - 60; k < i; k++)
            in_a_second += n_turns[k];
        cr_assert(in_a_second / 2.0 <= 3.0, "%d changes in a second", in_a_second);
    }
    rig_close(&r);
}

Test(screen_motion, a_flapping_sensor_does_not_flash_the_screen)
{
    static struct rig r;
    rig_open(&r, THEME_DARK);
    rig_show(&r, FAKE_LIVE);
    int n_changes = 0;
    enum screen_scene last = r.screen.scene;
    for (int i = 0; i < 300; i++) { /* five seconds */
        fake_verdict(&r.verdict, i % 2 ? FAKE_QUIET : FAKE_LIVE, r.now);
        rig_frame(&r, &r.verdict);
        n_changes += r.screen.scene != last;
        last = r.screen.scene;
    }
    cr_assert(n_changes >= 2 && n_changes <= 15, "%d changes in 5 s", n_changes);
    rig_close(&r);
}

/* One faint mark more and one less at each step: their contrast with what was there stays under 1.6:1, half of what a sign must
 * have to be seen (3:1, WCAG 1.4.11), so that nothing pulses at step rate beside the strong mark. It comes once in two
 * steps, 1.5 times a second at 180 a minute: half the limit of flashes (WCAG 2.3.1), were it one. */
Test(screen_motion, a_step_does_not_pulse_in_its_column)
{
    for (int kind = THEME_DARK; kind <= THEME_LIGHT; kind++) {
        static struct rig r;
        rig_open(&r, (enum theme_kind) kind);
        rig_show(&r, FAKE_LIVE);
        const struct paint_rect c = r.screen.layout.foot[0];
        static uint32_t was[720];
        const int x = c.x_px + 3 + c.w_px / 40; /* beside the mark, across the faint ones */
        double worst = 1.0;
        for (int y = c.y_px; y < c.y_px + c.h_px; y++)
            was[y] = pixel(&r, x, y);
        for (int step = 0; step < 60; step++) {
            struct verdict_landing *l = &r.verdict.landing[0];
            memmove(l->earlier_mm + 1, l->earlier_mm, (VERDICT_N_LANDINGS - 1) * sizeof l->earlier_mm[0]);
            l->earlier_mm[0] = 262.0 + 25.0 * sin(step * 2.3);
            r.verdict.last_value_at = r.now;
            for (int i = 0; i < 42; i++)
                rig_frame(&r, i == 0 ? &r.verdict : NULL);
            for (int y = c.y_px; y < c.y_px + c.h_px; y++) {
                worst = fmax(worst, theme_contrast(pixel(&r, x, y), was[y]));
                was[y] = pixel(&r, x, y);
            }
        }
        cr_assert(worst > 1.1, "the faint marks are there");
        cr_assert(worst < 1.6, "theme %d: a step changes a pixel by %.2f to 1", kind, worst);
        rig_close(&r);
    }
}

Test(screen_motion, a_mark_glides_to_its_new_place)
{
    static struct rig r;
    rig_open(&r, THEME_DARK);
    rig_show(&r, FAKE_LIVE);
    const double before = ease_value(&r.screen.landing[1].middle_mm, r.now);
    r.verdict.landing[1].middle_mm -= 20;
    rig_frame(&r, &r.verdict);
    rig_frame(&r, NULL);
    const double soon = ease_value(&r.screen.landing[1].middle_mm, r.now);
    for (int i = 0; i < 10; i++)
        rig_frame(&r, NULL);
    cr_assert(soon < before && soon > before - 15, "%.1f", soon);
    cr_assert_float_eq(ease_value(&r.screen.landing[1].middle_mm, r.now), before - 20, 1e-9);
    rig_close(&r);
}
