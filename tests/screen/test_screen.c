/* needs: ui/canvas.c ui/text.c ui/paint.c ui/shot.c ui/theme.c ui/ease.c ui/bar.c ui/trend.c ui/foot.c runner/screen.c runner/screen_draw.c runner/screen_head.c runner/screen_text.c runner/screen_layout.c runner/words.c runner/figure.c */
/* libs: sdl2 SDL2_ttf cairo fontconfig inih */
/* What each state shows, probed in pixels of a headless picture, and the rules of motion. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <criterion/criterion.h>

#include "aid/fake_verdict.h"
#include "runner/screen.h"

struct rig {
    struct canvas canvas;
    struct screen screen;
    struct verdict verdict;
    struct host_time now;
};

static const int64_t frame_us = 16667;

static void
rig_open(struct rig *r, enum theme_kind theme)
{
    struct canvas_config cc = canvas_config_default();
    struct screen_config sc = screen_config_default();
    cc.is_headless = true;
    sc.theme = theme;
    r->now = (struct host_time){ 100000000 };
    cr_assert(canvas_open(&r->canvas, &cc) == ERR_OK, "%s", r->canvas.why);
    cr_assert(screen_init(&r->screen, &r->canvas, &sc) == ERR_OK, "%s", r->screen.why);
}

static void
rig_close(struct rig *r)
{
    screen_destroy(&r->screen);
    canvas_close(&r->canvas);
}

static bool
rig_frame(struct rig *r, const struct verdict *v)
{
    r->now.us += frame_us;
    screen_update(&r->screen, v, r->now);
    bool is_drawn = screen_draw(&r->screen, r->now);
    canvas_present(&r->canvas);
    return is_drawn;
}

/* Shows a state and lets everything come to rest. */
static void
rig_show(struct rig *r, enum fake_state state)
{
    fake_verdict(&r->verdict, state, r->now);
    rig_frame(r, &r->verdict);
    for (int i = 0; i < 60; i++)
        rig_frame(r, NULL);
}

static uint32_t
pixel(const struct rig *r, int x, int y)
{
    return r->canvas.picture.pixel[y * r->canvas.picture.width_px + x] & 0xFFFFFFu;
}

/* How many pixels of that colour lie in a rectangle. */
static int
count(const struct rig *r, struct paint_rect a, uint32_t rgb)
{
    int n = 0;
    for (int y = a.y_px; y < a.y_px + a.h_px; y++)
        for (int x = a.x_px; x < a.x_px + a.w_px; x++)
            n += pixel(r, x, y) == rgb;
    return n;
}

static int
count_verdict_colours(const struct rig *r)
{
    int n = 0;
    for (int side = THEME_BELOW; side < THEME_N_SIDES; side++)
        n += count(r, r->screen.layout.whole, r->screen.theme.look[side].rgb);
    return n;
}

/* First row from the top of the bar's room that has ink other than ground and stripe, on its left part. */
static int
bar_top(const struct rig *r, int bar)
{
    struct paint_rect room = r->screen.layout.bar[bar];
    int x = room.x_px + 3;
    for (int y = room.y_px; y < room.y_px + room.h_px; y++)
        for (int side = 0; side < THEME_N_SIDES; side++)
            if (pixel(r, x, y) == r->screen.theme.look[side].rgb)
                return y;
    return -1;
}

/* ---------------------------------------------------------------- live */

Test(screen, each_side_has_its_colour_and_its_shape)
{
    static struct rig r;
    rig_open(&r, THEME_DARK);
    rig_show(&r, FAKE_LIVE);
    const struct theme *t = &r.screen.theme;
    const struct screen_layout *l = &r.screen.layout;
    struct paint_rect lower[3];
    for (int i = 0; i < 3; i++) {
        lower[i] = l->bar[i];
        lower[i].y_px += lower[i].h_px * 9 / 10;
        lower[i].h_px /= 12;
        lower[i].x_px += 2;
        lower[i].w_px -= 4;
    }
    int area = lower[0].w_px * lower[0].h_px;
    cr_assert_eq(count(&r, lower[0], t->look[THEME_IN].rgb), area, "in: solid");
    int hatched = count(&r, lower[1], t->look[THEME_ABOVE].rgb);
    cr_assert(hatched > area / 4 && hatched < area * 4 / 5, "above: hatched");
    cr_assert_eq(count(&r, lower[2], t->look[THEME_BELOW].rgb), area, "below: solid at the foot");
    int top = bar_top(&r, 2);
    cr_assert_eq(pixel(&r, l->bar[2].x_px + l->bar[2].w_px / 8, top + (int) (5 * l->line_px)), t->ground,
                 "hollow top");
    rig_close(&r);
}

Test(screen, a_value_at_the_bands_edge_tops_out_at_the_stripes_edge)
{
    static struct rig r;
    rig_open(&r, THEME_DARK);
    fake_verdict(&r.verdict, FAKE_LIVE, r.now);
    const struct screen_layout *l = &r.screen.layout;
    r.verdict.bar[0].value = r.verdict.bar[0].high;
    r.verdict.bar[1].value = r.verdict.bar[1].low;
    r.verdict.bar[2].value = (r.verdict.bar[2].low + r.verdict.bar[2].high) / 2;
    for (int i = 0; i < 3; i++)
        r.verdict.bar[i].side = VERDICT_IN;
    rig_frame(&r, &r.verdict);
    for (int i = 0; i < 20; i++)
        rig_frame(&r, NULL);
    double ground = l->bars.y_px + l->bars.h_px;
    cr_assert_float_eq(ground - ease_value(&r.screen.bar[0].top[0], r.now), l->stripe.y_px, 1e-6);
    cr_assert_float_eq(ground - ease_value(&r.screen.bar[1].top[0], r.now), l->stripe.y_px + l->stripe.h_px,
                       1e-6);
    cr_assert(abs(bar_top(&r, 2) - (l->stripe.y_px + l->stripe.h_px / 2)) <= 1,
              "and the middle in its middle");
    rig_close(&r);
}

Test(screen, the_stripes_edges_run_over_the_bars)
{
    static struct rig r;
    rig_open(&r, THEME_DARK);
    rig_show(&r, FAKE_LIVE);
    const struct screen_layout *l = &r.screen.layout;
    int low = l->stripe.y_px + l->stripe.h_px;
    struct paint_rect line = { l->bars.x_px, low - 1, l->bars.w_px, 2 };
    for (int x = line.x_px; x < line.x_px + line.w_px; x++)
        cr_assert(theme_luminance(pixel(&r, x, low)) > 0.5 || theme_luminance(pixel(&r, x, low - 1)) > 0.5,
                  "at %d", x);
    rig_close(&r);
}

Test(screen, without_a_target_there_is_no_stripe_and_no_verdict)
{
    static struct rig r;
    rig_open(&r, THEME_DARK);
    rig_show(&r, FAKE_NO_TARGET);
    cr_assert_eq(count(&r, r.screen.layout.whole, r.screen.theme.stripe), 0);
    cr_assert_eq(count_verdict_colours(&r), 0);
    cr_assert(bar_top(&r, 0) > 0, "the bar is there, in grey");
    cr_assert(count(&r, r.screen.layout.figure[0], r.screen.theme.figure) > 100, "and so is its figure");
    rig_close(&r);
}

Test(screen, a_missing_value_is_a_dash_and_no_bar)
{
    static struct rig r;
    rig_open(&r, THEME_DARK);
    rig_show(&r, FAKE_COUNTING);
    struct paint_rect f = r.screen.layout.figure[0];
    struct paint_rect upper = { f.x_px, f.y_px, f.w_px, f.h_px / 3 };
    cr_assert_eq(bar_top(&r, 0), -1);
    cr_assert(count(&r, f, r.screen.theme.figure) > 20);
    cr_assert_eq(count(&r, upper, r.screen.theme.figure), 0,
                 "a dash has nothing in its upper third, a 0 would");
    rig_close(&r);
}

Test(screen, walking_and_standing_are_not_judged)
{
    static struct rig r;
    rig_open(&r, THEME_DARK);
    static const enum fake_state states[] = { FAKE_WALKING, FAKE_STANDING };
    for (int i = 0; i < 2; i++) {
        rig_show(&r, states[i]);
        cr_assert_eq(count_verdict_colours(&r), 0);
        cr_assert(count(&r, r.screen.layout.cue, r.screen.theme.label) > 50,
                  "the gait is said in plain words");
    }
    rig_close(&r);
}

/* ---------------------------------------------------------------- the other scenes */

Test(screen, silence_shows_time_and_belt_speed_and_nothing_of_the_feet)
{
    static struct rig r;
    rig_open(&r, THEME_LIGHT);
    rig_show(&r, FAKE_SILENT);
    cr_assert_eq(count_verdict_colours(&r), 0);
    cr_assert_eq(count(&r, r.screen.layout.whole, r.screen.theme.stripe), 0);
    int with = count(&r, r.screen.layout.whole, r.screen.theme.figure);
    cr_assert(with > 5000, "ring, time, speed");
    /* What the feet do changes nothing. */
    static uint32_t before[1280 * 720];
    memcpy(before, r.canvas.picture.pixel, sizeof before);
    r.verdict.bar[0].value += 20.0;
    r.verdict.bar[0].side = VERDICT_ABOVE;
    r.verdict.cue = VERDICT_CUE_HEEL_DOWN;
    r.verdict.landing[0][0].strike_index_pct = 90.0;
    r.verdict.trend[r.verdict.trend_head] = 400.0f;
    for (int i = 0; i < 30; i++)
        rig_frame(&r, &r.verdict);
    cr_assert_eq(memcmp(before, r.canvas.picture.pixel, sizeof before), 0);
    r.verdict.block_left_s -= 1.0;
    cr_assert(rig_frame(&r, &r.verdict), "but time goes on");
    rig_close(&r);
}

Test(screen, a_lost_sensor_is_said_and_nothing_looks_live)
{
    static struct rig r;
    rig_open(&r, THEME_DARK);
    rig_show(&r, FAKE_LIVE);
    cr_assert(count_verdict_colours(&r) > 1000);
    rig_show(&r, FAKE_QUIET);
    const struct screen_layout *l = &r.screen.layout;
    cr_assert_eq(count_verdict_colours(&r), 0);
    cr_assert_eq(count(&r, l->figure[0], r.screen.theme.figure), 0);
    cr_assert(count(&r, l->figure[0], r.screen.theme.stale) > 100, "last values turn grey");
    cr_assert(count(&r, l->message, r.screen.theme.alert) > l->message.w_px * l->message.h_px / 2);
    cr_assert(l->message.w_px > 1280 * 9 / 10, "over the full width");
    /* Its age grows. */
    r.now.us += 5000000;
    cr_assert(rig_frame(&r, NULL));
    rig_close(&r);
}

Test(screen, a_sensor_lost_in_silence_shows_no_values)
{
    static struct rig r;
    rig_open(&r, THEME_DARK);
    rig_show(&r, FAKE_GONE_IN_SILENCE);
    cr_assert_eq(r.screen.scene, SCREEN_WAITING);
    cr_assert_eq(count(&r, r.screen.layout.whole, r.screen.theme.stale), 0);
    rig_close(&r);
}

Test(screen, old_values_turn_grey_though_the_sensor_says_it_is_live)
{
    static struct rig r;
    rig_open(&r, THEME_DARK);
    rig_show(&r, FAKE_LIVE);
    r.now.us += 4000000;
    for (int i = 0; i < 30; i++)
        rig_frame(&r, NULL);
    cr_assert_eq(count_verdict_colours(&r), 0);
    rig_close(&r);
}

Test(screen, every_state_can_follow_every_other)
{
    static struct rig r;
    rig_open(&r, THEME_DARK);
    for (int a = 0; a < FAKE_N_STATES; a++)
        for (int b = 0; b < FAKE_N_STATES; b++) {
            fake_verdict(&r.verdict, (enum fake_state)(b == a ? FAKE_LIVE : b), r.now);
            rig_frame(&r, &r.verdict);
            r.now.us += 400000;
            fake_verdict(&r.verdict, (enum fake_state) a, r.now);
            rig_frame(&r, &r.verdict);
        }
    /* What is on the screen in the end is what a fresh screen shows: nothing is left over. */
    static struct rig fresh;
    static uint32_t last[1280 * 720];
    r.now = (struct host_time){ 500000000 };
    rig_show(&r, FAKE_FOUR);
    memcpy(last, r.canvas.picture.pixel, sizeof last);
    rig_open(&fresh, THEME_DARK);
    fresh.now = (struct host_time){ 500000000 };
    rig_show(&fresh, FAKE_FOUR);
    cr_assert_eq(memcmp(last, fresh.canvas.picture.pixel, sizeof last), 0);
    rig_close(&fresh);
    rig_close(&r);
}

/* ---------------------------------------------------------------- motion and cost */

Test(screen, nothing_is_drawn_when_nothing_changed)
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

Test(screen, one_bar_moving_redraws_its_figure_and_then_a_band_round_its_top)
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

Test(screen, a_step_redraws_one_foot_and_the_end_of_the_trend)
{
    static struct rig r;
    rig_open(&r, THEME_DARK);
    rig_show(&r, FAKE_LIVE);
    const struct screen_layout *l = &r.screen.layout;
    r.verdict.landing[1][0].strike_index_pct += 9.0;
    r.verdict.trend[r.verdict.trend_head] += 4.0f;
    int n = sent(&r, &r.verdict), foot = l->foot_label[1].w_px * l->feet.h_px;
    cr_assert(n > foot && n < foot + l->trend.w_px * l->trend.h_px / 10, "%d pixels, the foot's half is %d",
              n, foot);
    rig_close(&r);
}

/* Whatever is drawn in parts must be what drawing everything anew would give. */
Test(screen, what_is_drawn_in_parts_is_what_is_drawn_at_once, .timeout = 120)
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
                r.verdict.landing[i / 12 % 2][0].strike_index_pct = 50.0 + 49.0 * sin(i * 0.7);
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

Test(screen, no_glyph_is_made_after_the_start)
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
        snprintf(r.verdict.message, sizeof r.verdict.message, "%s",
                 r.verdict.sensor == VERDICT_SENSOR_QUIET
                     ? "No data from the sensor on /dev/ttyUSB0 for 12 s."
                     : "");
        r.now.us += 400000;
        r.verdict.block_left_s -= 0.5;
        rig_frame(&r, &r.verdict);
    }
    cr_assert_eq(r.canvas.text.n_glyphs, n_glyphs);
    cr_assert_eq(r.canvas.text.n_faces, n_faces);
    rig_close(&r);
}

Test(screen, a_bar_is_on_its_way_in_the_first_frame_after_its_verdict)
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
Test(screen, nothing_flashes_above_three_hertz_whatever_the_verdicts_do)
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

Test(screen, a_flapping_sensor_does_not_flash_the_screen)
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

/* True when the outermost rows of r hold nothing but one colour: no letter is cut there. */
static bool
edge_rows_are(const struct rig *r, struct paint_rect a, uint32_t rgb)
{
    struct paint_rect top = { a.x_px, a.y_px, a.w_px, 1 },
                      bottom = { a.x_px, a.y_px + a.h_px - 1, a.w_px, 1 };
    return count(r, top, rgb) == a.w_px && count(r, bottom, rgb) == a.w_px;
}

Test(screen, no_letter_is_cut_in_any_language_or_size, .timeout = 120)
{
    static const int sizes[][2] = { { 1280, 720 }, { 1920, 1080 }, { 1024, 768 }, { 768, 1024 } };
    static const char *const languages[] = { "en", "de", "fr", "es", "ja" };
    static struct rig r;
    for (size_t k = 0; k < sizeof languages / sizeof languages[0]; k++)
        for (size_t i = 0; i < sizeof sizes / sizeof sizes[0]; i++) {
            struct canvas_config cc = canvas_config_default();
            struct screen_config sc = screen_config_default();
            cc.is_headless = true;
            cc.width_px = sizes[i][0];
            cc.height_px = sizes[i][1];
            cc.language = sc.language = languages[k];
            r.now = (struct host_time){ 100000000 };
            cr_assert(canvas_open(&r.canvas, &cc) == ERR_OK &&
                      screen_init(&r.screen, &r.canvas, &sc) == ERR_OK);
            const struct screen_layout *l = &r.screen.layout;
            uint32_t ground = r.screen.theme.ground;
            fake_verdict(&r.verdict, FAKE_FOUR, r.now);
            for (int cue = 1; cue < VERDICT_CUE_COUNT; cue++) {
                r.verdict.cue = (enum verdict_cue) cue;
                rig_frame(&r, &r.verdict);
                cr_assert(edge_rows_are(&r, l->cue, ground), "%s: %s", languages[k], r.screen.words.cue[cue]);
            }
            for (int bar = 0; bar < 4; bar++) {
                struct paint_rect c = l->column[bar], below = { c.x_px, c.y_px + c.h_px - 1, c.w_px, 1 };
                cr_assert_eq(count(&r, below, ground), c.w_px, "%s: label of bar %d", languages[k], bar);
            }
            cr_assert(edge_rows_are(&r, l->feet, ground), "%s: feet's labels", languages[k]);
            static const enum fake_state gaits[] = { FAKE_WALKING, FAKE_STANDING, FAKE_COUNTING };
            for (int g = 0; g < 3; g++) {
                rig_show(&r, gaits[g]);
                cr_assert(edge_rows_are(&r, l->cue, ground), "%s: gait %d", languages[k], g);
            }
            rig_show(&r, FAKE_QUIET);
            cr_assert(edge_rows_are(&r, l->message, r.screen.theme.alert), "%s: message", languages[k]);
            rig_close(&r);
        }
}

/* ---------------------------------------------------------------- canvas */

Test(screen, a_window_opens_on_a_dummy_display_and_shows_the_same_picture)
{
    static struct rig r;
    static struct canvas window;
    struct canvas_config cc = canvas_config_default();
    struct screen_config sc = screen_config_default();
    static struct screen screen;
    setenv("SDL_VIDEODRIVER", "dummy", 1);
    rig_open(&r, THEME_DARK);
    rig_show(&r, FAKE_LIVE);
    cr_assert(canvas_open(&window, &cc) == ERR_OK, "%s", window.why);
    cr_assert(screen_init(&screen, &window, &sc) == ERR_OK);
    struct host_time now = { r.verdict.last_value_at.us };
    screen_update(&screen, &r.verdict, now);
    cr_assert(screen_draw(&screen, (struct host_time){ now.us + 500000 }));
    canvas_present(&window);
    cr_assert_eq(window.picture.width_px, 1280);
    size_t size = (size_t) 1280 * 720 * 4;
    cr_assert_eq(memcmp(window.picture.pixel, r.canvas.picture.pixel, size), 0);
    while (canvas_take_event(&window).kind != CANVAS_EVENT_NONE)
        ;
    screen_destroy(&screen);
    canvas_close(&window);
    rig_close(&r);
}

Test(screen, a_display_that_is_not_there_is_refused)
{
    static struct canvas c;
    struct canvas_config cc = canvas_config_default();
    setenv("SDL_VIDEODRIVER", "dummy", 1);
    cc.display = 7;
    cr_assert(canvas_open(&c, &cc) == ERR_USAGE);
    cr_assert_not_null(strstr(c.why, "Display 7"), "%s", c.why);
    canvas_close(&c);
}

Test(screen, a_shot_is_a_png_and_a_refused_one_says_why)
{
    static struct rig r;
    char path[64];
    unsigned char head[8] = { 0 };
    rig_open(&r, THEME_DARK);
    rig_show(&r, FAKE_LIVE);
    snprintf(path, sizeof path, "/tmp/underfoot-shot-%ld.png", (long) getpid());
    cr_assert(canvas_shot(&r.canvas, path) == ERR_OK, "%s", r.canvas.why);
    FILE *f = fopen(path, "rb");
    cr_assert_not_null(f);
    cr_assert_eq(fread(head, 1, sizeof head, f), 8);
    fclose(f);
    remove(path);
    cr_assert_eq(memcmp(head, "\x89PNG\r\n\x1a\n", 8), 0);
    cr_assert(canvas_shot(&r.canvas, "/nowhere/at/all.png") == ERR_OS);
    cr_assert_not_null(strstr(r.canvas.why, "/nowhere/at/all.png"));
    rig_close(&r);
}

Test(screen, figures_too_small_for_the_distance_are_told)
{
    static struct canvas canvas;
    static struct screen screen;
    struct canvas_config cc = canvas_config_default();
    struct screen_config sc = screen_config_default();
    struct verdict v;
    cc.is_headless = true;
    sc.diagonal_inch = 13.3;
    cr_assert(canvas_open(&canvas, &cc) == ERR_OK);
    cr_assert(screen_init(&screen, &canvas, &sc) == ERR_OK);
    fake_verdict(&v, FAKE_LIVE, (struct host_time){ 1 });
    screen_update(&screen, &v, (struct host_time){ 1 });
    cr_assert_not_null(strstr(screen.warning, "2.5 m"), "%s", screen.warning);
    screen_destroy(&screen);
    canvas_close(&canvas);
}
