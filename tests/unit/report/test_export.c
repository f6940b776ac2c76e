/* A stored visit as CSV, JSON, FHIR and pages; and what the course makes of blocks whose steps are known. */
#include "base/str.h"
#include "care/keep.h"
#include "care/next_visit.h"
#include "report/course_parts.h"
#include "report/export.h"
#include "report/fhir.h"
#include "report/page.h"
#include "report/visit_said.h"
#include "report/visit_sensor.h"

#include "aid/store_file.h"
#include "aid/store_rig.h"

#include <cairo.h>
#include <criterion/criterion.h>
#include <math.h>
#include <unistd.h>

#define SILENT_S 120.0
#define HELD_SPM ((160.0 * 168 + 80 * 168 + 320 * 167) / 560) /* of make_visit() */
/* Of 320 baseline steps the newest COURSE_BASELINE_STEPS: the later half at 161, the rest of them at 160. */
#define BASELINE_SPM (161 - (COURSE_BASELINE_STEPS - 160.0) / COURSE_BASELINE_STEPS)
#define TEXT_MAX (1 << 21)

static struct store_rig rig;
static struct store store;
static char text[TEXT_MAX];

static int64_t visit_id, runner_id;

static void
put_steps(int block, int from, int n, double start_s, double cadence, bool is_shown)
{
    for (int i = 0; i < n; i++) {
        struct coached_step s = { .block = block, .is_feedback_shown = is_shown };
        s.step.number = (uint32_t) (from + i);
        s.step.is_settled = true;
        s.step.foot = i % 2 ? STEP_FOOT_LEFT : STEP_FOOT_RIGHT;
        s.step.gait = STEP_GAIT_RUNNING;
        s.step.zone = i % 4 == 0 ? STEP_ZONE_FORE : STEP_ZONE_REAR;
        s.step.touchdown.us = units_us_from_s(start_s + 0.375 * i);
        s.step.toe_off.us = s.step.touchdown.us + 250000;
        for (int m = 0; m < METRIC_COUNT; m++)
            s.step.value[m] = NAN;
        /* Two by two, up and down by 1: mean exact, sd about 1. */
        s.step.value[METRIC_CADENCE_SPM] = cadence + (i % 2 ? 1 : -1);
        s.step.value[METRIC_STEP_TIME_S] = 0.375;
        s.step.value[METRIC_IMPACT_TRANSIENT] = i % 2;
        for (int m = 0; m < METRIC_COUNT; m++)
            s.step.standing[m] = (uint8_t) (isnan(s.step.value[m]) ? METRIC_MISSING : METRIC_MEASURED);
        cr_assert_eq(store_step_put(&store, visit_id, &s), ERR_OK, "%s", message_english(&store.why));
    }
}

static void
put_block(int index, enum verdict_block kind, double start_s, double end_s, int64_t target_set_id)
{
    const struct store_block b = { .index = index, .part = index, .kind = kind, .start = { units_us_from_s(start_s) },
                                   .end = { units_us_from_s(end_s) }, .planned_s = end_s - start_s,
                                   .belt_speed_m_s = 3, .shown_share = 0.5, .target_set_id = target_set_id };
    cr_assert_eq(store_block_put(&store, visit_id, &b), ERR_OK, "%s", message_english(&store.why));
}

static int64_t
put_targets(double low, double high)
{
    struct store_target_set set = { .runner_id = runner_id, .n = 1 };
    set.target[0] = (struct store_target){ METRIC_CADENCE_SPM, low, high, 160, true, true, 0 };
    cr_assert_eq(store_target_set_save(&store, &set), ERR_OK, "%s", message_english(&store.why));
    return set.id;
}

/* Baseline at 160 and 161 in its halves; coached at 168: 80 steps shown, 80 withheld, with a first band, then 80 with
 * another; silent at 167 and 167. Baseline and silent block take silent_s each. */
static void
make_visit(int course_visit, double silent_s)
{
    const int n = (int) (silent_s / 0.75); /* steps in half of it */
    const double go = silent_s;
    const int64_t first = put_targets(165, 171), second = put_targets(169, 175);
    struct store_visit v = store_visit_default(runner_id);
    strcpy(v.plan, "mine");
    v.course_visit = course_visit;
    v.target_set_id = second;
    cr_assert_eq(store_visit_begin(&store, &v), ERR_OK, "%s", message_english(&store.why));
    visit_id = v.id;
    put_block(0, VERDICT_BLOCK_BASELINE, 0, go, 0);
    put_steps(0, 1, n, 0, 160, false);
    put_steps(0, n + 1, n, go / 2, 161, false);
    put_block(1, VERDICT_BLOCK_COACHED, go, go + 60, first);
    put_steps(1, 2 * n + 1, 80, go, 168, true);
    put_steps(1, 2 * n + 81, 80, go + 30, 168, false);
    put_block(2, VERDICT_BLOCK_COACHED, go + 60, go + 90, second);
    put_steps(2, 2 * n + 161, 80, go + 60, 168, true);
    put_block(3, VERDICT_BLOCK_SILENT, go + 90, 2 * go + 90, second);
    put_steps(3, 2 * n + 241, 2 * n, go + 90, 167, false);
    const struct store_visit_end end = { .is_finished = true, .body_weight_n = NAN };
    cr_assert_eq(store_visit_end(&store, visit_id, &end), ERR_OK);
}

static void
make_rig(void)
{
    cr_assert_eq(store_rig_make(&rig), 0);
    cr_assert_eq(store_open(&store, rig.path, 0), ERR_OK, "%s", message_english(&store.why));
    struct store_runner r = store_runner_default("R-014");
    r.body_mass_kg = 74;
    cr_assert_eq(store_runner_save(&store, &r), ERR_OK);
    runner_id = r.id;
    cr_assert_eq(store_begin(&store), ERR_OK);
    make_visit(1, SILENT_S);
    cr_assert_eq(store_commit(&store), ERR_OK);
}

static void
remove_rig(void)
{
    store_close(&store);
    store_rig_remove(&rig);
}

TestSuite(export, .init = make_rig, .fini = remove_rig);

static void
slurp(FILE *f)
{
    rewind(f);
    const size_t n = fread(text, 1, TEXT_MAX - 1, f);
    text[n] = '\0';
    fclose(f);
}

static int
count(const char *what)
{
    int n = 0;
    for (const char *at = text; (at = strstr(at, what)); at += strlen(what))
        n++;
    return n;
}

/* The text given to another program that reads JSON for a living. Prints its complaint. */
static int
python(const char *script)
{
    char path[128], command[4096];
    snprintf(path, sizeof path, "%s/out.json", rig.folder);
    FILE *f = fopen(path, "w");
    cr_assert(f && fputs(text, f) >= 0);
    fclose(f);
    snprintf(command, sizeof command, "/usr/bin/python3 -c \"\nimport json,re\nb=json.load(open('%s'))\n%s\"", path, script);
    return system(command);
}

Test(export, csv_has_a_row_a_step_with_its_block_and_feedback)
{
    FILE *f = tmpfile();
    cr_assert_eq(export_csv(&store, visit_id, f), ERR_OK, "%s", message_english(&store.why));
    slurp(f);
    cr_assert_eq(count("\n"), 881);
    cr_assert(strstr(text, ",gait,flags,strike_travel_mm,landing_first_mm,braking_impulse_bw_s,peak_braking_bw,braking_end_pct,"
                           "block,block_kind,feedback,notes,definitions\n"));
    cr_assert_eq(count(",1,baseline,withheld,,"), 320);
    cr_assert_eq(count(",2,coached,shown,,"), 80);
    cr_assert_eq(count(",4,silent,withheld,,"), 320);
    struct metric_definitions d = metric_definitions_today();
    char word[MEASURED_TEXT_MAX], ending[MEASURED_TEXT_MAX + 4];
    snprintf(ending, sizeof ending, ",%s\n", measured_definitions_word(&d, word));
    cr_expect_eq(count(ending), 880, "%s", ending);
    for (int m = 0; m < METRIC_COUNT; m++)
        d.of[m] = m == METRIC_CONTACT_MS || m == METRIC_TOE_OUT_DEG ? 7 : 3;
    cr_expect_str_eq(measured_definitions_word(&d, word), "3;contact_ms=7;toe_out_deg=7");
}

Test(export, json_is_json_and_has_every_step_when_asked)
{
    FILE *f = tmpfile();
    cr_assert_eq(export_json(&store, visit_id, true, f), ERR_OK, "%s", message_english(&store.why));
    slurp(f);
    cr_assert_eq(python("assert len(b['step_records'])==880\n"
                        "assert b['runner']['code']=='R-014' and b['pain']['before'] is None\n"
                        "m=b['metrics']['cadence_spm']\n"
                        "assert abs(m['baseline']['mean']-160.625)<1e-6\n"
                        "assert m['target']['n_shown']==160\n"
                        "assert b['metrics']['landing_ahead_mm']['held']['mean'] is None\n"
                        "assert [k['kind'] for k in b['blocks']]==['baseline','coached','coached','silent']\n"
                        "assert 'no diagnosis' in b['signs']['remark']\n"), 0);
}

static void
put_mark(double at_s)
{
    struct store_note n = { .at = { at_s < 0 ? -1 : units_us_from_s(at_s) }, .text = "mark" };
    cr_assert_eq(store_note_put(&store, visit_id, &n), ERR_OK, "%s", message_english(&store.why));
}

static const char *
marks_of_visit(char out[VISIT_SAID_MARKS_MAX])
{
    struct course c;
    cr_assert_eq(course_of_visit(&store, visit_id, &c), ERR_OK, "%s", message_english(&store.why));
    visit_said_marks(&c.visit[c.n_visits - 1], out);
    course_destroy(&c);
    return out;
}

/* The visit begins at device time 0. */
Test(export, marks_are_told_with_their_times)
{
    char marks[VISIT_SAID_MARKS_MAX];
    cr_assert_str_eq(marks_of_visit(marks), "");
    put_mark(192.4);
    cr_assert_str_eq(marks_of_visit(marks), "3:12");
    put_mark(465.99);
    put_mark(-1); /* of a visit whose run was over */
    cr_assert_str_eq(marks_of_visit(marks), "3:12, 7:45, +1");
    FILE *f = tmpfile();
    cr_assert_eq(export_json(&store, visit_id, false, f), ERR_OK, "%s", message_english(&store.why));
    slurp(f);
    cr_assert_eq(python("assert b['marks_s']==[192.4,465.99], b['marks_s']\nassert b['notes'] is None\n"), 0);
}

/* The visit's page as pixels, the caller's to destroy. */
static cairo_surface_t *
draw_page(void)
{
    struct course c;
    char path[128];
    struct message why;
    snprintf(path, sizeof path, "%s/page.png", rig.folder);
    cr_assert_eq(course_of_visit(&store, visit_id, &c), ERR_OK, "%s", message_english(&store.why));
    cr_assert_eq(page_visit(&c, NULL, path, &why), ERR_OK, "%s", message_english(&why));
    course_destroy(&c);
    cairo_surface_t *s = cairo_image_surface_create_from_png(path);
    cr_assert_eq(cairo_surface_status(s), CAIRO_STATUS_SUCCESS);
    return s;
}

/* The visit's 330 s are drawn on 491 points from 64 on. */
Test(export, a_mark_is_a_tick_on_the_pages_axis_of_time)
{
    cairo_surface_t *bare = draw_page();
    put_mark(165);
    cairo_surface_t *marked = draw_page();
    const int width = cairo_image_surface_get_width(bare), stride = cairo_image_surface_get_stride(bare);
    const double per_pt = width / 595.0;
    int n_there = 0, n_elsewhere = 0;
    for (int y = (int) (150 * per_pt); y < (int) (265 * per_pt); y++) /* the plot, between its words */
        for (int x = 0; x < width; x++) {
            const size_t at = (size_t) y * (size_t) stride + 4 * (size_t) x;
            if (memcmp(cairo_image_surface_get_data(bare) + at, cairo_image_surface_get_data(marked) + at, 4) == 0)
                continue;
            const bool is_there = fabs(x / per_pt - (64 + 491 * 165.0 / 330)) < 2;
            n_there += is_there;
            n_elsewhere += !is_there;
        }
    cr_assert_geq(n_there, 8);
    cr_assert_eq(n_elsewhere, 0);
    cairo_surface_destroy(bare);
    cairo_surface_destroy(marked);
}

Test(export, more_marks_than_fit_are_counted)
{
    char marks[VISIT_SAID_MARKS_MAX];
    for (int i = 0; i < COURSE_MAX_MARKS + 3; i++)
        put_mark(6000 + i);
    marks_of_visit(marks);
    cr_assert(str_ends_with(marks, "100:23, +43"), "%s", marks);
}

/* A mark before the first block, as between the sensor's opening and the begin, is at the begin. */
Test(export, marks_count_from_the_visits_begin)
{
    char marks[VISIT_SAID_MARKS_MAX];
    store_file_sql(rig.path, "UPDATE block SET start_us = start_us + 30000000, end_us = end_us + 30000000;"
                             "UPDATE step SET touchdown_us = touchdown_us + 30000000, toe_off_us = toe_off_us + 30000000");
    put_mark(222.4);
    put_mark(10);
    cr_assert_str_eq(marks_of_visit(marks), "3:12, 0:00");
}

/* R4: Bundle.type collection; every entry with a unique fullUrl and a resource; Observation.status and code 1..1; a value or a
 * dataAbsentReason, never both (obs-6); UCUM's system with every quantity. */
Test(export, fhir_is_a_bundle_as_the_standard_has_it)
{
    FILE *f = tmpfile();
    cr_assert_eq(export_fhir(&store, visit_id, f), ERR_OK, "%s", message_english(&store.why));
    slurp(f);
    cr_assert_eq(python(
        "assert b['resourceType']=='Bundle' and b['type']=='collection' and 'total' not in b\n"
        "urls=[e['fullUrl'] for e in b['entry']]\n"
        "assert len(set(urls))==len(urls)\n"
        "u=re.compile(r'urn:uuid:[0-9a-f]{8}-[0-9a-f]{4}-8[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}\\Z')\n"
        "assert all(u.match(x) for x in urls), urls\n"
        "p=[e for e in b['entry'] if e['resource']['resourceType']=='Patient']\n"
        "assert len(p)==1 and set(p[0]['resource'])=={'resourceType','identifier'}\n"
        "o=[e['resource'] for e in b['entry'] if e['resource']['resourceType']=='Observation']\n"
        "assert len(o)==len(urls)-1\n"
        "for x in o:\n"
        "  assert x['status']=='final' and x['code']['coding'][0]['code'] and x['code']['text']\n"
        "  assert x['subject']['reference']==p[0]['fullUrl']\n"
        "  assert re.match(r'\\d{4}-\\d\\d-\\d\\dT\\d\\d:\\d\\d:\\d\\d[+-]\\d\\d:\\d\\d',x['effectivePeriod']['start'])\n"
        "  for y in [x]+x.get('component',[]):\n"
        "    assert ('valueQuantity' in y)!=('dataAbsentReason' in y)\n"
        "    if 'valueQuantity' in y:\n"
        "      q=y['valueQuantity']\n"
        "      assert q['system']=='http://unitsofmeasure.org' and q['code'] and isinstance(q['value'],(int,float))\n"
        "      assert all(33<=ord(c)<=126 for c in q['code'])\n"
        "k={x['code']['coding'][0]['code']:x for x in o}\n"
        "assert k['body_mass']['valueQuantity']['value']==74 and k['body_mass']['valueQuantity']['code']=='kg'\n"
        "assert k['cadence_spm']['valueQuantity']['code']=='{steps}/min'\n"
        "d=k['cadence_spm']['method']['coding'][0]['code']\n"
        "assert re.match(r'definition_[1-9]\\d*\\Z',d) and 'method' not in k['body_mass']\n"
        "assert k['impact_transient']['valueQuantity']['value']==50 and k['impact_transient']['valueQuantity']['code']=='%'\n"
        "assert 'dataAbsentReason' in k['load_rate_bw_s']\n"), 0);
}

Test(export, what_the_visit_was_measured_with_stands_in_line_and_json)
{
    struct store_visit v = store_visit_default(runner_id);
    char line[PHRASE_MAX];
    cr_assert_str_eq(visit_sensor_text(NULL, &v, line), "-; not checked");
    strcpy(v.sensor_kind, "mat");
    strcpy(v.sensor_name, "M-1");
    strcpy(v.check_grade, "mind");
    strcpy(v.calibration, "400 days old");
    v.gain_drift_pct = 2.5;
    v.n_lost_packets = 3;
    v.n_dropped = 1;
    cr_assert_str_eq(visit_sensor_text(NULL, &v, line),
                     "mat, M-1; check: mind; calibration: 400 days old; gain drift +2.5 %; 3 packets lost; 1 record lost");
    strcpy(v.calibration, "");
    cr_assert_eq(store_visit_begin(&store, &v), ERR_OK, "%s", message_english(&store.why));
    const struct store_visit_end end = { .is_finished = true, .body_weight_n = NAN, .n_lost_packets = 3, .has_gain_drift = true,
                                         .gain_drift_pct = -6.5, .calibration = "gain off" };
    cr_assert_eq(store_visit_end(&store, v.id, &end), ERR_OK);
    FILE *f = tmpfile();
    cr_assert_eq(export_json(&store, v.id, false, f), ERR_OK, "%s", message_english(&store.why));
    slurp(f);
    cr_assert(strstr(text, "\"calibration\": \"gain off\"") && strstr(text, "\"gain_drift_pct\": -6.5") &&
              strstr(text, "\"sensor_check\": null") && strstr(text, "\"lost_packets\": 3"), "%.600s", text);
}

Test(export, every_metric_has_a_ucum_code)
{
    for (int m = 0; m < METRIC_COUNT; m++)
        cr_assert(fhir_ucum((enum metric) m)[0]);
}

Test(export, each_block_is_judged_by_the_targets_it_was_run_with)
{
    struct course c;
    cr_assert_eq(course_of_visit(&store, visit_id, &c), ERR_OK, "%s", message_english(&store.why));
    const struct course_visit *v = &c.visit[0];
    const struct course_band *first = &v->block[1].band[METRIC_CADENCE_SPM], *second = &v->block[2].band[METRIC_CADENCE_SPM];
    cr_assert(first->low == 165 && first->n_shown_in == 80 && first->n_withheld_in == 80);
    cr_assert(second->low == 169 && second->n_shown_in == 40 && second->n_shown == 80, "of 167 and 169 only the latter");
    cr_assert_eq(v->band[METRIC_CADENCE_SPM].n_shown, 160);
    cr_assert_eq(v->band[METRIC_CADENCE_SPM].shown_pct, 75);
    cr_assert_eq(v->band[METRIC_CADENCE_SPM].low, 169, "the last ones");
    cr_assert_eq(v->block[0].band[METRIC_CADENCE_SPM].n_withheld, 0, "nobody tries in a baseline");
    cr_assert_float_eq(v->held[METRIC_CADENCE_SPM].mean, HELD_SPM, 1e-9);
    course_destroy(&c);
}

/* Sixty times new targets and a pause in one coached block: it is one block, each step judged by what was in force. */
Test(export, pieces_are_summed_up_as_the_block_that_they_are_of)
{
    enum { N_PIECES = 60, N_EACH = 4 };
    struct course c;
    struct store_visit v = store_visit_default(runner_id);
    const int64_t held = put_targets(165, 175), missed = put_targets(175, 180);
    cr_assert_eq(store_begin(&store), ERR_OK);
    cr_assert_eq(store_visit_begin(&store, &v), ERR_OK, "%s", message_english(&store.why));
    visit_id = v.id;
    put_steps(0, 1, 10, 3600, 150, true); /* no row for it: before the first block */
    for (int i = 0; i < N_PIECES; i++) {
        const double start_s = 3610 + 2 * i + (i >= 30 ? 40 : 0);
        const struct store_block b = { .index = i + 1, .part = 1, .kind = VERDICT_BLOCK_COACHED,
                                       .start = { units_us_from_s(start_s) }, .end = { units_us_from_s(start_s + 2) },
                                       .planned_s = 160 - 2 * i, .belt_speed_m_s = i < 30 ? 3 : 4, .shown_share = 0.5,
                                       .target_set_id = i % 3 ? held : missed };
        cr_assert_eq(store_block_put(&store, visit_id, &b), ERR_OK, "%s", message_english(&store.why));
        put_steps(i + 1, 11 + N_EACH * i, N_EACH, start_s, 170, i < 30);
    }
    put_block(N_PIECES + 1, VERDICT_BLOCK_COOL_DOWN, 3770, 3800, held);
    put_steps(N_PIECES + 1, 11 + N_EACH * N_PIECES, 40, 3770, 150, false);
    const struct store_visit_end end = { .is_finished = true, .body_weight_n = NAN };
    cr_assert_eq(store_visit_end(&store, visit_id, &end), ERR_OK);
    cr_assert_eq(store_commit(&store), ERR_OK);

    cr_assert_eq(course_of_visit(&store, visit_id, &c), ERR_OK, "%s", message_english(&store.why));
    const struct course_visit *at = &c.visit[c.n_visits - 1];
    const struct course_block *b = at->block;
    cr_assert(at->n_pieces == N_PIECES + 1 && at->n_blocks == 2);
    cr_assert(b->n_pieces == N_PIECES && b->n_steps == N_PIECES * N_EACH && b->planned_s == 160);
    cr_assert_float_eq(b->length_s, 120, 1e-9, "the pause between does not count: %g", b->length_s);
    cr_assert_float_eq(b->belt_speed_m_s, 3.5, 1e-9);
    const struct course_band *band = &b->band[METRIC_CADENCE_SPM];
    cr_assert(band->n_shown == 120 && band->n_shown_in == 80 && band->n_withheld == 120 && band->n_withheld_in == 80);
    cr_assert_eq(at->held[METRIC_CADENCE_SPM].n, N_PIECES * N_EACH, "neither what came before nor the cool-down");
    cr_assert_float_eq(at->held[METRIC_CADENCE_SPM].mean, 170, 1e-9);
    cr_assert_eq(at->begin.us, units_us_from_s(3600), "minutes count from the visit's own beginning");
    cr_assert(at->n_trend > 15 && at->n_trend < 22 && at->trend[0].n > 0, "%d", at->n_trend);

    FILE *f = tmpfile();
    cr_assert_eq(export_csv(&store, visit_id, f), ERR_OK, "%s", message_english(&store.why));
    slurp(f);
    cr_assert_eq(count(",1,coached,"), N_PIECES * N_EACH);
    cr_assert_eq(count(",2,cool_down,"), 40);
    f = tmpfile();
    cr_assert_eq(export_json(&store, visit_id, false, f), ERR_OK, "%s", message_english(&store.why));
    slurp(f);
    cr_assert_eq(count("\"low\": 175"), 20, "the pieces with the higher band: %d", count("\"low\": 175"));
    course_destroy(&c);
}

/* Halves of the baseline 160 and 161, of the silent block 167 and 167: SEM = sqrt((0.5 + 0) / 2) = 0.5. */
Test(export, the_smallest_real_change_comes_from_the_halves_of_silent_blocks)
{
    struct course c;
    cr_assert_eq(course_of_visit(&store, visit_id, &c), ERR_OK, "%s", message_english(&store.why));
    cr_assert_eq(c.repeat[METRIC_CADENCE_SPM].n_groups, 2);
    cr_assert_float_eq(c.mdc[METRIC_CADENCE_SPM], 2.77186 * 0.5, 1e-4);
    const struct course_change *k = &c.visit[0].held_from_first[METRIC_CADENCE_SPM];
    cr_assert_float_eq(k->by, HELD_SPM - BASELINE_SPM, 1e-9);
    cr_assert_float_eq(k->pct, 100 * (HELD_SPM - BASELINE_SPM) / BASELINE_SPM, 1e-9);
    cr_assert(k->is_real);
    cr_assert(isnan(c.visit[0].held_from_last[METRIC_CADENCE_SPM].by) && !c.visit[0].held_from_last[METRIC_CADENCE_SPM].is_real);
    cr_assert(isnan(c.mdc[METRIC_LOAD_RATE_BW_S]));
    cr_assert(c.visit[0].dose.n_steps == 880 && c.visit[0].dose.n_fore_least == 220);
    course_destroy(&c);
}

/* Two silent blocks of a visit at 165 and at 167: parts 165 165 167 167, squares 4 of 3 degrees of freedom; with the first
 * visit's 0.5 of 1 and 0 of 1: SEM = sqrt(4.5 / 5). */
Test(export, wandering_from_block_to_block_counts_in_what_is_real)
{
    struct course c;
    struct store_visit v = store_visit_default(runner_id);
    cr_assert_eq(store_begin(&store), ERR_OK);
    cr_assert_eq(store_visit_begin(&store, &v), ERR_OK, "%s", message_english(&store.why));
    visit_id = v.id;
    for (int i = 0; i < 2; i++) {
        put_block(i, VERDICT_BLOCK_SILENT, 130 * i, 130 * i + SILENT_S, 0);
        put_steps(i, 1 + 320 * i, 320, 130 * i, 165 + 2 * i, false);
    }
    cr_assert_eq(store_commit(&store), ERR_OK);
    cr_assert_eq(course_of_runner(&store, "R-014", "", &c), ERR_OK, "%s", message_english(&store.why));
    cr_assert_eq(c.n_visits, 2);
    cr_assert_float_eq(c.mdc[METRIC_CADENCE_SPM], 2.77186 * sqrt(4.5 / 5), 1e-4, "%g", c.mdc[METRIC_CADENCE_SPM]);
    course_destroy(&c);
    /* It was a free run: the last visit all the same, compared with the one before and with the course it fell into. */
    cr_assert_eq(course_of_visit(&store, visit_id, &c), ERR_OK, "%s", message_english(&store.why));
    cr_assert(c.n_visits == 2 && c.visit[1].visit.id == visit_id);
    cr_assert_float_eq(c.visit[1].held_from_last[METRIC_CADENCE_SPM].by, 166 - HELD_SPM, 1e-9);
    cr_assert_float_eq(c.visit[1].held_from_first[METRIC_CADENCE_SPM].by, 166 - BASELINE_SPM, 1e-9);
    course_destroy(&c);
    cr_assert_eq(course_of_runner(&store, "R-014", NULL, &c), ERR_OK, "%s", message_english(&store.why));
    cr_assert(c.n_visits == 1 && c.n_others == 1, "by the plan alone, and it is said that there is more");
    course_destroy(&c);
}

Test(export, a_change_at_another_belt_speed_is_never_called_real)
{
    struct course_visit visits[2] = { { .n_blocks = 0 }, { .n_blocks = 0 } };
    struct course c = { .n_visits = 2, .visit = visits };
    repeat_feed(&c.repeat[METRIC_CADENCE_SPM], (const double[]){ 160, 161 }, 2);
    c.n_repeat_blocks[METRIC_CADENCE_SPM] = 2;
    visits[0].baseline[METRIC_CADENCE_SPM] = (struct course_figure){ 100, 160, 1 };
    visits[0].baseline[METRIC_BELT_SPEED_M_S] = (struct course_figure){ 100, 3.0, 0.01 };
    visits[1].held[METRIC_CADENCE_SPM] = (struct course_figure){ 100, 170, 1 };
    visits[1].held[METRIC_BELT_SPEED_M_S] = (struct course_figure){ 100, 3.05, 0.01 };
    course_compare(&c);
    cr_assert(visits[1].held_from_first[METRIC_CADENCE_SPM].is_real && !visits[1].held_from_first[METRIC_CADENCE_SPM].is_other_speed);
    visits[1].held[METRIC_BELT_SPEED_M_S].mean = 3.2;
    course_compare(&c);
    cr_assert(!visits[1].held_from_first[METRIC_CADENCE_SPM].is_real && visits[1].held_from_first[METRIC_CADENCE_SPM].is_other_speed);
    cr_assert_eq(visits[1].held_from_first[METRIC_CADENCE_SPM].by, 10, "it is told all the same");
    visits[1].held[METRIC_BELT_SPEED_M_S].n = 0;
    course_compare(&c);
    cr_assert(visits[1].held_from_first[METRIC_CADENCE_SPM].is_real, "a speed that is not known is taken to be the same");
}

Test(export, a_short_free_run_is_no_new_measure_of_the_dose)
{
    struct course_visit visits[3] = { { .n_blocks = 0 } };
    struct course c = { .n_visits = 3, .visit = visits };
    const int64_t day_ms = 86400000;
    char note[PHRASE_MAX];
    visits[0].dose = (struct dose){ 3000, 0, 0, 20 };
    visits[1].dose = (struct dose){ 40, 0, 0, 0.3 };
    visits[2].dose = (struct dose){ 3300, 0, 0, 22 };
    visits[1].visit.started_utc_ms = 5 * day_ms;
    visits[2].visit.started_utc_ms = 7 * day_ms;
    course_compare(&c);
    cr_assert_str_empty(visit_said_growth(NULL, &visits[2], note), "%s", note);
    visits[2].dose.minutes = 27;
    course_compare(&c);
    cr_assert(strstr(visit_said_growth(NULL, &visits[2], note), "27 min after 20"), "%s", note);
    visits[2].visit.started_utc_ms = 15 * day_ms;
    course_compare(&c);
    cr_assert(strstr(visit_said_growth(NULL, &visits[2], note), "27 min after 0"), "more than two weeks ago: %s", note);
}

Test(export, a_baseline_that_was_skipped_at_once_is_none)
{
    struct course c;
    struct store_visit v = store_visit_default(runner_id);
    cr_assert_eq(store_visit_begin(&store, &v), ERR_OK, "%s", message_english(&store.why));
    visit_id = v.id;
    put_block(0, VERDICT_BLOCK_BASELINE, 0, 8, 0);
    put_steps(0, 1, 20, 0, 150, false);
    put_block(1, VERDICT_BLOCK_FREE, 8, 60, 0);
    put_steps(1, 21, 100, 8, 160, false);
    cr_assert_eq(course_of_visit(&store, visit_id, &c), ERR_OK, "%s", message_english(&store.why));
    const struct course_visit *at = &c.visit[c.n_visits - 1];
    cr_assert(at->baseline[METRIC_CADENCE_SPM].n == 0 && isnan(at->baseline[METRIC_CADENCE_SPM].mean));
    cr_assert_eq(at->block[0].figure[METRIC_CADENCE_SPM].n, 20, "it is in the table all the same");
    course_destroy(&c);
}

/* As above, but a silent visit alone: what was run is left, what is compared with is not. */
static void
load_visits_of(double silent_s, int n_visits, struct course *c)
{
    remove_rig();
    cr_assert_eq(store_rig_make(&rig), 0);
    cr_assert_eq(store_open(&store, rig.path, 0), ERR_OK, "%s", message_english(&store.why));
    struct store_runner r = store_runner_default("R-014");
    cr_assert_eq(store_runner_save(&store, &r), ERR_OK);
    runner_id = r.id;
    cr_assert_eq(store_begin(&store), ERR_OK);
    for (int i = 0; i < n_visits; i++)
        make_visit(i + 1, silent_s);
    cr_assert_eq(store_commit(&store), ERR_OK);
    cr_assert_eq(course_of_visit(&store, visit_id, c), ERR_OK, "%s", message_english(&store.why));
}

Test(export, short_silent_blocks_tell_no_real_change_however_many)
{
    struct course c;
    load_visits_of(COURSE_MIN_REPEAT_S - 2, 2, &c);
    cr_assert(c.n_visits == 2 && c.repeat[METRIC_CADENCE_SPM].n_groups == 0 && isnan(c.mdc[METRIC_CADENCE_SPM]));
    cr_assert(c.visit[1].held_from_first[METRIC_CADENCE_SPM].by > 6 && !c.visit[1].held_from_first[METRIC_CADENCE_SPM].is_real,
              "no star where nothing says what is real");
    FILE *f = tmpfile();
    course_print_visit(f, NULL, &c);
    slurp(f);
    cr_assert(strstr(text, "  -\n") && !strstr(text, " *\n"), "%s", text);
    course_destroy(&c);
}

Test(export, one_long_silent_block_alone_tells_no_real_change)
{
    struct course c = { .n_visits = 0 };
    repeat_feed(&c.repeat[METRIC_CADENCE_SPM], (const double[]){ 160, 161, 162 }, 3);
    course_compare(&c);
    c.n_repeat_blocks[METRIC_CADENCE_SPM] = 1;
    cr_assert(isnan(c.mdc[METRIC_CADENCE_SPM]));
    repeat_feed(&c.repeat[METRIC_CADENCE_SPM], (const double[]){ 165, 166, 167 }, 3);
    c.n_repeat_blocks[METRIC_CADENCE_SPM] = 2;
    course_compare(&c);
    cr_assert_float_eq(c.mdc[METRIC_CADENCE_SPM], 2.77186, 1e-4);
}

Test(export, the_smallest_real_change_is_never_nothing)
{
    struct course c;
    cr_assert_eq(course_of_visit(&store, visit_id, &c), ERR_OK, "%s", message_english(&store.why));
    cr_assert(c.visit[0].held[METRIC_IMPACT_TRANSIENT].n > 0 && isnan(c.mdc[METRIC_IMPACT_TRANSIENT]), "half in every part");
    course_destroy(&c);
    c = (struct course){ .n_visits = 0 };
    for (int i = 0; i < 2; i++) {
        repeat_feed(&c.repeat[METRIC_LANDING_AHEAD_MM], (const double[]){ 200, 200.01 }, 2);
        repeat_feed(&c.repeat[METRIC_IMPACT_TRANSIENT], (const double[]){ 1, 0.9999 }, 2);
    }
    c.n_repeat_blocks[METRIC_LANDING_AHEAD_MM] = c.n_repeat_blocks[METRIC_IMPACT_TRANSIENT] = 2;
    course_compare(&c);
    cr_assert_eq(c.mdc[METRIC_LANDING_AHEAD_MM], 0.1, "0.02 mm would be written as 0.0");
    cr_assert_eq(c.mdc[METRIC_IMPACT_TRANSIENT], 0.01);
}

/* A store of before there were numbers has definition 1 of everything, and so has every band in it. */
Test(export, a_band_of_another_definition_is_put_off_and_counted)
{
    struct next_visit next;
    cr_assert_gt(metric_info(METRIC_CADENCE_SPM)->definition, 1);
    store_file_sql(rig.path, "UPDATE target SET definition = 1");
    cr_assert_eq(next_visit_find(&store, runner_id, NULL, &next), ERR_OK);
    cr_assert(next.n_targets == 0 && next.focus == METRIC_COUNT && next.n_put_off == 1, "%d %d", next.n_targets, next.n_put_off);
}

Test(export, the_next_visit_takes_the_targets_of_the_last_one)
{
    struct next_visit next;
    struct plan_file plan = { .id = "mine", .n_visits = 3 };
    cr_assert_eq(next_visit_find(&store, runner_id, &plan, &next), ERR_OK);
    cr_assert(next.visit == 2 && !next.is_repeat && next.n_done == 1 && next.last_visit_id == visit_id);
    cr_assert(next.n_targets == 1 && next.target[0].low == 169 && next.target[0].is_change && next.focus == METRIC_CADENCE_SPM);
    strcpy(plan.id, "another");
    cr_assert_eq(next_visit_find(&store, runner_id, &plan, &next), ERR_OK);
    cr_assert(next.visit == 1 && next.n_targets == 1 && next.n_put_off == 0);
    cr_assert_eq(next_visit_find(&store, 0, &plan, &next), ERR_OK);
    cr_assert(next.visit == 1 && next.n_targets == 0, "a runner who is not there yet has nobody else's visits");
}

static void
check_page(enum err (*page)(const struct course *, const struct catalogue *, const char *, struct message *), const char *name, const char *magic)
{
    struct course c;
    char path[128];
    struct message why;
    cr_assert_eq(course_of_runner(&store, "R-014", NULL, &c), ERR_OK, "%s", message_english(&store.why));
    snprintf(path, sizeof path, "%s/%s", rig.folder, name);
    cr_assert_eq(page(&c, NULL, path, &why), ERR_OK, "%s", message_english(&why));
    struct store_file file = store_file_read(path);
    cr_assert(file.len > 4000 && memcmp(file.data, magic, 4) == 0, "%s: %zu bytes", name, file.len);
    free(file.data);
    course_destroy(&c);
}

Test(export, pages_are_pdf_and_png)
{
    check_page(page_visit, "v.pdf", "%PDF");
    check_page(page_visit, "v.png", "\x89PNG");
    check_page(page_course, "c.pdf", "%PDF");
    check_page(page_course, "c.png", "\x89PNG");
}

Test(export, a_page_that_can_not_be_written_is_refused_and_leaves_nothing)
{
    struct course c;
    struct message why;
    cr_assert_eq(course_of_runner(&store, "R-014", NULL, &c), ERR_OK);
    cr_assert_eq(page_visit(&c, NULL, "/tmp/x.gif", &why), ERR_USAGE);
    cr_assert_eq(page_visit(&c, NULL, "/nowhere/x.pdf", &why), ERR_OS);
    cr_assert(strstr(message_english(&why), "/nowhere/x.pdf"), "%s", message_english(&why));
    course_destroy(&c);
    cr_assert_eq(course_of_runner(&store, "R-099", NULL, &c), ERR_GONE);
    cr_assert_eq(course_of_runner(&store, "R-014", "none", &c), ERR_GONE);
    cr_assert(strstr(message_english(&store.why), "no visits of R-014 by the plan none"), "%s", message_english(&store.why));
}

Test(export, a_kept_copy_is_a_store_of_its_own)
{
    char path[128];
    struct store copy;
    struct store_visit v;
    struct stat st;
    snprintf(path, sizeof path, "%s/copy.sqlite", rig.folder);
    cr_assert_eq(store_begin(&store), ERR_OK); /* a visit is being written */
    put_steps(3, 2000, 1, 300, 167, false);
    cr_assert_eq(store_commit(&store), ERR_OK);
    cr_assert_eq(keep_copy(&store, path), ERR_OK, "%s", message_english(&store.why));
    cr_assert_eq(stat(path, &st), 0);
    cr_assert_eq(st.st_mode & 0777, 0600u);
    cr_assert_eq(store_open(&copy, path, STORE_MUST_EXIST), ERR_OK, "%s", message_english(&copy.why));
    cr_assert_eq(store_visit_get(&copy, visit_id, &v), ERR_OK);
    cr_assert_eq(v.n_steps, 881);
    store_close(&copy);
    cr_assert_eq(keep_copy(&store, rig.path), ERR_USAGE, "not onto itself");
    cr_assert_eq(keep_copy(&store, "/nowhere/copy"), ERR_OS);
    cr_assert(strstr(message_english(&store.why), "/nowhere/copy"), "%s", message_english(&store.why));
}
