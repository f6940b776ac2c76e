#include "cli/run_words.h"

#include "base/str.h"
#include "cli/overwrite.h"
#include "cli/say_options.h"
#include "runner/words.h"
#include "setup/sensor_profile.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#define RUN_WORDS_FAST_M_S 5.5 /* few run faster on a belt, many type km/h */

static const double UNKNOWN = (double) NAN;

void
run_words_init(struct run_words *w, const struct option_row *own, int n_own)
{
    *w = (struct run_words){ .port = "auto",
                             .baud = WIRE_BAUD_DEFAULT,
                             .distance_m = UNKNOWN,
                             .diagonal_inch = UNKNOWN,
                             .volume_pct = UNKNOWN,
                             .shot_at_s = UNKNOWN,
                             .seconds = (double) INFINITY,
                             .mass_kg = UNKNOWN,
                             .speed_m_s = UNKNOWN,
                             .foot_mm = UNKNOWN,
                             .leg_mm = UNKNOWN,
                             .baseline_s = UNKNOWN,
                             .course_visit = UNKNOWN,
                             .pain_before = UNKNOWN };
    const struct option_row shared[RUN_WORDS_N_ROWS] = {
        { "window", OPTION_FLAG, NULL, N_("in a window, not full screen"), &w->is_window, NULL, NULL, 0, 0 },
        { "size", OPTION_TEXT, "WxH", N_("of the window or the picture, pixels (1280x720)"), NULL, &w->size, NULL, 0, 0 },
        { "display", OPTION_NUMBER, "N", N_("which display, counted from 0 (0)"), NULL, NULL, &w->display, 0, 15 },
        { "language", OPTION_TEXT, "XX", N_("of the runner's screen (en)"), NULL, &w->language, NULL, 0, 0 },
        { "theme", OPTION_TEXT, "NAME", N_("dark or light (dark)"), NULL, &w->theme, NULL, 0, 0 },
        { "distance", OPTION_NUMBER, "M", N_("from the runner's eyes to the display (2.5)"), NULL, NULL, &w->distance_m,
          0.3, 10 },
        { "diagonal", OPTION_NUMBER, "INCH", N_("of the display, where it does not say (32)"), NULL, NULL,
          &w->diagonal_inch, 5, 200 },
        { "sound", OPTION_FLAG, NULL, N_("a soft tone for a step outside its band"), &w->has_signs, NULL, NULL, 0, 0 },
        { "no-sound", OPTION_FLAG, NULL, N_("no tone, whatever the runner's display choices say"), &w->has_no_signs,
          NULL, NULL, 0, 0 },
        { "metronome", OPTION_TEXT, "SPM", N_("a beat of so many steps/min; target: that of the cadence target; off: none"),
          NULL, &w->metronome, NULL, 0, 0 },
        { "volume", OPTION_NUMBER, "PCT", N_("of both (50); key v mutes"), NULL, NULL, &w->volume_pct, 0, 100 },
        { "headless", OPTION_FLAG, NULL, N_("no screen at all"), &w->is_headless, NULL, NULL, 0, 0 },
        { "shot", OPTION_TEXT, "FILE.png", N_("save a picture of the runner's screen"), NULL, &w->shot, NULL, 0, 0 },
        overwrite_row(&w->is_forced),
        { "at", OPTION_NUMBER, "SECONDS", N_("when the picture is taken (at the end)"), NULL, NULL, &w->shot_at_s, 0, 1e6 },
        { "seconds", OPTION_NUMBER, "N", N_("end after so long (until stopped)"), NULL, NULL, &w->seconds, 0.1, 1e6 },
        { "mass", OPTION_NUMBER, "KG", N_("body mass; else body weight comes from the running itself"), NULL, NULL,
          &w->mass_kg, 20, 300 },
        { "speed", OPTION_NUMBER, "M_S", N_("belt speed, m/s, where the sensor can't measure it"), NULL, NULL,
          &w->speed_m_s, 0.3, PLAN_MAX_BELT_M_S },
        { "foot", OPTION_NUMBER, "MM", N_("foot length"), NULL, NULL, &w->foot_mm, 120, 400 },
        { "leg", OPTION_NUMBER, "MM", N_("leg length"), NULL, NULL, &w->leg_mm, 300, 1500 },
        { "target", OPTION_LIST, "METRIC=LOW:HIGH", N_("target band, up to 4 times; none: from a silent baseline"), NULL,
          w->target, NULL, 0, VERDICT_MAX_BARS },
        { "baseline", OPTION_NUMBER, "SECONDS", N_("length of the silent baseline (60); 0: none"), NULL, NULL,
          &w->baseline_s, 0, 3600 },
    };
    assert(n_own + RUN_WORDS_N_ROWS <= RUN_WORDS_MAX_ROWS);
    memcpy(w->rows, own, (size_t) n_own * sizeof *own);
    memcpy(w->rows + n_own, shared, sizeof shared);
    w->n_rows = n_own + RUN_WORDS_N_ROWS;
}

void
run_words_add_plan(struct run_words *w)
{
    const struct option_row rows[RUN_WORDS_N_PLAN_ROWS] = {
        { "plan", OPTION_TEXT, "NAME", N_("run by a plan: a name from profiles/plans or your own plans, or a FILE.ini"),
          NULL, &w->plan, NULL, 0, 0 },
        { "course-visit", OPTION_NUMBER, "N", N_("which visit of the plan (the next one)"), NULL, NULL, &w->course_visit, 1,
          24 },
        { "pain", OPTION_NUMBER, "N", N_("pain before the run, 0 to 10 (not asked)"), NULL, NULL, &w->pain_before, 0, 10 },
    };
    assert(w->n_rows + RUN_WORDS_N_PLAN_ROWS <= RUN_WORDS_MAX_ROWS);
    memcpy(w->rows + w->n_rows, rows, sizeof rows);
    w->n_rows += RUN_WORDS_N_PLAN_ROWS;
}

static int
apply_targets(const struct run_words *w, const struct options_spec *spec, struct coach_config *coach)
{
    struct message why;
    for (int i = 0; i < VERDICT_MAX_BARS && w->target[i]; i++) {
        struct target *t = &coach->target[i];
        if (!target_parse(w->target[i], t, &why))
            return say_refuse_of(spec, &why);
        for (int k = 0; k < i; k++)
            if (coach->target[k].metric == t->metric)
                return say_refuse(spec, MESSAGE_RUN_TARGET_TWICE, w->target[i], metric_info(t->metric)->name);
        coach->n_targets = i + 1;
    }
    if (coach->n_targets > 0)
        coach->focus = coach->target[0].metric;
    return 0;
}

static int
apply_sound(const struct run_words *w, const struct options_spec *spec, struct show_config *c)
{
    if (!isnan(w->volume_pct))
        c->volume = w->volume_pct / 100;
    if (w->has_signs && w->has_no_signs)
        return say_refuse(spec, MESSAGE_RUN_SOUND_TWICE);
    c->hearing.has_signs = w->has_signs;
    if (!w->metronome || strcmp(w->metronome, "off") == 0)
        return 0;
    c->hearing.beat_is_target = strcmp(w->metronome, "target") == 0;
    if (!c->hearing.beat_is_target && (!str_to_double(w->metronome, &c->hearing.beat_spm) ||
                                       !(c->hearing.beat_spm >= SHOW_AS_BEAT_MIN_SPM) ||
                                       !(c->hearing.beat_spm <= SHOW_AS_BEAT_MAX_SPM)))
        return say_refuse(spec, MESSAGE_RUN_NO_METRONOME, w->metronome);
    return 0;
}

static int
apply_look(const struct run_words *w, const struct options_spec *spec, struct show_config *c)
{
    const bool is_light = w->theme && strcmp(w->theme, "light") == 0;
    if (w->theme && !is_light && strcmp(w->theme, "dark") != 0)
        return say_refuse(spec, MESSAGE_RUN_NO_THEME, w->theme);
    c->theme = is_light ? THEME_LIGHT : THEME_DARK;
    if (!isnan(w->distance_m))
        c->viewing_distance_mm = w->distance_m * 1000;
    c->diagonal_inch = w->diagonal_inch;
    c->given = (unsigned) (w->theme != NULL) << SHOW_AS_THEME | (unsigned) (w->language != NULL) << SHOW_AS_LANGUAGE |
               (unsigned) !isnan(w->distance_m) << SHOW_AS_DISTANCE |
               (unsigned) (w->has_signs || w->has_no_signs) << SHOW_AS_SOUND |
               (unsigned) (w->metronome != NULL) << SHOW_AS_METRONOME |
               (unsigned) !isnan(w->volume_pct) << SHOW_AS_VOLUME;
    return apply_sound(w, spec, c);
}

/* Before the run, and also where no screen will show it. English alone is known to be there: without a screen
 * nothing of it is read, and a small machine may not have the files. */
static int
apply_language(const struct run_words *w, const struct options_spec *spec)
{
    struct words words;
    if (!w->language || strcmp(w->language, "en") == 0 || words_load(&words, w->language, NULL) == ERR_OK)
        return 0;
    return say_refuse(spec, MESSAGE_CLI_VALUE_REFUSED, "language", w->language, message_of(&words.why));
}

static int
apply_screen(const struct run_words *w, const struct options_spec *spec, struct app_config *c)
{
    if (w->size && !show_parse_size(w->size, &c->show.width_px, &c->show.height_px))
        return say_refuse(spec, MESSAGE_RUN_NO_SIZE, w->size);
    if (!isnan(w->shot_at_s) && !w->shot)
        return say_refuse(spec, MESSAGE_RUN_AT_NEEDS_SHOT);
    if (w->is_headless && w->display > 0)
        return say_refuse(spec, MESSAGE_RUN_DISPLAY_HEADLESS);
    const int no_language = apply_language(w, spec);
    if (no_language)
        return no_language;
    if (w->shot && !str_ends_with(w->shot, ".png"))
        return say_refuse(spec, MESSAGE_RUN_SHOT_NO_PNG, w->shot);
    if (overwrite_refuses(w->shot, w->is_forced))
        return 1;
    if (w->language)
        c->show.language = w->language;
    c->show.display = (int) w->display;
    c->show.place = w->is_window ? SHOW_WINDOW : SHOW_FULL_SCREEN;
    c->has_screen = !w->is_headless;
    c->lacks_display = c->has_screen && !show_has_display();
    c->has_screen = c->has_screen && !c->lacks_display;
    c->shot_path = w->shot;
    c->shot_at_s = w->shot_at_s;
    c->seconds = w->seconds;
    return apply_look(w, spec, &c->show);
}

int
run_words_apply(struct run_words *w, const struct options_spec *spec, struct app_config *c)
{
    struct pipeline_config *p = &c->session.pipeline;
    p->body_mass_kg = w->mass_kg;
    p->belt_speed_m_s = w->speed_m_s;
    char typed[SAY_NUMBER_MAX];
    if (w->speed_m_s > RUN_WORDS_FAST_M_S)
        say_note(MESSAGE_RUN_IS_FAST, say_typed(typed, w->speed_m_s), message_real(3.6 * w->speed_m_s, 1, MESSAGE_UNIT_KM_H));
    p->foot_length_mm = w->foot_mm;
    p->leg_length_mm = w->leg_mm;
    if (!isnan(w->baseline_s))
        p->coach.baseline_s = w->baseline_s;
    if (w->profile_path) {
        struct message why;
        struct calib_state calibration;
        if (sensor_profile_load(&w->profile, w->profile_path, NULL, &calibration, &why) != ERR_OK)
            return say_refuse(spec, MESSAGE_CLI_OPTION_REFUSED, "profile", message_of(&why));
        p->profile = &w->profile;
        c->session.profile_path = w->profile_path;
        if (!calib_state_text(&calibration, c->session.calibration, sizeof c->session.calibration))
            c->session.calibration[0] = '\0';
        struct message says;
        const bool is_old = sensor_profile_tell(&calibration, &w->profile, &says);
        str_copy(c->visit.calibration, sizeof c->visit.calibration, message_english(&says)); /* the store has it in English */
        if (is_old)
            say_note(MESSAGE_RUN_CALIBRATION, message_of(&says));
    }
    const int refused = apply_targets(w, spec, &p->coach);
    return refused ? refused : apply_screen(w, spec, c);
}

void
run_words_apply_choices(struct run_words *w, const char *code, const char *text, struct app_config *c)
{
    choices_read(code, text, &w->choices);
    choices_apply(&w->choices, &c->show);
}

int
run_words_apply_sensor(struct run_words *w, const struct options_spec *spec, struct app_config *c)
{
    if (w->store) {
        if (snprintf(w->store_path, sizeof w->store_path, "%s/%s", w->store, STORE_FILE_NAME) >=
            (int) sizeof w->store_path)
            return say_refuse(spec, MESSAGE_RUN_STORE_TOO_LONG, w->store);
        c->visit.store_path = w->store_path;
    }
    c->path = w->port;
    c->source.baud = (int) w->baud;
    c->source.pace_ratio = 1; /* a recording given as the port goes as it was */
    c->is_stored = true;
    return 0;
}
