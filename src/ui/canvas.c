#include "ui/canvas.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <SDL.h>

#include "base/monotime.h"
#include "ui/canvas_parts.h"
#include "ui/shot.h"

struct canvas_config
canvas_config_default(void)
{
    return (struct canvas_config) {
        .title = "Underfoot", .width_px = 1280, .height_px = 720, .language = "en"
    };
}

/* ---------------------------------------------------------------- the picture */

static void
canvas_free_picture(struct canvas *c)
{
    if (c->texture != NULL)
        SDL_DestroyTexture(c->texture);
    if (c->surface != NULL)
        SDL_FreeSurface(c->surface);
    c->texture = NULL;
    c->surface = NULL;
    free(c->picture.pixel);
    free(c->picture.scratch);
    c->picture.pixel = NULL;
    c->picture.scratch = NULL;
}

/* Makes an empty picture of that size, and what carries it to the window. */
static enum err
canvas_make_picture(struct canvas *c, int width_px, int height_px)
{
    canvas_free_picture(c);
    size_t n = (size_t) width_px * (size_t) height_px;
    c->picture.pixel = calloc(n, sizeof *c->picture.pixel);
    c->picture.scratch = calloc(n, 1);
    if (c->picture.pixel == NULL || c->picture.scratch == NULL) {
        message_tell(&c->why, MESSAGE_CANVAS_NO_MEMORY, width_px, height_px);
        return ERR_MEMORY;
    }
    c->picture.width_px = width_px;
    c->picture.height_px = height_px;
    paint_set_clip(&c->picture, (struct paint_rect) { 0, 0, width_px, height_px });
    c->generation++;
    c->n_dirty = 0;
    if (c->is_headless)
        return ERR_OK;
    c->surface = SDL_CreateRGBSurfaceWithFormatFrom(c->picture.pixel, width_px, height_px, 32, width_px * 4,
                                                    SDL_PIXELFORMAT_ARGB8888);
    if (c->surface != NULL)
        SDL_SetSurfaceBlendMode(c->surface, SDL_BLENDMODE_NONE);
    if (c->has_gpu)
        c->texture = SDL_CreateTexture(c->renderer, SDL_PIXELFORMAT_ARGB8888, SDL_TEXTUREACCESS_STREAMING, width_px,
                                       height_px);
    if (c->surface == NULL || (c->has_gpu && c->texture == NULL)) {
        message_tell(&c->why, MESSAGE_CANVAS_NO_PICTURE, SDL_GetError());
        return ERR_OS;
    }
    return ERR_OK;
}

static void
canvas_window_size(const struct canvas *c, int *width_px, int *height_px)
{
    if (c->has_gpu) {
        SDL_GetRendererOutputSize(c->renderer, width_px, height_px);
        return;
    }
    SDL_Surface *s = SDL_GetWindowSurface(c->window);
    *width_px = s != NULL ? s->w : 0;
    *height_px = s != NULL ? s->h : 0;
}

/* ---------------------------------------------------------------- open and close */

/* True when OpenGL is computed by this processor: then a texture only costs. */
static bool
canvas_is_emulated(void)
{
    enum { GL_RENDERER_NAME = 0x1F01 }; /* GL_RENDERER of the OpenGL registry */
    const unsigned char *(*get_string)(unsigned) = NULL;
    void *address = SDL_GL_GetProcAddress("glGetString");
    memcpy(&get_string, &address, sizeof get_string);
    const char *name = get_string != NULL ? (const char *) get_string(GL_RENDERER_NAME) : NULL;
    return name != NULL && (strstr(name, "llvmpipe") != NULL || strstr(name, "softpipe") != NULL);
}

/* A GPU renderer, or none: SDL's own software renderer would only copy once more. An emulated one is taken where
 * it may be, or where it was asked for by name (SDL_RENDER_DRIVER). */
static void
canvas_find_renderer(struct canvas *c, bool is_paced, bool may_emulate)
{
    const char *asked = SDL_GetHint(SDL_HINT_RENDER_DRIVER);
    SDL_RendererInfo info;
    may_emulate = may_emulate || (asked != NULL && asked[0] != '\0');
    c->renderer =
        SDL_CreateRenderer(c->window, -1, SDL_RENDERER_ACCELERATED | (is_paced ? SDL_RENDERER_PRESENTVSYNC : 0));
    if (c->renderer != NULL && SDL_GetRendererInfo(c->renderer, &info) == 0 &&
        !(info.flags & SDL_RENDERER_SOFTWARE) &&
        (may_emulate || !(strncmp(info.name, "opengl", 6) == 0 && canvas_is_emulated()))) {
        c->has_gpu = true;
        c->is_paced = (info.flags & SDL_RENDERER_PRESENTVSYNC) != 0;
        return;
    }
    if (c->renderer != NULL)
        SDL_DestroyRenderer(c->renderer);
    c->renderer = NULL;
}

/* The driver shows nothing to anybody. */
static bool
canvas_is_unseen(void)
{
    const char *driver = SDL_GetCurrentVideoDriver();
    return driver != NULL && (strcmp(driver, "dummy") == 0 || strcmp(driver, "offscreen") == 0);
}

/* What carries the picture to the window: a GPU, else the window's own surface, else any renderer at all, since
 * Wayland has no such surface. */
static void
canvas_find_carrier(struct canvas *c, const struct canvas_config *config)
{
    if (canvas_is_unseen())
        return;
    if (!config->is_software)
        canvas_find_renderer(c, !config->is_unpaced, false);
    if (!c->has_gpu && SDL_GetWindowSurface(c->window) == NULL)
        canvas_find_renderer(c, !config->is_unpaced, true);
}

static enum err
canvas_open_window(struct canvas *c, const struct canvas_config *config)
{
    if (SDL_InitSubSystem(SDL_INIT_VIDEO) != 0) {
        message_tell(&c->why, MESSAGE_CANVAS_NO_DISPLAY, SDL_GetError());
        return ERR_OS;
    }
    /* Where the display does not answer, SDL goes on unseen: only for one who asked for that. */
    const char *asked = SDL_GetHint(SDL_HINT_VIDEODRIVER);
    if (canvas_is_unseen() && (asked == NULL || asked[0] == '\0')) {
        const char *name = getenv("DISPLAY");
        if (name != NULL && name[0] != '\0')
            message_tell(&c->why, MESSAGE_CANVAS_DISPLAY_IS_SILENT, name);
        else
            message_init(&c->why, MESSAGE_CANVAS_NONE_IS_KNOWN);
        return ERR_OS;
    }
    int n = SDL_GetNumVideoDisplays();
    if (config->display < 0 || config->display >= n) {
        message_tell(&c->why, MESSAGE_CANVAS_NO_SUCH_DISPLAY, config->display, n);
        return ERR_USAGE;
    }
    /* The window's own surface, not one that SDL hides a texture behind. */
    SDL_SetHint(SDL_HINT_FRAMEBUFFER_ACCELERATION, "0");
    uint32_t flags = SDL_WINDOW_ALLOW_HIGHDPI;
    flags |= config->is_full_screen ? SDL_WINDOW_FULLSCREEN_DESKTOP : SDL_WINDOW_RESIZABLE;
    int at = (int) SDL_WINDOWPOS_CENTERED_DISPLAY((unsigned) config->display);
    SDL_Rect r = { at, at, config->width_px, config->height_px };
    /* Born as large as its display: where no window manager runs, nothing makes it larger later. */
    if (config->is_full_screen && SDL_GetDisplayBounds(config->display, &r) != 0)
        r = (SDL_Rect) { at, at, config->width_px, config->height_px };
    c->is_full_screen = config->is_full_screen;
    c->home.place = (struct paint_rect) { r.x, r.y, r.w, r.h };
    struct paint_rect place[DISPLAYS_MAX];
    c->n_displays = displays_now(NULL, place);
    c->window = SDL_CreateWindow(config->title, r.x, r.y, r.w, r.h, flags);
    if (c->window == NULL) {
        message_tell(&c->why, MESSAGE_CANVAS_NO_WINDOW, SDL_GetError());
        return ERR_OS;
    }
    SDL_SetWindowMinimumSize(c->window, 640, 360);
    if (config->is_full_screen)
        SDL_ShowCursor(SDL_DISABLE);
    canvas_find_carrier(c, config);
    int width = 0, height = 0;
    canvas_window_size(c, &width, &height);
    if (width <= 0 || height <= 0) {
        message_tell(&c->why, MESSAGE_CANVAS_NO_DRAWING, SDL_GetError());
        return ERR_OS;
    }
    const enum err e = canvas_make_picture(c, width, height);
    c->pitch_mm = canvas_pitch_mm(c);
    c->looked = monotime_now();
    return e;
}

enum err
canvas_open(struct canvas *c, const struct canvas_config *config)
{
    memset(c, 0, sizeof *c);
    c->is_headless = config->is_headless;
    enum err e = text_open(&c->text, config->language);
    if (e != ERR_OK) {
        c->why = c->text.why;
        return e;
    }
    assert(config->is_full_screen || (config->width_px > 0 && config->height_px > 0));
    if (config->is_headless)
        return canvas_make_picture(c, config->width_px, config->height_px);
    return canvas_open_window(c, config);
}

void
canvas_close(struct canvas *c)
{
    canvas_free_picture(c);
    if (c->renderer != NULL)
        SDL_DestroyRenderer(c->renderer);
    if (c->window != NULL)
        SDL_DestroyWindow(c->window);
    c->renderer = NULL;
    c->window = NULL;
    text_close(&c->text);
    if (!c->is_headless && SDL_WasInit(SDL_INIT_VIDEO))
        SDL_QuitSubSystem(SDL_INIT_VIDEO);
    c->is_headless = true; /* a second close does nothing */
}

/* ---------------------------------------------------------------- present */

void
canvas_dirty(struct canvas *c, struct paint_rect r)
{
    r = paint_intersect(r, (struct paint_rect) { 0, 0, c->picture.width_px, c->picture.height_px });
    if (r.w_px == 0 || r.h_px == 0)
        return;
    for (int i = 0; i < c->n_dirty; i++) { /* already part of what is sent */
        struct paint_rect both = paint_intersect(r, c->dirty[i]);
        if (both.w_px == r.w_px && both.h_px == r.h_px)
            return;
    }
    if (c->n_dirty == CANVAS_MAX_DIRTY) { /* too many: send everything */
        c->dirty[0] = (struct paint_rect) { 0, 0, c->picture.width_px, c->picture.height_px };
        c->n_dirty = 1;
        return;
    }
    c->dirty[c->n_dirty++] = r;
}

/* How long a picture stands on the window's display. */
static int64_t
canvas_period_us(const struct canvas *c)
{
    SDL_DisplayMode mode = { .refresh_rate = 0 };
    int display = SDL_GetWindowDisplayIndex(c->window);
    bool is_known = display >= 0 && SDL_GetCurrentDisplayMode(display, &mode) == 0 && mode.refresh_rate > 0;
    return INT64_C(1000000) / (is_known ? mode.refresh_rate : 60);
}

bool
canvas_pace_feed(struct canvas_pace *p, int64_t gap_us, int64_t period_us)
{
    p->n_early = gap_us < period_us * 6 / 10 ? p->n_early + 1 : 0;
    return p->n_early < CANVAS_EARLY_MAX;
}

static void
canvas_present_gpu(struct canvas *c)
{
    for (int i = 0; i < c->n_dirty; i++) {
        struct paint_rect d = c->dirty[i];
        SDL_Rect r = { d.x_px, d.y_px, d.w_px, d.h_px };
        const uint32_t *from = c->picture.pixel + (size_t) d.y_px * (size_t) c->picture.width_px + d.x_px;
        SDL_UpdateTexture(c->texture, &r, from, c->picture.width_px * 4);
    }
    SDL_RenderCopy(c->renderer, c->texture, NULL, NULL);
    SDL_RenderPresent(c->renderer);
    if (!c->is_paced)
        return;
    const struct host_time now = monotime_now();
    c->is_paced = canvas_pace_feed(&c->pace, units_host_since_us(now, c->presented), canvas_period_us(c));
    c->presented = now;
}

static void
canvas_present_window(struct canvas *c)
{
    SDL_Surface *to = SDL_GetWindowSurface(c->window);
    if (to == NULL)
        return;
    SDL_Rect sent[CANVAS_MAX_DIRTY];
    for (int i = 0; i < c->n_dirty; i++) {
        struct paint_rect d = c->dirty[i];
        sent[i] = (SDL_Rect) { d.x_px, d.y_px, d.w_px, d.h_px };
        SDL_Rect at = sent[i];
        SDL_BlitSurface(c->surface, &sent[i], to, &at);
    }
    SDL_UpdateWindowSurfaceRects(c->window, sent, c->n_dirty);
}

void
canvas_present(struct canvas *c)
{
    if (c->n_dirty == 0)
        return;
    if (c->has_gpu)
        canvas_present_gpu(c);
    else if (!c->is_headless)
        canvas_present_window(c);
    c->n_dirty = 0;
    c->n_presents++;
}

/* ---------------------------------------------------------------- the window */

enum canvas_event_kind
canvas_follow_size(struct canvas *c)
{
    int width = 0, height = 0;
    canvas_window_size(c, &width, &height);
    bool is_same = width == c->picture.width_px && height == c->picture.height_px;
    if (width <= 0 || height <= 0 || is_same)
        return CANVAS_EVENT_NONE;
    return canvas_make_picture(c, width, height) == ERR_OK ? CANVAS_EVENT_RESIZED : CANVAS_EVENT_QUIT;
}

void
canvas_set_title(struct canvas *c, const char *title)
{
    if (c->window != NULL)
        SDL_SetWindowTitle(c->window, title);
}

void
canvas_raise(struct canvas *c)
{
    if (c->window == NULL)
        return;
    SDL_RaiseWindow(c->window);
    SDL_SetWindowInputFocus(c->window); /* without a window manager raising does not bring the keys */
}

int
canvas_n_displays(void)
{
    struct paint_rect place[DISPLAYS_MAX];
    return SDL_WasInit(SDL_INIT_VIDEO) ? displays_now(NULL, place) : 0;
}

void
canvas_show_pointer(bool is_shown)
{
    SDL_ShowCursor(is_shown ? SDL_ENABLE : SDL_DISABLE);
}

void
canvas_wait(struct canvas *c, int max_ms)
{
    if (c->is_headless)
        SDL_Delay((uint32_t) max_ms);
    else
        SDL_WaitEventTimeout(NULL, max_ms);
}

double
canvas_pitch_mm(const struct canvas *c)
{
    float diagonal_dpi = 0, horizontal = 0, vertical = 0;
    if (c->is_headless || c->window == NULL)
        return NAN;
    int display = SDL_GetWindowDisplayIndex(c->window);
    if (display < 0 || SDL_GetDisplayDPI(display, &diagonal_dpi, &horizontal, &vertical) != 0 || diagonal_dpi < 20.0f)
        return NAN;
    /* Dots are the window's points; on a scaled display a pixel is finer. */
    int width = 0, height = 0;
    SDL_GetWindowSize(c->window, &width, &height);
    const double points_a_pixel = width > 0 ? (double) width / c->picture.width_px : 1.0;
    return 25.4 / (double) diagonal_dpi * points_a_pixel;
}

enum err
canvas_shot(struct canvas *c, const char *path)
{
    return shot_save(&c->picture, path, &c->why);
}
