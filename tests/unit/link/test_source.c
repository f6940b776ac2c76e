/* Sources by file descriptor and recordings through the one interface: bytes arrive as sent, the end and
 * the loss are told apart, and every refusal says what to do. */
#define _XOPEN_SOURCE 700
#include "link/fdsource.h"
#include "link/recording_writer.h"
#include "link/source.h"
#include "wire/wire.h"

#include <criterion/criterion.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define PATIENCE_MS 5000 /* a limit only for a failing test */

static struct source source;
static const struct source_config config = { .baud = 115200, .hello_wait_ms = 300 };
static uint8_t buf[256];
static struct host_time arrived;

/* A pseudo-terminal; the test holds the board's side. */
static int
open_board(char slave[64])
{
    int fd = posix_openpt(O_RDWR | O_NOCTTY);
    cr_assert(fd >= 0 && grantpt(fd) == 0 && unlockpt(fd) == 0);
    cr_assert_lt(strlen(ptsname(fd)), 64);
    strcpy(slave, ptsname(fd));
    return fd;
}

static void
temp_name(char path[40])
{
    strcpy(path, "/tmp/underfoot_source_XXXXXX");
    int fd = mkstemp(path);
    cr_assert(fd >= 0);
    close(fd);
}

Test(source, pseudo_terminal_passes_every_byte_value_unchanged)
{
    char slave[64];
    uint8_t all[256];
    int board = open_board(slave);
    cr_assert_eq(source_open(&source, slave, &config), ERR_OK, "%s", message_english(&source.why));
    cr_expect_eq(source.kind, SOURCE_FD);
    cr_expect(source_is_live(&source));
    for (int i = 0; i < 256; i++)
        all[i] = (uint8_t) i;
    cr_assert_eq(write(board, all, 256), 256);
    size_t len = 0;
    while (len < 256) {
        int n = source_read(&source, buf + len, 256 - len, PATIENCE_MS, &arrived);
        cr_assert_gt(n, 0);
        len += (size_t) n;
    }
    cr_expect_arr_eq(buf, all, 256, "no newline changed, no byte taken for a signal");
    cr_expect_gt(arrived.us, 0);
    cr_expect_eq(source_read(&source, buf, 256, 0, &arrived), 0, "nothing more, and that is no end");
    source_close(&source);
    source_close(&source);
    close(board);
}

Test(source, board_is_asked_for_its_hello_when_the_source_opens)
{
    char slave[64];
    struct wire_ask ask;
    bool is_asked = false;
    int board = open_board(slave);
    cr_assert_eq(source_open(&source, slave, &config), ERR_OK, "%s", message_english(&source.why));
    ssize_t n = read(board, buf, sizeof buf);
    wire_ask_init(&ask);
    for (ssize_t i = 0; i < n; i++)
        is_asked |= wire_ask_feed(&ask, buf[i]) == WIRE_ASK_HELLO;
    cr_expect(is_asked);
    source_close(&source);
    close(board);
}

Test(source, closed_pseudo_terminal_gives_its_last_bytes_and_is_gone)
{
    char slave[64];
    int board = open_board(slave);
    cr_assert_eq(source_open(&source, slave, &config), ERR_OK, "%s", message_english(&source.why));
    cr_assert_eq(write(board, "last", 4), 4);
    cr_expect_eq(source_read(&source, buf, 256, PATIENCE_MS, &arrived), 4);
    close(board);
    cr_expect_eq(source_read(&source, buf, 256, PATIENCE_MS, &arrived), SOURCE_GONE);
    cr_expect_not_null(strstr(message_english(&source.why), slave), "%s", message_english(&source.why));
    cr_expect_not_null(strstr(message_english(&source.why), "is gone"), "%s", message_english(&source.why));
    cr_expect_eq(source_write(&source, (const uint8_t *) "x", 1), ERR_GONE);
    source_close(&source);
    cr_expect_eq(source_read(&source, buf, 256, 0, &arrived), SOURCE_GONE, "a closed one is gone, too");
}

Test(source, board_that_does_not_read_never_blocks_the_writer)
{
    char slave[64];
    static const uint8_t junk[4096];
    int board = open_board(slave);
    cr_assert_eq(source_open(&source, slave, &config), ERR_OK, "%s", message_english(&source.why));
    for (int i = 0; i < 100; i++)
        cr_assert_eq(source_write(&source, junk, sizeof junk), ERR_OK);
    source_close(&source);
    close(board);
}

Test(source, plain_file_ends)
{
    char path[40];
    temp_name(path);
    FILE *f = fopen(path, "w");
    fputs("2000,1\n", f);
    fclose(f);
    cr_assert_eq(source_open(&source, path, &config), ERR_OK, "%s", message_english(&source.why));
    cr_expect_not(source_is_live(&source));
    cr_expect_eq(source_write(&source, (const uint8_t *) "x", 1), ERR_OK, "taken and dropped");
    cr_expect_eq(source_read(&source, buf, 256, PATIENCE_MS, &arrived), 7);
    cr_expect_eq(source_read(&source, buf, 256, PATIENCE_MS, &arrived), SOURCE_ENDED);
    source_close(&source);
    struct stat st;
    cr_expect(stat(path, &st) == 0 && st.st_size == 7, "the file is as it was");
    unlink(path);
}

/* Computed: read() gives 0 at a file's end and leaves errno as an earlier call left it. */
Test(source, a_files_end_is_told_whatever_error_came_before)
{
    char path[40];
    struct message why;
    int fd;
    bool is_file;
    temp_name(path);
    cr_assert_eq(fdsource_open(&fd, &is_file, path, &why), ERR_OK, "%s", message_english(&why));
    cr_expect(is_file);
    errno = EAGAIN;
    cr_expect_eq(fdsource_read(fd, is_file, path, buf, sizeof buf, 0, &why), SOURCE_ENDED);
    close(fd);
    unlink(path);
}

Test(source, pipe_is_gone_when_its_writer_leaves)
{
    char path[40];
    temp_name(path);
    unlink(path);
    cr_assert_eq(mkfifo(path, 0600), 0);
    cr_assert_eq(source_open(&source, path, &config), ERR_OK, "%s", message_english(&source.why));
    cr_expect_eq(source_read(&source, buf, 256, 0, &arrived), 0, "no writer yet");
    int writer = open(path, O_WRONLY);
    cr_assert_eq(write(writer, "abc", 3), 3);
    cr_expect_eq(source_read(&source, buf, 256, PATIENCE_MS, &arrived), 3);
    cr_expect_eq(source_read(&source, buf, 256, 0, &arrived), 0);
    close(writer);
    cr_expect_eq(source_read(&source, buf, 256, PATIENCE_MS, &arrived), SOURCE_GONE);
    source_close(&source);
    unlink(path);
}

Test(source, recording_is_told_by_its_first_line)
{
    static struct recording_writer writer;
    const struct recording_disc disc = recording_disc_default();
    const struct recording_head head = { .n_notes = 0 };
    char path[40];
    temp_name(path);
    unlink(path);
    cr_assert_eq(recording_writer_open(&writer, path, &head, &disc), ERR_OK);
    const off_t n_head = (off_t) writer.n_file_bytes;
    recording_writer_put(&writer, RECORDING_BYTES, "abc", 3, (struct host_time){ 77 });
    cr_assert_eq(recording_writer_close(&writer, NULL), ERR_OK);
    cr_assert_eq(truncate(path, n_head + 50), 0, "inside the frame that holds abc");
    cr_assert_eq(source_open(&source, path, &config), ERR_OK, "%s", message_english(&source.why));
    cr_expect_eq(source.kind, SOURCE_REPLAY);
    cr_expect_not(source_is_live(&source));
    cr_expect_eq(source_read(&source, buf, 256, 0, &arrived), SOURCE_ENDED);
    cr_expect_not_null(strstr(message_english(&source.why), "was cut short"), "%s", message_english(&source.why));
    source_close(&source);
    unlink(path);
}

Test(source, refusals_say_what_and_what_to_do)
{
    char path[40];
    struct source_config c = config;
    cr_expect_eq(source_open(&source, "/dev/ttyNOWHERE0", &c), ERR_GONE);
    cr_expect_not_null(strstr(message_english(&source.why), "/dev/ttyNOWHERE0 is not there"), "%s", message_english(&source.why));
    cr_expect_not_null(strstr(message_english(&source.why), "underfoot ports"), "%s", message_english(&source.why));
    cr_expect_eq(source_open(&source, "/tmp", &c), ERR_FORMAT);
    cr_expect_not_null(strstr(message_english(&source.why), "/tmp is a folder"), "%s", message_english(&source.why));
    char long_path[SOURCE_PATH_MAX + 10];
    memset(long_path, 'x', sizeof long_path);
    long_path[sizeof long_path - 1] = 0;
    cr_expect_eq(source_open(&source, long_path, &c), ERR_USAGE);
    temp_name(path);
    FILE *f = fopen(path, "w");
    fputs("underfoot recording 9\n\n", f);
    fclose(f);
    cr_expect_eq(source_open(&source, path, &c), ERR_UNSUPPORTED);
    cr_expect_not_null(strstr(message_english(&source.why), "version 9"), "%s", message_english(&source.why));
    unlink(path);
}

Test(source, complaint_tells_silence_from_garbage_from_an_unnamed_sensor)
{
    struct message why;
    struct source s = { .path = "/dev/x" };
    struct wire_health h = { 0 };
    cr_expect(source_complaint(&s, &h, &why));
    cr_expect_not_null(strstr(message_english(&why), "/dev/x sends nothing"), "%s", message_english(&why));
    h.n_bytes = 1000;
    cr_expect(source_complaint(&s, &h, &why));
    cr_expect_not_null(strstr(message_english(&why), "baud rate"), "%s", message_english(&why));
    h.n_before_hello = 5;
    cr_expect(source_complaint(&s, &h, &why));
    cr_expect_not_null(strstr(message_english(&why), "never says what it is"), "%s", message_english(&why));
    h.n_packets = 1;
    cr_expect_not(source_complaint(&s, &h, &why));
    cr_expect_str_eq(message_english(&why), "");
}
