/* recording.c - a recording run once more: file, frames, items, commands, what it began with, bytes to verdicts.
 *
 *      first byte 0   the rest is the file as it stands
 *                 1   a head, ended by a 0, then one frame of items as bytes: marks, lengths and checksums are put on
 *                 2   a head, ended by a 0, then items (kind, milliseconds, length u16, bytes), then, at the end of the
 *                     file, one byte of it is changed
 * A head is lines "name: value", an empty line, then the text of the profile up to a line of its own "====", and the
 * coach's. */
#include "fuzz.h"
#include "link/recording_frame.h"
#include "link/recording_writer.h"
#include "visit/rerun.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <zstd.h>

#define N_NOTES 24

struct head {
    char text[8192];
    struct recording_note note[N_NOTES];
    struct recording_text part[2];
    struct recording_head head;
};

static void
split_head(struct head *h, const uint8_t *bytes, size_t len)
{
    memset(h, 0, sizeof *h);
    memcpy(h->text, bytes, len < sizeof h->text ? len : sizeof h->text - 1);
    char *at = h->text;
    while (h->head.n_notes < N_NOTES && *at && *at != '\n') {
        char *end = strchr(at, '\n'), *colon = strchr(at, ':');
        if (end != NULL)
            *end = '\0';
        if (colon == NULL || (end != NULL && colon > end))
            colon = at + strlen(at);
        else
            *colon++ = '\0';
        h->note[h->head.n_notes++] = (struct recording_note){ at, *colon == ' ' ? colon + 1 : colon };
        at = end ? end + 1 : colon + strlen(colon);
    }
    if (*at == '\n')
        at++;
    char *coach = strstr(at, "====\n");
    const size_t n_profile = coach ? (size_t) (coach - at) : strlen(at);
    if (n_profile > 0)
        h->part[h->head.n_texts++] = (struct recording_text){ "profile", at, n_profile };
    if (coach != NULL)
        h->part[h->head.n_texts++] = (struct recording_text){ "coach", coach + 5, strlen(coach + 5) };
    h->head.notes = h->note;
    h->head.texts = h->part;
}

/* A frame of those bytes behind what the writer wrote. */
static void
append_frame(const char *path, const struct recording_writer *w, const uint8_t *plain, size_t len)
{
    static uint8_t packed[1 << 18];
    uint8_t head[RECORDING_FRAME_HEAD_LEN];
    const size_t n = ZSTD_compress(packed, sizeof packed, plain, len, 1);
    if (ZSTD_isError(n))
        return;
    const struct recording_frame f = { .kind = RECORDING_FRAME_ITEMS, .index = w->frame_index, .stamp = w->stamp,
                                       .packed_len = (uint32_t) n, .plain_len = (uint32_t) len,
                                       .packed_crc = recording_crc32(packed, n), .time = { 1000 } };
    recording_frame_write(&f, head);
    FILE *file = fopen(path, "ab");
    fuzz_must(file != NULL, "a file of our own can't be opened");
    fwrite(head, 1, sizeof head, file);
    fwrite(packed, 1, n, file);
    fclose(file);
}

static void
put_items(struct recording_writer *w, struct fuzz_input *in)
{
    int64_t now_us = 1;
    while (in->left > 4) {
        const unsigned kind = fuzz_u8(in) % RECORDING_N_KINDS;
        now_us += INT64_C(1000) * fuzz_u8(in);
        size_t len = fuzz_u16(in);
        const uint8_t *bytes = fuzz_take(in, &len);
        recording_writer_put(w, (enum recording_kind) kind, bytes, len, (struct host_time){ now_us });
    }
}

static void
change_byte(const char *path, unsigned place, uint8_t by)
{
    FILE *f = fopen(path, "r+b");
    struct stat st;
    if (f == NULL || fstat(fileno(f), &st) != 0 || by == 0) {
        if (f != NULL)
            fclose(f);
        return;
    }
    fseek(f, (long) (place % (unsigned) st.st_size), SEEK_SET);
    const int was = fgetc(f);
    fseek(f, -1, SEEK_CUR);
    fputc(was ^ by, f);
    fclose(f);
}

static bool
make(const char *path, const uint8_t *data, size_t size)
{
    static struct head h;
    static struct recording_writer w;
    const struct recording_disc disc = recording_disc_default();
    const uint8_t *end = memchr(data + 1, 0, size - 1);
    const size_t n_head = end ? (size_t) (end - data - 1) : size - 1;
    struct fuzz_input in = { data + 1 + n_head, size - 1 - n_head };
    fuzz_u8(&in);
    split_head(&h, data + 1, n_head);
    unlink(path);
    if (recording_writer_open(&w, path, &h.head, &disc) != ERR_OK)
        return false;
    if (data[0] == 2) {
        const unsigned place = fuzz_u16(&in);
        const uint8_t by = fuzz_u8(&in);
        put_items(&w, &in);
        recording_writer_close(&w, NULL);
        change_byte(path, place, by);
        return true;
    }
    recording_writer_flush(&w);
    append_frame(path, &w, in.at, in.left);
    recording_writer_close(&w, NULL);
    return true;
}

static void
on_step(void *context, const struct coached_step *step)
{
    fuzz_must(step->step.toe_off.us > step->step.touchdown.us, "a contact ends before it begins");
    ++*(int *) context;
}

int
LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static struct rerun r;
    char path[FUZZ_PATH_MAX];
    int n_steps = 0;
    if (size == 0)
        return 0;
    if (data[0] == 0)
        fuzz_file(path, "visit.rec", data + 1, size - 1);
    else {
        fuzz_path(path, "visit.rec");
        if (!make(path, data, size))
            return 0;
    }
    struct rerun_config c = rerun_config_default();
    c.session.on_step = on_step;
    c.session.context = &n_steps;
    memset(&r, 0, sizeof r);
    rerun_file(&r, path, &c);
    rerun_close(&r);
    return 0;
}
