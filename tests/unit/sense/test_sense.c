/* Packets to frames as one stage: hello and profile together, losses, restarts, what does not fit. */
#include "sense/profile_parts.h"
#include "sense/sense.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

static struct sense sense;
static struct packet packet;
static struct frame frame;
static uint8_t next_sequence;

static void
hello(enum packet_kind kind)
{
    memset(&packet, 0, sizeof packet);
    packet.type = PACKET_HELLO;
    packet.hello = (struct packet_hello){ .kind = kind,
                                          .rate_hz = 500,
                                          .full_scale_counts = 1,
                                          .n_channels = 2,
                                          .zone_name = { "LH", "RH" },
                                          .is_binary_switches = true };
    if (kind != PACKET_KIND_SWITCHES) {
        packet.hello.full_scale_counts = 4095;
        packet.hello.n_channels = kind == PACKET_KIND_CELLS ? 4 : 0;
        packet.hello.n_rows = kind == PACKET_KIND_MAT ? 2 : 0;
        packet.hello.n_cols = kind == PACKET_KIND_MAT ? 2 : 0;
    }
    cr_assert_not(sense_feed(&sense, &packet, &frame), "a hello is no frame");
}

/* Two switches at t; n_lost: by sequence, or -1 for text, which has none. */
static bool
feed(int64_t t_us, int n_lost)
{
    memset(&packet, 0, sizeof packet);
    packet.type = PACKET_SWITCHES;
    packet.n_values = 2;
    packet.channel_counts[0] = 1;
    packet.t_us = (uint32_t) t_us;
    packet.has_sequence = n_lost >= 0;
    packet.sequence = next_sequence++;
    packet.n_lost_before = n_lost > 0 ? (uint32_t) n_lost : 0;
    packet.arrived.us = 1 + t_us;
    return sense_feed(&sense, &packet, &frame);
}

Test(sense, data_before_any_hello_are_counted_and_dropped)
{
    sense_init(&sense, NULL);
    cr_expect_not(feed(0, 0));
    cr_expect_eq(sense.health.n_unready, 1);
    hello(PACKET_KIND_SWITCHES);
    cr_expect(sense.is_ready);
    cr_expect(feed(2000, 0));
    cr_expect_eq(frame.kind, FRAME_KIND_SWITCHES);
    cr_expect(frame.switches->is_down[0] && !frame.switches->is_down[1] && frame.switches->is_right[1]);
    cr_expect_eq(frame.time.us, 0);
    cr_expect_eq(frame.arrived.us, 2001);
    cr_expect_float_eq(sense_rate_hz(&sense), 500, 0);
}

Test(sense, lost_packets_mark_the_frame_after_them)
{
    sense_init(&sense, NULL);
    hello(PACKET_KIND_SWITCHES);
    feed(0, 0);
    cr_expect(feed(2000, 0));
    cr_expect_eq(frame.flags, 0);
    cr_expect(feed(8000, 2));
    cr_expect_eq(frame.flags, FRAME_GAP_BEFORE);
    cr_expect_eq(frame.n_lost_before, 2);
    cr_expect(feed(10000, 0));
    cr_expect_eq(frame.flags, 0);
    cr_expect_eq(sense.health.n_lost, 2);
}

Test(sense, lost_hello_leaves_no_hole_in_the_data)
{
    sense_init(&sense, NULL);
    hello(PACKET_KIND_SWITCHES);
    feed(0, 0);
    cr_expect(feed(2000, 1));
    cr_expect_eq(frame.flags, 0);
}

Test(sense, lost_count_survives_a_packet_that_is_no_frame)
{
    sense_init(&sense, NULL);
    hello(PACKET_KIND_SWITCHES);
    feed(0, 0);
    memset(&packet, 0, sizeof packet);
    packet.type = PACKET_STATUS;
    packet.status_code = 5;
    packet.n_lost_before = 1;
    cr_expect_not(sense_feed(&sense, &packet, &frame));
    cr_expect_eq(sense.health.status_code, 5);
    cr_expect(feed(4000, 0));
    cr_expect_eq(frame.flags, FRAME_GAP_BEFORE);
    cr_expect_eq(frame.n_lost_before, 1);
}

Test(sense, text_lines_lost_show_by_time)
{
    sense_init(&sense, NULL);
    hello(PACKET_KIND_SWITCHES);
    for (int i = 0; i < 10; i++)
        cr_assert(feed(2000 * i, -1) && frame.flags == 0);
    cr_expect(feed(24000, -1));
    cr_expect_eq(frame.flags, FRAME_GAP_BEFORE);
    cr_expect_eq(frame.n_lost_before, 2);
}

Test(sense, gap_that_was_noted_is_marked_though_neither_clock_nor_sequence_shows_it)
{
    sense_init(&sense, NULL);
    hello(PACKET_KIND_SWITCHES);
    feed(0, 0);
    feed(2000, 0);
    sense_note_gap(&sense);
    cr_expect(feed(4000, 0));
    cr_expect_eq(frame.flags, FRAME_GAP_BEFORE);
    cr_expect(feed(6000, 0));
    cr_expect_eq(frame.flags, 0);
}

Test(sense, more_than_256_lost_are_counted_by_time)
{
    sense_init(&sense, NULL);
    hello(PACKET_KIND_SWITCHES);
    feed(0, 0);
    cr_expect(feed(2000 * 301, 300 - 256)); /* the sequence wrapped once */
    cr_expect_eq(frame.n_lost_before, 300);
}

Test(sense, repeated_and_late_packets_make_no_frame)
{
    sense_init(&sense, NULL);
    hello(PACKET_KIND_SWITCHES);
    feed(0, -1);
    feed(2000, -1);
    cr_expect_not(feed(2000, -1));
    cr_expect_not(feed(1000, -1));
    cr_expect_eq(sense.health.n_dropped, 2);
    cr_expect(feed(4000, -1));
    cr_expect_eq(frame.flags, 0);
}

Test(sense, restarted_board_joins_nothing_before_it)
{
    sense_init(&sense, NULL);
    hello(PACKET_KIND_SWITCHES);
    feed(60000000, 0);
    memset(&packet, 0, sizeof packet);
    packet.type = PACKET_SWITCHES;
    packet.n_values = 2;
    packet.t_us = 2000;
    packet.arrived.us = 61000001;
    cr_expect(sense_feed(&sense, &packet, &frame));
    cr_expect_eq(frame.flags, FRAME_CLOCK_RESET | FRAME_GAP_BEFORE);
    cr_expect_eq(frame.time.us, 1000000);
    cr_expect_not(frame.switches->is_down[0]);
    cr_expect_eq(sense.health.n_restarts, 1);
}

Test(sense, data_of_another_kind_or_size_are_counted_and_dropped)
{
    sense_init(&sense, NULL);
    hello(PACKET_KIND_CELLS);
    cr_expect_not(feed(0, 0));
    packet.type = PACKET_CELLS;
    packet.n_values = 3;
    cr_expect_not(sense_feed(&sense, &packet, &frame));
    packet.n_values = 4;
    cr_expect(sense_feed(&sense, &packet, &frame));
    cr_expect_eq(frame.flags, FRAME_RELATIVE, "nobody said the gain");
    cr_expect_eq(sense.health.n_mismatched, 2);
}

Test(sense, as_many_values_do_not_make_the_kind_nor_the_kind_as_many)
{
    static const struct {
        enum packet_kind kind;
        enum packet_type type;
        int n_values;
    } rows[] = {
        { PACKET_KIND_SWITCHES, PACKET_CELLS, 2 },  { PACKET_KIND_SWITCHES, PACKET_SWITCHES, 3 },
        { PACKET_KIND_CELLS, PACKET_SWITCHES, 4 },  { PACKET_KIND_CELLS, PACKET_CELLS, 5 },
        { PACKET_KIND_MAT, PACKET_SWITCHES, 4 },    { PACKET_KIND_MAT, PACKET_CELLS, 4 },
        { PACKET_KIND_CELLS, PACKET_SWITCHES, 0 },
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        sense_init(&sense, NULL);
        hello(rows[i].kind);
        feed(0, 0);
        const uint64_t before = sense.health.n_mismatched;
        packet.t_us = 5000;
        packet.type = rows[i].type;
        packet.n_values = rows[i].n_values;
        cr_expect_not(sense_feed(&sense, &packet, &frame), "row %zu", i);
        cr_expect_eq(sense.health.n_mismatched, before + 1, "row %zu", i);
    }
}

Test(sense, mat_from_its_hello_alone_gives_an_image)
{
    sense_init(&sense, NULL);
    hello(PACKET_KIND_MAT);
    memset(&packet, 0, sizeof packet);
    packet.type = PACKET_MAT;
    packet.n_rows = packet.n_cols = 2;
    packet.n_values = 4;
    packet.mat_counts[3] = 819; /* a fifth of full scale: 100 kPa on 100 mm2 */
    cr_expect(sense_feed(&sense, &packet, &frame));
    cr_expect_float_eq(frame.force_n, 10, 1e-6);
    cr_expect_float_eq(frame.cop_fwd_mm, 5, 1e-9);
    cr_expect_eq(frame.flags, FRAME_RELATIVE | FRAME_AT_EDGE);
    cr_expect_eq(frame.image, &sense.image);
}

static struct sense_profile profile;

static void
two_switches(void)
{
    profile_clear(&profile);
    strcpy(profile.name, "two heels");
    profile.kind = FRAME_KIND_SWITCHES;
    profile.n_zones = 2;
    strcpy(profile.zone[0].name, "LH");
    strcpy(profile.zone[1].name, "RH");
    profile_zone_from_name(&profile.zone[0], "LH");
    profile_zone_from_name(&profile.zone[1], "RH");
    profile_fill_defaults(&profile);
}

Test(sense, profile_reads_data_before_any_hello_and_takes_the_rate_from_it)
{
    two_switches();
    sense_init(&sense, &profile);
    cr_expect_eq(sense_packet_kind(&profile), PACKET_KIND_SWITCHES);
    cr_expect(feed(0, -1));
    cr_expect(isnan(sense_rate_hz(&sense)));
    hello(PACKET_KIND_SWITCHES);
    cr_expect_float_eq(sense_rate_hz(&sense), 500, 0);
    cr_expect(feed(6000, -1));
    cr_expect_eq(frame.n_lost_before, 2);
}

Test(sense, analog_board_gives_its_full_scale_to_a_profile_that_leaves_it_out)
{
    two_switches();
    sense_init(&sense, &profile);
    memset(&packet, 0, sizeof packet);
    packet.type = PACKET_HELLO;
    packet.hello = (struct packet_hello){ .kind = PACKET_KIND_SWITCHES,
                                          .rate_hz = 500,
                                          .full_scale_counts = 1023,
                                          .n_channels = 2,
                                          .zone_name = { "LH", "RH" } };
    sense_feed(&sense, &packet, &frame);
    packet.type = PACKET_SWITCHES;
    packet.n_values = 2;
    packet.channel_counts[0] = 600;
    packet.channel_counts[1] = 100;
    cr_expect(sense_feed(&sense, &packet, &frame));
    cr_expect(frame.switches->is_down[0] && !frame.switches->is_down[1]);
    cr_expect_float_eq(frame.switches->load[0], 600 / 1023.0, 1e-12);
}

Test(sense, profile_that_does_not_fit_the_board_is_refused_with_a_sentence)
{
    static const struct {
        enum packet_kind kind;
        int n_channels;
        const char *zone, *reason;
    } rows[] = {
        { PACKET_KIND_MAT, 0, "", "is for foot switches, the board is a mat" },
        { PACKET_KIND_SWITCHES, 3, "LH", "has 2 channels, the board 3" },
        { PACKET_KIND_SWITCHES, 2, "LF", "zone 1 is LH in the profile \"two heels\" but LF on the board" },
    };
    for (size_t i = 0; i < 3; i++) {
        two_switches();
        sense_init(&sense, &profile);
        memset(&packet, 0, sizeof packet);
        packet.type = PACKET_HELLO;
        packet.hello = (struct packet_hello){ .kind = rows[i].kind,
                                              .rate_hz = 500,
                                              .full_scale_counts = 1,
                                              .n_channels = rows[i].n_channels,
                                              .zone_name = { "", "RH", "RF" } };
        strcpy(packet.hello.zone_name[0], rows[i].zone);
        sense_feed(&sense, &packet, &frame);
        cr_expect_not_null(strstr(message_english(&sense.why), rows[i].reason), "row %zu: %s", i, message_english(&sense.why));
        cr_expect_not(feed(0, 0));
        cr_expect_eq(sense.health.n_mismatched, 1);
        hello(PACKET_KIND_SWITCHES);
        cr_expect_str_eq(message_english(&sense.why), "", "the right board makes it good again");
        cr_expect(feed(2000, 0));
    }
}

Test(sense, repeated_hello_changes_nothing)
{
    sense_init(&sense, NULL);
    hello(PACKET_KIND_SWITCHES);
    feed(0, 0);
    hello(PACKET_KIND_SWITCHES);
    cr_expect(sense.switches.is_down[0], "a zone that is down stays down");
    cr_expect(feed(2000, 0));
    cr_expect_eq(frame.flags, 0);
}

static bool
take_mat_hello(double pitch_mm)
{
    memset(&packet, 0, sizeof packet);
    packet.type = PACKET_HELLO;
    packet.hello = (struct packet_hello){ .kind = PACKET_KIND_MAT, .rate_hz = 100, .full_scale_counts = 4095, .n_rows = 2,
                                          .n_cols = 2, .pitch_fwd_mm = pitch_mm, .pitch_right_mm = pitch_mm };
    sense_feed(&sense, &packet, &frame);
    return sense.is_ready;
}

Test(sense, a_mat_whose_elements_lie_elsewhere_than_the_profile_says_is_refused)
{
    profile_clear(&profile);
    strcpy(profile.name, "a mat");
    profile.kind = FRAME_KIND_MAT;
    profile.n_rows = profile.n_cols = 2;
    profile.pitch_fwd_mm = profile.pitch_right_mm = 20;
    profile_fill_defaults(&profile);
    sense_init(&sense, &profile);
    cr_expect_not(take_mat_hello(10));
    cr_expect(strstr(message_english(&sense.why), "20 x 20 mm apart, the board 10 x 10"), "%s", message_english(&sense.why));
    sense_init(&sense, &profile);
    cr_expect(take_mat_hello(20));
    sense_init(&sense, &profile);
    cr_expect(take_mat_hello(0), "a board that does not know its own");
}

Test(sense, a_load_that_nobody_has_is_counted)
{
    profile_clear(&profile);
    profile.kind = FRAME_KIND_CELLS;
    profile.n_cells = 4;
    for (int i = 0; i < 4; i++)
        profile.cell[i] = (struct profile_cell){ i < 2 ? -600 : 600, i % 2 ? 300 : -300, 1, 0 };
    profile_fill_defaults(&profile);
    sense_init(&sense, &profile);
    for (int i = 0; i < 8; i++) {
        memset(&packet, 0, sizeof packet);
        packet.type = PACKET_CELLS;
        packet.n_values = 4;
        for (int k = 0; k < 4; k++)
            packet.channel_counts[k] = i < 5 ? 500 : 3000;
        packet.t_us = (uint32_t) (2000 * i);
        packet.arrived.us = 1 + 2000 * i;
        cr_assert(sense_feed(&sense, &packet, &frame), "%d", i);
    }
    cr_expect_eq(sense.health.n_beyond, 3);
    cr_expect_float_eq(sense.health.force_max_n, 12000, 1e-9);
}
