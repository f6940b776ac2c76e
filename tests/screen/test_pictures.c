/* Pictures of every state, compared with the stored ones.
 *
 * Stored: tests/screen/pictures/, a quarter to a twelfth of the size each way (means of pixels: small files,
 * and what another version of the font library smooths otherwise is no difference); assets/pictures/, full
 * size, for the README. `make pictures` (UNDERFOOT_PICTURES_MAKE=1) makes both anew: look at each before you
 * commit it. UNDERFOOT_PICTURES=FOLDER saves all of them there in full size. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cairo.h>
#include <criterion/criterion.h>

#include "aid/fake_verdict.h"
#include "runner/screen.h"
#include "ui/shot.h"

/* Mean difference of a channel, 0..255: of the worst tile of TILE x TILE pixels, where a letter or a dot that
 * changed shows; and of the whole. The same libraries give 0. */
enum { TILE = 8 };
#define MAX_TILE_MEAN 5.0
#define MAX_MEAN      0.35

struct picture_case {
    int width_px, height_px;
    enum theme_kind theme;
    const char *language;
};

struct taken {
    struct canvas canvas;
    struct screen screen;
};

static const struct host_time start = { 50000000 };

static bool
is_making(void)
{
    const char *make = getenv("UNDERFOOT_PICTURES_MAKE");
    return make != NULL && make[0] == '1';
}

static void
take(struct taken *t, const struct picture_case *pc, enum fake_state state)
{
    struct canvas_config cc = canvas_config_default();
    struct screen_config sc = screen_config_default();
    struct verdict v;
    cc.is_headless = true;
    cc.width_px = pc->width_px;
    cc.height_px = pc->height_px;
    cc.language = sc.language = pc->language;
    sc.theme = pc->theme;
    cr_assert(canvas_open(&t->canvas, &cc) == ERR_OK, "%s", message_english(&t->canvas.why));
    cr_assert(screen_init(&t->screen, &t->canvas, &sc) == ERR_OK, "%s", message_english(&t->screen.why));
    fake_verdict(&v, state, start);
    screen_update(&t->screen, &v, start);
    screen_draw(&t->screen, (struct host_time){ start.us + 400000 });
}

static void
give_back(struct taken *t)
{
    screen_destroy(&t->screen);
    canvas_close(&t->canvas);
}

/* Means of by x by pixels, into pixels of the caller's. */
static struct paint_picture
shrink(const struct paint_picture *from, int by, uint32_t *pixel)
{
    struct paint_picture to = { .pixel = pixel,
                                .width_px = from->width_px / by,
                                .height_px = from->height_px / by };
    for (int y = 0; y < to.height_px; y++)
        for (int x = 0; x < to.width_px; x++) {
            unsigned sum[3] = { 0, 0, 0 };
            for (int i = 0; i < by * by; i++) {
                uint32_t p = from->pixel[(y * by + i / by) * from->width_px + x * by + i % by];
                for (int c = 0; c < 3; c++)
                    sum[c] += p >> (16 - 8 * c) & 0xFFu;
            }
            unsigned n = (unsigned) (by * by);
            pixel[y * to.width_px + x] =
                0xFF000000u | (sum[0] + n / 2) / n << 16 | (sum[1] + n / 2) / n << 8 | (sum[2] + n / 2) / n;
        }
    return to;
}

static int
shrink_by(const struct picture_case *pc)
{
    int n = pc->width_px * pc->height_px;
    return n > 4000000 ? 12 : n > 1200000 ? 6 : 4;
}

/* Sum over a tile's pixels of the mean difference of their channels. */
static double
tile_difference(const struct paint_picture *p, cairo_surface_t *stored, int x0, int y0)
{
    const unsigned char *rows = cairo_image_surface_get_data(stored);
    int stride = cairo_image_surface_get_stride(stored), sum = 0;
    for (int y = y0; y < y0 + TILE && y < p->height_px; y++)
        for (int x = x0; x < x0 + TILE && x < p->width_px; x++) {
            uint32_t a, b = p->pixel[y * p->width_px + x];
            memcpy(&a, rows + (size_t) y * (size_t) stride + (size_t) x * 4, sizeof a);
            for (int c = 0; c < 3; c++)
                sum += abs((int) (a >> 8 * c & 0xFFu) - (int) (b >> 8 * c & 0xFFu));
        }
    return sum / 3.0;
}

/* Compares with the stored file, or stores. */
static void
compare(const struct paint_picture *p, const char *path)
{
    struct message why;
    if (is_making()) {
        cr_assert(shot_save(p, path, &why) == ERR_OK, "%s", message_english(&why));
        return;
    }
    cairo_surface_t *stored = cairo_image_surface_create_from_png(path);
    cr_assert(cairo_surface_status(stored) == CAIRO_STATUS_SUCCESS,
              "%s can't be read; `make pictures` makes it", path);
    cr_assert(cairo_image_surface_get_width(stored) == p->width_px &&
                  cairo_image_surface_get_height(stored) == p->height_px,
              "%s has another size", path);
    double sum = 0.0, worst = 0.0;
    for (int y = 0; y < p->height_px; y += TILE)
        for (int x = 0; x < p->width_px; x += TILE) {
            double tile = tile_difference(p, stored, x, y);
            sum += tile;
            worst = fmax(worst, tile / (TILE * TILE));
        }
    double mean = sum / ((double) p->width_px * p->height_px);
    cairo_surface_destroy(stored);
    cr_assert(mean <= MAX_MEAN && worst <= MAX_TILE_MEAN,
              "%s shows something else: mean difference %.2f, of the worst tile %.1f; if that is meant, "
              "`make pictures`",
              path, mean, worst);
}

static void
check_case(const struct picture_case *pc, enum fake_state state)
{
    static struct taken t;
    static uint32_t small[1024 * 768];
    const char *folder = getenv("UNDERFOOT_PICTURES");
    char name[128], path[512];
    take(&t, pc, state);
    snprintf(name, sizeof name, "%s-%dx%d-%s-%s.png", fake_name(state), pc->width_px, pc->height_px,
             pc->theme == THEME_DARK ? "dark" : "light", pc->language);
    if (strcmp(t.screen.words.language, pc->language) ==
        0) { /* else no font here has its signs: said on stderr */
        struct paint_picture p = shrink(&t.canvas.picture, shrink_by(pc), small);
        snprintf(path, sizeof path, "tests/screen/pictures/%s", name);
        compare(&p, path);
    }
    if (folder != NULL) {
        snprintf(path, sizeof path, "%s/%s", folder, name);
        cr_assert(canvas_shot(&t.canvas, path) == ERR_OK, "%s", message_english(&t.canvas.why));
    }
    give_back(&t);
}

Test(pictures, every_state_at_three_sizes_is_as_stored, .timeout = 500)
{
    static const struct picture_case cases[] = { { 1920, 1080, THEME_DARK, "en" },
                                                 { 1024, 768, THEME_DARK, "en" },
                                                 { 1080, 1920, THEME_DARK, "en" } };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
        for (int state = 0; state < FAKE_N_STATES; state++)
            check_case(&cases[i], (enum fake_state) state);
}

Test(pictures, light_theme_languages_and_4k_are_as_stored, .timeout = 500)
{
    static const struct picture_case cases[] = {
        { 1920, 1080, THEME_LIGHT, "en" }, { 1280, 720, THEME_LIGHT, "de" },
        { 1280, 720, THEME_DARK, "ja" },   { 1024, 768, THEME_LIGHT, "fr" },
        { 1080, 1920, THEME_LIGHT, "es" }, { 3840, 2160, THEME_DARK, "en" },
    };
    static const enum fake_state states[] = { FAKE_LIVE, FAKE_FOUR, FAKE_SILENT, FAKE_QUIET, FAKE_WALKING };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
        for (size_t k = 0; k < sizeof states / sizeof states[0] && (cases[i].width_px < 3840 || k < 1); k++)
            check_case(&cases[i], states[k]);
}

Test(pictures, the_readme_shows_what_the_program_shows)
{
    static const struct {
        enum fake_state state;
        const char *path;
    } rows[] = { { FAKE_LIVE, "assets/pictures/live.png" },
                 { FAKE_SILENT, "assets/pictures/silent.png" },
                 { FAKE_QUIET, "assets/pictures/sensor-lost.png" } };
    static struct taken t;
    static const struct picture_case readme = { 1280, 720, THEME_DARK, "en" };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        take(&t, &readme, rows[i].state);
        compare(&t.canvas.picture, rows[i].path);
        give_back(&t);
    }
}

Test(pictures, a_picture_that_differs_is_told)
{
    static uint32_t a[64 * 64], b[16 * 16];
    struct paint_picture p = { .pixel = a, .width_px = 64, .height_px = 64 };
    for (int i = 0; i < 64 * 64; i++)
        a[i] = i % 4 < 2 ? 0xFF204060u : 0xFF604020u;
    struct paint_picture small = shrink(&p, 4, b);
    cr_assert(small.width_px == 16 && small.height_px == 16);
    for (int i = 0; i < 16 * 16; i++)
        cr_assert_eq(b[i], 0xFF404040u);
}
