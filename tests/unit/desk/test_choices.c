/* A runner's display choices on the screen that is open, in memory: what was said by hand stands over them, and the next
 * runner does not inherit them. */
#include "base/str.h"
#include "desk/desk_parts.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static struct desk *d;
static struct app_config config;

static void
open_desk(unsigned given)
{
    struct canvas_config c = canvas_config_default();
    struct screen_config screen = screen_config_default();
    d = calloc(1, sizeof *d);
    cr_assert(d);
    config.show = show_config_default();
    config.show.place = SHOW_HEADLESS;
    config.show.given = given;
    config.show.width_px = c.width_px = 640;
    config.show.height_px = c.height_px = 360;
    c.is_headless = true;
    d->config = &config;
    d->look = config.show;
    cr_assert_eq(show_open(&d->show, &d->look), ERR_OK, "%s", message_english(&d->show.why));
    cr_assert_eq(canvas_open(&d->beside, &c), ERR_OK);
    cr_assert_eq(screen_init(&d->beside_screen, &d->beside, &screen), ERR_OK);
}

static void
close_desk(void)
{
    desk_close_sheets(d);
    show_close(&d->show);
    free(d);
}

TestSuite(choices, .fini = close_desk);

static void
dress(const char *display)
{
    struct panel_runner r = { .code = "R-014" };
    str_copy(r.display, sizeof r.display, display);
    desk_dress(d, &r);
    cr_assert(!d->is_leaving);
}

static uint32_t
ground(struct canvas *c, struct screen *s)
{
    cr_assert(screen_draw(s, (struct host_time){ 1000000 }), "all of it is drawn anew");
    return c->picture.pixel[0] & 0xFFFFFF;
}

Test(choices, a_runner_sees_and_hears_what_was_chosen_and_the_next_one_does_not)
{
    open_desk(0);
    const uint32_t dark = theme_of(THEME_DARK).ground & 0xFFFFFF, light = theme_of(THEME_LIGHT).ground & 0xFFFFFF;
    cr_assert_neq(dark, light);
    cr_assert_eq(ground(&d->show.canvas, &d->show.screen), dark);
    dress("theme=light language=de distance=4 sound=on metronome=170 volume=20");
    cr_assert_eq(ground(&d->show.canvas, &d->show.screen), light);
    cr_assert_eq(ground(&d->beside, &d->beside_screen), light);
    cr_assert_str_eq(d->show.screen.words.language, "de");
    cr_assert_str_eq(d->beside_screen.words.language, "de");
    cr_assert_eq(d->show.screen.config.viewing_distance_mm, 4000);
    cr_assert(d->show.hearing.config.has_signs);
    cr_assert_eq(d->show.hearing.config.beat_spm, 170);
    cr_assert_float_eq(d->look.volume, 0.2, 1e-12);
    dress("");
    cr_assert_eq(ground(&d->show.canvas, &d->show.screen), dark);
    cr_assert_str_eq(d->show.screen.words.language, "en");
    cr_assert(!d->show.hearing.config.has_signs && isnan(d->show.hearing.config.beat_spm));
}

Test(choices, the_same_choices_again_draw_nothing_anew)
{
    open_desk(0);
    dress("theme=light");
    cr_assert(screen_draw(&d->show.screen, (struct host_time){ 1000000 }));
    dress("theme=light");
    cr_assert(!screen_draw(&d->show.screen, (struct host_time){ 1000000 }));
}

Test(choices, what_was_said_by_hand_stands)
{
    open_desk(1u << SHOW_AS_THEME | 1u << SHOW_AS_SOUND);
    dress("theme=light language=fr sound=on");
    cr_assert_eq(d->look.theme, THEME_DARK);
    cr_assert(!d->look.hearing.has_signs);
    cr_assert_str_eq(d->show.screen.words.language, "fr");
}

Test(choices, a_word_of_another_version_is_left_out)
{
    open_desk(0);
    dress("theme=light glow=7 language=xx");
    cr_assert_eq(d->look.theme, THEME_LIGHT);
    cr_assert_str_eq(d->show.screen.words.language, "en");
}
