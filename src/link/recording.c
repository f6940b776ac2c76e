#include "link/recording.h"

#include "base/str.h"
#include "link/recording_frame.h"
#include "link/recording_v1.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>
#include <zstd.h>

#define LINE_MAX_LEN 32  /* the first line, and the line of the head */
#define HEAD_LINE_LEN 24 /* "head: LLLLLLLL CCCCCCCC\n" */

/* Looks before it opens: opening a terminal may change it, and a pipe that nobody writes to would keep it waiting. The
 * flags are for one that takes the file's place in between. */
static int
open_plain(const char *path, int64_t *len)
{
    struct stat st;
    if (stat(path, &st) != 0)
        return -1;
    if (!S_ISREG(st.st_mode)) {
        errno = 0;
        return -1;
    }
    const int fd = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK | O_NOCTTY);
    if (fd < 0)
        return -1;
    if (fstat(fd, &st) == 0 && S_ISREG(st.st_mode)) {
        *len = (int64_t) st.st_size;
        return fd;
    }
    close(fd);
    errno = 0;
    return -1;
}

bool
recording_is_one(const char *path)
{
    char begin[sizeof RECORDING_MAGIC - 1];
    int64_t len;
    const int fd = open_plain(path, &len);
    if (fd < 0)
        return false;
    const bool is_one = recording_read_at(fd, 0, begin, sizeof begin) == sizeof begin &&
                        memcmp(begin, RECORDING_MAGIC, sizeof begin) == 0;
    close(fd);
    return is_one;
}

/* ------------------------------------------------------------------ frames */

static bool
unpack(struct recording *r, int64_t at, const struct recording_frame *f)
{
    if (recording_read_at(r->fd, at + RECORDING_FRAME_HEAD_LEN, r->packed, f->packed_len) != f->packed_len ||
        recording_crc32(r->packed, f->packed_len) != f->packed_crc)
        return false;
    const size_t n = ZSTD_decompressDCtx(r->unpacker, r->plain, RECORDING_FRAME_PLAIN_MAX, r->packed, f->packed_len);
    return !ZSTD_isError(n) && n == f->plain_len;
}

static bool
look_at(const struct recording *r, int64_t at, struct recording_frame *f)
{
    uint8_t head[RECORDING_FRAME_HEAD_LEN];
    return recording_read_at(r->fd, at, head, sizeof head) == sizeof head && recording_frame_read(head, f);
}

/* The next place from there on with a frame's head of this recording, or with is_any of whichever; the file's
 * length when there is none. */
static int64_t
next_head(const struct recording *r, int64_t from, bool is_any, struct recording_frame *f)
{
    uint8_t block[4096];
    size_t n;
    while ((n = recording_read_at(r->fd, from, block, sizeof block)) >= RECORDING_FRAME_MARK_LEN) {
        for (size_t i = 0; i + RECORDING_FRAME_MARK_LEN <= n; i++)
            if (memcmp(block + i, RECORDING_FRAME_MARK, RECORDING_FRAME_MARK_LEN) == 0 &&
                look_at(r, from + (int64_t) i, f) && (is_any || f->stamp == r->stamp))
                return from + (int64_t) i;
        from += (int64_t) n - (RECORDING_FRAME_MARK_LEN - 1);
    }
    return r->file_len;
}

static void
pass_over(struct recording *r, int64_t from, int64_t to)
{
    struct recording_loss *l = &r->loss;
    l->first_at = l->n_places++ == 0 ? from : l->first_at;
    l->n_file_bytes += to - from;
    r->at = to;
}

/* A whole frame: what the ones before it that are not there held. */
static void
count_missing(struct recording *r, const struct recording_frame *f)
{
    const int64_t from = r->frame_index > 1 ? r->frame_index : 1; /* frame 0 is but the copy of the head */
    const int64_t n_frames = (int64_t) f->index > from ? (int64_t) f->index - from : 0;
    if (n_frames > 0 || f->offset != r->offset) {
        r->loss.n_frames += n_frames;
        r->loss.n_device_bytes += f->offset > r->offset ? (int64_t) (f->offset - r->offset) : 0;
        r->has_gap = true;
        r->gap_time = f->time;
    }
    r->offset = f->offset;
    r->frame_index = (int64_t) f->index + 1;
}

static void
end_with(struct recording *r, const struct recording_frame *f, bool is_whole, int64_t next)
{
    r->has_ended = true;
    r->loss.is_ended_early = f->kind == RECORDING_FRAME_END_EARLY;
    if (!is_whole)
        pass_over(r, r->at, next);
    else if (next < r->file_len)
        pass_over(r, next, r->file_len);
    r->plain_used = r->plain_len = 0;
    if (r->loss.is_ended_early)
        snprintf(r->early, sizeof r->early, "%.*s", is_whole ? (int) f->plain_len : 0, (const char *) r->plain);
}

/* Fetches the next whole frame of items; false at the end. */
static bool
next_frame(struct recording *r)
{
    struct recording_frame f;
    r->plain_used = r->plain_len = 0;
    while (!r->has_ended) {
        const int64_t at = next_head(r, r->at, false, &f);
        if (at == r->file_len) {
            r->loss.is_cut = r->has_ended = true;
            if (r->file_len - r->at >= RECORDING_FRAME_HEAD_LEN)
                pass_over(r, r->at, r->file_len);
            break;
        }
        if (at > r->at)
            pass_over(r, r->at, at);
        const int64_t next = at + RECORDING_FRAME_HEAD_LEN + f.packed_len;
        if (next > r->file_len) {
            r->loss.is_cut = r->has_ended = true;
            break;
        }
        const bool is_in_order = (int64_t) f.index >= r->frame_index;
        const bool is_whole = is_in_order && unpack(r, at, &f);
        const bool is_end = is_in_order && f.kind >= RECORDING_FRAME_END;
        if (is_whole || is_end)
            count_missing(r, &f);
        if (is_end) {
            end_with(r, &f, is_whole, next);
            break;
        }
        if (!is_whole) {
            pass_over(r, at, next);
            continue;
        }
        r->at = next;
        r->frame_time = f.time;
        r->plain_len = f.kind == RECORDING_FRAME_ITEMS ? f.plain_len : 0;
        if (r->plain_len > 0)
            return true;
    }
    return false;
}

/* ------------------------------------------------------------------ the head */

/* Where the notes end: behind the empty line. 0 when there is none. */
static size_t
end_of_notes(const char *head)
{
    if (head[0] == '\n')
        return 1;
    const char *end = strstr(head, "\n\n");
    return end ? (size_t) (end - head) + 2 : 0;
}

static enum err
refuse_head(struct recording *r, enum message_code code)
{
    message_tell(&r->why, code, message_path(r->path));
    return ERR_FORMAT;
}

/* The line that says how long the head is. */
static bool
read_head_line(const struct recording *r, int64_t at, uint32_t *len, uint32_t *crc)
{
    static const char shape[] = "head: xxxxxxxx xxxxxxxx\n";
    char line[HEAD_LINE_LEN + 1] = "";
    if (recording_read_at(r->fd, at, line, HEAD_LINE_LEN) != HEAD_LINE_LEN)
        return false;
    for (size_t i = 0; i < HEAD_LINE_LEN; i++)
        if (shape[i] == 'x' ? strchr("0123456789abcdef", line[i]) == NULL || line[i] == '\0' : line[i] != shape[i])
            return false;
    *len = (uint32_t) strtoul(line + 6, NULL, 16);
    *crc = (uint32_t) strtoul(line + 15, NULL, 16);
    return *len <= RECORDING_HEAD_MAX;
}

/* The copy of the head, wherever its frame is found. */
static bool
find_copy(struct recording *r, int64_t from)
{
    struct recording_frame f;
    for (int64_t at = from; (at = next_head(r, at, true, &f)) != r->file_len; at++) {
        if (f.kind != RECORDING_FRAME_HEAD || !unpack(r, at, &f) || recording_crc32(r->plain, f.plain_len) != f.stamp)
            continue;
        memcpy(r->head, r->plain, f.plain_len);
        r->head_len = f.plain_len;
        r->stamp = f.stamp;
        r->at = at;
        r->loss.is_head_damaged = true;
        return true;
    }
    return false;
}

static enum err
read_head(struct recording *r, int64_t at)
{
    uint32_t len;
    r->head = malloc(RECORDING_HEAD_MAX + 1);
    r->packed = malloc(RECORDING_FRAME_PACKED_MAX);
    r->plain = malloc(RECORDING_FRAME_PLAIN_MAX);
    r->unpacker = ZSTD_createDCtx();
    if (!r->head || !r->packed || !r->plain || !r->unpacker) {
        message_tell(&r->why, MESSAGE_RECORDING_NO_MEMORY_TO_READ, message_path(r->path));
        return ERR_MEMORY;
    }
    if (read_head_line(r, at, &len, &r->stamp) && recording_read_at(r->fd, at + HEAD_LINE_LEN, r->head, len) == len &&
        recording_crc32(r->head, len) == r->stamp) {
        r->head_len = len;
        r->at = at + HEAD_LINE_LEN + len;
    } else if (!find_copy(r, at)) {
        return refuse_head(r, MESSAGE_RECORDING_HEAD_IS_CUT);
    }
    r->head[r->head_len] = '\0';
    r->notes_len = end_of_notes(r->head);
    return r->notes_len > 0 ? ERR_OK : refuse_head(r, MESSAGE_RECORDING_HAS_NO_HEAD);
}

static enum err
read_head_v1(struct recording *r)
{
    r->head = malloc(RECORDING_V1_HEAD_MAX + 1);
    r->v1 = calloc(1, sizeof *r->v1);
    if (!r->head || !r->v1) {
        message_tell(&r->why, MESSAGE_RECORDING_NO_MEMORY_TO_READ, message_path(r->path));
        return ERR_MEMORY;
    }
    r->head[recording_read_at(r->fd, 0, r->head, RECORDING_V1_HEAD_MAX)] = '\0';
    r->notes_len = r->head_len = end_of_notes(r->head);
    if (r->notes_len == 0)
        return refuse_head(r, MESSAGE_RECORDING_ENDS_IN_TEXT);
    r->head[r->head_len] = '\0';
    r->v1->fd = r->fd;
    r->v1->at = (int64_t) r->head_len;
    return ERR_OK;
}

/* Magic and version; *next is where the line after it begins. */
static enum err
read_version(struct recording *r, int64_t *next)
{
    char line[LINE_MAX_LEN + 1];
    line[recording_read_at(r->fd, 0, line, LINE_MAX_LEN)] = '\0';
    if (!str_begins_with(line, RECORDING_MAGIC)) {
        char wanted[sizeof RECORDING_MAGIC + 12];
        snprintf(wanted, sizeof wanted, "%s%d", RECORDING_MAGIC, RECORDING_VERSION);
        message_tell(&r->why, MESSAGE_RECORDING_IS_NONE, message_path(r->path), wanted);
        return ERR_FORMAT;
    }
    const char *digit = line + sizeof RECORDING_MAGIC - 1;
    for (; *digit >= '0' && *digit <= '9' && r->version < 10000; digit++)
        r->version = r->version * 10 + (*digit - '0');
    if (*digit != '\n' || r->version < 1) {
        message_tell(&r->why, MESSAGE_RECORDING_NO_VERSION, message_place(r->path, 1));
        return ERR_FORMAT;
    }
    if (r->version > RECORDING_VERSION) {
        message_tell(&r->why, MESSAGE_RECORDING_IS_NEWER, message_path(r->path), r->version, RECORDING_VERSION);
        return ERR_UNSUPPORTED;
    }
    *next = digit + 1 - line;
    return ERR_OK;
}

enum err
recording_open(struct recording *r, const char *path)
{
    int64_t next = 0;
    memset(r, 0, sizeof *r);
    r->fd = -1;
    if (!str_copy(r->path, sizeof r->path, path)) {
        message_tell(&r->why, MESSAGE_RECORDING_PATH_TOO_LONG, sizeof r->path - 1);
        return ERR_USAGE;
    }
    r->fd = open_plain(path, &r->file_len);
    if (r->fd < 0) {
        const enum err refused = errno == ENOENT ? ERR_GONE : errno == 0 ? ERR_FORMAT : ERR_OS;
        if (errno == 0)
            message_tell(&r->why, MESSAGE_RECORDING_IS_NO_FILE, message_path(path));
        else
            message_tell(&r->why, MESSAGE_RECORDING_NOT_OPENED, message_path(path), message_errno(errno));
        return refused;
    }
    enum err err = read_version(r, &next);
    if (err == ERR_OK)
        err = r->version == 1 ? read_head_v1(r) : read_head(r, next);
    if (err != ERR_OK)
        recording_close(r);
    return err;
}

bool
recording_note(const struct recording *r, const char *name, char *out, size_t cap)
{
    const size_t n = strlen(name);
    const char *line = r->head, *end;
    for (; line && line < r->head + r->notes_len && (end = strchr(line, '\n')) != NULL; line = end + 1) {
        if (strncmp(line, name, n) != 0 || strncmp(line + n, ": ", 2) != 0)
            continue;
        const char *value = line + n + 2;
        const size_t len = (size_t) (end - value);
        if (len >= cap)
            return false;
        memcpy(out, value, len);
        out[len] = '\0';
        return true;
    }
    return false;
}

const char *
recording_text(const struct recording *r, const char *name, size_t *len)
{
    const size_t n = strlen(name);
    for (size_t at = r->notes_len; r->head && at + 5 < r->head_len && strncmp(r->head + at, "text ", 5) == 0;) {
        const char *its_name = r->head + at + 5;
        const char *blank = strchr(its_name, ' ');
        char *end = NULL;
        const unsigned long its_len = blank ? strtoul(blank + 1, &end, 10) : 0;
        if (!end || *end != '\n')
            return NULL;
        const size_t begin = (size_t) (end + 1 - r->head);
        if (its_len > r->head_len - begin)
            return NULL;
        if ((size_t) (blank - its_name) == n && strncmp(its_name, name, n) == 0) {
            *len = its_len;
            return r->head + begin;
        }
        at = begin + its_len + 1;
    }
    return NULL;
}

/* ------------------------------------------------------------------ items */

static void
say_damaged(struct recording *r)
{
    const struct recording_loss *l = &r->loss;
    const int64_t first_at = (int64_t) l->first_at, n_bytes = (int64_t) l->n_file_bytes;
    if (l->n_places > 1)
        message_tell(&r->why, l->is_cut ? MESSAGE_RECORDING_IS_DAMAGED_OFTEN_AND_CUT : MESSAGE_RECORDING_IS_DAMAGED_OFTEN,
                     message_path(r->path), l->n_places, first_at, n_bytes);
    else
        message_tell(&r->why, l->is_cut ? MESSAGE_RECORDING_IS_DAMAGED_AND_CUT : MESSAGE_RECORDING_IS_DAMAGED,
                     message_path(r->path), first_at, n_bytes);
}

/* At the end: one message for all that is missing. */
static void
say_lost(struct recording *r)
{
    const struct recording_loss *l = &r->loss;
    message_init(&r->why, MESSAGE_NONE);
    if (l->n_places > 0)
        say_damaged(r);
    else if (l->is_cut)
        message_tell(&r->why, MESSAGE_RECORDING_IS_CUT, message_path(r->path), (int64_t) (r->v1 ? r->v1->at : r->at));
    else if (l->is_ended_early)
        message_tell(&r->why, MESSAGE_RECORDING_ENDED_EARLY, message_path(r->path));
    else if (l->is_head_damaged)
        message_tell(&r->why, MESSAGE_RECORDING_HEAD_IS_DAMAGED, message_path(r->path));
    if (l->is_ended_early && r->early[0])
        message_tell(&r->why, MESSAGE_RECORDING_AND_WHY, message_of(&r->why), r->early);
}

static int
give_gap(struct recording *r, struct recording_item *out, struct host_time at)
{
    *out = (struct recording_item){ .kind = RECORDING_GAP, .arrived = at, .offset = r->offset };
    r->has_gap = false;
    return 1;
}

static int
end_all(struct recording *r)
{
    if (!r->has_told)
        say_lost(r);
    r->has_told = true;
    return 0;
}

static int
next_v1(struct recording *r, struct recording_item *out)
{
    struct recording_v1 *v = r->v1;
    if (!r->has_gap) {
        r->has_ended = r->has_ended || !recording_v1_next(v, &r->loss);
        if (r->has_ended)
            return end_all(r);
        if (v->has_gap) {
            give_gap(r, out, v->time);
            r->has_gap = true; /* the chunk comes with the next call */
            return 1;
        }
    }
    r->has_gap = false;
    *out = (struct recording_item){ RECORDING_BYTES, v->time, r->offset, v->chunk, v->chunk_len };
    r->offset += v->chunk_len;
    return 1;
}

int
recording_next(struct recording *r, struct recording_item *out)
{
    enum recording_kind kind;
    int64_t since_us;
    size_t len, n = 0;
    if (r->fd < 0)
        return 0;
    if (r->v1)
        return next_v1(r, out);
    while (n == 0) {
        const bool is_more = r->plain_used < r->plain_len || next_frame(r);
        if (r->has_gap)
            return give_gap(r, out, r->gap_time);
        if (!is_more)
            return end_all(r);
        n = recording_item_read(r->plain + r->plain_used, r->plain_len - r->plain_used, &kind, &since_us, &len);
        if (n > 0)
            break;
        pass_over(r, r->at, r->at); /* whole, but no items: its writer erred */
        r->plain_used = r->plain_len;
        r->has_gap = true;
        r->gap_time = r->frame_time;
    }
    r->frame_time.us += since_us;
    *out = (struct recording_item){ kind, r->frame_time, r->offset, r->plain + r->plain_used + n, len };
    r->plain_used += n + len;
    r->offset += kind == RECORDING_BYTES ? len : 0;
    return 1;
}

bool
recording_has_lost(const struct recording *r)
{
    const struct recording_loss *l = &r->loss;
    return l->is_cut || l->is_ended_early || l->n_places > 0 || l->n_frames > 0 || l->n_device_bytes > 0;
}

void
recording_close(struct recording *r)
{
    if (r->fd >= 0)
        close(r->fd);
    r->fd = -1;
    r->has_ended = true;
    free(r->head);
    free(r->packed);
    free(r->plain);
    free(r->v1);
    ZSTD_freeDCtx(r->unpacker);
    r->head = NULL;
    r->packed = r->plain = NULL;
    r->v1 = NULL;
    r->unpacker = NULL;
}
