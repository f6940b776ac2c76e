#include "ui/displays.h"

#include <SDL.h>
#include <SDL_syswm.h>
#include <string.h>

#ifdef SDL_VIDEO_DRIVER_X11
#include <X11/extensions/Xrandr.h>

/* Of libXrandr; NULL where it lacks one. */
struct randr {
    int (*has)(Display *, int *, int *);
    int (*version)(Display *, int *, int *);
    XRRMonitorInfo *(*get)(Display *, Window, int, int *);
    void (*release)(XRRMonitorInfo *);
};

static bool
load_randr(void *library, struct randr *r)
{
    void *const at[] = { SDL_LoadFunction(library, "XRRQueryExtension"),
                         SDL_LoadFunction(library, "XRRQueryVersion"),
                         SDL_LoadFunction(library, "XRRGetMonitors"),
                         SDL_LoadFunction(library, "XRRFreeMonitors") };
    /* By memcpy: ISO C has no cast from an object's pointer to a function's. */
    memcpy(&r->has, &at[0], sizeof at[0]);
    memcpy(&r->version, &at[1], sizeof at[0]);
    memcpy(&r->get, &at[2], sizeof at[0]);
    memcpy(&r->release, &at[3], sizeof at[0]);
    return at[0] && at[1] && at[2] && at[3];
}

/* The server's monitors; -1 when it can't be asked. */
static int
ask_server(const SDL_SysWMinfo *info, struct paint_rect *place)
{
    void *const library = SDL_LoadObject("libXrandr.so.2");
    struct randr r;
    int n = -1, major = 0, minor = 0, event, error;
    Display *const server = info->info.x11.display;
    if (library && load_randr(library, &r) && r.has(server, &event, &error) &&
        r.version(server, &major, &minor) && (major > 1 || minor >= 5)) {
        XRRMonitorInfo *const all = r.get(server, DefaultRootWindow(server), 1, &n);
        n = all ? SDL_min(n, DISPLAYS_MAX) : -1;
        for (int i = 0; i < n; i++)
            place[i] = (struct paint_rect){ all[i].x, all[i].y, all[i].width, all[i].height };
        if (all)
            r.release(all);
    }
    if (library)
        SDL_UnloadObject(library);
    return n;
}
#endif

static bool
holds(struct paint_rect a, struct paint_rect b)
{
    return b.x_px >= a.x_px && b.y_px >= a.y_px && b.x_px + b.w_px <= a.x_px + a.w_px &&
           b.y_px + b.h_px <= a.y_px + a.h_px;
}

int
displays_distinct(struct paint_rect *place, int n)
{
    int n_left = 0;
    for (int i = 0; i < n; i++) {
        bool is_seen = false;
        for (int k = 0; k < n_left; k++)
            is_seen = is_seen || holds(place[k], place[i]) || holds(place[i], place[k]);
        if (!is_seen)
            place[n_left++] = place[i];
    }
    return n_left;
}

int
displays_now(struct SDL_Window *window, struct paint_rect *place)
{
#ifdef SDL_VIDEO_DRIVER_X11
    SDL_SysWMinfo info;
    SDL_VERSION(&info.version);
    if (window && SDL_GetWindowWMInfo(window, &info) && info.subsystem == SDL_SYSWM_X11) {
        const int n = ask_server(&info, place);
        if (n >= 0)
            return displays_distinct(place, n);
    }
#else
    (void) window;
#endif
    const int n_all = SDL_GetNumVideoDisplays();
    int n = 0;
    for (int i = 0; i < n_all && n < DISPLAYS_MAX; i++) {
        SDL_Rect r;
        if (SDL_GetDisplayBounds(i, &r) == 0)
            place[n++] = (struct paint_rect){ r.x, r.y, r.w, r.h };
    }
    return displays_distinct(place, n);
}

bool
displays_home_feed(struct displays_home *home, const struct paint_rect *place, int n)
{
    bool is_there = false;
    for (int i = 0; i < n; i++)
        is_there = is_there || (place[i].x_px == home->place.x_px && place[i].y_px == home->place.y_px &&
                                place[i].w_px == home->place.w_px && place[i].h_px == home->place.h_px);
    const bool is_back = is_there && home->is_away;
    if (n > 0)
        home->is_away = !is_there;
    return is_back;
}
