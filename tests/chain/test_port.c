/* The real libserialport against pseudo-terminals: open, bytes, half packets, unplug, replug, "auto". */
#define _GNU_SOURCE
#include "aid/fake_tty.h"
#include "link/port.h"
#include "link/source.h"
#include "wire/wire.h"

#include <criterion/criterion.h>
#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <termios.h>
#include <unistd.h>

#define PATIENCE_MS 5000 /* a limit only for a failing test */

/* ------------------------------------------------------------------ boards */

static struct source source;
static uint8_t buf[512];
static struct host_time arrived;
static const struct source_config config = { .baud = 115200, .hello_wait_ms = 400 };

static void
say(int board, const void *bytes, size_t len)
{
    cr_assert_eq(write(board, bytes, len), (ssize_t) len);
}

static size_t
hear(size_t want)
{
    size_t len = 0;
    while (len < want) {
        int n = source_read(&source, buf + len, sizeof buf - len, PATIENCE_MS, &arrived);
        cr_assert_gt(n, 0, "%s", message_english(&source.why));
        len += (size_t) n;
    }
    return len;
}

#define HELLO "#underfoot 1 kind=switches rate=500 zones=LH,LF,RH,RF\n"

Test(port, every_byte_value_passes_unchanged)
{
    uint8_t all[256];
    int board = plug(0);
    cr_expect(port_is_device("/dev/ttyUF0"));
    cr_assert_eq(source_open(&source, "/dev/ttyUF0", &config), ERR_OK, "%s", message_english(&source.why));
    cr_expect_eq(source.kind, SOURCE_PORT);
    cr_expect(source_is_live(&source));
    for (int i = 0; i < 256; i++)
        all[i] = (uint8_t) i;
    say(board, all, 256);
    cr_expect_eq(hear(256), 256);
    cr_expect_arr_eq(buf, all, 256);
    cr_expect_eq(source_read(&source, buf, sizeof buf, 0, &arrived), 0, "silence is no end");
    source_close(&source);
    close(board);
}

/* Computed: a line whose board does not read takes 0 bytes once its buffer is full, and that is no loss of the line. */
Test(port, a_board_that_does_not_read_is_not_taken_for_gone)
{
    static const uint8_t junk[4096];
    int board = plug(0);
    cr_assert_eq(source_open(&source, "/dev/ttyUF0", &config), ERR_OK, "%s", message_english(&source.why));
    cr_assert_eq(source.kind, SOURCE_PORT);
    for (int i = 0; i < 100; i++)
        cr_assert_eq(source_write(&source, junk, sizeof junk), ERR_OK, "%s", message_english(&source.why));
    errno = 0;
    cr_expect_eq(source_write(&source, junk, 0), ERR_OK, "no byte is no loss either: %s", message_english(&source.why));
    source_close(&source);
    close(board);
}

Test(port, line_is_set_to_8_bits_no_parity_and_the_wanted_baud)
{
    struct termios t;
    struct source_config c = config;
    c.baud = 230400;
    int board = plug(0);
    cr_assert_eq(source_open(&source, "/dev/ttyUF0", &c), ERR_OK, "%s", message_english(&source.why));
    cr_assert_eq(tcgetattr(board, &t), 0);
    cr_expect_eq(cfgetospeed(&t), B230400);
    cr_expect_eq(t.c_cflag & CSIZE, CS8);
    cr_expect_eq(t.c_cflag & PARENB, 0);
    source_close(&source);
    close(board);
}

Test(port, half_packets_become_whole_ones)
{
    static struct wire_decoder decoder;
    static const char line[] = HELLO "2000,1,0,1,0\n";
    int board = plug(0), n_packets = 0;
    cr_assert_eq(source_open(&source, "/dev/ttyUF0", &config), ERR_OK, "%s", message_english(&source.why));
    wire_init(&decoder);
    for (size_t i = 0; i < sizeof line - 1; i++) {
        say(board, line + i, 1);
        cr_assert_eq(hear(1), 1);
        wire_feed(&decoder, buf, 1, arrived);
        n_packets += wire_take(&decoder) != NULL;
    }
    cr_expect_eq(n_packets, 2);
    source_close(&source);
    close(board);
}

Test(port, unplugged_port_is_gone_and_replugged_one_opens_again)
{
    int board = plug(0);
    cr_assert_eq(source_open(&source, "/dev/ttyUF0", &config), ERR_OK, "%s", message_english(&source.why));
    say(board, "abc", 3);
    hear(3);
    close(board);
    fake[0].is_there = false;
    cr_expect_eq(source_read(&source, buf, sizeof buf, PATIENCE_MS, &arrived), SOURCE_GONE);
    cr_expect_not_null(strstr(message_english(&source.why), "/dev/ttyUF0 is gone"), "%s", message_english(&source.why));
    cr_expect_eq(source_read(&source, buf, sizeof buf, PATIENCE_MS, &arrived), SOURCE_GONE, "and stays so");
    source_close(&source);
    cr_expect_eq(source_open(&source, "/dev/ttyUF0", &config), ERR_GONE, "not yet back");
    board = plug(0);
    cr_assert_eq(source_open(&source, "/dev/ttyUF0", &config), ERR_OK, "%s", message_english(&source.why));
    say(board, "d", 1);
    cr_expect_eq(hear(1), 1);
    source_close(&source);
    close(board);
}

Test(port, refusals_say_what_to_do)
{
    static const struct {
        int refusal;
        enum err err;
        const char *advice;
    } rows[] = {
        { EACCES, ERR_OS, "join the group dialout" },
        { EBUSY, ERR_OS, "in use by another program" },
        { ENXIO, ERR_GONE, "plug the sensor in" },
        { EIO, ERR_OS, "Input/output error" },
    };
    fake[1].is_there = true;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        fake[1].refusal = rows[i].refusal;
        cr_expect_eq(source_open(&source, "/dev/ttyUF1", &config), rows[i].err, "row %zu", i);
        cr_expect_not_null(strstr(message_english(&source.why), rows[i].advice), "row %zu: %s", i, message_english(&source.why));
        cr_expect_not_null(strstr(message_english(&source.why), "/dev/ttyUF1"), "row %zu: %s", i, message_english(&source.why));
    }
}

/* Stands in for the kernel's list of consoles, where a test has one. */
static const char *consoles;

FILE *
fopen(const char *restrict path, const char *restrict mode)
{
    if (consoles && strcmp(path, "/sys/class/tty/console/active") == 0)
        return fmemopen((void *) (uintptr_t) consoles, strlen(consoles), "r");
    FILE *(*next)(const char *restrict, const char *restrict);
    *(void **) &next = dlsym(RTLD_NEXT, "fopen");
    return next(path, mode);
}

/* Read: admin-guide/serial-console of the kernel: "tty0 ttyS0" and the like, in one line. */
Test(port, the_systems_console_is_told_from_a_port_whose_name_begins_alike)
{
    struct port_listed listed[N_PORTS];
    int first = plug(0), second = plug(1);
    consoles = "tty0 ttyUF1 ttyUF00\n";
    cr_assert_eq(port_list(listed, N_PORTS), 2);
    cr_expect_not(listed[0].is_console);
    cr_expect(listed[1].is_console);
    close(first);
    close(second);
}

Test(port, auto_takes_the_port_that_says_hello)
{
    int silent = plug(0), garbage = plug(2), board = plug(3);
    fake[1].is_there = true;
    fake[1].refusal = EACCES;
    say(garbage, "\x80\x91\xFE\xFF\x80", 5);
    say(board, HELLO, sizeof HELLO - 1);
    cr_assert_eq(source_open(&source, "auto", &config), ERR_OK, "%s", message_english(&source.why));
    cr_expect_str_eq(source.path, "/dev/ttyUF3");
    say(board, "data", 4);
    cr_expect_eq(hear(4), 4, "the port that was asked is the one that stays open");
    source_close(&source);
    close(silent);
    close(garbage);
    close(board);
}

Test(port, auto_without_a_board_ends_in_time_and_names_all_with_the_most_telling_why)
{
    int silent = plug(0), garbage = plug(2);
    fake[1].is_there = true;
    fake[1].refusal = EACCES;
    say(garbage, "\x80\x91\xFE\xFF\x80", 5);
    cr_expect_eq(source_open(&source, "auto", &config), ERR_GONE);
    const char *why = message_english(&source.why);
    cr_expect_not_null(strstr(why, "none of 3 serial ports said hello (/dev/ttyUF0, /dev/ttyUF1, /dev/ttyUF2): "), "%s", why);
    cr_expect_not_null(strstr(why, "): /dev/ttyUF1 may not be opened"), "%s", why);
    source_close(&source);
    close(silent);
    close(garbage);
}

Test(port, auto_without_any_port_says_so_at_once)
{
    cr_expect_eq(source_open(&source, "auto", &config), ERR_GONE);
    cr_expect_not_null(strstr(message_english(&source.why), "no serial port on this computer"), "%s", message_english(&source.why));
}

Test(port, probe_tells_of_every_port)
{
    static struct source_found found[SOURCE_FOUND_MAX];
    int first = plug(0), second = plug(1), newer = plug(2);
    say(first, HELLO, sizeof HELLO - 1);
    say(second, "#underfoot 1 kind=mat rate=50 rows=16 cols=8\n", 45);
    say(newer, "#underfoot 2 x=y\n", 17);
    cr_assert_eq(source_probe(found, SOURCE_FOUND_MAX, &config), 3);
    cr_expect(found[0].has_hello && found[0].hello.kind == PACKET_KIND_SWITCHES);
    cr_expect(found[1].has_hello && found[1].hello.n_rows == 16);
    cr_expect_not(found[2].has_hello);
    cr_expect_not_null(strstr(message_english(&found[2].why), "wire format 2"), "%s", message_english(&found[2].why));
    close(first);
    close(second);
    close(newer);
}

static bool
is_switches(void *context, const struct packet_hello *hello)
{
    (void) context;
    return hello->kind == PACKET_KIND_SWITCHES;
}

static bool
never(void *context)
{
    (void) context;
    return false;
}

Test(port, the_board_that_is_looked_for_is_found_by_its_hello_and_not_when_two_say_the_same)
{
    static struct source_there but;
    const struct source_wish wish = { .but = &but, .is_it = is_switches, .should_stop = never };
    int mat = plug(0), board = plug(1);
    say(mat, "#underfoot 1 kind=mat rate=50 rows=16 cols=8\n", 45);
    say(board, HELLO, sizeof HELLO - 1);
    cr_assert_eq(source_find(&source, &wish, &config), ERR_OK, "%s", message_english(&source.why));
    cr_expect_str_eq(source.path, "/dev/ttyUF1");
    source_close(&source);
    cr_expect_eq(but.n, 2, "both were asked");
    cr_expect_eq(source_find(&source, &wish, &config), ERR_GONE, "nobody is asked twice");
    but.n = 0;
    int twin = plug(2);
    say(board, HELLO, sizeof HELLO - 1);
    say(twin, HELLO, sizeof HELLO - 1);
    cr_expect_eq(source_find(&source, &wish, &config), ERR_GONE, "either may be it");
    cr_expect_eq(source.kind, SOURCE_NONE);
    close(mat);
    close(board);
    close(twin);
}

Test(port, a_named_port_that_is_not_there_says_which_ones_are)
{
    struct message other, why;
    message_say(&other, "run.rec is not there");
    message_say(&why, "/dev/ttyUF3 is not there");
    int first = plug(0), console = plug(1), second = plug(2);
    consoles = "ttyUF1\n";
    source_tell_there("/dev/ttyUF3", &why);
    cr_expect_str_eq(message_english(&why), "/dev/ttyUF3 is not there; there now: /dev/ttyUF0, /dev/ttyUF2");
    source_tell_there("run.rec", &other);
    cr_expect_str_eq(message_english(&other), "run.rec is not there");
    fake[0].is_there = fake[1].is_there = fake[2].is_there = false;
    message_say(&why, "");
    source_tell_there("/dev/ttyUF3", &why);
    cr_expect_str_eq(message_english(&why), "; no port is there now that could be a sensor: plug it in");
    close(first);
    close(console);
    close(second);
}

/* Computed: 11 bytes a name, 2 between. */
Test(port, names_that_do_not_fit_are_counted)
{
    static struct source_there there;
    char out[64];
    there.n = 4;
    for (int i = 0; i < there.n; i++)
        snprintf(there.path[i], sizeof there.path[i], "/dev/ttyUF%d", i);
    cr_expect_eq(source_names(&there, out, 64), 0);
    cr_expect_str_eq(out, "/dev/ttyUF0, /dev/ttyUF1, /dev/ttyUF2, /dev/ttyUF3");
    cr_expect_eq(source_names(&there, out, 50), 1);
    cr_expect_str_eq(out, "/dev/ttyUF0, /dev/ttyUF1, /dev/ttyUF2");
    memset(there.path[0], 'x', 60);
    there.path[0][60] = 0;
    cr_expect_eq(source_names(&there, out, 32), 4);
    cr_expect_str_eq(out, "");
    there.n = 0;
    cr_expect_eq(source_names(&there, out, sizeof out), 0);
    cr_expect_str_eq(out, "");
}
