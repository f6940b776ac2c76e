/* bench_panel.c - what a change of the panel's page costs the thread that also draws the runner's screen: the panel's
 * page anew, the runner's screen anew beside it, as a share of a frame. It prints and judges nothing.
 */
#include "pages/panel_draw.h"
#include "runner/screen.h"

#include "aid/fake_verdict.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define FRAME_BUDGET_MS 16.0
#define N_TURNS         200
#define SIDE_SHARE      0.46

struct rig {
    struct canvas whole, beside;
    struct panel_draw draw;
    struct screen screen;
    struct panel panel;
    struct panel_words words;
    struct panel_case kase;
    struct panel_runners runners;
};

static double
cpu_ms(void)
{
    struct timespec t;
    clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
    return (double) t.tv_sec * 1e3 + (double) t.tv_nsec * 1e-6;
}

static enum err
open_canvas(struct canvas *c, int width_px, int height_px)
{
    struct canvas_config config = canvas_config_default();
    config.is_headless = true;
    config.width_px = width_px;
    config.height_px = height_px;
    config.language = "en";
    return canvas_open(c, &config);
}

/* A runner with one visit, every metric known. */
static void
fill(struct rig *r)
{
    struct panel_visit *v = &r->kase.visit[0];
    r->runners.n = r->runners.total = r->runners.n_all = 1;
    snprintf(r->runners.runner[0].code, PANEL_CODE_MAX, "R-014");
    r->kase.runner = r->runners.runner[0];
    r->kase.n_visits = 1;
    v->is_finished = true;
    r->kase.n_metrics = PANEL_MAX_METRICS;
    for (int i = 0; i < PANEL_MAX_METRICS; i++)
        r->kase.metric[i] = (enum metric) i;
    for (int m = 0; m < METRIC_COUNT; m++)
        v->figure[m] = (struct panel_figure){ .baseline = 160, .held = 165, .low = 162, .high = 170, .shown_pct = 60 };
    r->kase.targets = (struct target_set){ 2,
                                           { { METRIC_CADENCE_SPM, 165, 173, 160, true },
                                             { METRIC_CONTACT_MS, 210, 282, 275, false } },
                                           METRIC_CADENCE_SPM };
    r->kase.plan_now = -1;
}

static bool
open_rig(struct rig *r, int width_px, int height_px)
{
    struct screen_config config = screen_config_default();
    const int side = (int) (width_px * SIDE_SHARE);
    if (panel_words_load(&r->words, "en", NULL) != ERR_OK || open_canvas(&r->whole, width_px, height_px) != ERR_OK ||
        open_canvas(&r->beside, width_px - side, height_px) != ERR_OK ||
        screen_init(&r->screen, &r->beside, &config) != ERR_OK)
        return false;
    panel_draw_init(&r->draw, &r->whole, THEME_DARK);
    r->draw.words = &r->words;
    panel_draw_preload(&r->draw);
    fill(r);
    panel_init(&r->panel);
    panel_set_runners(&r->panel, &r->runners);
    panel_do(&r->panel, PANEL_DO_OPEN, 0);
    panel_set_case(&r->panel, &r->kase);
    return true;
}

static bool
bench(int width_px, int height_px)
{
    static const enum panel_page pages[] = { PANEL_RUNNERS, PANEL_VISIT, PANEL_SUMMARY, PANEL_COURSE };
    struct rig *r = calloc(1, sizeof *r);
    struct host_time now = { UNITS_US_PER_S };
    double sum = 0, worst = 0;
    if (!r || !open_rig(r, width_px, height_px)) {
        fprintf(stderr, "bench: no panel\n");
        free(r);
        return false;
    }
    struct verdict v;
    fake_verdict(&v, FAKE_LIVE, now);
    screen_update(&r->screen, &v, now);
    screen_draw(&r->screen, now);
    for (int i = 0; i < N_TURNS; i++) {
        panel_do(&r->panel, PANEL_DO_PAGE, (int) pages[i % 4]);
        now.us += 16 * UNITS_US_PER_MS;
        const double begun = cpu_ms();
        screen_forget_drawn(&r->screen);
        panel_draw(&r->draw, &r->panel);
        screen_draw(&r->screen, now);
        const double ms = cpu_ms() - begun;
        sum += ms;
        worst = ms > worst ? ms : worst;
    }
    printf("panel     %dx%d  CPU a change of page, %d of them: mean %.1f ms, worst %.1f (%.2f of %.0f)\n", width_px, height_px,
           N_TURNS, sum / N_TURNS, worst, worst / FRAME_BUDGET_MS, FRAME_BUDGET_MS);
    screen_destroy(&r->screen);
    canvas_close(&r->beside);
    canvas_close(&r->whole);
    free(r);
    return true;
}

int
main(void)
{
    setenv("SDL_VIDEODRIVER", "dummy", 1);
    return bench(1280, 720) && bench(1920, 1080) && bench(3840, 2160) ? 0 : 1;
}
