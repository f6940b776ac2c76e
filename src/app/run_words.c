#include "app/run_words.h"

#include "base/log.h"
#include "base/str.h"

#include <assert.h>
#include <math.h>
#include <string.h>

static const double UNKNOWN = (double) NAN;

void
run_words_init(struct run_words *w, const struct option_row *own, int n_own)
{
    *w = (struct run_words){ .language = "en",
                             .shot_at_s = UNKNOWN,
                             .seconds = (double) INFINITY,
                             .mass_kg = UNKNOWN,
                             .speed_m_s = UNKNOWN,
                             .foot_mm = UNKNOWN,
                             .leg_mm = UNKNOWN,
                             .baseline_s = UNKNOWN };
    const struct option_row shared[RUN_WORDS_N_ROWS] = {
        { "window", OPTION_FLAG, NULL, "in a window, not full screen", &w->is_window, NULL, NULL, 0, 0 },
        { "size", OPTION_TEXT, "WxH", "of the window or the picture, pixels (1280x720)", NULL, &w->size, NULL, 0, 0 },
        { "display", OPTION_NUMBER, "N", "which display, counted from 0 (0)", NULL, NULL, &w->display, 0, 15 },
        { "language", OPTION_TEXT, "XX", "of the runner's screen (en)", NULL, &w->language, NULL, 0, 0 },
        { "headless", OPTION_FLAG, NULL, "no screen at all", &w->is_headless, NULL, NULL, 0, 0 },
        { "shot", OPTION_TEXT, "FILE.png", "save a picture of the runner's screen", NULL, &w->shot, NULL, 0, 0 },
        { "at", OPTION_NUMBER, "SECONDS", "when the picture is taken (at the end)", NULL, NULL, &w->shot_at_s, 0, 1e6 },
        { "seconds", OPTION_NUMBER, "N", "end after so long (until stopped)", NULL, NULL, &w->seconds, 0.1, 1e6 },
        { "mass", OPTION_NUMBER, "KG", "body mass; else body weight comes from the running itself", NULL, NULL,
          &w->mass_kg, 20, 300 },
        { "speed", OPTION_NUMBER, "M_S", "belt speed, m/s, where the sensor can't measure it", NULL, NULL,
          &w->speed_m_s, 0.3, 12 },
        { "foot", OPTION_NUMBER, "MM", "foot length", NULL, NULL, &w->foot_mm, 120, 400 },
        { "leg", OPTION_NUMBER, "MM", "leg length", NULL, NULL, &w->leg_mm, 300, 1500 },
        { "target", OPTION_LIST, "METRIC=LOW:HIGH", "target band, up to 4 times; none: from a silent baseline", NULL,
          w->target, NULL, 0, VERDICT_MAX_BARS },
        { "baseline", OPTION_NUMBER, "SECONDS", "length of the silent baseline (60); 0: none", NULL, NULL,
          &w->baseline_s, 0, 3600 },
    };
    assert(n_own + RUN_WORDS_N_ROWS <= RUN_WORDS_MAX_ROWS);
    memcpy(w->rows, own, (size_t) n_own * sizeof *own);
    memcpy(w->rows + n_own, shared, sizeof shared);
    w->n_rows = n_own + RUN_WORDS_N_ROWS;
}

static int
apply_targets(const struct run_words *w, const struct options_spec *spec, struct coach_config *coach)
{
    char why[ERR_WHY_MAX];
    for (int i = 0; i < VERDICT_MAX_BARS && w->target[i]; i++) {
        struct target *t = &coach->target[i];
        if (!target_parse(w->target[i], t, why, sizeof why))
            return options_refuse(spec, "%s", why);
        for (int k = 0; k < i; k++)
            if (coach->target[k].metric == t->metric)
                return options_refuse(spec, "--target %s: %s has a target already", w->target[i],
                                      metric_info(t->metric)->name);
        coach->n_targets = i + 1;
    }
    if (coach->n_targets > 0)
        coach->focus = coach->target[0].metric;
    return 0;
}

static int
apply_screen(const struct run_words *w, const struct options_spec *spec, struct app_config *c)
{
    if (w->size && !show_parse_size(w->size, &c->show.width_px, &c->show.height_px))
        return options_refuse(spec, "--size '%s' is not WIDTHxHEIGHT from 320x240 to 7680x4320", w->size);
    if (!isnan(w->shot_at_s) && !w->shot)
        return options_refuse(spec, "--at needs --shot FILE.png");
    c->show.language = w->language;
    c->show.display = (int) w->display;
    c->show.place = w->is_window ? SHOW_WINDOW : SHOW_FULL_SCREEN;
    c->has_screen = !w->is_headless;
    if (c->has_screen && !show_has_display()) {
        log_note("no display here: running without a screen");
        c->has_screen = false;
    }
    c->shot_path = w->shot;
    c->shot_at_s = w->shot_at_s;
    c->seconds = w->seconds;
    return 0;
}

int
run_words_apply(const struct run_words *w, const struct options_spec *spec, struct sense_profile *profile,
                struct app_config *c)
{
    struct pipeline_config *p = &c->session.pipeline;
    p->body_mass_kg = w->mass_kg;
    p->belt_speed_m_s = w->speed_m_s;
    p->foot_length_mm = w->foot_mm;
    p->leg_length_mm = w->leg_mm;
    if (!isnan(w->baseline_s))
        p->coach.baseline_s = w->baseline_s;
    if (w->profile_path) {
        char why[ERR_WHY_MAX];
        if (profile_load(profile, w->profile_path, why) != ERR_OK)
            return options_refuse(spec, "--profile %s", why);
        p->profile = profile;
        c->session.profile_path = w->profile_path;
    }
    const int refused = apply_targets(w, spec, &p->coach);
    return refused ? refused : apply_screen(w, spec, c);
}
