/* What stands on the printed pages, in every language: read back from the PDF by poppler's tools. */
#include "aid/store_rig.h"
#include "base/band_colour.h"
#include "base/places.h"
#include "base/str.h"
#include "report/metric_words.h"
#include "report/page.h"
#include "report/visit_said.h"

#include <cairo.h>
#include <criterion/criterion.h>
#include <ctype.h>
#include <math.h>

#define TEXT_MAX (1 << 18)
#define N_BLOCKS 14 /* more than the page once had rows for */

static const char *const languages[] = { "en", "de", "fr", "es", "ja" };
static const char JAPANESE[] = "右足首に軽い痛み。次回はピッチを５％上げ、接地音に注意する。";

static struct store_rig rig;
static struct catalogue words;
static struct course course;
static struct course_visit visits[3];
static struct course_block blocks[N_BLOCKS];
static char text[TEXT_MAX], squeezed[TEXT_MAX], wanted[PHRASE_MAX], notes[8192];

static void
fill_visit(struct course_visit *v, int i)
{
    memset(v, 0, sizeof *v);
    v->visit = (struct store_visit){ .id = 40 + i, .started_utc_ms = INT64_C(1774786509000) + i * INT64_C(86400000), .zone_offset_min = 120,
                                     .is_finished = true, .gain_drift_pct = 2.5, .n_lost_packets = 1, .n_dropped = 3 };
    strcpy(v->visit.runner_code, "R-014");
    strcpy(v->visit.plan, "P7");
    strcpy(v->visit.sensor_kind, "mat");
    strcpy(v->visit.check_grade, "good");
    v->visit.course_visit = i + 1;
    v->measurement.id = i;
    v->measurement.definitions = v->run_with = metric_definitions_today();
    for (int m = 0; m < METRIC_COUNT; m++) {
        v->baseline[m] = (struct course_figure){ 300, 160.25, 2.5 };
        v->held[m] = (struct course_figure){ 300, 168.75 + i, 2.5 };
        v->band[m] = (struct course_band){ true, 164, 172, 160, 10, 9, 10, 8, 90, 80 };
        v->held_from_first[m] = (struct course_change){ .by = 8.5, .pct = 5, .is_real = true };
        v->held_from_last[m] = (struct course_change){ .by = 1, .pct = 1, .is_other_speed = true };
    }
    v->held_from_first[METRIC_BRAKING_IMPULSE_BW_S].by = -0.02;
    v->leads = METRIC_CADENCE_SPM;
    v->n_trend = 40;
    for (int k = 0; k < 40; k++)
        v->trend[k] = (struct course_trend){ 165 + k % 7, 28, k % 2 == 0, 14 };
    v->dose = (struct dose){ 3300, 300, 320, 26.5 };
    v->dose_before = (struct dose){ 2000, 0, 0, 12.5 };
    v->dose_grew = DOSE_FORE_GREW;
    v->pain_before = 1;
    v->pain_worst = 3;
    v->pain_after = 2;
    v->effort = 5;
}

static void
make_course(void)
{
    struct tally_figures f = tally_figures_default();
    cr_assert_eq(store_rig_make(&rig), 0);
    for (int i = 0; i < 3; i++)
        fill_visit(&visits[i], i);
    course = (struct course){ .n_visits = 3, .visit = visits };
    strcpy(course.runner.code, "R-014");
    strcpy(course.plan, "P7");
    for (int m = 0; m < METRIC_COUNT; m++)
        course.mdc[m] = m == METRIC_BRAKING_IMPULSE_BW_S ? 0.001 : 2;
    visits[0].is_left_out[METRIC_CONTACT_MS] = true;
    struct course_visit *v = &visits[2];
    for (int i = 0; i < N_BLOCKS; i++)
        blocks[i] = (struct course_block){ .kind = (enum verdict_block)(VERDICT_BLOCK_FREE + i % 6), .start = { i * 28000000 },
                                           .end = { (i + 1) * 28000000 }, .length_s = 28, .belt_speed_m_s = 2.75, .n_steps = 80 };
    v->block = blocks;
    v->n_blocks = N_BLOCKS;
    v->targets.n = 1;
    v->targets.target[0].metric = METRIC_CADENCE_SPM;
    v->n_target_sets = 2;
    v->mark[0].us = 65000000;
    v->n_marks = v->n_mark_times = 1;
    f.cadence_spm = 150;
    f.braking_impulse_bw_s = 0.0188;
    f.peak_braking_bw = 0.41;
    f.n_braking = 200;
    f.rear_share = 1;
    tally_make(&f, NULL, &v->tally);
    strcpy(notes, JAPANESE);
    v->notes = notes;
}

static void
remove_all(void)
{
    catalogue_close(&words);
    store_rig_remove(&rig);
}

TestSuite(page, .init = make_course, .fini = remove_all, .timeout = 120);

/* The languages' files lie in build/assets, four folders up from here; qq, which nobody speaks, is made. */
static void
speak(const char *language)
{
    char path[PLACES_PATH_MAX], command[PLACES_PATH_MAX + 80];
    struct message why;
    catalogue_close(&words);
    if (strcmp(language, "en") == 0)
        return;
    if (strcmp(language, "qq") == 0) {
        snprintf(path, sizeof path, "%s/qq.mo", rig.folder);
        snprintf(command, sizeof command, "/usr/bin/python3 -B tests/house/words.py --pseudo %s", path);
        cr_assert_eq(system(command), 0);
        cr_assert_eq(catalogue_load(&words, path, &why), ERR_OK, "%s", message_english(&why));
        return;
    }
    cr_assert(places_program_folder(path, sizeof path - 64));
    str_append(path, sizeof path, "/../../../../assets/languages/");
    str_append(path, sizeof path, language);
    str_append(path, sizeof path, ".mo");
    cr_assert_eq(catalogue_load(&words, path, &why), ERR_OK, "%s", message_english(&why));
}

/* What a tool says of a file of the rig's. */
static const char *
tell(const char *tool, const char *name)
{
    char command[256];
    snprintf(command, sizeof command, tool, rig.folder, name);
    FILE *f = popen(command, "r");
    cr_assert_not_null(f);
    text[fread(text, 1, sizeof text - 1, f)] = '\0';
    cr_assert_eq(pclose(f), 0, "%s", command);
    return text;
}

static void
print_page(bool is_course, const char *name)
{
    char path[128];
    struct message why;
    snprintf(path, sizeof path, "%s/%s", rig.folder, name);
    cr_assert_eq((is_course ? page_course : page_visit)(&course, &words, path, &why), ERR_OK, "%s", message_english(&why));
}

/* Without blanks and line ends: where a line is broken is no matter of words. */
static const char *
squeeze(char *out, const char *from)
{
    size_t n = 0;
    for (; *from; from++)
        if (!isspace((unsigned char) *from) && *from != '\f')
            out[n++] = *from;
    out[n] = '\0';
    return out;
}

static void
expect_words(const char *language, const char *said)
{
    char one[PHRASE_MAX];
    cr_expect(strstr(squeezed, squeeze(one, said)), "%s lacks: %s\n%s", language, said, squeezed);
}

/* The words of an English text up to its first place, and the English itself gone. */
static void
expect_said(const char *language, const char *english)
{
    char plain[PHRASE_MAX];
    const char *said = phrase(&words, english), *from = said[0] == '{' ? said + 3 : said;
    str_copy(wanted, sizeof wanted, from);
    wanted[strcspn(wanted, "{")] = '\0';
    expect_words(language, wanted);
    str_copy(plain, sizeof plain, english[0] == '{' ? english + 3 : english);
    plain[strcspn(plain, "{")] = '\0';
    if (strcmp(language, "en") != 0 && strlen(plain) > 8 && strcmp(said, english) != 0)
        cr_expect(!strstr(squeezed, squeeze(wanted, plain)), "%s says in English: %s", language, english);
}

static void
expect_all(const char *language, const char *const *english, size_t n)
{
    squeeze(squeezed, text);
    for (size_t i = 0; i < n; i++)
        expect_said(language, english[i]);
}

Test(page, every_sentence_of_a_visit_is_in_its_language_and_none_in_english)
{
    static const char *const said[] = {
        "{1}, visit of {2}", "Visit {1}, {2}.", "Plan {1}, its visit {2}.", "Sensor: {1}", "check: {1}", "gain drift {1} %",
        "Dots: with feedback. Rings: without. Stripe: target. Ticks: marks.", "minutes", "Figures", "figure", "baseline", "run",
        "spread", "change", "from last visit", "real from", "Steps in the target band", "Filled: with feedback. Open: without.",
        "Blocks", "block", "min", "steps", "shown, %", "in, shown, %", "in, withheld, %", "Free running", "Warm-up",
        "Baseline, silent", "Coached", "Silent", "Cool-down", "Dose", "Pain and effort, 0 to 10", "before {1}, worst {2}, after {3}; effort {4}",
        "Signs", "slow steps", "Lands on the heel: neutral, not counted.", TALLY_SENTENCE, COURSE_BRAKING_NOTE, COURSE_REAL_NOTE,
        "Marks, minutes and seconds", "Notes", "BW: times this runner's body weight.", "Left out, for it is of another definition: {1}.",
        "{1}, continued", "page {1}", "Not a medical device, no diagnosis: the treating clinician decides.", "Cadence", "Contact time",
        "Landing ahead", "Ahead at loading peak", "Loading rate", "First peak", "Strike index", "Peak force", "Drop of the mass centre",
        "Vertical stiffness", "Flight time", "Heel to forefoot", "Step width", "Asymmetry of contact", "Stride variability", "Braking",
        "Peak braking", "% of steps", "steps/min",
    };
    for (size_t i = 0; i < sizeof languages / sizeof *languages; i++) {
        speak(languages[i]);
        print_page(false, "v.pdf");
        tell("pdftotext -raw %s/%s -", "v.pdf");
        expect_all(languages[i], said, sizeof said / sizeof *said);
        expect_words(languages[i], visit_said_growth(&words, &visits[2], wanted));
        expect_words(languages[i], JAPANESE);
    }
}

Test(page, every_sentence_of_a_course_is_in_its_language_and_none_in_english)
{
    static const char *const said[] = {
        "Plan {1}, {2} to {3}.", "Dots: means of the run, whisker one standard deviation. Rings: silent baseline. Stripe: target. x: cut short, or not ended.",
        "Pain, 0 to 10: ring before, dot worst in the run or after", "Dose, min of running; filled: mid- and forefoot steps; !: grew fast",
        "In band, %, {1}: dots with feedback, rings without", "Since the first baseline: {1}.", "Less braking went with quicker steps.",
        "The bar at the right of a picture is the smallest change that is more than this runner's own wandering within a visit (MDC95, Weir 2005), "
        "from two silent blocks of two minutes or more.",
        COURSE_BRAKING_NOTE, "Cadence", "Vertical stiffness", "Stride variability",
    };
    for (size_t i = 0; i < sizeof languages / sizeof *languages; i++) {
        speak(languages[i]);
        print_page(true, "c.pdf");
        tell("pdftotext -raw %s/%s -", "c.pdf");
        expect_all(languages[i], said, sizeof said / sizeof *said);
    }
}

/* By hand from 2026-03-29 12:15:09 UTC two days later, at +2 h; and 168.75 + 2 to a digit, half to even or up: 170.8. */
Test(page, figures_and_days_are_written_as_the_language_has_them)
{
    static const char *const days[] = { "2026-03-31 14:15", "31.03.2026, 14:15", "31/03/2026 14:15", "31/03/2026 14:15", "2026年3月31日" };
    static const char *const figures[] = { "170.8", "170,8", "170,8", "170,8", "170.8" };
    for (size_t i = 0; i < sizeof languages / sizeof *languages; i++) {
        speak(languages[i]);
        print_page(false, "v.pdf");
        squeeze(squeezed, tell("pdftotext -raw %s/%s -", "v.pdf"));
        if (i < 4)
            expect_words(languages[i], days[i]);
        expect_words(languages[i], figures[i]);
    }
}

Test(page, a_long_note_wraps_and_goes_on_on_the_next_page)
{
    char number[32];
    notes[0] = '\0';
    for (int i = 0; i < 240; i++) {
        snprintf(number, sizeof number, "%03d ", i);
        str_append(notes, sizeof notes, "Schrittfrequenzänderung");
        str_append(notes, sizeof notes, number);
    }
    speak("de");
    print_page(false, "v.pdf");
    squeeze(squeezed, tell("pdftotext -raw %s/%s -", "v.pdf"));
    for (int i = 0; i < 240; i++) {
        snprintf(number, sizeof number, "änderung%03d", i);
        cr_expect(strstr(squeezed, number), "%s is on no page", number);
    }
    expect_words("de", "Fortsetzung");
}

Test(page, every_font_is_in_the_file_which_is_tagged_and_says_title_and_language)
{
    for (size_t i = 0; i < sizeof languages / sizeof *languages; i++) {
        char line[32];
        int n = 0;
        speak(languages[i]);
        print_page(false, "v.pdf");
        print_page(true, "c.pdf");
        for (const char *at = tell("pdffonts %s/%s | tail -n +3", "v.pdf"); (at = strchr(at, '\n')) != NULL; at++)
            n++;
        for (const char *at = text; (at = strstr(at, " yes yes yes ")) != NULL; at++) /* embedded, a subset, with its letters */
            n--;
        cr_expect(n == 0 && strstr(text, "yes"), "%s", text);
        tell("pdfinfo %s/%s", "v.pdf");
        cr_expect(strstr(text, "R-014") && strstr(text, "Tagged:          yes"), "%s", text);
        tell("pdfinfo -struct %s/%s", "v.pdf");
        cr_expect(strstr(text, "H1") && strstr(text, "H2") && strstr(text, "Table") && strstr(text, "TH") && strstr(text, "TD") && strstr(text, "Figure"));
        snprintf(line, sizeof line, "/Lang (%s)", languages[i]);
        cr_expect(strstr(tell("strings %s/%s", "c.pdf"), line), "%s", line);
    }
}

/* The colour of the runner's screen, pixel by pixel; and in grey (ITU-R BT.601) it is told from the paper and from a block's ground. */
Test(page, the_band_has_the_colour_of_the_screen_and_is_seen_in_grey)
{
    char path[128];
    int n = 0;
    print_page(true, "c.png");
    snprintf(path, sizeof path, "%s/c.png", rig.folder);
    cairo_surface_t *s = cairo_image_surface_create_from_png(path);
    for (int y = 0; y < cairo_image_surface_get_height(s); y++)
        for (int x = 0; x < cairo_image_surface_get_width(s); x++) {
            uint32_t pixel;
            memcpy(&pixel, cairo_image_surface_get_data(s) + y * cairo_image_surface_get_stride(s) + 4 * x, 4);
            n += (pixel & 0xFFFFFF) == BAND_COLOUR_ON_LIGHT;
        }
    cairo_surface_destroy(s);
    cr_expect_gt(n, 10000);
    const double grey = 0.299 * (BAND_COLOUR_ON_LIGHT >> 16) + 0.587 * (BAND_COLOUR_ON_LIGHT >> 8 & 0xFF) + 0.114 * (BAND_COLOUR_ON_LIGHT & 0xFF);
    cr_expect_lt(grey, 0.9 * 255);
}

/* ---------------------------------------------------------------- nothing cut, nothing over another, nothing in English */

#define N_BOXES 4000

struct box {
    int page;
    double x0, y0, x1, y1;
    char word[64];
};

static struct box box[N_BOXES];

/* Where each word stands on its page, points from the top left. */
static int
find_boxes(const char *name)
{
    int n = 0, page = 0;
    for (const char *at = tell("pdftotext -bbox %s/%s -", name); (at = strchr(at, '<')) != NULL; at++) {
        struct box *b = &box[n];
        page += strncmp(at, "<page ", 6) == 0;
        if (n < N_BOXES && sscanf(at, "<word xMin=\"%lf\" yMin=\"%lf\" xMax=\"%lf\" yMax=\"%lf\">%63[^<]", &b->x0, &b->y0, &b->x1, &b->y1, b->word) == 5) {
            b->page = page;
            n++;
        }
    }
    cr_assert(n > 100 && n < N_BOXES, "%d words", n);
    return n;
}

/* Boxes are as high as the font's lines, which letters do not fill: neighbours may share an edge. */
static bool
lies_on(const struct box *a, const struct box *b)
{
    const double wide = fmin(a->x1, b->x1) - fmax(a->x0, b->x0), high = fmin(a->y1, b->y1) - fmax(a->y0, b->y0);
    return a->page == b->page && wide > 1 && high > 0.35 * fmin(a->y1 - a->y0, b->y1 - b->y0);
}

static void
expect_room(const char *language, const char *name)
{
    const int n = find_boxes(name);
    for (int i = 0; i < n; i++) {
        const struct box *b = &box[i];
        cr_expect(b->x0 >= 15 && b->x1 <= 580 && b->y0 >= 15 && b->y1 <= 827, "%s, %s: over the margin: %s", language, name, b->word);
        for (int k = 0; k < i; k++)
            cr_expect(!lies_on(b, &box[k]), "%s, %s, page %d: '%s' (%g %g) lies on '%s' (%g %g)", language, name, b->page, b->word, b->x0, b->y0,
                      box[k].word, box[k].x0, box[k].y0);
    }
}

Test(page, no_word_is_over_the_margin_or_on_another_in_any_language)
{
    static const char *const with_pseudo[] = { "en", "de", "fr", "es", "ja", "qq" };
    for (size_t i = 0; i < sizeof with_pseudo / sizeof *with_pseudo; i++) {
        speak(with_pseudo[i]);
        print_page(false, "v.pdf");
        print_page(true, "c.pdf");
        expect_room(with_pseudo[i], "v.pdf");
        expect_room(with_pseudo[i], "c.pdf");
    }
}

/* In a language of accented letters alone, two plain ones beside each other are English, but for signs of units and names. */
Test(page, no_plain_letters_are_left_in_the_language_of_accents)
{
    static const char *const signs[] = { "BW", "ms", "mm", "kN" };
    speak("qq");
    print_page(false, "v.pdf");
    print_page(true, "c.pdf");
    for (int k = 0; k < 2; k++)
        for (const char *at = tell("pdftotext -raw %s/%s -", k ? "c.pdf" : "v.pdf"); *at; at++) {
            const size_t n = strspn(at, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ");
            bool is_sign = n < 2;
            for (size_t i = 0; i < sizeof signs / sizeof *signs; i++)
                is_sign |= n == strlen(signs[i]) && strncmp(at, signs[i], n) == 0;
            cr_expect(is_sign, "%s: %.*s", k ? "course" : "visit", (int) n + 20, at);
            at += n > 0 ? n - 1 : 0;
        }
}

Test(page, letters_that_no_font_has_are_counted_and_told)
{
    strcpy(notes, "\xf4\x8f\xbf\xbd\xf4\x8f\xbf\xbd"); /* of a plane for private use: nobody's */
    print_page(false, "v.pdf");
    squeeze(squeezed, tell("pdftotext -raw %s/%s -", "v.pdf"));
    expect_words("en", "2 letters of this page are in no font of this computer");
}
