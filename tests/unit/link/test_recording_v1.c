/* Recordings of version 1, which older visits have: their bytes come back with their times; a file cut at any byte
 * gives its whole chunks and says that it is cut; damage costs the chunk that it is in. */
#include "link/recording_v1.h"
#include "link/replay.h"
#include "link/source.h"
#include "wire/crc16.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static struct replay replay;
static FILE *made;
static char path[64];
static uint8_t file[70000];
static size_t file_len;

static void
new_path(void)
{
    strcpy(path, "/tmp/underfoot_capture_XXXXXX");
    int fd = mkstemp(path);
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

/* A chunk as version 1 wrote it: link/recording_v1.h. */
static void
put_chunk(const void *bytes, size_t len, int64_t t_us)
{
    uint8_t head[RECORDING_V1_CHUNK_HEAD] = { 0xC5, 0, (uint8_t) len, (uint8_t) (len >> 8) };
    uint16_t crc = CRC16_START;
    for (int i = 0; i < 8; i++)
        head[4 + i] = (uint8_t) (t_us >> (8 * i));
    for (size_t i = 0; i < sizeof head; i++)
        crc = crc16_add(crc, head[i]);
    for (size_t i = 0; i < len; i++)
        crc = crc16_add(crc, ((const uint8_t *) bytes)[i]);
    fwrite(head, 1, sizeof head, made);
    fwrite(bytes, 1, len, made);
    fputc(crc & 0xFF, made);
    fputc(crc >> 8, made);
}

/* Three chunks: 5 bytes, 1 byte, 3 bytes. */
static void
make(void)
{
    new_path();
    made = fopen(path, "wb");
    cr_assert_not_null(made);
    fputs("underfoot recording 1\nboard: mimic\nnote: two lines\n\n", made);
    put_chunk("hello", 5, 1);
    put_chunk("\0", 1, 2001);
    put_chunk("\n\n!", 3, 2501);
    fclose(made);
}

/* All bytes of the recording; how many chunks. */
static int
read_all(uint8_t *out, size_t *len)
{
    int n_chunks = 0, n;
    struct host_time arrived;
    *len = 0;
    while ((n = replay_read(&replay, out + *len, 100, 0, &arrived)) > 0) {
        *len += (size_t) n;
        n_chunks++;
    }
    cr_assert_eq(n, SOURCE_ENDED);
    return n_chunks;
}

Test(recording_v1, bytes_and_times_come_back_as_they_were)
{
    uint8_t got[64];
    struct host_time arrived;
    char value[64];
    make();
    cr_expect(recording_is_one(path));
    cr_assert_eq(replay_open(&replay, path, 0), ERR_OK, "%s", message_english(&replay.why));
    cr_expect(replay_note(&replay, "board", value, sizeof value));
    cr_expect_str_eq(value, "mimic");
    cr_expect(replay_note(&replay, "note", value, sizeof value));
    cr_expect_str_eq(value, "two lines");
    cr_expect_not(replay_note(&replay, "boar", value, sizeof value));
    cr_expect_not(replay_note(&replay, "board", value, 3));
    cr_expect_eq(replay_read(&replay, got, 3, 0, &arrived), 3, "less room than the chunk");
    cr_expect_eq(arrived.us, 1);
    cr_expect_eq(replay_read(&replay, got + 3, 60, 0, &arrived), 2);
    cr_expect_eq(arrived.us, 1);
    cr_expect_eq(replay_read(&replay, got + 5, 59, 0, &arrived), 1);
    cr_expect_eq(arrived.us, 2001);
    cr_expect_eq(replay_read(&replay, got + 6, 58, 0, &arrived), 3);
    cr_expect_eq(arrived.us, 2501);
    cr_expect_arr_eq(got, "hello\0\n\n!", 9);
    cr_expect_eq(replay_read(&replay, got, 10, 0, &arrived), SOURCE_ENDED);
    cr_expect_eq(replay_read(&replay, got, 10, 0, &arrived), SOURCE_ENDED);
    cr_expect_not(replay.recording.loss.is_cut);
    cr_expect_str_eq(message_english(&replay.why), "");
    replay_close(&replay);
    unlink(path);
}

Test(recording_v1, file_cut_at_every_byte_gives_its_whole_chunks_and_says_so)
{
    uint8_t got[64];
    size_t len;
    make();
    read_file();
    cr_assert_eq(replay_open(&replay, path, 0), ERR_OK);
    size_t header = replay.recording.head_len;
    replay_close(&replay);
    size_t ends[4] = { header, header + 19, header + 34, header + 51 }; /* 12 + n + 2 each */
    cr_assert_eq(file_len, ends[3]);
    for (size_t cut = 0; cut <= file_len; cut++) {
        write_file(cut);
        enum err err = replay_open(&replay, path, 0);
        if (cut < header) {
            cr_expect_eq(err, ERR_FORMAT, "cut at %zu", cut);
            cr_expect_neq(!message_is_none(&replay.why), 0);
            continue;
        }
        cr_assert_eq(err, ERR_OK, "cut at %zu: %s", cut, message_english(&replay.why));
        int n_whole = cut >= ends[3] ? 3 : cut >= ends[2] ? 2 : cut >= ends[1] ? 1 : 0;
        bool is_clean = cut == ends[n_whole];
        cr_expect_eq(read_all(got, &len), n_whole, "cut at %zu", cut);
        cr_expect_arr_eq(got, "hello\0\n\n!", len);
        cr_expect_eq(replay.recording.loss.is_cut, !is_clean, "cut at %zu", cut);
        cr_expect_eq(strstr(message_english(&replay.why), "was cut short") != NULL, !is_clean, "cut at %zu: %s", cut,
                     message_english(&replay.why));
        replay_close(&replay);
    }
    unlink(path);
}

Test(recording_v1, damage_in_any_byte_of_a_chunk_costs_that_chunk)
{
    uint8_t got[64];
    make();
    read_file();
    cr_assert_eq(replay_open(&replay, path, 0), ERR_OK);
    size_t header = replay.recording.head_len;
    replay_close(&replay);
    for (size_t at = header + 19; at < header + 34; at++) { /* the second chunk */
        file[at] ^= 0x10;
        write_file(file_len);
        cr_assert_eq(replay_open(&replay, path, 0), ERR_OK);
        struct host_time arrived;
        cr_expect_eq(replay_read(&replay, got, 64, 0, &arrived), 5);
        cr_expect_not(replay_take_gap(&replay), "nothing is missing before the first");
        cr_expect_eq(replay_read(&replay, got, 64, 0, &arrived), 3, "byte %zu", at - header - 19);
        cr_expect(replay_take_gap(&replay), "the third comes after a gap");
        cr_expect_not(replay_take_gap(&replay), "told once");
        cr_expect_arr_eq(got, "\n\n!", 3);
        cr_expect_eq(arrived.us, 2501);
        cr_expect_eq(replay_read(&replay, got, 64, 0, &arrived), SOURCE_ENDED);
        cr_expect(replay_has_lost(&replay));
        cr_expect_not(replay.recording.loss.is_cut);
        cr_expect_eq(replay.recording.loss.n_file_bytes, 15);
        cr_expect_not_null(strstr(message_english(&replay.why), "15 bytes were passed over"), "%s", message_english(&replay.why));
        replay_close(&replay);
        file[at] ^= 0x10;
    }
    unlink(path);
}

/* The file without the bytes from..to, or with n bytes of junk there. */
static void
write_with_hole(size_t from, size_t to, size_t n_junk)
{
    FILE *f = fopen(path, "wb");
    cr_assert_not_null(f);
    fwrite(file, 1, from, f);
    for (size_t i = 0; i < n_junk; i++)
        fputc(i % 5 == 0 ? 0xC5 : 0, f); /* marks everywhere, and heads that look right */
    fwrite(file + to, 1, file_len - to, f);
    fclose(f);
}

Test(recording_v1, bytes_cut_out_or_put_in_anywhere_cost_what_they_touch)
{
    uint8_t got[64];
    size_t len;
    make();
    read_file();
    size_t header = file_len - 51;
    for (size_t from = header; from < file_len - 17; from++)
        for (size_t n_out = 0; n_out < 20 && from + n_out <= file_len - 17; n_out++)
            for (size_t n_junk = n_out == 0; n_junk < 9000; n_junk = n_junk * 40 + 3) {
                write_with_hole(from, from + n_out, n_junk);
                cr_assert_eq(replay_open(&replay, path, 0), ERR_OK);
                int n = read_all(got, &len);
                bool may_be_a_chunk = n_junk == 0 && (n_out == 19 || n_out == 15); /* the wire's sequence shows that */
                cr_expect(n >= 1 && (replay_has_lost(&replay) || may_be_a_chunk), "%zu, %zu out, %zu in: %d chunks", from, n_out, n_junk, n);
                cr_expect(len >= 3 && memcmp(got + len - 3, "\n\n!", 3) == 0, "%zu, %zu out, %zu in: the last chunk is there",
                          from, n_out, n_junk);
                replay_close(&replay);
            }
    unlink(path);
}

Test(recording_v1, damaged_last_chunk_is_told_as_damage)
{
    uint8_t got[64];
    size_t len;
    make();
    read_file();
    file[file_len - 1] ^= 1;
    write_file(file_len);
    cr_assert_eq(replay_open(&replay, path, 0), ERR_OK);
    cr_expect_eq(read_all(got, &len), 2);
    cr_expect_not_null(strstr(message_english(&replay.why), "17 bytes were passed over"), "%s", message_english(&replay.why));
    replay_close(&replay);
    unlink(path);
}

Test(recording_v1, what_is_no_recording_is_refused_with_a_reason)
{
    static const struct {
        const char *text;
        enum err err;
        const char *reason;
    } rows[] = {
        { "", ERR_FORMAT, "is not a recording" },
        { "fz,copx\n1,2\n", ERR_FORMAT, "is not a recording" },
        { "underfoot recording x\n\n", ERR_FORMAT, "version is not a number" },
        { "underfoot recording 0\n\n", ERR_FORMAT, "version is not a number" },
        { "underfoot recording 3\n\n", ERR_UNSUPPORTED, "version 3" },
        { "underfoot recording 1\nboard: x\n", ERR_FORMAT, "ends inside the text" },
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        new_path();
        memcpy(file, rows[i].text, strlen(rows[i].text));
        write_file(strlen(rows[i].text));
        cr_expect_eq(replay_open(&replay, path, 0), rows[i].err, "row %zu", i);
        cr_expect_not_null(strstr(message_english(&replay.why), rows[i].reason), "row %zu: %s", i, message_english(&replay.why));
        unlink(path);
    }
    cr_expect_eq(replay_open(&replay, "/nowhere/x.rec", 0), ERR_GONE);
    cr_expect_not(recording_is_one("/nowhere/x.rec"));
    cr_expect_not(recording_is_one("/tmp"));
}

Test(recording_v1, paced_replay_gives_nothing_before_its_time)
{
    uint8_t got[64];
    struct host_time arrived;
    make();
    /* A thousandth of the pace: the second chunk, 2 ms later, is due in 2 s. */
    cr_assert_eq(replay_open(&replay, path, 0.001), ERR_OK);
    cr_expect_eq(replay_read(&replay, got, 64, 0, &arrived), 5, "the first is due at once");
    cr_expect_gt(arrived.us, 2501, "paced: this computer's clock");
    cr_expect_eq(replay_read(&replay, got, 64, 0, &arrived), 0);
    replay_close(&replay);
    unlink(path);
}
