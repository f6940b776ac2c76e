/* zstd's static workspace stands in the part of its header for which only this macro opens the door. */
#define ZSTD_STATIC_LINKING_ONLY
#include "link/recording_writer.h"

#include "base/fileio.h"
#include "base/str.h"
#include "link/recording_frame.h"

#include <assert.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/statvfs.h>
#include <unistd.h>
#include <zstd.h>

#define PACK_LEVEL 3
#define HEAD_LINE "head: %08zx %08x\n"

/* ------------------------------------------------------------------ the disc */

static ssize_t
disc_write(void *context, int fd, const void *bytes, size_t len)
{
    (void) context;
    return write(fd, bytes, len);
}

static int
disc_sync(void *context, int fd)
{
    (void) context;
    return fdatasync(fd);
}

static int64_t
disc_room_bytes(void *context, int fd)
{
    struct statvfs v;
    (void) context;
    if (fstatvfs(fd, &v) != 0)
        return -1;
    return (int64_t) v.f_bavail * (int64_t) v.f_frsize;
}

struct recording_disc
recording_disc_default(void)
{
    return (struct recording_disc){ disc_write, disc_sync, disc_room_bytes, NULL };
}

static enum err
fail(struct recording_writer *w, int number)
{
    w->has_failed = true;
    w->failed_by = number;
    message_tell(&w->why, MESSAGE_RECORDING_NOT_WRITTEN, message_path(w->path), message_errno(number));
    return ERR_OS;
}

/* All of it or nothing. */
static enum err
append(struct recording_writer *w, const void *bytes, size_t len)
{
    size_t done = 0;
    while (done < len) {
        const ssize_t n = w->disc.write(w->disc.context, w->fd, (const char *) bytes + done, len - done);
        if (n < 0 && errno == EINTR)
            continue;
        if (n <= 0) {
            const enum err err = fail(w, n < 0 ? errno : ENOSPC);
            if (done > 0 && ftruncate(w->fd, (off_t) w->n_file_bytes) != 0)
                message_tell(&w->why, MESSAGE_RECORDING_NOT_WRITTEN_AND_CUT, message_path(w->path), message_errno(w->failed_by));
            return err;
        }
        done += (size_t) n;
    }
    w->n_file_bytes += len;
    return ERR_OK;
}

/* What can't be synced (a file system that knows no such thing) is not our failure. */
static enum err
bring_to_disc(struct recording_writer *w)
{
    return w->disc.sync(w->disc.context, w->fd) == 0 || errno == EINVAL || errno == ENOSYS ? ERR_OK : fail(w, errno);
}

/* The name of a new file lies in its folder, and is on disc when that is. */
static void
sync_folder(const struct recording_writer *w)
{
    char folder[RECORDING_PATH_MAX];
    fileio_folder_of(folder, sizeof folder, w->path);
    const int fd = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (fd < 0)
        return;
    (void) w->disc.sync(w->disc.context, fd);
    close(fd);
}

/* ------------------------------------------------------------------ frames */

static enum err
write_frame(struct recording_writer *w, enum recording_frame_kind kind, const void *plain, size_t plain_len)
{
    struct recording_frame f = { .kind = kind, .index = w->frame_index, .stamp = w->stamp, .offset = w->frame_offset,
                                 .time = w->frame_begun, .plain_len = (uint32_t) plain_len };
    const size_t packed_len = ZSTD_compress2(w->packer, w->packed + RECORDING_FRAME_HEAD_LEN, RECORDING_FRAME_PACKED_MAX,
                                             plain, plain_len);
    if (ZSTD_isError(packed_len)) {
        w->has_failed = true;
        message_tell(&w->why, MESSAGE_RECORDING_NOT_PACKED, message_path(w->path), ZSTD_getErrorName(packed_len));
        return ERR_OS;
    }
    f.packed_len = (uint32_t) packed_len;
    f.packed_crc = recording_crc32(w->packed + RECORDING_FRAME_HEAD_LEN, packed_len);
    recording_frame_write(&f, w->packed);
    enum err err = append(w, w->packed, RECORDING_FRAME_HEAD_LEN + packed_len);
    if (err == ERR_OK)
        err = bring_to_disc(w);
    w->frame_index++;
    return err;
}

enum err
recording_writer_flush(struct recording_writer *w)
{
    if (w->has_failed)
        return ERR_OS;
    if (w->plain_len == 0)
        return ERR_OK;
    const enum err err = write_frame(w, RECORDING_FRAME_ITEMS, w->plain, w->plain_len);
    w->plain_len = 0;
    w->frame_offset = w->n_device_bytes;
    return err;
}

static void
put_item(struct recording_writer *w, enum recording_kind kind, const void *data, size_t len, struct host_time arrived)
{
    if (w->plain_len == 0)
        w->frame_begun = w->newest = arrived;
    w->plain_len += recording_item_write(w->plain + w->plain_len, kind, units_host_since_us(arrived, w->newest), len);
    if (len > 0)
        memcpy(w->plain + w->plain_len, data, len);
    w->plain_len += len;
    w->newest = arrived;
    if (kind == RECORDING_BYTES)
        w->n_device_bytes += len;
}

enum err
recording_writer_put(struct recording_writer *w, enum recording_kind kind, const void *data, size_t len,
                     struct host_time arrived)
{
    const uint8_t *rest = data;
    enum err err = w->has_failed ? ERR_OS : ERR_OK;
    assert(w->fd >= 0 && (kind == RECORDING_BYTES || len <= RECORDING_ITEM_MAX));
    do {
        const size_t n = len < RECORDING_ITEM_MAX ? len : RECORDING_ITEM_MAX;
        if (err == ERR_OK && w->plain_len + RECORDING_ITEM_HEAD_MAX + n > RECORDING_FRAME_PLAIN_MAX)
            err = recording_writer_flush(w);
        if (err != ERR_OK)
            return err;
        put_item(w, kind, rest, n, arrived);
        rest += rest ? n : 0;
        len -= n;
    } while (len > 0);
    return ERR_OK;
}

/* ------------------------------------------------------------------ begin and end */

static void
append_note(char *head, const struct recording_note *note)
{
    const size_t start = strlen(head);
    str_append(head, RECORDING_HEAD_MAX, note->name);
    str_append(head, RECORDING_HEAD_MAX, ": ");
    str_append(head, RECORDING_HEAD_MAX, note->value);
    for (char *c = head + start; *c != '\0'; c++)
        if ((unsigned char) *c < ' ')
            *c = ' ';
    str_append(head, RECORDING_HEAD_MAX, "\n");
}

static size_t
length_of(const struct recording_head *h)
{
    size_t len = 1;
    for (int i = 0; i < h->n_notes; i++)
        len += strlen(h->notes[i].name) + strlen(h->notes[i].value) + 3;
    for (int i = 0; i < h->n_texts; i++)
        len += strlen(h->texts[i].name) + h->texts[i].len + 32;
    return len;
}

/* Writes the head into out[RECORDING_HEAD_MAX]; its length. */
static size_t
make_head(const struct recording_head *h, char *out)
{
    out[0] = '\0';
    for (int i = 0; i < h->n_notes; i++)
        append_note(out, &h->notes[i]);
    str_append(out, RECORDING_HEAD_MAX, "\n");
    size_t len = strlen(out);
    for (int i = 0; i < h->n_texts; i++) {
        const struct recording_text *t = &h->texts[i];
        assert(strchr(t->name, ' ') == NULL && strchr(t->name, '\n') == NULL);
        len += (size_t) snprintf(out + len, RECORDING_HEAD_MAX - len, "text %s %zu\n", t->name, t->len);
        memcpy(out + len, t->text, t->len);
        len += t->len;
        out[len++] = '\n';
    }
    return len;
}

static enum err
take_memory(struct recording_writer *w)
{
    const ZSTD_compressionParameters p = ZSTD_getCParams(PACK_LEVEL, 0, 0);
    const size_t workspace_len = ZSTD_estimateCCtxSize_usingCParams(p);
    w->plain = malloc(RECORDING_FRAME_PLAIN_MAX);
    w->packed = malloc(RECORDING_FRAME_HEAD_LEN + RECORDING_FRAME_PACKED_MAX);
    w->workspace = malloc(workspace_len);
    if (w->plain && w->packed && w->workspace) { /* taken now, not page by page in mid-run: 0 the compiler makes a calloc */
        memset(w->plain, 0xff, RECORDING_FRAME_PLAIN_MAX);
        memset(w->packed, 0xff, RECORDING_FRAME_HEAD_LEN + RECORDING_FRAME_PACKED_MAX);
        memset(w->workspace, 0xff, workspace_len);
    }
    w->packer = w->workspace ? ZSTD_initStaticCCtx(w->workspace, workspace_len) : NULL;
    if (!w->plain || !w->packed || !w->packer) {
        message_init(&w->why, MESSAGE_RECORDER_NO_MEMORY);
        return ERR_MEMORY;
    }
    assert(ZSTD_compressBound(RECORDING_FRAME_PLAIN_MAX) <= RECORDING_FRAME_PACKED_MAX);
    ZSTD_CCtx_setParameter(w->packer, ZSTD_c_compressionLevel, PACK_LEVEL);
    ZSTD_CCtx_setParameter(w->packer, ZSTD_c_checksumFlag, 1);
    return ERR_OK;
}

static void
give_back(struct recording_writer *w)
{
    free(w->plain);
    free(w->packed);
    free(w->workspace);
    w->plain = w->packed = NULL;
    w->workspace = NULL;
    w->packer = NULL;
    if (w->fd >= 0)
        close(w->fd);
    w->fd = -1;
}

static enum err
make_file(struct recording_writer *w)
{
    w->fd = open(w->path, O_RDWR | O_CREAT | O_EXCL | O_APPEND | O_CLOEXEC, 0600);
    if (w->fd >= 0)
        return ERR_OK;
    if (errno == EEXIST)
        message_tell(&w->why, MESSAGE_RECORDING_IS_THERE, message_path(w->path));
    else
        message_tell(&w->why, MESSAGE_RECORDING_NOT_MADE, message_path(w->path), message_errno(errno));
    return ERR_OS;
}

/* The two lines, the head, and the head once more as a frame. */
static enum err
write_head(struct recording_writer *w, const struct recording_head *head)
{
    char lines[80];
    char *text = (char *) w->plain;
    const size_t len = make_head(head, text);
    w->stamp = recording_crc32(text, len);
    const int n = snprintf(lines, sizeof lines, RECORDING_MAGIC "%d\n" HEAD_LINE, RECORDING_VERSION, len, w->stamp);
    enum err err = append(w, lines, (size_t) n);
    if (err == ERR_OK)
        err = append(w, text, len);
    return err == ERR_OK ? write_frame(w, RECORDING_FRAME_HEAD, text, len) : err;
}

enum err
recording_writer_open(struct recording_writer *w, const char *path, const struct recording_head *head,
                      const struct recording_disc *disc)
{
    static_assert(RECORDING_HEAD_MAX <= RECORDING_FRAME_PLAIN_MAX, "the copy of the head is one frame");
    memset(w, 0, sizeof *w);
    w->fd = -1;
    w->disc = *disc;
    if (!str_copy(w->path, sizeof w->path, path)) {
        message_tell(&w->why, MESSAGE_RECORDING_PATH_TOO_LONG, sizeof w->path - 1);
        return ERR_USAGE;
    }
    if (length_of(head) >= RECORDING_HEAD_MAX) {
        message_tell(&w->why, MESSAGE_RECORDING_HEAD_TOO_LONG, message_path(path), RECORDING_HEAD_MAX);
        return ERR_USAGE;
    }
    enum err err = take_memory(w);
    if (err == ERR_OK)
        err = make_file(w);
    if (err == ERR_OK && (err = write_head(w, head)) != ERR_OK)
        unlink(w->path); /* half a head is no recording */
    if (err == ERR_OK)
        sync_folder(w);
    else
        give_back(w);
    return err;
}

enum err
recording_writer_close(struct recording_writer *w, const char *early)
{
    if (w->fd < 0)
        return ERR_OK;
    enum err err = recording_writer_flush(w);
    if (err == ERR_OK) {
        w->frame_begun = w->newest;
        err = write_frame(w, early ? RECORDING_FRAME_END_EARLY : RECORDING_FRAME_END, early ? early : "",
                          early ? strlen(early) : 0);
    }
    const int fd = w->fd;
    w->fd = -1;
    if (close(fd) != 0 && err == ERR_OK)
        err = fail(w, errno);
    give_back(w);
    return err;
}

/* ------------------------------------------------------------------ another place */

bool
recording_writer_is_lost(const struct recording_writer *w, const char *path)
{
    struct stat own, there;
    return w->fd >= 0 && fstat(w->fd, &own) == 0 &&
           (stat(path, &there) != 0 || own.st_dev != there.st_dev || own.st_ino != there.st_ino);
}

/* All that is in the one, at the end of the other. */
static bool
copy_all(struct recording_writer *w, int to)
{
    uint8_t some[16 * 1024];
    ssize_t n;
    for (off_t at = 0; (n = pread(w->fd, some, sizeof some, at)) > 0; at += n)
        if (w->disc.write(w->disc.context, to, some, (size_t) n) != n)
            return false;
    return n == 0 && (w->disc.sync(w->disc.context, to) == 0 || errno == EINVAL || errno == ENOSYS);
}

enum err
recording_writer_move(struct recording_writer *w, const char *path, struct message *why)
{
    char folder[RECORDING_PATH_MAX];
    fileio_folder_of(folder, sizeof folder, path);
    if (fileio_make_folder(folder, why) != ERR_OK)
        return ERR_OS;
    const int fd = open(path, O_RDWR | O_CREAT | O_EXCL | O_APPEND | O_CLOEXEC, 0600);
    if (fd < 0 || !copy_all(w, fd)) {
        message_tell(why, MESSAGE_RECORDING_GOES_ON_NOWHERE, message_path(path), message_errno(errno));
        if (fd >= 0) {
            close(fd);
            unlink(path);
        }
        return ERR_OS;
    }
    close(w->fd);
    w->fd = fd;
    str_copy(w->path, sizeof w->path, path);
    sync_folder(w);
    return ERR_OK;
}
