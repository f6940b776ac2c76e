#include "base/monotime.h"
#include "base/str.h"
#include "link/replay.h"
#include "link/source.h"
#include "wire/crc16.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define REPLAY_PAUSE_MAX_US (INT64_C(86400) * UNITS_US_PER_S) /* between two chunks with damage between them */

/* Reads until len bytes are there or the file ends. */
static size_t
read_full(int fd, void *out, size_t len)
{
    size_t done = 0;
    while (done < len) {
        ssize_t n = read(fd, (char *) out + done, len - done);
        if (n < 0 && errno == EINTR)
            continue;
        if (n <= 0)
            break;
        done += (size_t) n;
    }
    return done;
}

bool
replay_is_recording(const char *path)
{
    char begin[sizeof CAPTURE_MAGIC - 1];
    struct stat st;
    if (stat(path, &st) != 0 || !S_ISREG(st.st_mode))
        return false;
    int fd = open(path, O_RDONLY | O_CLOEXEC);
    if (fd < 0)
        return false;
    bool is_one =
        read_full(fd, begin, sizeof begin) == sizeof begin && memcmp(begin, CAPTURE_MAGIC, sizeof begin) == 0;
    close(fd);
    return is_one;
}

/* The text before the chunks: magic, version, notes, empty line. */
static enum err
read_header(struct replay *r)
{
    size_t n = read_full(r->fd, r->header, CAPTURE_HEADER_MAX);
    r->header[n] = 0;
    if (!str_begins_with(r->header, CAPTURE_MAGIC)) {
        snprintf(r->why, sizeof r->why, "%s is not a recording: its first line is not \"%s%d\"", r->path,
                 CAPTURE_MAGIC, CAPTURE_VERSION);
        return ERR_FORMAT;
    }
    const char *digit = r->header + sizeof CAPTURE_MAGIC - 1;
    for (; *digit >= '0' && *digit <= '9' && r->version < 10000; digit++)
        r->version = r->version * 10 + (*digit - '0');
    if (*digit != '\n' || r->version < 1) {
        snprintf(r->why, sizeof r->why, "%s:1: the recording's version is not a number", r->path);
        return ERR_FORMAT;
    }
    if (r->version > CAPTURE_VERSION) {
        snprintf(r->why, sizeof r->why,
                 "%s is a recording of version %d, this program reads up to %d: update it", r->path,
                 r->version, CAPTURE_VERSION);
        return ERR_UNSUPPORTED;
    }
    const char *end = strstr(r->header, "\n\n");
    if (end == NULL) {
        snprintf(r->why, sizeof r->why, "%s ends inside the text before the data: there is nothing to replay",
                 r->path);
        return ERR_FORMAT;
    }
    r->header_len = (size_t) (end - r->header) + 2;
    r->header[r->header_len] = 0;
    r->at = (int64_t) r->header_len;
    return ERR_OK;
}

enum err
replay_open(struct replay *r, const char *path, double pace_ratio)
{
    memset(r, 0, sizeof *r);
    r->fd = -1;
    r->pace_ratio = pace_ratio > 0 ? pace_ratio : 0;
    if (!str_copy(r->path, sizeof r->path, path)) {
        snprintf(r->why, sizeof r->why, "the recording's path is longer than %zu characters",
                 sizeof r->path - 1);
        return ERR_USAGE;
    }
    r->fd = open(path, O_RDONLY | O_CLOEXEC);
    if (r->fd < 0) {
        enum err err = errno == ENOENT ? ERR_GONE : ERR_OS;
        snprintf(r->why, sizeof r->why, "the recording %s cannot be opened: %s", path, strerror(errno));
        return err;
    }
    enum err err = read_header(r);
    if (err != ERR_OK)
        replay_close(r);
    return err;
}

bool
replay_note(const struct replay *r, const char *name, char *out, size_t cap)
{
    size_t n = strlen(name);
    for (const char *line = r->header; line != NULL && *line != 0; line = strchr(line, '\n')) {
        line += *line == '\n';
        const char *end = strchr(line, '\n');
        if (end == NULL || strncmp(line, name, n) != 0 || strncmp(line + n, ": ", 2) != 0)
            continue;
        const char *value = line + n + 2;
        size_t len = (size_t) (end - value);
        if (end < value || len >= cap)
            return false;
        memcpy(out, value, len);
        out[len] = 0;
        return true;
    }
    return false;
}

/* What lies at a place in the file. */
enum found {
    FOUND_END,   /* the end of the file */
    FOUND_CHUNK, /* a whole one, now in r->chunk */
    FOUND_CUT,   /* the begin of one that the file's end cuts */
    FOUND_OTHER, /* no chunk, or a damaged one */
};

static enum found
look_at(struct replay *r, int64_t at)
{
    uint8_t head[CAPTURE_CHUNK_HEAD], tail[2];
    r->chunk_len = r->chunk_used = 0;
    if (lseek(r->fd, (off_t) at, SEEK_SET) < 0)
        return FOUND_END;
    const size_t n = read_full(r->fd, head, sizeof head);
    if (n == 0)
        return FOUND_END;
    if (head[0] != CAPTURE_CHUNK_MARK || (n > 1 && head[1] != 0))
        return FOUND_OTHER;
    const size_t len = n == sizeof head ? head[2] | (size_t) head[3] << 8 : 1;
    if (len < 1 || len > CAPTURE_CHUNK_MAX)
        return FOUND_OTHER;
    if (n < sizeof head || read_full(r->fd, r->chunk, len) < len || read_full(r->fd, tail, 2) < 2)
        return FOUND_CUT;
    uint16_t crc = CRC16_START;
    for (size_t i = 0; i < sizeof head; i++)
        crc = crc16_add(crc, head[i]);
    for (size_t i = 0; i < len; i++)
        crc = crc16_add(crc, r->chunk[i]);
    if (crc != (tail[0] | (unsigned) tail[1] << 8))
        return FOUND_OTHER;
    uint64_t t_us = 0;
    for (int i = 7; i >= 0; i--)
        t_us = t_us << 8 | head[4 + i];
    r->found_time.us = t_us <= INT64_MAX ? (int64_t) t_us : 0;
    r->chunk_len = len;
    return FOUND_CHUNK;
}

/* Where the next mark stands, from that byte on; *end, the file's length, when there is none. */
static int64_t
next_mark(struct replay *r, int64_t from, int64_t *end)
{
    uint8_t block[4096];
    size_t n;
    while (lseek(r->fd, (off_t) from, SEEK_SET) >= 0 && (n = read_full(r->fd, block, sizeof block)) > 1) {
        for (size_t i = 0; i + 1 < n; i++)
            if (block[i] == CAPTURE_CHUNK_MARK && block[i + 1] == 0)
                return from + (int64_t) i;
        from += (int64_t) n - 1;
    }
    const off_t last = lseek(r->fd, 0, SEEK_END);
    *end = last > 0 ? (int64_t) last : from;
    return *end;
}

/* The first whole chunk after a place where there is none. Its own CRC has only 16 bits, and a damaged chunk's
 * bytes may hold anything: so the time must go on sensibly, too. Returns where it is, or the file's length. */
static int64_t
next_whole(struct replay *r, int64_t from, bool *is_found)
{
    int64_t end = -1;
    for (int64_t at = from; (at = next_mark(r, at + 1, &end)) != end;) {
        *is_found = look_at(r, at) == FOUND_CHUNK && r->found_time.us >= r->chunk_time.us &&
                    r->found_time.us - r->chunk_time.us < REPLAY_PAUSE_MAX_US;
        if (*is_found)
            return at;
    }
    *is_found = false;
    return end;
}

/* At the end: one sentence for all that is missing. */
static void
say_lost(struct replay *r)
{
    char places[48] = "";
    if (r->n_damaged > 1)
        snprintf(places, sizeof places, " in %d places, first", r->n_damaged);
    if (r->n_damaged > 0)
        snprintf(r->why, sizeof r->why, "the recording %s is damaged%s near byte %lld: %lld bytes were passed over%s",
                 r->path, places, (long long) r->first_damage, (long long) r->n_passed_over,
                 r->is_cut ? ", and its end is cut off" : "");
    else if (r->is_cut)
        snprintf(r->why, sizeof r->why, "the recording %s was cut short near byte %lld: what comes before is good",
                 r->path, (long long) r->at);
}

/* Fetches the next whole chunk; has_ended when there is none. */
static void
next_chunk(struct replay *r)
{
    const int64_t from = r->at;
    int64_t at = from;
    const enum found found = look_at(r, from);
    bool is_whole = found == FOUND_CHUNK;
    if (found == FOUND_OTHER || found == FOUND_CUT)
        at = next_whole(r, from, &is_whole);
    r->is_cut = found == FOUND_CUT && !is_whole;
    if (at > from && !r->is_cut) {
        r->first_damage = r->n_damaged++ == 0 ? from : r->first_damage;
        r->n_passed_over += at - from;
        r->has_gap = true;
    }
    if (!is_whole) {
        r->chunk_len = 0;
        r->has_ended = true;
        say_lost(r);
        return;
    }
    r->at = at + CAPTURE_CHUNK_HEAD + (int64_t) r->chunk_len + 2;
    r->chunk_time = r->found_time;
    r->duration_us = r->chunk_time.us;
}

/* Waits until the chunk is due, at most timeout_ms. False when it is not due yet. */
static bool
wait_due(struct replay *r, int timeout_ms)
{
    struct host_time now = monotime_now();
    if (!r->has_begun) {
        r->has_begun = true;
        r->begun.us = now.us - (int64_t) ((double) r->chunk_time.us / r->pace_ratio);
    }
    struct host_time due = { r->begun.us + (int64_t) ((double) r->chunk_time.us / r->pace_ratio) };
    struct host_time limit = { now.us + timeout_ms * UNITS_US_PER_MS };
    if (due.us > now.us)
        monotime_sleep_until(timeout_ms >= 0 && limit.us < due.us ? limit : due);
    return monotime_now().us >= due.us;
}

int
replay_read(struct replay *r, uint8_t *buf, size_t cap, int timeout_ms, struct host_time *arrived)
{
    if (r->chunk_used == r->chunk_len && !r->has_ended)
        next_chunk(r);
    if (r->chunk_used == r->chunk_len)
        return SOURCE_ENDED;
    bool is_paced = r->pace_ratio > 0;
    if (is_paced && !wait_due(r, timeout_ms))
        return 0;
    size_t left = r->chunk_len - r->chunk_used;
    size_t n = left < cap ? left : cap;
    memcpy(buf, r->chunk + r->chunk_used, n);
    r->chunk_used += n;
    r->n_bytes += n;
    *arrived = is_paced ? monotime_now() : r->chunk_time;
    return (int) n;
}

bool
replay_take_gap(struct replay *r)
{
    const bool has_gap = r->has_gap;
    r->has_gap = false;
    return has_gap;
}

bool
replay_has_lost(const struct replay *r)
{
    return r->is_cut || r->n_damaged > 0;
}

void
replay_close(struct replay *r)
{
    if (r->fd >= 0)
        close(r->fd);
    r->fd = -1;
    r->has_ended = true;
    r->chunk_len = r->chunk_used = 0;
}
