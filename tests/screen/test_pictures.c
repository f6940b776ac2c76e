/* needs: ui/canvas.c ui/text.c ui/paint.c ui/shot.c ui/theme.c ui/ease.c ui/bar.c ui/trend.c ui/foot.c runner/screen.c runner/screen_draw.c runner/screen_head.c runner/screen_text.c runner/screen_layout.c runner/words.c runner/figure.c */
/* libs: sdl2 SDL2_ttf cairo fontconfig inih */
/* Pictures of every state. With UNDERFOOT_PICTURES=folder each is saved as PNG, to be looked at; always,
 * each is drawn and must hold more than the bare ground. */
#include <stdio.h>
#include <stdlib.h>

#include <criterion/criterion.h>

#include "aid/fake_verdict.h"
#include "runner/screen.h"

struct picture_case {
    int width_px, height_px;
    enum theme_kind theme;
    const char *language;
};

static const struct host_time start = { 50000000 };

/* Share of the pixels that are not ground. */
static double
inked(const struct canvas *c, uint32_t ground)
{
    size_t n = (size_t) c->picture.width_px * (size_t) c->picture.height_px, other = 0;
    for (size_t i = 0; i < n; i++)
        other += (c->picture.pixel[i] & 0xFFFFFFu) != ground;
    return (double) other / (double) n;
}

static void
take_picture(const struct picture_case *pc, enum fake_state state, const char *folder)
{
    struct canvas canvas;
    struct screen screen;
    struct canvas_config cc = canvas_config_default();
    struct screen_config sc = screen_config_default();
    struct verdict v;
    cc.is_headless = true;
    cc.width_px = pc->width_px;
    cc.height_px = pc->height_px;
    cc.language = sc.language = pc->language;
    sc.theme = pc->theme;
    cr_assert(canvas_open(&canvas, &cc) == ERR_OK, "%s", canvas.why);
    cr_assert(screen_init(&screen, &canvas, &sc) == ERR_OK, "%s", screen.why);
    fake_verdict(&v, state, start);
    screen_update(&screen, &v, start);
    screen_draw(&screen, (struct host_time) { start.us + 400000 });
    cr_assert(inked(&canvas, screen.theme.ground) > 0.003, "%s is bare", fake_name(state));
    if (folder != NULL) {
        char path[512];
        snprintf(path, sizeof path, "%s/%s-%dx%d-%s-%s.png", folder, fake_name(state), pc->width_px, pc->height_px,
                 pc->theme == THEME_DARK ? "dark" : "light", pc->language);
        cr_assert(canvas_shot(&canvas, path) == ERR_OK, "%s", canvas.why);
    }
    screen_destroy(&screen);
    canvas_close(&canvas);
}

Test(pictures, every_state_is_drawn)
{
    static const struct picture_case one = { 1920, 1080, THEME_DARK, "en" };
    for (int state = 0; state < FAKE_N_STATES; state++)
        take_picture(&one, (enum fake_state) state, getenv("UNDERFOOT_PICTURES"));
}

Test(pictures, every_size_theme_and_language_is_drawn)
{
    static const struct picture_case cases[] = {
        { 1280, 720, THEME_LIGHT, "de" },  { 1024, 768, THEME_DARK, "fr" },  { 1080, 1920, THEME_DARK, "es" },
        { 1920, 1080, THEME_LIGHT, "en" }, { 3840, 2160, THEME_DARK, "en" }, { 768, 1024, THEME_LIGHT, "en" },
        { 1280, 720, THEME_DARK, "ja" },
    };
    static const enum fake_state states[] = { FAKE_LIVE, FAKE_FOUR, FAKE_SILENT, FAKE_QUIET, FAKE_WALKING };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
        for (size_t k = 0; k < sizeof states / sizeof states[0]; k++)
            take_picture(&cases[i], states[k], getenv("UNDERFOOT_PICTURES"));
}
