/* Zones that go down and up, binary and analog. */
#include "sense/footswitch.h"
#include "sense/profile_parts.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

static struct sense_profile profile;
static struct packet packet;
static struct frame_switches switches;
static struct frame frame;

static void
start(int full_counts)
{
    static const char *const names[] = { "LH", "LF", "RH", "RT" };
    profile_clear(&profile);
    profile.kind = FRAME_KIND_SWITCHES;
    profile.saturation_counts = full_counts;
    profile.n_zones = 4;
    for (int i = 0; i < 4; i++) {
        strcpy(profile.zone[i].name, names[i]);
        cr_assert(profile_zone_from_name(&profile.zone[i], names[i]));
    }
    profile_fill_defaults(&profile);
    footswitch_reset(&profile, &switches);
    memset(&packet, 0, sizeof packet);
    packet.type = PACKET_SWITCHES;
    packet.n_values = 4;
}

static void
read(int zone, int counts)
{
    packet.channel_counts[zone] = counts;
    memset(&frame, 0, sizeof frame);
    footswitch_read(&profile, &packet, &switches, &frame);
}

Test(footswitch, names_say_foot_and_zone)
{
    start(1);
    cr_expect(!switches.is_right[0] && !switches.is_right[1] && switches.is_right[2] && switches.is_right[3]);
    cr_expect_eq(switches.zone[0], FRAME_ZONE_HEEL);
    cr_expect_eq(switches.zone[1], FRAME_ZONE_FORE);
    cr_expect_eq(switches.zone[3], FRAME_ZONE_TOE);
    struct profile_zone z;
    cr_expect(profile_zone_from_name(&z, "R") && z.is_right && z.zone == FRAME_ZONE_MID);
    cr_expect(profile_zone_from_name(&z, "LM") && !z.is_right && z.zone == FRAME_ZONE_MID);
    cr_expect_not(profile_zone_from_name(&z, "XH"));
    cr_expect_not(profile_zone_from_name(&z, "LX"));
    cr_expect_not(profile_zone_from_name(&z, "LHH"));
    cr_expect_not(profile_zone_from_name(&z, ""));
}

Test(footswitch, binary_zone_follows_at_once_and_never_saturates)
{
    start(1);
    read(2, 1);
    cr_expect(switches.is_down[2] && !switches.is_down[0]);
    cr_expect_float_eq(switches.load[2], 1, 1e-12);
    cr_expect_eq(frame.flags, 0);
    cr_expect_eq(frame.switches, &switches);
    cr_expect(isnan(frame.force_n) && isnan(frame.cop_fwd_mm) && isnan(frame.cop_right_mm));
    read(2, 0);
    cr_expect_not(switches.is_down[2]);
}

Test(footswitch, analog_zone_between_the_thresholds_stays_as_it_was)
{
    start(1000);
    read(0, 499);
    cr_expect_not(switches.is_down[0]);
    read(0, 500);
    cr_expect(switches.is_down[0]);
    read(0, 300);
    cr_expect(switches.is_down[0], "noise down to the lower threshold is still one contact");
    cr_expect_float_eq(switches.load[0], 0.3, 1e-12);
    read(0, 299);
    cr_expect_not(switches.is_down[0]);
    read(0, 499);
    cr_expect_not(switches.is_down[0]);
}

Test(footswitch, analog_zone_has_its_own_rest_and_full_reading)
{
    start(1023);
    profile.zone[1].offset_counts = 200;
    profile.zone[1].full_counts = 600;
    read(1, 400);
    cr_expect_float_eq(switches.load[1], 0.5, 1e-12);
    cr_expect(switches.is_down[1]);
    read(1, 100);
    cr_expect_float_eq(switches.load[1], 0, 1e-12);
    read(1, 1023);
    cr_expect_float_eq(switches.load[1], 1, 1e-12);
    cr_expect_eq(frame.flags, FRAME_SATURATED);
}
