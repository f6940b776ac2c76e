/* What each state shows, probed in pixels of a headless picture. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <criterion/criterion.h>

#include "aid/screen_rig.h"
#include "runner/screen.h"
#include "ui/ruler.h"

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

/* Rows of a foot's column that have ink of that colour in its middle: the first, and how many. */
static int
rows_of(const struct rig *r, int foot, uint32_t rgb, int *first)
{
    const struct paint_rect c = r->screen.layout.foot[foot];
    int n = 0;
    *first = -1;
    for (int y = c.y_px; y < c.y_px + c.h_px; y++)
        if (pixel(r, c.x_px + c.w_px / 2, y) == rgb) {
            *first = *first < 0 ? y : *first;
            n++;
        }
    return n;
}

Test(screen, a_foots_mark_stands_where_its_middle_lands_and_looks_as_a_bar_does)
{
    static struct rig r;
    rig_open(&r, THEME_DARK);
    rig_show(&r, FAKE_LIVE);
    const struct theme *t = &r.screen.theme;
    const struct screen_layout *l = &r.screen.layout;
    int first;
    cr_assert_eq(count(&r, l->foot[0], t->look[THEME_IN].rgb), 0);
    cr_assert(count(&r, l->foot[0], t->look[THEME_ABOVE].rgb) > 500, "left: above, orange");
    int hatched = count(&r, l->foot[0], t->look[THEME_ABOVE].rgb), solid = count(&r, l->foot[1], t->look[THEME_IN].rgb);
    cr_assert(solid > hatched * 5 / 4, "and hatched: %d of the other's %d", hatched, solid);
    const struct ruler_scale s = { l->foot[1].y_px, l->foot[1].y_px + l->foot[1].h_px, l->ruler_unit_px, r.screen.ruler_low_mm,
                                   r.screen.ruler_high_mm };
    int n = rows_of(&r, 1, t->look[THEME_IN].rgb, &first);
    cr_assert_float_eq(first + n / 2.0, ruler_y_px(&s, r.verdict.landing[1].middle_mm), 1.0);
    rig_show(&r, FAKE_NEAR);
    cr_assert(pixel(&r, l->foot[0].x_px + l->foot[0].w_px / 2, (int) ruler_y_px(&(struct ruler_scale){ s.top_px, s.bottom_px,
                    s.unit_px, -100, 300 }, 52)) == t->ground, "below: hollow");
    cr_assert(count(&r, l->foot[0], t->look[THEME_BELOW].rgb) > 200);
    cr_assert_eq(count(&r, l->foot[1], t->look[THEME_BELOW].rgb), 0, "a foot still counted has no mark");
    rig_close(&r);
}

Test(screen, without_a_first_load_there_is_no_stem_and_without_a_place_no_ruler)
{
    static struct rig r;
    int first, with, without;
    rig_open(&r, THEME_DARK);
    rig_show(&r, FAKE_LIVE);
    with = rows_of(&r, 0, r.screen.theme.figure, &first);
    rig_show(&r, FAKE_SWITCHES);
    without = rows_of(&r, 0, r.screen.theme.figure, &first);
    cr_assert(with > without + 20, "%d rows, %d without", with, without);
    cr_assert(count(&r, r.screen.layout.foot[0], r.screen.theme.look[THEME_ABOVE].rgb) > 500, "the mark is there");
    rig_show(&r, FAKE_NO_PLACE);
    const struct paint_rect f = r.screen.layout.feet;
    cr_assert_eq(count(&r, f, r.screen.theme.ground), f.w_px * f.h_px);
    rig_close(&r);
}

/* The scale holds what it has to show and stays so: a ruler that comes and goes with each step could not be read. */
Test(screen, the_ruler_widens_and_stays_wide)
{
    static struct rig r;
    rig_open(&r, THEME_DARK);
    rig_show(&r, FAKE_LIVE);
    cr_assert_eq(r.screen.ruler_high_mm, 300.0);
    r.verdict.landing[0].middle_mm = 338;
    rig_frame(&r, &r.verdict);
    cr_assert_eq(r.screen.ruler_high_mm, 400.0);
    r.verdict.landing[0].middle_mm = 260;
    rig_frame(&r, &r.verdict);
    cr_assert_eq(r.screen.ruler_high_mm, 400.0);
    cr_assert_eq(r.screen.ruler_low_mm, 0.0);
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
    r.verdict.landing[0].middle_mm = 90.0;
    r.verdict.landing[0].earlier_mm[0] = 90.0;
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

/* Making the layout and its glyphs anew would cost two frames. */
Test(screen, what_was_painted_over_is_drawn_again_with_the_glyphs_there_are)
{
    static struct rig r;
    rig_open(&r, THEME_DARK);
    rig_show(&r, FAKE_LIVE);
    const struct paint_rect all = r.screen.layout.whole;
    const size_t size = (size_t) all.w_px * (size_t) all.h_px * sizeof(uint32_t);
    uint32_t *was = malloc(size);
    cr_assert(was);
    memcpy(was, r.canvas.picture.pixel, size);
    paint_fill(&r.canvas.picture, all, 0xFF00FF, 1.0);
    for (int i = 0; i < TEXT_N_GLYPHS; i++)
        if (r.canvas.text.glyph[i].code != 0)
            r.canvas.text.glyph[i].left_px++; /* marked: glyphs made anew would stand where they did */
    screen_forget_drawn(&r.screen);
    cr_assert(rig_frame(&r, NULL));
    cr_assert_eq(count(&r, all, 0xFF00FF), 0);
    cr_assert_neq(memcmp(was, r.canvas.picture.pixel, size), 0, "glyphs were made anew");
    for (int i = 0; i < TEXT_N_GLYPHS; i++)
        if (r.canvas.text.glyph[i].code != 0)
            r.canvas.text.glyph[i].left_px--;
    screen_forget_drawn(&r.screen);
    rig_frame(&r, NULL);
    cr_assert_eq(memcmp(was, r.canvas.picture.pixel, size), 0);
    free(was);
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

/* ---------------------------------------------------------------- words */

/* True when the outermost rows of r hold nothing but one colour: no letter is cut there. */
static bool
edge_rows_are(const struct rig *r, struct paint_rect a, uint32_t rgb)
{
    struct paint_rect top = { a.x_px, a.y_px, a.w_px, 1 },
                      bottom = { a.x_px, a.y_px + a.h_px - 1, a.w_px, 1 };
    return count(r, top, rgb) == a.w_px && count(r, bottom, rgb) == a.w_px;
}

Test(screen, no_letter_is_cut_in_any_language_or_size, .timeout = 500)
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
    cr_assert(canvas_open(&window, &cc) == ERR_OK, "%s", message_english(&window.why));
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
    cr_assert_not_null(strstr(message_english(&c.why), "Display 7"), "%s", message_english(&c.why));
    canvas_close(&c);
}

Test(screen, a_driver_that_does_not_wait_for_the_display_is_found_out)
{
    struct canvas_pace p = { 0 };
    for (int i = 0; i < 1000; i++) /* paced at 60 Hz; a picture in the driver's queue comes back at once */
        cr_assert(canvas_pace_feed(&p, i % 4 == 0 ? 300 : 16700, 16667));
    int n = 0;
    while (canvas_pace_feed(&p, 4000, 16667))
        cr_assert_lt(n++, CANVAS_EARLY_MAX);
}

Test(screen, a_window_goes_back_when_its_display_does)
{
    const struct paint_rect both[] = { { 0, 0, 1920, 1080 }, { 1920, 0, 1280, 1024 } };
    const struct paint_rect moved[] = { { 1280, 0, 1920, 1080 }, { 0, 0, 1280, 1024 } };
    struct displays_home home = { .place = both[1] };
    cr_assert_not(displays_home_feed(&home, both, 2), "it was never away");
    cr_assert_not(displays_home_feed(&home, both, 1));
    cr_assert_not(displays_home_feed(&home, both, 0), "a server that says nothing says nothing");
    cr_assert_not(displays_home_feed(&home, moved, 2), "another place is another display");
    cr_assert(displays_home_feed(&home, both, 2));
    cr_assert_not(displays_home_feed(&home, both, 2), "once: who then moves the window may");
}

Test(screen, displays_that_show_the_same_picture_are_one)
{
    struct paint_rect apart[] = { { 0, 0, 1920, 1080 }, { 1920, 0, 1280, 1024 }, { 0, 1080, 1920, 1080 } };
    struct paint_rect mirror[] = { { 0, 0, 1280, 1024 }, { 0, 0, 1920, 1080 }, { 1920, 0, 800, 600 } };
    cr_assert_eq(displays_distinct(apart, 3), 3);
    cr_assert_eq(displays_distinct(mirror, 3), 2);
    cr_assert_eq(mirror[1].x_px, 1920);
}

Test(screen, a_shot_is_a_png_and_a_refused_one_says_why)
{
    static struct rig r;
    char path[64];
    unsigned char head[8] = { 0 };
    rig_open(&r, THEME_DARK);
    rig_show(&r, FAKE_LIVE);
    snprintf(path, sizeof path, "/tmp/underfoot-shot-%ld.png", (long) getpid());
    cr_assert(canvas_shot(&r.canvas, path) == ERR_OK, "%s", message_english(&r.canvas.why));
    FILE *f = fopen(path, "rb");
    cr_assert_not_null(f);
    cr_assert_eq(fread(head, 1, sizeof head, f), 8);
    fclose(f);
    remove(path);
    cr_assert_eq(memcmp(head, "\x89PNG\r\n\x1a\n", 8), 0);
    cr_assert(canvas_shot(&r.canvas, "/nowhere/at/all.png") == ERR_OS);
    cr_assert_not_null(strstr(message_english(&r.canvas.why), "/nowhere/at/all.png"));
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
    cr_assert_not_null(strstr(message_english(&screen.warning), "2.5 m"), "%s", message_english(&screen.warning));
    screen_destroy(&screen);
    canvas_close(&canvas);
}
