/* The panel's pages on a picture in memory: what can be touched, what the help strip names, that nothing is
 * drawn without need. PANEL_PICTURES=FOLDER keeps a PNG of each page. */
#include "base/str.h"
#include "pages/panel_draw.h"
#include "pages/panel_parts.h"
#include "aid/said.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const struct {
    int width_px, height_px;
} SIZES[] = { { 1280, 720 }, { 1920, 1080 }, { 588, 720 }, { 883, 1080 }, { 3840, 2160 }, { 1024, 768 } };
#define N_SIZES ((int) (sizeof SIZES / sizeof *SIZES))

static struct canvas canvas;
static struct panel_draw draw;
static struct panel_words words;
static const char *const LANGUAGES[] = { "en", "de", "fr", "es", "ja" };
#define N_LANGUAGES ((int) (sizeof LANGUAGES / sizeof *LANGUAGES))
static struct panel *p;

static void
open_size_in(int i, const char *language)
{
    struct canvas_config c = canvas_config_default();
    c.language = language;
    panel_words_close(&words);
    cr_assert_eq(panel_words_load(&words, language, NULL), ERR_OK, "%s", message_english(&words.why));
    c.is_headless = true;
    c.width_px = SIZES[i].width_px;
    c.height_px = SIZES[i].height_px;
    cr_assert_eq(canvas_open(&canvas, &c), ERR_OK, "%s", message_english(&canvas.why));
    panel_draw_init(&draw, &canvas, THEME_DARK);
    draw.words = &words;
}

static void
open_size(int i)
{
    open_size_in(i, "en");
}

static void
fill_figure(struct panel_figure *f, double baseline, double held, double sd, double low, double high,
            int visit)
{
    *f = (struct panel_figure){ .baseline = baseline,
                                .baseline_sd = sd,
                                .held = held,
                                .held_sd = sd,
                                .low = low,
                                .high = high,
                                .shown_pct = 40 + 6 * visit,
                                .withheld_pct = visit > 1 ? 20 + 8 * visit : (double) NAN,
                                .change = held - 158,
                                .is_real = visit > 1,
                                .from_last = visit > 0 ? 1.5 : (double) NAN };
}

/* A course of eight visits that goes as one hopes. */
static void
fill_blocks(struct panel_visit *v)
{
    static const enum verdict_block kinds[] = { VERDICT_BLOCK_WARM_UP, VERDICT_BLOCK_BASELINE, VERDICT_BLOCK_COACHED,
                                                VERDICT_BLOCK_SILENT,  VERDICT_BLOCK_COOL_DOWN };
    const double unknown = (double) NAN;
    v->leads = METRIC_CADENCE_SPM;
    for (int i = 0; i < 5; i++) {
        const bool is_held = i == 2 || i == 3;
        v->block[v->n_blocks++] = (struct panel_block){ kinds[i],           i == 2 ? 15 : 3, i == 0 ? unknown : 2.8,
                                                        160 + 2.0 * i,      i == 4 ? unknown : 2.1,
                                                        i == 2 ? 82 : unknown, is_held ? 76 : unknown };
    }
}

static void
fill_case(struct panel_case *k)
{
    const double unknown = (double) NAN;
    k->runner =
        (struct panel_runner){ 1, "R-014", 71.5, 905, 265, 4, "neutral, 8 mm drop", "", 8, "2026-11-20" };
    k->n_visits = 8;
    for (int i = 0; i < 8; i++) {
        struct panel_visit *v = &k->visit[i];
        v->id = i + 1;
        snprintf(v->when, sizeof v->when, "2026-11-%02d 17:40", 3 + 2 * i);
        snprintf(v->plan, sizeof v->plan, "underfoot-ten-to-twenty");
        v->course_visit = i + 1;
        v->is_finished = true;
        v->is_cut_short = i == 3;
        v->minutes = 14 + i;
        v->n_steps = 2300 + 160 * i;
        v->n_fore_least = 40 + 30 * i;
        v->n_fore_most = 52 + 30 * i;
        v->pain_before = 1;
        v->pain_worst = i == 3 ? 4 : 2;
        v->pain_after = 1;
        v->effort = 5;
        for (int m = 0; m < METRIC_COUNT; m++)
            fill_figure(&v->figure[m], unknown, unknown, unknown, unknown, unknown, i);
        fill_figure(&v->figure[METRIC_CADENCE_SPM], 158 + i, 160 + 1.2 * i, 1.8, 162, 170, i);
        fill_figure(&v->figure[METRIC_LANDING_AHEAD_MM], 262 - 6 * i, 258 - 7 * i, 9, 200, 250, i);
        fill_figure(&v->figure[METRIC_CONTACT_MS], 277 - i, 274 - 2 * i, 6, 210, 282, i);
        fill_figure(&v->figure[METRIC_BRAKING_IMPULSE_BW_S], 0.0212 - 0.0004 * i, 0.0206 - 0.0005 * i, 0.0022, 0.016, 0.019, i);
        v->figure[METRIC_BRAKING_IMPULSE_BW_S].change = -0.0006 - 0.0005 * i;
        v->figure[METRIC_BRAKING_IMPULSE_BW_S].from_last = -0.0005;
        fill_figure(&v->figure[METRIC_LOAD_RATE_BW_S], 83 - 2 * i, 81 - 3 * i, 4, unknown, unknown, i);
    }
    fill_blocks(&k->visit[7]);
    k->visit[7].tally.sign[TALLY_LOW_CADENCE] = TALLY_ABSENT;
    k->visit[7].tally.sign[TALLY_LOAD_RATE] = TALLY_PRESENT;
    k->visit[7].tally.braking_impulse_bw_s = 0.0184;
    k->visit[7].tally.braking_impulse_bar = 0.0031;
    k->visit[7].tally.peak_braking_bw = 0.27;
    k->visit[7].tally.peak_braking_bar = 0.06;
    str_copy(k->visit[7].marks, sizeof k->visit[7].marks, "3:12, 7:45, 12:01, 15:30, 18:44, 21:09, 22:50, +2");
    snprintf(k->visit[7].notes, sizeof k->visit[7].notes,
             "Quick steps came easily; calves a little tight.\nNext: hills.");
    str_copy(k->visit[7].sensor, sizeof k->visit[7].sensor,
             "mat, MAT-16x8; check good; calibration: mass 190 days old, zero it and stand on it again; gain drift -6.4 %; "
             "3 packets lost");
    snprintf(k->visit[7].dose_note, sizeof k->visit[7].dose_note,
             "Running minutes grew by 38 %% since the last visit.");
    k->n_metrics = 6;
    k->metric[0] = METRIC_CADENCE_SPM;
    k->metric[1] = METRIC_LANDING_AHEAD_MM;
    k->metric[2] = METRIC_LOAD_RATE_BW_S;
    k->metric[3] = METRIC_CONTACT_MS;
    k->metric[4] = METRIC_BRAKING_IMPULSE_BW_S;
    k->metric[5] = METRIC_COM_DROP_MM;
    for (int m = 0; m < METRIC_COUNT; m++)
        k->mdc[m] = unknown;
    k->mdc[METRIC_CADENCE_SPM] = 2.1;
    k->mdc[METRIC_LANDING_AHEAD_MM] = 11;
    k->n_plans = 2;
    k->plan[0] = (struct panel_plan){
        .id = "eight-faded", .visit = 1, .n_visits = 8, .coached_min = 15, .shown_share = 1
    };
    k->plan[1] = (struct panel_plan){
        .id = "underfoot-ten-to-twenty", .visit = 8, .n_visits = 8, .coached_min = 20, .shown_share = 0.1
    };
    k->plan[1].plan.n_blocks = 3;
    k->plan[1].plan.block[0] = (struct plan_block){ VERDICT_BLOCK_WARM_UP, 240, 2.5, 0, 0 };
    k->plan[1].plan.block[1] = (struct plan_block){ VERDICT_BLOCK_COACHED, 1200, 2.8, 0.1, 0 };
    k->plan[1].plan.block[2] = (struct plan_block){ VERDICT_BLOCK_COOL_DOWN, 180, 2.2, 0, 0 };
    k->plan_now = 1;
    k->targets = (struct target_set){ 3,
                                      { { METRIC_CADENCE_SPM, 172, 180, 160, true },
                                        { METRIC_CONTACT_MS, 210, 282, 275, false },
                                        { METRIC_LANDING_AHEAD_MM, 200, 250, 258, true } },
                                      METRIC_CADENCE_SPM };
    for (int i = 0; i < VERDICT_MAX_BARS; i++)
        k->spread[i] = i == 0 ? 1.8 : 7;
    k->usual_speed_m_s = 2.8;
}

static struct verdict
verdict_in_run(void)
{
    struct verdict v = { .sensor = VERDICT_SENSOR_LIVE,
                         .gait = STEP_GAIT_RUNNING,
                         .block = VERDICT_BLOCK_COACHED };
    v.n_plan_blocks = 3;
    v.plan_index = 1;
    v.n_steps = 812;
    v.is_feedback_shown = true;
    v.belt_speed_m_s = 2.8;
    v.block_left_s = 431;
    v.block_length_s = 1200;
    v.focus = METRIC_CADENCE_SPM;
    v.n_bars = 3;
    v.bar[0] = (struct verdict_bar){
        .metric = METRIC_CADENCE_SPM, .value = 168, .low = 172, .high = 180, .baseline = 160
    };
    v.bar[1] = (struct verdict_bar){
        .metric = METRIC_CONTACT_MS, .value = 262, .low = 210, .high = 282, .baseline = 275
    };
    v.bar[2] = (struct verdict_bar){
        .metric = METRIC_LANDING_AHEAD_MM, .value = 256, .low = 200, .high = 250, .baseline = 258
    };
    return v;
}

static void
key(int k)
{
    const struct panel_input input = { .kind = PANEL_INPUT_KEY, .key = k };
    panel_feed(p, &input);
}

static void
touch(int x_px, int y_px, enum panel_input_kind kind)
{
    const struct panel_input input = { .kind = kind, .x_px = x_px, .y_px = y_px };
    panel_feed(p, &input);
}

static void
make_panel(void)
{
    static struct panel_runners r;
    static struct panel_case k;
    p = calloc(1, sizeof *p);
    cr_assert(p);
    memset(&r, 0, sizeof r);
    memset(&k, 0, sizeof k);
    panel_init(p);
    fill_case(&k);
    r.n = r.total = r.n_all = 3;
    for (int i = 0; i < 3; i++) {
        r.runner[i] = k.runner;
        r.runner[i].id = i + 1;
        snprintf(r.runner[i].code, PANEL_CODE_MAX, "R-%03d", 14 + 3 * i);
    }
    panel_set_runners(p, &r);
    key(PANEL_KEY_RETURN);
    panel_set_case(p, &k);
}

static void
begin_run(void)
{
    struct verdict v = verdict_in_run();
    v.block = VERDICT_BLOCK_PAUSED;
    key(PANEL_KEY_RETURN);
    panel_set_sensor(p, PANEL_SENSOR_OPEN, said("mat at /dev/pts/3, 250 Hz."));
    panel_set_verdict(p, &v);
    key(PANEL_KEY_RETURN);
    key(PANEL_KEY_RETURN);
    key('1');
    key(PANEL_KEY_RETURN);
    cr_assert_eq(p->context, PANEL_ASK_WARNED, "two targets ask for a change");
    key(PANEL_KEY_RETURN);
    v = verdict_in_run();
    panel_set_verdict(p, &v);
    cr_assert_eq(p->page, PANEL_LIVE);
}

static void
fill_check(struct check_report *c, enum frame_kind kind)
{
    for (int i = 0; i < CHECK_N_ITEMS; i++) {
        c->finding[i] = (struct check_finding){ .grade = i > CHECK_STUCK ? CHECK_UNTESTED : CHECK_GOOD, .todo = "" };
        said_put(&c->finding[i].says, "as it should be, %d", i);
    }
    c->grade = c->finding[CHECK_LOST].grade = CHECK_BAD;
    message_say(&c->finding[CHECK_LOST].says, "3.2 % of the packets are lost");
    c->finding[CHECK_LOST].todo = "a shorter cable, a higher baud rate on both sides, or a lower sample rate";
    if (kind == FRAME_KIND_MAT) {
        c->finding[CHECK_NOISE].grade = CHECK_MIND;
        message_tell(&c->finding[CHECK_NOISE].says, MESSAGE_CHECK_ELEMENTS_FLICKER, 12);
        message_tell(&c->finding[CHECK_NOISE].at, MESSAGE_CHECK_AT, "3:4 3:5 3:6 5:7 5:8 9:1 9:2 10:1 10:2 10:3 11:1 11:2");
        c->finding[CHECK_NOISE].todo =
            "list these as dead in the profile, or raise noise_counts there; check ground and supply";
    }
    c->seconds_empty = 9;
}

static void
fill_elements(struct panel_elements *e, enum frame_kind kind)
{
    e->kind = kind;
    e->n_rows = kind == FRAME_KIND_MAT ? 16 : 1;
    e->n_cols = kind == FRAME_KIND_MAT ? 8 : 4;
    for (int i = 0; i < e->n_rows * e->n_cols; i++)
        e->share[i] = kind == FRAME_KIND_MAT ? (i / 8 > 5 && i / 8 < 12 && i % 8 > 2 && i % 8 < 6 ? 0.1F * (float) (i / 8) - 0.4F : 0)
                                             : 0.2F * (float) i;
    for (int i = 0; i < 4; i++)
        snprintf(e->name[i], sizeof e->name[i], "%s%c", kind == FRAME_KIND_CELLS ? "cell " : "zone ", '1' + i);
}

static void
show_sensor(enum frame_kind kind)
{
    static struct panel_watch w;
    struct verdict v = verdict_in_run();
    memset(&w, 0, sizeof w);
    w.calib_left_s = (double) NAN;
    w.has_check = true;
    fill_elements(&w.elements, kind);
    fill_check(&w.check, kind);
    v.block = VERDICT_BLOCK_PAUSED;
    key(PANEL_KEY_RETURN);
    panel_set_sensor(p, PANEL_SENSOR_OPEN, said("mat at /dev/pts/3, 250 Hz."));
    panel_set_verdict(p, &v);
    panel_set_watch(p, &w);
}

static void
show_calibration(void)
{
    static struct panel_calibration c;
    memset(&c, 0, sizeof c);
    str_copy(c.profile, sizeof c.profile, "mat-48x32");
    message_tell(&c.says, MESSAGE_CALIB_IS_OF, message_word("gain by a standing mass"), 190);
    message_tell(&c.says, MESSAGE_CALIB_IS_OLD, message_of(&c.says), 180.0);
    c.is_due = c.can_undo = true;
    for (c.n = 0; c.n < PANEL_MAX_CALIBRATIONS; c.n++)
        said_put(&c.entry[c.n], "%4d  2026-05-%02dT09:30:00Z  mass      71.5 kg; the gain was off by +1.2 %%", c.n + 1,
                 c.n + 1);
    panel_set_calibration(p, &c);
}

/* The visit page with all that can stand on it. */
static void
fill_up(void)
{
    struct panel_case *k = &p->open.kase;
    struct tally *t = &k->visit[k->n_visits - 1].tally;
    for (int i = 0; i < TALLY_COUNT; i++)
        t->sign[i] = i % 2 ? TALLY_ABSENT : TALLY_PRESENT;
    t->heel_first = TALLY_PRESENT;
    for (k->n_plans = 2; k->n_plans < 12; k->n_plans++) {
        k->plan[k->n_plans] = k->plan[0];
        snprintf(k->plan[k->n_plans].id, sizeof k->plan[0].id, "plan-%d", k->n_plans);
    }
    k->plan[0].id[0] = '\0';
    message_say(&k->plan[0].why,
             "broken.ini:7: a block is written KIND minutes N [speed N] [shown N%], not: coached for ever");
    k->plan[1].is_repeat = true;
    str_copy(k->plan[1].source, sizeof k->plan[1].source, "Eight visits, as a published course has them, with its feedback faded.");
    str_copy(k->visit[k->n_visits - 1].dose_note, sizeof k->visit[0].dose_note,
             "Running minutes grew by 38 % since the last visit. Steps that land on the forefoot grew more than twofold: mind the "
             "calf.");
    show_calibration();
}

static void
go_to_cautions(void)
{
    const struct verdict v = verdict_in_run();
    key(PANEL_KEY_RETURN);
    panel_set_sensor(p, PANEL_SENSOR_OPEN, said("mat at /dev/pts/3, 250 Hz. Calibration: 3 days old."));
    panel_set_verdict(p, &v);
    key(PANEL_KEY_RETURN);
}

/* In mid-run, some seconds ago. */
static void
lose_sensor(int seconds)
{
    struct verdict v = verdict_in_run();
    v.sensor = VERDICT_SENSOR_QUIET;
    message_init(&v.message, MESSAGE_SENSOR_IS_QUIET);
    v.last_value_at.us = 100 * UNITS_US_PER_S;
    panel_set_verdict(p, &v);
    panel_set_now(p, (struct host_time){ (100 + seconds) * UNITS_US_PER_S });
}

/* Every target with every warning that it can have. */
static void
warn(void)
{
    for (int i = 0; i < 12; i++)
        key(PANEL_KEY_UP);
    for (int i = 0; i < p->aim.edit.now.n; i++)
        p->aim.edit.spread[i] = 100;
    target_edit_band(&p->aim.edit, 1, 200, 220);
}

/* As many runners and visits as there can be, and as long notes. */
static void
make_much(void)
{
    struct panel_case *k = &p->open.kase;
    p->list.runners.total = p->list.runners.n_all = 5012; /* as many as are held, and more */
    for (p->list.runners.n = 3; p->list.runners.n < PANEL_MAX_RUNNERS; p->list.runners.n++) {
        p->list.runners.runner[p->list.runners.n] = p->list.runners.runner[0];
        snprintf(p->list.runners.runner[p->list.runners.n].code, PANEL_CODE_MAX, "R-longer-than-it-need-be-%03d", p->list.runners.n % 1000);
    }
    for (int i = 8; i < PANEL_MAX_VISITS; i++) {
        k->visit[i] = k->visit[i % 8];
        k->visit[i].id = k->visit[i].course_visit = i + 1;
    }
    k->n_visits = PANEL_MAX_VISITS;
    struct panel_visit *v = &k->visit[k->n_visits - 1];
    for (int i = 0; i < TALLY_COUNT; i++)
        v->tally.sign[i] = i % 2 ? TALLY_PRESENT : TALLY_ABSENT;
    str_copy(v->marks, sizeof v->marks, "1:02 2:03 3:04 4:05 5:06 6:07 7:08 8:09 9:10 10:11 11:12 12:13 13:14 14:15");
    for (int i = 0; i < 9; i++)
        str_append(v->notes, sizeof v->notes, "Another line of what was seen and said in this visit.\n");
    k->n_metrics = PANEL_MAX_METRICS;
    for (int i = 0; i < PANEL_MAX_METRICS; i++)
        k->metric[i] = i < 2 ? METRIC_LOAD_RATE_MAX_BW_S : METRIC_ASYM_STEP_TIME_PCT;
}

/* For "R-01" is typed, and so many are found. */
static void
search(int n_found)
{
    static struct panel_runners r;
    struct panel_input input = { .kind = PANEL_INPUT_TEXT, .text = "R-01" };
    key(PANEL_KEY_F1);
    key('s');
    key(PANEL_KEY_BACKSPACE); /* empty as it is: and the sign of the key before is past */
    panel_feed(p, &input);
    r = p->list.runners;
    str_copy(r.search, sizeof r.search, input.text);
    r.n = r.total = n_found;
    panel_set_runners(p, &r);
    key(PANEL_KEY_DOWN);
}

/* The run, the sensor's step, and the visit page with little and with much on it. */
static void
go_to_more(int i)
{
    switch (i) {
    case 10:
    case 11:
    case 12:
        begin_run();
        if (i == 11)
            key('s');
        if (i == 12) {
            key('p');
            key('6');
            key(PANEL_KEY_RETURN);
        }
        break;
    case 13:
        show_sensor(FRAME_KIND_MAT);
        break;
    case 14:
        show_sensor(FRAME_KIND_CELLS);
        break;
    case 15:
        show_sensor(FRAME_KIND_SWITCHES);
        break;
    case 16:
        key('c');
        break;
    case 17: {
        struct verdict v = verdict_in_run();
        show_sensor(FRAME_KIND_MAT);
        v.sensor = VERDICT_SENSOR_QUIET;
        v.block = VERDICT_BLOCK_PAUSED;
        panel_set_verdict(p, &v);
        break;
    }
    case 18:
    case 19:
    case 20:
        show_calibration();
        show_sensor(FRAME_KIND_CELLS);
        key('z');
        if (i > 18)
            key(i == 19 ? 'w' : 'u');
        break;
    case 21:
        p->open.kase.n_visits = 0;
        break;
    case 22:
        fill_up();
        break;
    case 23:
    case 24:
        begin_run();
        panel_set_recording(p, &(struct panel_recording){ .is_kept = true, .has_ended_early = i == 24, .mb_per_min = 13.6, .room_h = 1240 });
        lose_sensor(i == 23 ? 2 : 12);
        break;
    case 25:
        warn();
        break;
    case 26:
        warn();
        go_to_cautions();
        key(PANEL_KEY_RETURN);
        key('1');
        key(PANEL_KEY_RETURN);
        break;
    case 27:
        key('s');
        break;
    case 28:
        p->open.speed_m_s = (double) NAN;
        break;
    case 29:
    case 30:
    case 31:
        make_much();
        key(i == 29 ? PANEL_KEY_F1 : i == 30 ? PANEL_KEY_F4 : PANEL_KEY_F5);
        break;
    case 32:
        make_much();
        p->open.kase.n_older_visits = 24;
        p->open.kase.n_newer_visits = 264;
        for (int m = 0; m < PANEL_MAX_METRICS; m++)
            p->open.kase.metric[m] = m < 2 ? METRIC_CADENCE_SPM : METRIC_CONTACT_MS;
        key(PANEL_KEY_F5);
        break;
    case 33:
        show_calibration();
        p->calib.told.n_older = 252;
        p->calib.told.n_more_profiles = 6;
        key('z');
        break;
    case 34:
        make_much();
        p->list.runners.offset = p->list.runners.total - PANEL_MAX_RUNNERS;
        key(PANEL_KEY_F1);
        key(PANEL_KEY_END);
        break;
    case 35:
    case 36:
        make_much();
        search(i == 35 ? 17 : 0);
        break;
    case 37:
        for (int k = 0; k < 3; k++)
            str_copy(p->open.kase.left_out[k], sizeof p->open.kase.left_out[k], k < 2 ? "1, 2, 3, 4" : "1");
        key(PANEL_KEY_F5);
        break;
    default:
        break;
    }
}

/* Every place that a page or a question can be seen in, one after the other. */
#define N_SCENES 38
static const char *
go_to_scene(int i)
{
    static const char *const names[N_SCENES] = { "runners",   "form",     "forget",      "forget-again",
                                                 "visit",     "cautions", "pain-before", "summary",
                                                 "note",      "course",   "live",        "skip",
                                                 "stop-asked",  "sensor-mat",
                                                 "sensor-cells", "sensor-switches", "plan-name", "sensor-silent", "calibration", "weigh",
                                                 "undo-calibration", "visit-first", "visit-full",
                                                 "live-lost", "live-long-lost", "warned",
                                                 "ask-warned", "speed-typed", "speed-unknown",
                                                 "runners-many", "summary-much", "course-much", "course-older",
                                                 "calibration-many", "runners-end", "runners-searched", "runners-none-found",
                                                 "course-unlike" };
    make_panel();
    draw.drawn = 0; /* another panel than the one before */
    switch (i) {
    case 0:
        key(PANEL_KEY_F1);
        break;
    case 1:
        key(PANEL_KEY_F1);
        key('e');
        break;
    case 2:
    case 3:
        key(PANEL_KEY_F1);
        key(PANEL_KEY_DELETE);
        if (i == 3)
            key('y');
        break;
    case 5:
    case 6:
        go_to_cautions();
        if (i == 6)
            key(PANEL_KEY_RETURN);
        break;
    case 7:
        key(PANEL_KEY_F4);
        break;
    case 8:
        key(PANEL_KEY_F4);
        key('n');
        break;
    case 9:
        key(PANEL_KEY_F5);
        break;
    default:
        go_to_more(i);
        break;
    }
    return names[i];
}

static const struct panel_spot *
find_spot(enum panel_action action, int target, enum panel_edge edge)
{
    for (int i = p->spots.n - 1; i >= 0; i--)
        if (p->spots.spot[i].action == action &&
            (action != PANEL_DO_NOTHING || (p->spots.spot[i].target == target && p->spots.spot[i].edge == edge)))
            return &p->spots.spot[i];
    return NULL;
}

Test(panel_pages, every_key_that_the_help_strip_names_can_be_touched_there)
{
    const char *folder = getenv("PANEL_PICTURES");
    for (int k = 0; k < N_SIZES + N_LANGUAGES - 1; k++) { /* every size in English, then the smallest in each language */
        const int size = k < N_SIZES ? k : 0;
        const char *language = k < N_SIZES ? "en" : LANGUAGES[k - N_SIZES + 1];
        open_size_in(size, language);
        for (int scene = 0; scene < N_SCENES; scene++) {
            const char *name = go_to_scene(scene);
            cr_assert(panel_draw(&draw, p));
            for (const struct panel_key_row *row = panel_keys(p->context); row->key; row++) {
                bool is_there = !row->words || row->action == PANEL_DO_HIDE;
                for (int i = 0; i < p->spots.n && !is_there; i++)
                    is_there = p->spots.spot[i].action == row->action && p->spots.spot[i].number == row->number;
                cr_assert(is_there, "%s: %s %s", name, row->cap, row->words);
                cr_assert(!row->words || k < N_SIZES || panel_words_of(&words, row->words) != row->words, "no %s words for: %s", language,
                          row->words);
            }
            cr_assert(p->spots.n < PANEL_MAX_SPOTS, "%s", name);
            if (folder) {
                char path[300];
                snprintf(path, sizeof path, "%s/%s-%d-%02d-%s.png", folder, language, SIZES[size].width_px, scene, name);
                cr_assert_eq(canvas_shot(&canvas, path), ERR_OK);
            }
            free(p);
        }
        canvas_close(&canvas);
    }
}

Test(panel_pages, spots_lie_inside_the_picture)
{
    for (int size = 0; size < N_SIZES; size++) {
        open_size(size);
        for (int scene = 0; scene < N_SCENES; scene++) {
            const char *name = go_to_scene(scene);
            panel_draw(&draw, p);
            cr_assert_gt(p->spots.n, 2);
            for (int i = 0; i < p->spots.n; i++) {
                const struct panel_spot *s = &p->spots.spot[i];
                cr_assert(s->x_px >= 0 && s->y_px >= 0 && s->w_px > 0 &&
                              s->x_px + s->w_px <= SIZES[size].width_px &&
                              s->y_px + s->h_px <= SIZES[size].height_px,
                          "%s at %d: spot %d (action %d): %d %d %d %d", name, SIZES[size].width_px, i,
                          s->action, s->x_px, s->y_px, s->w_px, s->h_px);
            }
            free(p);
        }
        canvas_close(&canvas);
    }
}

Test(panel_pages, nothing_is_drawn_when_nothing_changed)
{
    open_size(0);
    go_to_scene(4);
    cr_assert(panel_draw(&draw, p));
    cr_assert(!panel_draw(&draw, p));
    key(PANEL_KEY_UP);
    cr_assert(panel_draw(&draw, p));
    free(p);
    canvas_close(&canvas);
}

Test(panel_pages, a_band_is_dragged_by_its_edge_and_by_its_middle)
{
    open_size(1);
    go_to_scene(4);
    panel_draw(&draw, p);
    const struct target was = p->aim.edit.now.target[0];
    const struct panel_spot high = *find_spot(PANEL_DO_NOTHING, 0, PANEL_EDGE_HIGH);
    const int x = high.x_px + 10, y = high.y_px + high.h_px / 2, to = panel_axis_y(&p->aim.axis[0], was.high + 4);
    touch(x, y, PANEL_INPUT_DOWN);
    touch(x, to, PANEL_INPUT_MOVE);
    touch(x, to, PANEL_INPUT_UP);
    cr_assert_float_eq(p->aim.edit.now.target[0].high, was.high + 4, 1.01);
    cr_assert_eq(p->aim.edit.now.target[0].low, was.low);
    panel_draw(&draw, p);
    const int middle = (panel_axis_y(&p->aim.axis[0], was.low) + panel_axis_y(&p->aim.axis[0], was.high + 4)) / 2;
    const int down = panel_axis_y(&p->aim.axis[0], was.low - 5) - panel_axis_y(&p->aim.axis[0], was.low);
    touch(x, middle, PANEL_INPUT_DOWN);
    touch(x, middle + down, PANEL_INPUT_MOVE);
    touch(x, middle + down, PANEL_INPUT_UP);
    cr_assert_float_eq(p->aim.edit.now.target[0].low, was.low - 5, 1.01);
    key('u');
    key('u');
    cr_assert(p->aim.edit.now.target[0].low == was.low && p->aim.edit.now.target[0].high == was.high);
    free(p);
    canvas_close(&canvas);
}

Test(panel_pages, a_touch_below_a_question_does_nothing)
{
    open_size(0);
    go_to_scene(10);
    panel_draw(&draw, p);
    const struct panel_spot edge = *find_spot(PANEL_DO_NOTHING, 2, PANEL_EDGE_HIGH);
    const struct panel_spot pause = *find_spot(PANEL_DO_PAUSE, 0, PANEL_EDGE_NONE);
    key('s');
    panel_draw(&draw, p);
    struct panel_request r;
    while (panel_take_request(p, &r))
        continue;
    touch(pause.x_px + 2, pause.y_px + 2, PANEL_INPUT_DOWN);
    cr_assert(!panel_take_request(p, &r));
    cr_assert_eq(p->context, PANEL_ASK_SKIP);
    touch(edge.x_px + 2, edge.y_px + 2, PANEL_INPUT_DOWN);
    cr_assert_eq(p->aim.dragged, -1);
    free(p);
    canvas_close(&canvas);
}

Test(panel_pages, a_touched_number_is_taken_at_once)
{
    open_size(0);
    go_to_scene(10);
    key('p');
    panel_draw(&draw, p);
    for (int i = 0; i < p->spots.n; i++)
        if (p->spots.spot[i].action == PANEL_DO_NUMBER && p->spots.spot[i].number == 3 && p->spots.spot[i].y_px < 600) {
            touch(p->spots.spot[i].x_px + 3, p->spots.spot[i].y_px + 3, PANEL_INPUT_DOWN);
            break;
        }
    cr_assert_eq(p->context, PANEL_ON_LIVE);
    cr_assert_eq(p->visit.flow.pain_worst, 3);
    free(p);
    canvas_close(&canvas);
}

Test(panel_pages, the_stop_sentence_is_loud)
{
    open_size(0);
    int n[2] = { 0, 0 };
    for (int i = 0; i < 2; i++) {
        go_to_scene(i == 0 ? 10 : 12);
        panel_draw(&draw, p);
        for (int k = 0; k < canvas.picture.width_px * canvas.picture.height_px; k++)
            n[i] += (canvas.picture.pixel[k] & 0xFFFFFF) == draw.theme.alert;
        free(p);
    }
    cr_assert_lt(n[0], 200);
    cr_assert_gt(n[1], 8000);
    canvas_close(&canvas);
}

Test(panel_pages, a_preloaded_page_asks_for_no_glyph_while_drawn)
{
    for (int l = 0; l < N_LANGUAGES; l++) {
        open_size_in(0, LANGUAGES[l]);
        panel_draw_preload(&draw);
        const int n = canvas.text.n_glyphs, n_faces = canvas.text.n_faces;
        for (int scene = 0; scene < N_SCENES; scene++) {
            const char *name = go_to_scene(scene);
            panel_draw(&draw, p);
            cr_assert_eq(canvas.text.n_glyphs, n, "%s, %s: %d more", LANGUAGES[l], name, canvas.text.n_glyphs - n);
            free(p);
        }
        cr_assert_eq(canvas.text.n_faces, n_faces);
        canvas_close(&canvas);
    }
}

/* Bars in the band's colours, and the figures of the moment: where the runner sees the panel, not while feedback is
 * withheld. */
Test(panel_pages, withheld_values_leave_no_trace_on_a_panel_that_the_runner_sees)
{
    for (int size = 0; size < 3; size += 2) {
        open_size(size);
        uint32_t *before = NULL;
        for (int i = 0; i < 4; i++) { /* on its own display; shared: two values, then a peek */
            go_to_scene(10);
            struct verdict v = verdict_in_run();
            v.is_feedback_shown = false;
            v.bar[0].value = i == 2 ? 176 : 168;
            p->is_over_screen = i > 0;
            panel_set_verdict(p, &v);
            if (i == 3)
                key('i');
            panel_draw(&draw, p);
            const size_t len = (size_t) canvas.picture.width_px * (size_t) canvas.picture.height_px * sizeof *before;
            int n = 0;
            for (size_t k = 0; k < len / sizeof *before; k++)
                n += (canvas.picture.pixel[k] & 0xFFFFFF) == draw.theme.look[THEME_BELOW].rgb;
            if (i == 1) {
                before = malloc(len);
                cr_assert(before);
                memcpy(before, canvas.picture.pixel, len);
            }
            cr_assert(i == 1 || i == 2 ? n == 0 : n > 20, "picture %d: %d", i, n);
            cr_assert(i != 2 || memcmp(before, canvas.picture.pixel, len) == 0, "the value shows");
            free(p);
        }
        free(before);
        canvas_close(&canvas);
    }
}

/* The grid's brightest square is the most loaded element. */
Test(panel_pages, a_loaded_element_is_seen_in_the_picture_of_the_sensor)
{
    open_size(0);
    int n[2] = { 0, 0 };
    for (int i = 0; i < 2; i++) {
        go_to_scene(13);
        if (i == 0)
            memset(p->visit.watch.elements.share, 0, sizeof p->visit.watch.elements.share);
        else
            p->visit.watch.elements.share[8 * 3 + 4] = 1;
        panel_draw(&draw, p);
        for (int y = 100; y < 270; y++)
            for (int x = 420; x < 840; x++)
                n[i] += (canvas.picture.pixel[y * canvas.picture.width_px + x] & 0xFFFFFF) == draw.theme.figure;
        free(p);
    }
    cr_assert_eq(n[0], 0);
    cr_assert_gt(n[1], 80);
    canvas_close(&canvas);
}

static bool
is_ground(int x, int y)
{
    return (canvas.picture.pixel[y * canvas.picture.width_px + x] & 0xFFFFFF) == draw.theme.ground;
}

static int
strip_top(void)
{
    int y = canvas.picture.height_px - 1;
    while (y > 0 && (canvas.picture.pixel[y * canvas.picture.width_px] & 0xFFFFFF) == draw.theme.panel)
        y--;
    return y + 1;
}

/* Between the columns, at the right edge, and above the strip with the keys: nothing; the strip as it is without a page. */
static void
check_margins(const char *what, const uint32_t *bare)
{
    const int width = canvas.picture.width_px, height = canvas.picture.height_px, top = strip_top();
    const int u = height / 40 < width / 62 ? height / 40 : width / 62, w = width - 2 * u, gap = u * 3 / 2;
    const int left = w * 28 / 100, right = w * 30 / 100, mid = w - left - right - 2 * gap;
    const int columns[] = { u / 2, u + left + gap / 2, u + left + mid + gap * 7 / 4, width - u / 2 };
    for (int y = 3 * u + 2; y < top; y++)
        for (int i = 0; i < 4; i++)
            cr_assert(is_ground(columns[i], y), "%s: something stands at %d, %d", what, columns[i], y);
    for (int y = top - u / 2; y < top; y++)
        for (int x = 0; x < width; x++)
            cr_assert(is_ground(x, y), "%s: something stands at %d, %d, just above the keys", what, x, y);
    cr_assert_eq(memcmp(canvas.picture.pixel + top * width, bare + top * width, (size_t) ((height - top) * width) * sizeof *bare),
                 0, "%s: something stands over the keys", what);
}

/* The pages before a run, with all that can stand on them. */
Test(panel_pages, no_text_leaves_its_column_or_runs_over_the_keys)
{
    static const int sizes[] = { 0, 1, N_SIZES - 1 }, scenes[] = { 4, 5, 13, 14, 15, 17, 21, 22 };
    for (int s = 0; s < 3; s++)
        for (int l = 0; l < N_LANGUAGES; l++) {
            open_size_in(sizes[s], LANGUAGES[l]);
            const size_t len = (size_t) canvas.picture.width_px * (size_t) canvas.picture.height_px * sizeof(uint32_t);
            uint32_t *bare = malloc(len);
            cr_assert(bare);
            go_to_scene(4);
            p->open.has_case = false;
            panel_draw(&draw, p);
            memcpy(bare, canvas.picture.pixel, len);
            free(p);
            for (size_t i = 0; i < sizeof scenes / sizeof *scenes; i++)
                for (int is_due = 0; is_due < 2; is_due++) {
                    char what[80];
                    snprintf(what, sizeof what, "%s, %s at %d", go_to_scene(scenes[i]), LANGUAGES[l], SIZES[sizes[s]].width_px);
                    if (is_due)
                        show_calibration();
                    panel_draw(&draw, p);
                    check_margins(what, bare);
                    free(p);
                }
            free(bare);
            canvas_close(&canvas);
        }
}

/* A list that is cut says so, and can be gone through. */
Test(panel_pages, plans_that_do_not_fit_are_counted)
{
    open_size(0);
    go_to_scene(22);
    panel_draw(&draw, p);
    int n_rows = 0, n_more = 0;
    for (int i = 0; i < p->spots.n; i++) {
        n_rows += p->spots.spot[i].action == PANEL_DO_PLAN_AT;
        n_more += p->spots.spot[i].action == PANEL_DO_PLAN && p->spots.spot[i].y_px < strip_top();
    }
    cr_assert(n_rows < p->open.kase.n_plans + 1 && n_more == 1, "%d of %d rows, %d signs", n_rows, p->open.kase.n_plans + 1, n_more);
    p->open.kase.n_plans = 2;
    p->n_changes++;
    panel_draw(&draw, p);
    n_rows = n_more = 0;
    for (int i = 0; i < p->spots.n; i++) {
        n_rows += p->spots.spot[i].action == PANEL_DO_PLAN_AT;
        n_more += p->spots.spot[i].action == PANEL_DO_PLAN && p->spots.spot[i].y_px < strip_top();
    }
    cr_assert(n_rows == 3 && n_more == 0, "%d rows, %d signs", n_rows, n_more);
    free(p);
    canvas_close(&canvas);
}

Test(panel_pages, heads_of_the_figures_fit_their_columns)
{
    for (int l = 0; l < N_LANGUAGES; l++) {
        open_size_in(0, LANGUAGES[l]);
        const int u = 18;
        const struct widget_pen w = { &canvas.picture, &canvas.text, &draw.theme, u, NULL };
        for (int i = 0; i < PANEL_SUMMARY_N_COLUMNS; i++) {
            double share;
            const char *head = panel_words_of(&words, panel_summary_column(i, &share));
            const double all = (1280 - 2 * u) - (1280 - 2 * u) * 32 / 100 - 2 * u;
            cr_assert_leq(text_width_px(&canvas.text, widget_px(&w, WIDGET_SMALL), TEXT_REGULAR, head), share * all - u / 3,
                          "%s: %s", LANGUAGES[l], head);
        }
        static const enum metric rows[] = { METRIC_CADENCE_SPM, METRIC_LANDING_AHEAD_MM, METRIC_LOAD_RATE_BW_S, METRIC_CONTACT_MS };
        double share;
        char band[PANEL_WORDS_MAX]; /* as wide as a band of any figure is written: braking has a digit after the point */
        panel_words_fill(&words, band, sizeof band, "{1} to {2}", (const char *const[]){ "16,0", "19,0" }, 2);
        panel_summary_column(1, &share);
        cr_assert_leq(text_width_px(&canvas.text, widget_px(&w, WIDGET_BODY), TEXT_BOLD, band),
                      share * ((1280 - 2 * u) * 68 / 100 - 2 * u), "%s: %s", LANGUAGES[l], band);
        panel_summary_column(0, &share);
        for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
            const char *label = panel_words_of(&words, panel_metric_label(rows[i]));
            cr_assert_leq(text_width_px(&canvas.text, widget_px(&w, WIDGET_BODY), i == 0 ? TEXT_BOLD : TEXT_REGULAR, label),
                          share * ((1280 - 2 * u) * 68 / 100 - 2 * u), "%s: %s", LANGUAGES[l], label);
        }
        canvas_close(&canvas);
    }
}

/* ---------------------------------------------------------------- where words and buttons stand */

static struct widget_log put;

static bool
meet(struct paint_rect a, struct paint_rect b)
{
    return a.x_px < b.x_px + b.w_px && b.x_px < a.x_px + a.w_px && a.y_px < b.y_px + b.h_px && b.y_px < a.y_px + a.h_px;
}

static bool
holds(struct paint_rect a, struct paint_rect b)
{
    return b.x_px >= a.x_px && b.y_px >= a.y_px && b.x_px + b.w_px <= a.x_px + a.w_px && b.y_px + b.h_px <= a.y_px + a.h_px;
}

/* On a scale, figures of edges stand on ground of their own, over the marks of the scale. */
static bool
is_of_scale(int i)
{
    for (int k = 0; k < p->aim.edit.now.n; k++)
        if (put.row[i].r.y_px >= p->aim.axis[k].top_px && put.row[i].r.y_px < p->aim.axis[k].bottom_px && !put.row[i].is_button)
            return true;
    return false;
}

static int n_wrong;

static void
check_placed(const char *what, int from, int end)
{
    const struct paint_rect all = { 0, 0, canvas.picture.width_px, draw.strip.y_px };
    for (int i = from; i < end; i++) {
        const struct paint_rect a = put.row[i].r;
        if (!holds(all, a) && ++n_wrong < 60)
            fprintf(stderr, "%s: '%s' leaves its place: %d %d %d %d\n", what, put.row[i].text, a.x_px, a.y_px, a.w_px, a.h_px);
        for (int k = from; k < i; k++) {
            const struct paint_rect b = put.row[k].r;
            const bool is_label = (put.row[i].is_button && holds(a, b)) || (put.row[k].is_button && holds(b, a));
            if (meet(a, b) && !is_label && !(is_of_scale(i) && is_of_scale(k)) && ++n_wrong < 60)
                fprintf(stderr, "%s: '%s' lies over '%s'\n", what, put.row[i].text, put.row[k].text);
        }
    }
}

Test(panel_pages, no_words_or_buttons_lie_over_each_other_or_over_the_keys, .timeout = 500)
{
    static const int sizes[] = { 0, 1, N_SIZES - 1, 2 };
    n_wrong = 0;
    for (int s = 0; s < 4; s++)
        for (int l = 0; l < N_LANGUAGES; l++) {
            open_size_in(sizes[s], LANGUAGES[l]);
            draw.log = &put;
            for (int i = 0; i < N_SCENES; i++) {
                char what[80];
                snprintf(what, sizeof what, "%s, %s at %d", go_to_scene(i), LANGUAGES[l], SIZES[sizes[s]].width_px);
                panel_say(p, "There is no target yet: it comes from the baseline.");
                if (SIZES[sizes[s]].width_px < 800 && p->page != PANEL_LIVE) { /* so narrow only in the run */
                    free(p);
                    continue;
                }
                panel_draw(&draw, p);
                check_placed(what, draw.n_header, draw.n_sheet);
                check_placed(what, draw.n_sheet, put.n);
                cr_assert(put.n < WIDGET_LOG_MAX);
                free(p);
            }
            canvas_close(&canvas);
        }
    cr_assert_eq(n_wrong, 0, "%d places, see above", n_wrong);
}

Test(panel_pages, the_place_among_the_visits_turns_to_older_and_newer_ones)
{
    static const enum panel_action turns[] = { PANEL_DO_OLDER, PANEL_DO_NEWER };
    static const int wanted[] = { 288, 240 }; /* left out of 312, of which 264 are newer now: computed */
    open_size(0);
    for (int i = 0; i < 2; i++) {
        struct panel_request r = { .kind = PANEL_WANTS_NOTHING };
        go_to_scene(32);
        panel_draw(&draw, p);
        const struct panel_spot *s = NULL;
        for (int k = 0; k < p->spots.n && !s; k++) /* the page's own comes before the help strip's */
            s = p->spots.spot[k].action == turns[i] ? &p->spots.spot[k] : NULL;
        cr_assert(s);
        touch(s->x_px + s->w_px / 2, s->y_px + s->h_px / 2, PANEL_INPUT_DOWN);
        while (panel_first_request(p) && r.kind != PANEL_WANTS_VISITS)
            panel_take_request(p, &r);
        cr_assert_eq(r.kind, PANEL_WANTS_VISITS);
        cr_assert_eq(r.number, wanted[i]);
        free(p);
    }
    canvas_close(&canvas);
}

/* As filled in by make_much() and search(). */
Test(panel_pages, the_list_of_runners_says_which_of_how_many_in_each_language)
{
    static const struct {
        const char *language, *end, *found;
    } rows[] = { { "en", "5,012 of 5,012", "2 of 17, 5,012 in all" },
                 { "de", "5.012 von 5.012", "2 von 17, 5.012 insgesamt" },
                 { "es", "5.012 de 5.012", "2 de 17, 5.012 en total" } };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        open_size_in(0, rows[i].language);
        draw.log = &put;
        for (int scene = 34; scene < 36; scene++) {
            const char *wanted = scene == 34 ? rows[i].end : rows[i].found;
            bool is_there = false;
            go_to_scene(scene);
            panel_draw(&draw, p);
            for (int k = 0; k < put.n; k++)
                is_there |= strcmp(put.row[k].text, wanted) == 0;
            cr_assert(is_there, "%s", wanted);
            free(p);
        }
        canvas_close(&canvas);
    }
}
