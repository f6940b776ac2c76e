/* Recordings, version 2: what was put comes back item by item with its time and its byte; a file cut at any byte gives
 * its whole seconds and says that it is cut; a flipped bit never gives a wrong item and is told; nothing is overwritten.
 * Expected values: what the test itself wrote. */
#include "link/recording_frame.h"
#include "link/recording_writer.h"

#include <criterion/criterion.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static struct recording_writer writer;
static struct recording recording;
static char path[64];
static uint8_t file[70000];
static size_t file_len;

static void
new_path(void)
{
    strcpy(path, "/tmp/underfoot_recording_XXXXXX");
    const int fd = mkstemp(path);
    cr_assert(fd >= 0);
    close(fd);
    unlink(path);
}

static void
read_file(void)
{
    FILE *f = fopen(path, "rb");
    cr_assert_not_null(f);
    file_len = fread(file, 1, sizeof file, f);
    fclose(f);
}

static void
write_file(size_t len)
{
    FILE *f = fopen(path, "wb");
    cr_assert_not_null(f);
    cr_assert_eq(fwrite(file, 1, len, f), len);
    fclose(f);
}

static const struct recording_note NOTES[] = { { "board", "mimic" }, { "note", "two\nlines" } };
static const struct recording_text TEXTS[] = { { "profile", "[sensor]\nkind = mat\n\ntext plan 3\n", 34 },
                                               { "plan", "", 0 } };
static const struct recording_head HEAD = { NOTES, 2, TEXTS, 2 };

/* What is written: three frames of items. offset: bytes of the sensor before. */
static const struct row {
    int frame;
    enum recording_kind kind;
    int64_t us;
    uint64_t offset;
    const char *data;
} ROWS[] = {
    { 0, RECORDING_TICK, 1000000, 0, "" },           { 0, RECORDING_BYTES, 1002000, 0, "hello" },
    { 0, RECORDING_COMMAND, 1002000, 5, "speed 2.8" }, { 0, RECORDING_BYTES, 1003000, 5, "you" },
    { 1, RECORDING_GONE, 2500000, 8, "pulled" },     { 1, RECORDING_TICK, 2400000, 8, "" },
    { 1, RECORDING_BACK, 2600000, 8, "" },           { 1, RECORDING_GAP, 2600000, 8, "" },
    { 1, RECORDING_BYTES, 2600001, 8, "!" },         { 2, RECORDING_MARK, 3600000, 9, "m" },
    { 2, RECORDING_BYTES, 3700000, 9, "last" },
};
#define N_ROWS (sizeof ROWS / sizeof *ROWS)

static size_t frame_end[4]; /* byte in the file: of the head and its copy, then of each frame of items */

static void
make(const char *early)
{
    const struct recording_disc disc = recording_disc_default();
    new_path();
    cr_assert_eq(recording_writer_open(&writer, path, &HEAD, &disc), ERR_OK, "%s", message_english(&writer.why));
    frame_end[0] = (size_t) writer.n_file_bytes;
    for (size_t i = 0; i < N_ROWS; i++) {
        cr_assert_eq(recording_writer_put(&writer, ROWS[i].kind, ROWS[i].data, strlen(ROWS[i].data),
                                          (struct host_time){ ROWS[i].us }), ERR_OK);
        if (i + 1 == N_ROWS || ROWS[i + 1].frame != ROWS[i].frame)
            cr_assert_eq(recording_writer_flush(&writer), ERR_OK);
        frame_end[ROWS[i].frame + 1] = (size_t) writer.n_file_bytes;
    }
    cr_assert_eq(recording_writer_close(&writer, early), ERR_OK);
    cr_assert_eq(recording_writer_close(&writer, early), ERR_OK, "closing twice");
}

static bool
is_row(const struct recording_item *item, const struct row *r)
{
    return item->kind == r->kind && item->arrived.us == r->us && item->offset == r->offset &&
           item->len == strlen(r->data) && memcmp(item->data, r->data, item->len) == 0;
}

/* Reads on: the frames that came, as bits. Each item must be a row, in order, and frames whole; what is missing in
 * between must have its gap. */
static unsigned
read_rows(const char *what)
{
    struct recording_item item;
    unsigned frames = 0;
    size_t next = 0;
    bool has_gap = false;
    while (recording_next(&recording, &item)) {
        size_t i = next;
        while (i < N_ROWS && !is_row(&item, &ROWS[i]))
            i++;
        if (i == N_ROWS) {
            cr_assert(item.kind == RECORDING_GAP && item.len == 0, "%s: an item that nobody wrote", what);
            has_gap = true;
            continue;
        }
        cr_assert(i == next || (has_gap && ROWS[i].frame != ROWS[i - 1].frame), "%s: row %zu after %zu", what, i, next);
        has_gap = false;
        next = i + 1;
        frames |= 1U << ROWS[i].frame;
    }
    cr_assert(next == 0 || next == N_ROWS || ROWS[next].frame != ROWS[next - 1].frame, "%s: half a frame", what);
    return frames;
}

Test(recording, all_that_was_put_comes_back_as_it_was)
{
    char value[64];
    size_t len;
    struct stat st;
    make(NULL);
    cr_expect(stat(path, &st) == 0 && (st.st_mode & 0777) == 0600, "only its owner may read it");
    cr_expect(recording_is_one(path));
    cr_assert_eq(recording_open(&recording, path), ERR_OK, "%s", message_english(&recording.why));
    cr_expect(recording_note(&recording, "board", value, sizeof value));
    cr_expect_str_eq(value, "mimic");
    cr_expect(recording_note(&recording, "note", value, sizeof value));
    cr_expect_str_eq(value, "two lines");
    cr_expect_not(recording_note(&recording, "boar", value, sizeof value));
    cr_expect_not(recording_note(&recording, "board", value, 3));
    cr_expect_not(recording_note(&recording, "kind = mat", value, sizeof value), "a text is no note");
    const char *text = recording_text(&recording, "profile", &len);
    cr_assert_not_null(text);
    cr_expect(len == 34 && memcmp(text, TEXTS[0].text, 34) == 0);
    cr_assert_not_null(recording_text(&recording, "plan", &len));
    cr_expect_eq(len, 0, "the one with a length, not the one in the profile");
    cr_expect_null(recording_text(&recording, "pla", &len));
    cr_expect_eq(read_rows("whole"), 7);
    cr_expect_not(recording_has_lost(&recording));
    cr_expect_str_eq(message_english(&recording.why), "");
    struct recording_item item;
    cr_expect_eq(recording_next(&recording, &item), 0, "the end stays");
    recording_close(&recording);
    recording_close(&recording);
    cr_expect_eq(recording_next(&recording, &item), 0);
    unlink(path);
}

Test(recording, cut_at_every_byte_it_gives_its_whole_frames_and_says_so)
{
    make(NULL);
    read_file();
    const size_t whole = file_len;
    for (size_t cut = 0; cut < whole; cut++) {
        char what[40];
        snprintf(what, sizeof what, "cut at %zu", cut);
        write_file(cut);
        const enum err err = recording_open(&recording, path);
        cr_assert(err == ERR_OK || (cut < frame_end[0] && !message_is_none(&recording.why)), "%s: %s", what, message_english(&recording.why));
        if (err != ERR_OK)
            continue;
        unsigned expected = 0;
        for (int i = 0; i < 3; i++)
            expected |= cut >= frame_end[i + 1] ? 1U << i : 0;
        cr_expect_eq(read_rows(what), expected, "%s", what);
        cr_expect(recording.loss.is_cut && recording_has_lost(&recording), "%s", what);
        cr_expect_not_null(strstr(message_english(&recording.why), "cut"), "%s: %s", what, message_english(&recording.why));
        recording_close(&recording);
    }
    unlink(path);
}

/* One frame, or the one that it is in, is what a byte may cost. */
Test(recording, a_flip_of_every_byte_never_gives_a_wrong_item_and_is_told)
{
    make(NULL);
    read_file();
    for (size_t at = 0; at < file_len; at++)
        for (int bit = 1; bit < 256; bit *= 4) {
            char what[40];
            snprintf(what, sizeof what, "byte %zu, %d", at, bit);
            file[at] ^= (uint8_t) bit;
            write_file(file_len);
            file[at] ^= (uint8_t) bit;
            const enum err err = recording_open(&recording, path);
            if (err != ERR_OK) {
                cr_expect(at < sizeof RECORDING_MAGIC + 1 && !message_is_none(&recording.why), "%s: only the first line is there once: %s",
                          what, message_english(&recording.why));
                continue;
            }
            unsigned expected = 7;
            for (int i = 0; i < 3; i++)
                if (at >= frame_end[i] && at < frame_end[i + 1])
                    expected &= ~(1U << i);
            const bool is_v1 = recording.version == 1;
            cr_expect_eq(read_rows(what), is_v1 ? 0 : expected, "%s", what);
            cr_expect(!message_is_none(&recording.why), "%s: not told", what);
            cr_expect(is_v1 || expected == 7 || (recording.loss.n_frames == 1 && recording_has_lost(&recording)), "%s: %s",
                      what, message_english(&recording.why));
            recording_close(&recording);
        }
    unlink(path);
}

Test(recording, the_bytes_of_a_lost_frame_are_counted)
{
    make(NULL);
    read_file();
    file[frame_end[0] + RECORDING_FRAME_HEAD_LEN + 3] ^= 1; /* in the first frame of items, which has 8 bytes */
    write_file(file_len);
    cr_assert_eq(recording_open(&recording, path), ERR_OK);
    cr_expect_eq(read_rows("flipped"), 6);
    cr_expect_eq(recording.loss.n_device_bytes, 8);
    cr_expect_eq(recording.loss.n_places, 1);
    cr_expect_eq(recording.loss.first_at, (int64_t) frame_end[0]);
    cr_expect_not(recording.loss.is_cut);
    recording_close(&recording);
    unlink(path);
}

Test(recording, a_frame_twice_or_of_another_recording_gives_nothing)
{
    make(NULL);
    read_file();
    static uint8_t again[2000];
    const size_t len = frame_end[1] - frame_end[0];
    memcpy(again, file + frame_end[0], len);
    memmove(file + frame_end[1] + len, file + frame_end[1], file_len - frame_end[1]);
    memcpy(file + frame_end[1], again, len);
    write_file(file_len + len);
    cr_assert_eq(recording_open(&recording, path), ERR_OK);
    cr_expect_eq(read_rows("twice"), 7);
    cr_expect_eq(recording.loss.n_file_bytes, (int64_t) len);
    recording_close(&recording);
    struct recording_frame f;
    cr_assert(recording_frame_read(file + frame_end[1], &f));
    f.stamp++;
    recording_frame_write(&f, file + frame_end[1]);
    write_file(file_len + len);
    cr_assert_eq(recording_open(&recording, path), ERR_OK);
    cr_expect_eq(read_rows("another's"), 7);
    recording_close(&recording);
    unlink(path);
}

Test(recording, one_that_was_ended_early_says_why)
{
    make("the disc is full");
    cr_assert_eq(recording_open(&recording, path), ERR_OK);
    cr_expect_eq(read_rows("early"), 7);
    cr_expect(recording.loss.is_ended_early && recording_has_lost(&recording) && !recording.loss.is_cut);
    cr_expect_not_null(strstr(message_english(&recording.why), "the disc is full"), "%s", message_english(&recording.why));
    recording_close(&recording);
    unlink(path);
}

Test(recording, a_long_reading_is_split_and_comes_back_whole)
{
    static uint8_t bytes[20 * RECORDING_ITEM_MAX + 5], got[sizeof bytes];
    const struct recording_disc disc = recording_disc_default();
    struct recording_item item;
    size_t len = 0;
    new_path();
    srand(5);
    for (size_t i = 0; i < sizeof bytes; i++)
        bytes[i] = (uint8_t) (rand() >> 7); /* as good as nothing can be packed */
    cr_assert_eq(recording_writer_open(&writer, path, &HEAD, &disc), ERR_OK);
    cr_assert_eq(recording_writer_put(&writer, RECORDING_BYTES, bytes, sizeof bytes, (struct host_time){ 5 }), ERR_OK);
    cr_assert_eq(recording_writer_close(&writer, NULL), ERR_OK);
    cr_assert_eq(recording_open(&recording, path), ERR_OK);
    for (; recording_next(&recording, &item); len += item.len) {
        cr_assert(item.kind == RECORDING_BYTES && item.offset == len && item.arrived.us == 5 && item.len <= sizeof got - len);
        memcpy(got + len, item.data, item.len);
    }
    cr_expect_eq(len, sizeof bytes);
    cr_expect_arr_eq(got, bytes, sizeof bytes);
    cr_expect_not(recording_has_lost(&recording), "%s", message_english(&recording.why));
    recording_close(&recording);
    unlink(path);
}

Test(recording, existing_file_is_never_overwritten)
{
    const struct recording_disc disc = recording_disc_default();
    make(NULL);
    read_file();
    const size_t len = file_len;
    cr_expect_eq(recording_writer_open(&writer, path, &HEAD, &disc), ERR_OS);
    cr_expect_not_null(strstr(message_english(&writer.why), "is not overwritten"), "%s", message_english(&writer.why));
    read_file();
    cr_expect_eq(file_len, len);
    unlink(path);
    cr_expect_eq(recording_writer_open(&writer, "/nowhere/at/all", &HEAD, &disc), ERR_OS);
    cr_expect_not_null(strstr(message_english(&writer.why), "/nowhere/at/all"));
}

/* A disc that takes so many bytes in all, in small pieces, as a full one or a limit on file size does. */
static size_t room;

static ssize_t
write_little(void *context, int fd, const void *bytes, size_t len)
{
    (void) context;
    if (room == 0) {
        errno = ENOSPC;
        return -1;
    }
    size_t n = len < 7 ? len : 7;
    n = n < room ? n : room;
    room -= n;
    return write(fd, bytes, n);
}

static int
sync_nothing(void *context, int fd)
{
    (void) context;
    (void) fd;
    return 0;
}

Test(recording, a_disc_that_fills_at_any_byte_leaves_whole_frames)
{
    struct recording_disc disc = recording_disc_default();
    disc.write = write_little;
    disc.sync = sync_nothing; /* a thousand recordings */
    make(NULL);
    read_file();
    unlink(path);
    const size_t whole = file_len;
    for (size_t n = 0; n < whole; n++) {
        char what[40];
        snprintf(what, sizeof what, "room for %zu", n);
        room = n;
        const enum err err = recording_writer_open(&writer, path, &HEAD, &disc);
        cr_assert_eq(err == ERR_OK, n >= frame_end[0], "%s: %s", what, message_english(&writer.why));
        if (err != ERR_OK) {
            cr_expect_neq(access(path, F_OK), 0, "%s: half a head is left", what);
            continue;
        }
        for (size_t i = 0; i < N_ROWS; i++) {
            (void) recording_writer_put(&writer, ROWS[i].kind, ROWS[i].data, strlen(ROWS[i].data),
                                        (struct host_time){ ROWS[i].us });
            if (i + 1 == N_ROWS || ROWS[i + 1].frame != ROWS[i].frame)
                (void) recording_writer_flush(&writer);
        }
        cr_expect_eq(recording_writer_close(&writer, NULL), ERR_OS, "%s", what);
        cr_expect_not_null(strstr(message_english(&writer.why), "No space left"), "%s: %s", what, message_english(&writer.why));
        unsigned expected = 0;
        for (int i = 0; i < 3; i++)
            expected |= n >= frame_end[i + 1] ? 1U << i : 0;
        struct stat st;
        cr_assert_eq(stat(path, &st), 0);
        cr_expect_eq((size_t) st.st_size, frame_end[expected == 7 ? 3 : expected == 3 ? 2 : expected], "%s: a cut piece", what);
        cr_assert_eq(recording_open(&recording, path), ERR_OK);
        cr_expect_eq(read_rows(what), expected, "%s", what);
        cr_expect(recording.loss.is_cut, "%s", what);
        recording_close(&recording);
        unlink(path);
    }
}

Test(recording, what_is_no_recording_is_refused_with_a_reason)
{
    static const struct {
        const char *text;
        enum err err;
        const char *reason;
    } rows[] = {
        { "", ERR_FORMAT, "is not a recording" },
        { "underfoot recording 2\n", ERR_FORMAT, "cut inside its head" },
        { "underfoot recording 2\nhead: ffffffff 00000000\n", ERR_FORMAT, "cut inside its head" },
        { "underfoot recording 2\nhead: 0000000x 00000000\n", ERR_FORMAT, "cut inside its head" },
        { "underfoot recording 2\nhead: 00000000 00000000\n", ERR_FORMAT, "has no whole head" },
        { "underfoot recording 3\n\n", ERR_UNSUPPORTED, "version 3" },
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        new_path();
        memcpy(file, rows[i].text, strlen(rows[i].text));
        write_file(strlen(rows[i].text));
        cr_expect_eq(recording_open(&recording, path), rows[i].err, "row %zu", i);
        cr_expect_not_null(strstr(message_english(&recording.why), rows[i].reason), "row %zu: %s", i, message_english(&recording.why));
        unlink(path);
    }
    cr_expect_eq(recording_open(&recording, "/nowhere/x.rec"), ERR_GONE);
}

/* A pipe that nobody writes to would keep a plain opening waiting for ever. */
Test(recording, a_pipe_or_a_folder_is_refused_without_waiting, .timeout = 500)
{
    const struct recording_disc disc = recording_disc_default();
    new_path();
    cr_assert_eq(mkfifo(path, 0600), 0);
    cr_expect_not(recording_is_one(path));
    cr_expect_eq(recording_open(&recording, path), ERR_FORMAT);
    cr_expect_not_null(strstr(message_english(&recording.why), "a folder, a pipe or a device"), "%s", message_english(&recording.why));
    cr_expect_eq(recording_writer_open(&writer, path, &HEAD, &disc), ERR_OS);
    unlink(path);
    cr_assert_eq(mkdir(path, 0700), 0);
    cr_expect_not(recording_is_one(path));
    cr_expect_eq(recording_open(&recording, path), ERR_FORMAT);
    cr_expect_eq(recording_writer_open(&writer, path, &HEAD, &disc), ERR_OS);
    rmdir(path);
}

Test(recording, what_it_begins_with_may_be_long_and_not_too_long)
{
    static char long_text[RECORDING_HEAD_MAX];
    const struct recording_disc disc = recording_disc_default();
    struct recording_text text = { "profile", long_text, RECORDING_HEAD_MAX };
    const struct recording_head head = { .texts = &text, .n_texts = 1 };
    size_t len;
    memset(long_text, 'x', sizeof long_text);
    new_path();
    cr_expect_eq(recording_writer_open(&writer, path, &head, &disc), ERR_USAGE);
    cr_expect_not_null(strstr(message_english(&writer.why), "over 262144 bytes"), "%s", message_english(&writer.why));
    cr_expect_neq(access(path, F_OK), 0);
    text.len = 200000;
    cr_assert_eq(recording_writer_open(&writer, path, &head, &disc), ERR_OK, "%s", message_english(&writer.why));
    recording_writer_close(&writer, NULL);
    cr_assert_eq(recording_open(&recording, path), ERR_OK);
    cr_assert_not_null(recording_text(&recording, "profile", &len));
    cr_expect_eq(len, 200000);
    recording_close(&recording);
    unlink(path);
}

/* Read: 0xCBF43926, the check value of CRC-32/ISO-HDLC in the catalogue named in recording_frame.h. */
Test(recording, the_checksum_is_the_published_one)
{
    cr_expect_eq(recording_crc32("123456789", 9), 0xCBF43926);
}

/* A frame that is whole and holds what is no item, as one of a later version might. Expected: the test's own rows. */
Test(recording, a_whole_frame_without_items_is_one_gap_and_is_told_as_lost)
{
    const struct recording_disc disc = recording_disc_default();
    struct recording_item item;
    new_path();
    cr_assert_eq(recording_writer_open(&writer, path, &HEAD, &disc), ERR_OK, "%s", message_english(&writer.why));
    for (int frame = 0; frame < 3; frame++) {
        const enum recording_kind kind = frame == 1 ? RECORDING_N_KINDS : RECORDING_MARK;
        cr_assert_eq(recording_writer_put(&writer, kind, "m", 1, (struct host_time){ 1000000 * (frame + 1) }), ERR_OK);
        cr_assert_eq(recording_writer_flush(&writer), ERR_OK);
    }
    cr_assert_eq(recording_writer_close(&writer, NULL), ERR_OK);
    cr_assert_eq(recording_open(&recording, path), ERR_OK, "%s", message_english(&recording.why));
    cr_expect_not(recording.loss.is_head_damaged, "the head stands where it belongs, and not only in its copy");
    for (int frame = 0; frame < 3; frame++) {
        cr_assert_eq(recording_next(&recording, &item), 1);
        cr_expect_eq(item.kind, frame == 1 ? RECORDING_GAP : RECORDING_MARK);
        cr_expect_eq(item.arrived.us, 1000000 * (frame + 1));
    }
    cr_expect_eq(recording_next(&recording, &item), 0);
    cr_expect_eq(recording.loss.n_places, 1);
    cr_expect(recording_has_lost(&recording));
    cr_expect_not_null(strstr(message_english(&recording.why), "is damaged"), "%s", message_english(&recording.why));
    recording_close(&recording);
    unlink(path);
}

/* Computed by hand from the layout in recording_frame.h. What stands behind the bytes is there, and is not theirs. */
Test(recording, an_items_head_is_read_from_its_own_bytes_alone)
{
    static const struct {
        const char *what;
        uint8_t bytes[16];
        size_t len, n_head;
        int64_t since_us;
    } CASES[] = {
        { "no byte", { RECORDING_MARK, 0, 0 }, 0, 0, 0 },
        { "a kind alone", { RECORDING_MARK, 0, 0 }, 1, 0, 0 },
        { "a time whose end is cut", { RECORDING_MARK, 0x80, 0x01, 0x00 }, 2, 0, 0 },
        { "a time without a length", { RECORDING_MARK, 0x80, 0x01, 0x00 }, 3, 0, 0 },
        { "a whole one: 64 us, no bytes", { RECORDING_MARK, 0x80, 0x01, 0x00 }, 4, 4, 64 },
        { "a kind that nobody knows", { RECORDING_N_KINDS, 0, 0 }, 3, 0, 0 },
        { "a time of over ten sevens",
          { RECORDING_MARK, 0x80, 0x80, 0x80, 0x80, 0x80, 0x80, 0x80, 0x80, 0x80, 0x80, 0x00, 0x00 }, 13, 0, 0 },
    };
    for (size_t i = 0; i < sizeof CASES / sizeof *CASES; i++) {
        enum recording_kind kind = RECORDING_GAP;
        int64_t since_us = 0;
        size_t payload_len = 0;
        cr_expect_eq(recording_item_read(CASES[i].bytes, CASES[i].len, &kind, &since_us, &payload_len), CASES[i].n_head,
                     "%s", CASES[i].what);
        cr_expect_eq(since_us, CASES[i].since_us, "%s", CASES[i].what);
    }
}
