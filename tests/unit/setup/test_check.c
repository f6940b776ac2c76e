/* The sensor check on packets made here: each fault alone is found, named and graded, and nothing else is. */
#include "sense/sense.h"
#include "setup/check.h"
#include "setup/check_parts.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define ROWS 32
#define COLS 12

static struct check check;
static struct check_report report;
static struct sense sense;
static struct packet packet;
static struct check_line line;
static uint32_t seed, t_us;
static int64_t host_us;
static double host_ratio;
static void (*touch)(int i); /* sets the counts of frame i before it is fed; NULL: nobody on */

static int
noise(int spread)
{
    seed = seed * 1664525U + 1013904223U;
    return (int) ((seed >> 8) % (unsigned) (2 * spread + 1)) - spread;
}

static void
start(const struct packet_hello *hello)
{
    struct packet p = { .type = PACKET_HELLO, .hello = *hello };
    struct frame f;
    seed = 1;
    t_us = 0;
    host_us = 1000000;
    host_ratio = 1;
    touch = NULL;
    line = (struct check_line){ .n_bytes = 100000 };
    memset(&packet, 0, sizeof packet);
    sense_init(&sense, NULL);
    sense_feed(&sense, &p, &f);
    cr_assert(sense.is_ready, "%s", message_english(&sense.why));
    check_init(&check, &sense.profile, sense_rate_hz(&sense));
}

static void
start_mat(void)
{
    const struct packet_hello h = { .kind = PACKET_KIND_MAT,
                                    .version_major = 1,
                                    .rate_hz = 100,
                                    .n_rows = ROWS,
                                    .n_cols = COLS,
                                    .pitch_fwd_mm = 20,
                                    .pitch_right_mm = 20,
                                    .full_scale_counts = 4095 };
    start(&h);
    sense.profile.noise_counts = 12;
    packet.type = PACKET_MAT;
    packet.n_rows = ROWS;
    packet.n_cols = COLS;
    packet.n_values = ROWS * COLS;
}

static void
start_cells(void)
{
    const struct packet_hello h = { .kind = PACKET_KIND_CELLS,
                                    .version_major = 1,
                                    .rate_hz = 500,
                                    .n_channels = 4,
                                    .full_scale_counts = 4194304 };
    start(&h);
    packet.type = PACKET_CELLS;
    packet.n_values = 4;
}

static void
start_switches(void)
{
    const struct packet_hello h = { .kind = PACKET_KIND_SWITCHES,
                                    .version_major = 1,
                                    .rate_hz = 500,
                                    .n_channels = 4,
                                    .zone_name = { "LH", "LF", "RH", "RF" },
                                    .full_scale_counts = 1023 };
    start(&h);
    packet.type = PACKET_SWITCHES;
    packet.n_values = 4;
}

static void
feed(int i, int64_t step_us)
{
    struct frame f;
    for (int k = 0; k < packet.n_values; k++) {
        if (packet.type == PACKET_MAT)
            packet.mat_counts[k] = (uint16_t) abs(noise(3));
        else
            packet.channel_counts[k] = packet.type == PACKET_CELLS ? noise(2000) : abs(noise(2));
    }
    if (touch)
        touch(i);
    packet.t_us = t_us;
    packet.arrived.us = host_us;
    t_us += (uint32_t) step_us;
    host_us += (int64_t) ((double) step_us * host_ratio);
    if (sense_feed(&sense, &packet, &f))
        check_feed(&check, &packet, &f);
}

static void
run(int n, int64_t step_us)
{
    for (int i = 0; i < n; i++)
        feed(i, step_us);
}

/* Everything is good or untested but the items given. */
static void
expect(enum check_grade grade, enum check_item a, enum check_item b)
{
    check_judge(&check, &line, &report);
    for (int i = 0; i < CHECK_N_ITEMS; i++) {
        const struct check_finding *f = &report.finding[i];
        cr_expect_gt(strlen(message_english(&f->says)), 0, "item %s says nothing", check_item_name((enum check_item) i));
        if (i == (int) a || i == (int) b)
            cr_expect_eq(f->grade, grade, "%s is %s: %s", check_item_name((enum check_item) i),
                         check_grade_name(f->grade), message_english(&f->says));
        else
            cr_expect_leq(f->grade, CHECK_GOOD, "%s is %s: %s", check_item_name((enum check_item) i),
                          check_grade_name(f->grade), message_english(&f->says));
        cr_expect_eq(f->todo[0] != '\0', f->grade >= CHECK_MIND);
    }
}

#define NONE CHECK_N_ITEMS

Test(check, a_good_empty_mat_is_good_and_its_loaded_part_untested)
{
    start_mat();
    run(500, 10000);
    expect(CHECK_GOOD, NONE, NONE);
    cr_expect_eq(report.grade, CHECK_GOOD);
    cr_expect_eq(report.finding[CHECK_DEAD].grade, CHECK_UNTESTED);
    cr_expect(isnan(report.finding[CHECK_DEAD].value));
    cr_expect_float_eq(report.finding[CHECK_RATE].value, 100, 1e-9);
    cr_expect_float_eq(report.seconds_empty, 4.99, 1e-9);
}

Test(check, good_cells_and_switches_are_good)
{
    start_cells();
    run(2500, 2000);
    expect(CHECK_GOOD, NONE, NONE);
    start_switches();
    run(2500, 2000);
    expect(CHECK_GOOD, NONE, NONE);
}

Test(check, too_few_frames_tell_nothing_and_are_bad)
{
    start_cells();
    run(20, 2000);
    check_judge(&check, &line, &report);
    cr_expect_eq(report.grade, CHECK_BAD);
    cr_expect(strstr(message_english(&report.finding[CHECK_LOST].says), "only 20 frames"), "%s",
              message_english(&report.finding[CHECK_LOST].says));
    cr_expect_eq(report.finding[CHECK_NOISE].grade, CHECK_UNTESTED);
}

/* ------------------------------------------------------------------ time */

Test(check, a_board_that_is_slower_than_it_says_is_told)
{
    start_cells();
    run(2000, 2500);
    check_judge(&check, &line, &report);
    cr_expect_eq(report.finding[CHECK_RATE].grade, CHECK_BAD, "%s", message_english(&report.finding[CHECK_RATE].says));
    cr_expect_float_eq(report.finding[CHECK_RATE].value, 400, 1);
}

Test(check, a_rate_that_nobody_says_is_told_and_not_judged)
{
    start_cells();
    check_init(&check, &sense.profile, (double) NAN);
    run(2500, 2500);
    check_judge(&check, &line, &report);
    cr_expect_str_eq(message_english(&report.finding[CHECK_RATE].says),
                     "400.0 frames/s; neither board nor profile says how many there should be");
}

Test(check, jitter_of_the_boards_stamps_is_measured)
{
    start_cells();
    for (int i = 0; i < 2000; i++)
        feed(i, i % 2 ? 2500 : 1500);
    expect(CHECK_MIND, CHECK_JITTER, NONE);
    cr_expect_float_eq(report.finding[CHECK_JITTER].value, 0.5, 0.01);
}

Test(check, a_clock_that_runs_fast_is_measured_against_the_computers)
{
    start_cells();
    host_ratio = 1 / 1.03;
    run(3000, 2000);
    expect(CHECK_MIND, CHECK_CLOCK, NONE);
    cr_expect_float_eq(report.finding[CHECK_CLOCK].value, 3, 0.05);
}

Test(check, lost_frames_are_counted)
{
    start_cells();
    for (int i = 0; i < 2000; i++)
        feed(i, i % 100 == 99 ? 4000 : 2000);
    expect(CHECK_MIND, CHECK_LOST, NONE);
    cr_expect_float_eq(report.finding[CHECK_LOST].value, 1, 0.1);
    cr_expect_float_eq(report.finding[CHECK_RATE].value, 500, 0.1);
}

Test(check, a_restart_is_bad)
{
    start_cells();
    run(1000, 2000);
    t_us = 0;
    host_us += 3000000;
    t_us = UINT32_C(3000000000);
    run(1000, 2000);
    check_judge(&check, &line, &report);
    cr_expect_eq(report.finding[CHECK_CLOCK].grade, CHECK_BAD);
    cr_expect(strstr(message_english(&report.finding[CHECK_CLOCK].says), "1 time:"), "%s", message_english(&report.finding[CHECK_CLOCK].says));
}

Test(check, damage_on_the_line_and_what_the_board_says_are_told)
{
    start_cells();
    run(2000, 2000);
    line.n_damaged = 1;
    expect(CHECK_GOOD, NONE, NONE);
    line.n_damaged = 10;
    expect(CHECK_MIND, CHECK_LINE, NONE);
    line.n_damaged = 100;
    expect(CHECK_BAD, CHECK_LINE, NONE);
    line.n_damaged = 0;
    line.board_says = "its supply is low";
    expect(CHECK_BAD, CHECK_LINE, NONE);
    cr_expect(strstr(message_english(&report.finding[CHECK_LINE].says), "supply is low"));
}

/* ------------------------------------------------------------------ empty */

static void
noisy_cells(int i)
{
    (void) i;
    packet.channel_counts[2] = noise(60000); /* uniform: sd 34641 counts, 16.5 N */
}

Test(check, a_noisy_cell_makes_the_force_noisy)
{
    start_cells();
    touch = noisy_cells;
    run(2500, 2000);
    expect(CHECK_BAD, CHECK_NOISE, NONE);
    cr_expect_float_eq(report.finding[CHECK_NOISE].value, 60000 / sqrt(3) * 2000 / 4194304, 0.5);
}

Test(check, noise_beyond_what_the_profile_calls_usual_is_told)
{
    start_cells();
    run(2500, 2000);
    check_judge(&check, &line, &report);
    const double sd_n = report.finding[CHECK_NOISE].value;
    cr_expect_eq(report.finding[CHECK_NOISE].grade, CHECK_GOOD);
    sense.profile.noise_n = sd_n * 1.1;
    expect(CHECK_GOOD, NONE, NONE);
    sense.profile.noise_n = sd_n / 1.5;
    expect(CHECK_MIND, CHECK_NOISE, NONE);
    sense.profile.noise_n = sd_n / 2.5;
    expect(CHECK_BAD, CHECK_NOISE, NONE);
}

static int zone_step;

static void
one_zone_flickers(int i)
{
    for (int z = 0; z < 4; z++)
        packet.channel_counts[z] = 3;
    packet.channel_counts[2] += i % 2 ? zone_step : 0;
}

Test(check, a_zones_noise_is_measured_below_a_count_too)
{
    double value[2];
    for (int k = 0; k < 2; k++) {
        start_switches();
        zone_step = k == 0 ? 1 : 10;
        touch = one_zone_flickers;
        run(2500, 2000);
        check_judge(&check, &line, &report);
        value[k] = report.finding[CHECK_NOISE].value;
    }
    cr_expect_gt(value[0], 0);
    cr_expect_float_eq(value[1], 10 * value[0], 1e-9);
}

Test(check, advice_is_of_the_sensors_own_kind)
{
    cr_expect_not_null(strstr(check_todo(CHECK_NOISE, FRAME_KIND_SWITCHES, false, false), "the zones' wires"));
    cr_expect_null(strstr(check_todo(CHECK_LOST, FRAME_KIND_SWITCHES, false, false), "the zones' wires"));
    cr_expect_not_null(strstr(check_todo(CHECK_NOISE, FRAME_KIND_CELLS, false, false), "the deck or the cells' wires"));
}

static void
noisy_element(int i)
{
    if (i % 20 == 0)
        packet.mat_counts[5 * COLS + 7] = 40;
}

Test(check, a_noisy_element_is_named)
{
    start_mat();
    touch = noisy_element;
    run(500, 10000);
    expect(CHECK_MIND, CHECK_NOISE, NONE);
    cr_assert_eq(report.finding[CHECK_NOISE].n_elements, 1);
    cr_expect_eq(report.finding[CHECK_NOISE].element[0], 5 * COLS + 7);
    char name[16];
    cr_expect_str_eq(check_element_name(&sense.profile, 5 * COLS + 7, name, sizeof name), "5:7");
    sense.profile.n_dead = 1;
    sense.profile.dead[0] = 5 * COLS + 7;
    check_judge(&check, &line, &report);
    cr_expect_eq(report.finding[CHECK_NOISE].n_elements, 0, "what the profile calls dead is no news");
}

static void
offset_cells(int i)
{
    (void) i;
    packet.channel_counts[0] += 120000; /* 57 N */
}

Test(check, an_offset_is_measured)
{
    start_cells();
    touch = offset_cells;
    run(2500, 2000);
    expect(CHECK_MIND, CHECK_OFFSET, NONE);
    cr_expect_float_eq(report.finding[CHECK_OFFSET].value, 57.2, 0.2);
}

static void
runner_on_cells(int i)
{
    const bool is_down = i % 175 < 120;
    for (int k = 0; k < 4; k++)
        packet.channel_counts[k] += is_down ? 800000 : 0;
}

static void
runner_on_mat(int i)
{
    for (int r = 10; r < 16 && i % 35 < 24; r++)
        for (int c = 4; c < 7; c++)
            packet.mat_counts[r * COLS + c] = 1500;
}

static void
runner_on_switches(int i)
{
    packet.channel_counts[i % 350 < 175 ? 0 : 2] = 900;
}

Test(check, somebody_on_the_empty_sensor_is_told_and_no_element_is_blamed)
{
    static void (*const on[])(int) = { runner_on_cells, runner_on_mat, runner_on_switches };
    static void (*const starts[])(void) = { start_cells, start_mat, start_switches };
    for (int kind = 0; kind < 3; kind++) {
        starts[kind]();
        touch = on[kind];
        run(2500, 2000);
        check_judge(&check, &line, &report);
        const struct check_finding *noise = &report.finding[CHECK_NOISE];
        cr_expect_eq(noise->grade, CHECK_BAD, "%d: %s", kind, message_english(&noise->says));
        cr_expect_str_eq(noise->todo, "get off, stop the belt, and check again");
        cr_expect_eq(noise->n_elements, 0);
        cr_expect_eq(report.finding[CHECK_OFFSET].grade, CHECK_UNTESTED, "%s", message_english(&report.finding[CHECK_OFFSET].says));
        cr_expect_eq(report.finding[CHECK_OFFSET].n_elements, 0);
        cr_expect_eq(report.finding[CHECK_DRIFT].grade, CHECK_UNTESTED, "%s", message_english(&report.finding[CHECK_DRIFT].says));
    }
}

Test(check, advice_names_no_key_that_the_sensors_profile_does_not_have)
{
    start_cells();
    touch = noisy_cells;
    run(2500, 2000);
    check_judge(&check, &line, &report);
    cr_expect_eq(report.finding[CHECK_NOISE].grade, CHECK_BAD);
    cr_expect_eq(strstr(report.finding[CHECK_NOISE].todo, "noise_counts"), NULL, "%s", report.finding[CHECK_NOISE].todo);
    start_mat();
    touch = noisy_element;
    run(500, 10000);
    check_judge(&check, &line, &report);
    cr_expect_neq(strstr(report.finding[CHECK_NOISE].todo, "noise_counts"), NULL);
    cr_expect_str_eq(message_english(&report.finding[CHECK_NOISE].at), "5:7");
}

static void
many_stuck(int i)
{
    (void) i;
    for (int k = 0; k < 40; k++)
        packet.mat_counts[100 + k] = 700;
}

Test(check, many_elements_are_named_and_the_rest_counted)
{
    start_mat();
    touch = many_stuck;
    run(500, 10000);
    check_judge(&check, &line, &report);
    const char *at = message_english(&report.finding[CHECK_STUCK].at);
    int n_named = 0, n_more = 0;
    for (const char *c = at; *c; c++)
        n_named += *c == ':';
    cr_expect(strncmp(at, "8:4 8:5 ", 8) == 0, "%s", at);
    cr_expect(strstr(at, "and ") && sscanf(strstr(at, "and "), "and %d more", &n_more) == 1, "%s", at);
    cr_expect_eq(n_named + n_more, 40, "%s", at);
}

static void
drifting_cells(int i)
{
    packet.channel_counts[1] += (int32_t) (i * 0.002 * 20 / 60 * 2097.152); /* 20 N a minute */
}

Test(check, a_drift_is_measured_and_noise_alone_is_none)
{
    start_cells();
    run(2500, 2000);
    check_judge(&check, &line, &report);
    cr_expect_float_eq(report.finding[CHECK_DRIFT].value, 0, 0);
    cr_expect_not_null(strstr(message_english(&report.finding[CHECK_DRIFT].says), "none above"), "%s", message_english(&report.finding[CHECK_DRIFT].says));
    start_cells();
    run(1500, 2000);
    expect(CHECK_GOOD, NONE, NONE);
    cr_expect_eq(report.finding[CHECK_DRIFT].grade, CHECK_UNTESTED, "3 s are too short to tell");
    start_cells();
    touch = drifting_cells;
    run(5000, 2000);
    expect(CHECK_MIND, CHECK_DRIFT, NONE);
    cr_expect_float_eq(report.finding[CHECK_DRIFT].value, 20, 2);
}

static void
stuck_mat(int i)
{
    (void) i;
    packet.mat_counts[3] = 700;
    packet.mat_counts[100] = 4095;
    packet.mat_counts[200] = (uint16_t) (700 + noise(3)); /* pressed, not stuck */
}

Test(check, stuck_elements_are_told_from_pressed_ones)
{
    start_mat();
    touch = stuck_mat;
    run(500, 10000);
    check_judge(&check, &line, &report);
    cr_expect_eq(report.finding[CHECK_STUCK].grade, CHECK_BAD);
    cr_assert_eq(report.finding[CHECK_STUCK].n_elements, 2);
    cr_expect_eq(report.finding[CHECK_STUCK].element[0], 3);
    cr_expect_eq(report.finding[CHECK_STUCK].element[1], 100);
    cr_assert_eq(report.finding[CHECK_OFFSET].n_elements, 1);
    cr_expect_eq(report.finding[CHECK_OFFSET].element[0], 200);
}

static void
stuck_cell(int i)
{
    (void) i;
    packet.channel_counts[3] = 77;
}

Test(check, a_cell_that_never_moves_is_stuck)
{
    start_cells();
    touch = stuck_cell;
    run(2500, 2000);
    expect(CHECK_BAD, CHECK_STUCK, NONE);
    cr_expect_eq(report.finding[CHECK_STUCK].element[0], 3);
}

/* ------------------------------------------------------------------ loaded */

static double ghost_share;
static bool has_dead_row, is_hard;

/* A foot-long load that wanders over all of the mat; element 10:5 is dead, and row 20 if wanted. */
static void
walk(int i)
{
    const int row = i / 4 % (ROWS - 6), col = i / 104 % (COLS - 3);
    for (int r = row; r < row + 7; r++)
        for (int c = col; c < col + 4; c++)
            packet.mat_counts[r * COLS + c] = is_hard ? 4095 : (uint16_t) (900 + noise(30));
    packet.mat_counts[10 * COLS + 5] = 0;
    for (int c = 0; has_dead_row && c < COLS; c++)
        packet.mat_counts[20 * COLS + c] = packet.mat_counts[21 * COLS + c] = 0;
}

static void
walk_over(void)
{
    start_mat();
    run(300, 10000);
    check_begin_loaded(&check);
    touch = walk;
    run(1200, 10000);
}

Test(check, a_dead_element_between_loaded_ones_is_named)
{
    walk_over();
    expect(CHECK_MIND, CHECK_DEAD, NONE);
    cr_expect_str_eq(message_english(&report.finding[CHECK_SATURATED].says), "no element reaches full scale");
    cr_assert_eq(report.finding[CHECK_DEAD].n_elements, 1, "%s", message_english(&report.finding[CHECK_DEAD].says));
    cr_expect_eq(report.finding[CHECK_DEAD].element[0], 10 * COLS + 5);
}

Test(check, two_dead_rows_next_to_each_other_are_bad)
{
    has_dead_row = true;
    walk_over();
    expect(CHECK_BAD, CHECK_DEAD, NONE);
    cr_expect_eq(report.finding[CHECK_DEAD].n_elements, 1 + 2 * COLS);
}

Test(check, as_many_loaded_frames_as_are_needed_are_enough)
{
    for (int n = CHECK_MIN_FRAMES - 1; n <= CHECK_MIN_FRAMES; n++) {
        start_mat();
        run(300, 10000);
        check_begin_loaded(&check);
        touch = walk;
        run(n, 10000);
        check_judge(&check, &line, &report);
        cr_expect_eq(report.finding[CHECK_SATURATED].grade == CHECK_UNTESTED, n < CHECK_MIN_FRAMES, "%d frames: %s", n,
                     message_english(&report.finding[CHECK_SATURATED].says));
    }
}

Test(check, an_elements_own_offset_is_added_to_the_mats)
{
    start_mat();
    sense.profile.offset_counts = 5;
    sense.profile.element_offset_counts[7] = 2.5F;
    cr_expect_float_eq(check_offset_counts(&sense.profile, 7), 7.5, 0);
    cr_expect_float_eq(check_offset_counts(&sense.profile, 8), 5, 0);
    start_cells();
    sense.profile.cell[2].offset_counts = 9;
    cr_expect_float_eq(check_offset_counts(&sense.profile, 2), 9, 0);
    start_switches();
    sense.profile.zone[1].offset_counts = 4;
    cr_expect_float_eq(check_offset_counts(&sense.profile, 1), 4, 0);
}

Test(check, full_scale_under_load_is_told)
{
    is_hard = true;
    walk_over();
    check_judge(&check, &line, &report);
    cr_expect_eq(report.finding[CHECK_SATURATED].grade, CHECK_BAD);
    cr_expect_float_eq(report.finding[CHECK_SATURATED].value, 100, 1e-9);
}

/* A thumb at one spot after another; its row and column show a share of it. */
static void
press(int i)
{
    const int row = 3 + i / 10 % (ROWS - 6), col = i / 260 % 2 ? 2 : COLS - 3;
    const double peak = 1500;
    for (int k = 0; k < ROWS * COLS; k++) {
        const int r = k / COLS, c = k % COLS, away = abs(r - row) + abs(c - col);
        if (away <= 1)
            packet.mat_counts[k] = (uint16_t) (away == 0 ? peak : peak / 2);
        else if (r == row || c == col)
            packet.mat_counts[k] = (uint16_t) (packet.mat_counts[k] + ghost_share * peak);
    }
}

static void
press_all(double share)
{
    ghost_share = share;
    start_mat();
    run(300, 10000);
    check_begin_loaded(&check);
    touch = press;
    run(520, 10000);
}

Test(check, cross_talk_is_measured_on_single_pressed_spots)
{
    press_all(0);
    expect(CHECK_GOOD, NONE, NONE);
    cr_expect_eq(report.finding[CHECK_CROSSTALK].grade, CHECK_GOOD);
    cr_expect_lt(report.finding[CHECK_CROSSTALK].value, 0.5);
    press_all(0.06);
    expect(CHECK_MIND, CHECK_CROSSTALK, NONE);
    cr_expect_float_eq(report.finding[CHECK_CROSSTALK].value, 6, 0.3);
    press_all(0.25);
    expect(CHECK_BAD, CHECK_CROSSTALK, NONE);
    cr_expect_float_eq(report.finding[CHECK_CROSSTALK].value, 25, 0.5);
}

Test(check, feet_are_no_cross_talk)
{
    walk_over();
    check_judge(&check, &line, &report);
    cr_expect_leq(report.finding[CHECK_CROSSTALK].grade, CHECK_GOOD, "%s",
                  message_english(&report.finding[CHECK_CROSSTALK].says));
}

static void
three_cells_take_it(int i)
{
    for (int c = 0; c < 3; c++)
        packet.channel_counts[c] += (int32_t) (400000 * (1 + sin(i * 0.05 + c)));
}

Test(check, a_cell_that_takes_no_load_is_dead)
{
    start_cells();
    run(1000, 2000);
    check_begin_loaded(&check);
    touch = three_cells_take_it;
    run(1500, 2000);
    expect(CHECK_BAD, CHECK_DEAD, NONE);
    cr_assert_eq(report.finding[CHECK_DEAD].n_elements, 1);
    cr_expect_eq(report.finding[CHECK_DEAD].element[0], 3);
}

Test(check, an_unloaded_loaded_part_is_untested)
{
    start_cells();
    run(1000, 2000);
    check_begin_loaded(&check);
    run(1000, 2000);
    expect(CHECK_GOOD, NONE, NONE);
    cr_expect_eq(report.finding[CHECK_DEAD].grade, CHECK_UNTESTED);
    cr_expect_str_eq(message_english(&report.finding[CHECK_DEAD].says), "nobody loaded the sensor");
}

/* Common practice, no source: under 100 N nobody stood on a belt of cells. The edge itself counts as somebody. */
Test(check, a_load_of_exactly_a_hundred_newtons_is_somebody)
{
    start_cells();
    run(1000, 2000);
    check_begin_loaded(&check);
    run(1000, 2000);
    check.force_peak_n = 100;
    check_judge(&check, &line, &report);
    cr_expect_neq(report.finding[CHECK_DEAD].grade, CHECK_UNTESTED);
    cr_expect_str_neq(message_english(&report.finding[CHECK_DEAD].says), "nobody loaded the sensor");
    check.force_peak_n = nextafter(100, 0);
    check_judge(&check, &line, &report);
    cr_expect_str_eq(message_english(&report.finding[CHECK_DEAD].says), "nobody loaded the sensor");
}

static void
three_zones(int i)
{
    for (int z = 0; z < 3; z++)
        packet.channel_counts[z] = i / 100 % 2 ? 900 : 3;
}

static void
zone_down(int i)
{
    (void) i;
    packet.channel_counts[1] = 800;
}

Test(check, a_zone_that_never_goes_down_is_dead_and_one_that_never_lifts_is_stuck)
{
    start_switches();
    run(1000, 2000);
    check_begin_loaded(&check);
    touch = three_zones;
    run(1500, 2000);
    expect(CHECK_BAD, CHECK_DEAD, NONE);
    cr_expect_eq(report.finding[CHECK_DEAD].element[0], 3);
    start_switches();
    touch = zone_down;
    run(1000, 2000);
    expect(CHECK_BAD, CHECK_STUCK, CHECK_OFFSET);
    char name[16];
    cr_expect_str_eq(
        check_element_name(&sense.profile, report.finding[CHECK_STUCK].element[0], name, sizeof name), "LF");
}
