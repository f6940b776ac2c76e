#include "base/str.h"
#include "link/capture.h"
#include "wire/crc16.h"

#include <assert.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

static enum err
fail(struct capture *c)
{
    int os_error = errno;
    c->has_failed = true;
    snprintf(c->why, sizeof c->why,
             "the recording %s cannot be written any more: %s; what it holds so far is kept", c->path,
             strerror(os_error));
    return ERR_OS;
}

/* All of it or nothing: what a full disc took of a chunk is cut off again. */
static enum err
append(struct capture *c, const void *bytes, size_t len)
{
    size_t done = 0;
    while (done < len) {
        ssize_t n = write(c->fd, (const char *) bytes + done, len - done);
        if (n < 0 && errno == EINTR)
            continue;
        if (n <= 0) {
            enum err err = fail(c);
            off_t end = lseek(c->fd, 0, SEEK_END);
            if (done > 0 && end >= (off_t) done && ftruncate(c->fd, end - (off_t) done) != 0)
                str_append(c->why, sizeof c->why, " (its last piece is cut)");
            return err;
        }
        done += (size_t) n;
    }
    return ERR_OK;
}

/* A provenance line; what would break the text is made a space. */
static void
append_note(char *text, size_t cap, const struct capture_note *note)
{
    size_t start = strlen(text);
    str_append(text, cap, note->name);
    str_append(text, cap, ": ");
    str_append(text, cap, note->value);
    for (char *c = text + start; *c != 0; c++)
        if ((unsigned char) *c < ' ')
            *c = ' ';
    str_append(text, cap, "\n");
}

enum err
capture_open(struct capture *c, const char *path, const struct capture_note *notes, int n_notes)
{
    char text[CAPTURE_HEADER_MAX];
    memset(c, 0, sizeof *c);
    c->fd = -1;
    if (!str_copy(c->path, sizeof c->path, path)) {
        snprintf(c->why, sizeof c->why, "the recording's path is longer than %zu characters",
                 sizeof c->path - 1);
        return ERR_USAGE;
    }
    c->fd = open(path, O_WRONLY | O_CREAT | O_EXCL | O_APPEND | O_CLOEXEC, 0600);
    if (c->fd < 0) {
        if (errno == EEXIST)
            snprintf(c->why, sizeof c->why, "%s is there already and is not overwritten: choose another name",
                     path);
        else
            snprintf(c->why, sizeof c->why, "the recording %s cannot be made: %s", path, strerror(errno));
        return ERR_OS;
    }
    snprintf(text, sizeof text, CAPTURE_MAGIC "%d\n", CAPTURE_VERSION);
    for (int i = 0; i < n_notes; i++)
        append_note(text, sizeof text - 1, &notes[i]);
    /* Notes that were too long for the header end at its last whole line. */
    if (text[strlen(text) - 1] != '\n')
        *(strrchr(text, '\n') + 1) = 0;
    str_append(text, sizeof text, "\n");
    enum err err = append(c, text, strlen(text));
    if (err != ERR_OK) {
        close(c->fd);
        c->fd = -1;
    }
    return err;
}

enum err
capture_write(struct capture *c, const uint8_t *bytes, size_t len, struct host_time arrived)
{
    assert(c->fd >= 0);
    if (!c->has_start) {
        /* The first chunk is at 1: an arrival of 0 would mean that nobody's clock was read. */
        c->has_start = true;
        c->start.us = arrived.us - 1;
    }
    uint64_t t_us = (uint64_t) units_host_since_us(arrived, c->start);
    while (len > 0 && !c->has_failed) {
        size_t n = len < CAPTURE_CHUNK_MAX ? len : CAPTURE_CHUNK_MAX;
        uint8_t *chunk = c->chunk;
        chunk[0] = CAPTURE_CHUNK_MARK;
        chunk[1] = 0;
        chunk[2] = (uint8_t) (n & 0xFF);
        chunk[3] = (uint8_t) (n >> 8);
        for (int i = 0; i < 8; i++)
            chunk[4 + i] = (uint8_t) (t_us >> (8 * i) & 0xFF);
        memcpy(chunk + CAPTURE_CHUNK_HEAD, bytes, n);
        uint16_t crc = crc16(chunk, CAPTURE_CHUNK_HEAD + n);
        chunk[CAPTURE_CHUNK_HEAD + n] = (uint8_t) (crc & 0xFF);
        chunk[CAPTURE_CHUNK_HEAD + n + 1] = (uint8_t) (crc >> 8);
        if (append(c, chunk, CAPTURE_CHUNK_HEAD + n + 2) == ERR_OK)
            c->n_bytes += n;
        bytes += n;
        len -= n;
    }
    return c->has_failed ? ERR_OS : ERR_OK;
}

enum err
capture_close(struct capture *c)
{
    if (c->fd < 0)
        return ERR_OK;
    enum err err = c->has_failed ? ERR_OS : ERR_OK;
    if (fsync(c->fd) != 0 && errno != EINVAL && !c->has_failed)
        err = fail(c);
    if (close(c->fd) != 0 && !c->has_failed)
        err = fail(c);
    c->fd = -1;
    return err;
}
