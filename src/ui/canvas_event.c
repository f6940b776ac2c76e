#include "ui/canvas_parts.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include <SDL.h>

#include "base/monotime.h"

#define CANVAS_LOOK_US INT64_C(1000000)

/* ---------------------------------------------------------------- displays that come and go */

/* Wayland's compositors put windows back themselves. Elsewhere a window in full screen is not told where it is: SDL
 * answers with where it was put. */
static bool
canvas_is_at_home(const struct canvas *c)
{
    SDL_Rect at;
    const char *driver = SDL_GetCurrentVideoDriver();
    return driver != NULL && strcmp(driver, "wayland") == 0 &&
           SDL_GetDisplayBounds(SDL_GetWindowDisplayIndex(c->window), &at) == 0 && at.x == c->home.place.x_px &&
           at.y == c->home.place.y_px;
}

static void
canvas_go_home(struct canvas *c)
{
    SDL_SetWindowFullscreen(c->window, 0);
    SDL_SetWindowSize(c->window, c->home.place.w_px, c->home.place.h_px);
    SDL_SetWindowPosition(c->window, c->home.place.x_px, c->home.place.y_px);
    SDL_SetWindowFullscreen(c->window, SDL_WINDOW_FULLSCREEN_DESKTOP);
}

/* What no event tells, or not everywhere: another size or density, displays gone or back. */
static enum canvas_event_kind
canvas_look_round(struct canvas *c)
{
    struct paint_rect place[DISPLAYS_MAX];
    const struct host_time now = monotime_now();
    if (units_host_since_us(now, c->looked) < CANVAS_LOOK_US)
        return CANVAS_EVENT_NONE;
    c->looked = now;
    const int n = displays_now(c->window, place);
    c->n_displays = n > 0 ? n : c->n_displays;
    if (c->is_full_screen && displays_home_feed(&c->home, place, n) && !canvas_is_at_home(c))
        canvas_go_home(c);
    const double pitch_mm = canvas_pitch_mm(c);
    if (!isnan(pitch_mm) && !isnan(c->pitch_mm) && fabs(pitch_mm - c->pitch_mm) > 0.01 * pitch_mm)
        c->generation++; /* the same pixels, of another size: laid out anew */
    c->pitch_mm = pitch_mm;
    return canvas_follow_size(c);
}

/* ---------------------------------------------------------------- events */

static enum canvas_event_kind
canvas_window_event(struct canvas *c, const SDL_WindowEvent *e)
{
    if (e->event == SDL_WINDOWEVENT_CLOSE)
        return CANVAS_EVENT_QUIT;
    if (e->event == SDL_WINDOWEVENT_EXPOSED) {
        canvas_dirty(c, (struct paint_rect) { 0, 0, c->picture.width_px, c->picture.height_px });
        return CANVAS_EVENT_EXPOSED;
    }
    if (e->event != SDL_WINDOWEVENT_SIZE_CHANGED)
        return CANVAS_EVENT_NONE;
    return canvas_follow_size(c);
}

/* Which window an event names; 0 when none. */
static uint32_t
canvas_window_of(const SDL_Event *e)
{
    switch (e->type) {
    case SDL_KEYDOWN:
        return e->key.windowID;
    case SDL_TEXTINPUT:
        return e->text.windowID;
    case SDL_MOUSEBUTTONDOWN:
    case SDL_MOUSEBUTTONUP:
        return e->button.windowID;
    case SDL_MOUSEMOTION:
        return e->motion.windowID;
    case SDL_MOUSEWHEEL:
        return e->wheel.windowID;
    case SDL_WINDOWEVENT:
        return e->window.windowID;
    default:
        return 0;
    }
}

/* Pixels of the picture, which may be finer than the window's points. */
static struct canvas_event
canvas_pointer_event(const struct canvas *c, enum canvas_event_kind kind, int x, int y)
{
    int width = 0, height = 0;
    SDL_GetWindowSize(c->window, &width, &height);
    struct canvas_event out = { .kind = kind, .x_px = x, .y_px = y };
    if (width > 0 && height > 0) {
        out.x_px = (int) ((int64_t) x * c->picture.width_px / width);
        out.y_px = (int) ((int64_t) y * c->picture.height_px / height);
    }
    return out;
}

static struct canvas_event
canvas_translate(struct canvas *c, const SDL_Event *e)
{
    struct canvas_event out = { .kind = CANVAS_EVENT_NONE };
    if (e->type == SDL_QUIT)
        out.kind = CANVAS_EVENT_QUIT;
    else if (e->type == SDL_KEYDOWN) {
        out.kind = CANVAS_EVENT_KEY;
        out.key = e->key.keysym.sym;
        out.is_shifted = (e->key.keysym.mod & KMOD_SHIFT) != 0;
        out.is_ctrl = (e->key.keysym.mod & KMOD_CTRL) != 0;
    } else if (e->type == SDL_TEXTINPUT) {
        out.kind = CANVAS_EVENT_TEXT;
        snprintf(out.text, sizeof out.text, "%s", e->text.text);
    } else if (e->type == SDL_MOUSEBUTTONDOWN && e->button.button == SDL_BUTTON_LEFT)
        out = canvas_pointer_event(c, CANVAS_EVENT_DOWN, e->button.x, e->button.y);
    else if (e->type == SDL_MOUSEBUTTONUP && e->button.button == SDL_BUTTON_LEFT)
        out = canvas_pointer_event(c, CANVAS_EVENT_UP, e->button.x, e->button.y);
    else if (e->type == SDL_MOUSEMOTION)
        out = canvas_pointer_event(c, CANVAS_EVENT_MOVE, e->motion.x, e->motion.y);
    else if (e->type == SDL_MOUSEWHEEL && e->wheel.y != 0) {
        out.kind = CANVAS_EVENT_WHEEL;
        out.n_steps = e->wheel.direction == SDL_MOUSEWHEEL_FLIPPED ? -e->wheel.y : e->wheel.y;
    } else if (e->type == SDL_WINDOWEVENT)
        out.kind = canvas_window_event(c, &e->window);
    return out;
}

struct canvas_event
canvas_take_event_of(struct canvas *const *canvas, int n, int *which)
{
    struct canvas_event out = { .kind = CANVAS_EVENT_NONE };
    SDL_Event e;
    for (*which = 0; *which < n; ++*which) {
        out.kind = canvas[*which]->window != NULL ? canvas_look_round(canvas[*which]) : CANVAS_EVENT_NONE;
        if (out.kind != CANVAS_EVENT_NONE)
            return out;
    }
    *which = 0;
    while (!canvas[0]->is_headless && out.kind == CANVAS_EVENT_NONE && SDL_PollEvent(&e)) {
        const uint32_t window = canvas_window_of(&e);
        for (int i = n - 1; i >= 0; i--)
            if (canvas[i]->window != NULL && SDL_GetWindowID(canvas[i]->window) == window)
                *which = i;
        out = canvas_translate(canvas[*which], &e);
    }
    return out;
}

struct canvas_event
canvas_take_event(struct canvas *c)
{
    struct canvas *const one[] = { c };
    int which;
    return canvas_take_event_of(one, 1, &which);
}
