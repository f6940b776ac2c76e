/* screen_rig.h - the runner's screen on a headless picture, frame by frame, and counts of its pixels. With Criterion. */
#ifndef AID_SCREEN_RIG_H
#define AID_SCREEN_RIG_H

#include "base/message.h"
#include "aid/fake_verdict.h"
#include "runner/screen.h"

#include <criterion/criterion.h>

struct rig {
    struct canvas canvas;
    struct screen screen;
    struct verdict verdict;
    struct host_time now;
};

static const int64_t frame_us = 16667;

static inline void
rig_open(struct rig *r, enum theme_kind theme)
{
    struct canvas_config cc = canvas_config_default();
    struct screen_config sc = screen_config_default();
    cc.is_headless = true;
    sc.theme = theme;
    r->now = (struct host_time){ 100000000 };
    cr_assert(canvas_open(&r->canvas, &cc) == ERR_OK, "%s", message_english(&r->canvas.why));
    cr_assert(screen_init(&r->screen, &r->canvas, &sc) == ERR_OK, "%s", message_english(&r->screen.why));
}

static inline void
rig_close(struct rig *r)
{
    screen_destroy(&r->screen);
    canvas_close(&r->canvas);
}

static inline bool
rig_frame(struct rig *r, const struct verdict *v)
{
    r->now.us += frame_us;
    screen_update(&r->screen, v, r->now);
    bool is_drawn = screen_draw(&r->screen, r->now);
    canvas_present(&r->canvas);
    return is_drawn;
}

/* Shows a state and lets everything come to rest. */
static inline void
rig_show(struct rig *r, enum fake_state state)
{
    fake_verdict(&r->verdict, state, r->now);
    rig_frame(r, &r->verdict);
    for (int i = 0; i < 60; i++)
        rig_frame(r, NULL);
}

static inline uint32_t
pixel(const struct rig *r, int x, int y)
{
    return r->canvas.picture.pixel[y * r->canvas.picture.width_px + x] & 0xFFFFFFu;
}

/* How many pixels of that colour lie in a rectangle. */
static inline int
count(const struct rig *r, struct paint_rect a, uint32_t rgb)
{
    int n = 0;
    for (int y = a.y_px; y < a.y_px + a.h_px; y++)
        for (int x = a.x_px; x < a.x_px + a.w_px; x++)
            n += pixel(r, x, y) == rgb;
    return n;
}

static inline int
count_verdict_colours(const struct rig *r)
{
    int n = 0;
    for (int side = THEME_BELOW; side < THEME_N_SIDES; side++)
        n += count(r, r->screen.layout.whole, r->screen.theme.look[side].rgb);
    return n;
}

/* First row from the top of the bar's room that has ink other than ground and stripe, on its left part. */
static inline int
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

#endif
