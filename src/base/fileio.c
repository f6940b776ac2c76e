#include "base/fileio.h"
#include "base/message.h"

#include "base/mark.h"

#include <assert.h>
#include <errno.h>
#include <fcntl.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/statvfs.h>
#include <unistd.h>

static enum err
say_os(struct message *why, enum message_code code, const char *path, int number)
{
    message_tell(why, code, message_path(path), message_errno(number));
    return ERR_OS;
}

enum err
fileio_join(char *out, size_t cap, const char *folder, const char *name, struct message *why)
{
    int n = snprintf(out, cap, "%s/%s", folder, name);

    if (n < 0 || (size_t) n >= cap) {
        message_tell(why, MESSAGE_PATH_NAME_TOO_LONG, message_path(folder), name);
        return ERR_USAGE;
    }
    return ERR_OK;
}

enum err
fileio_data_folder(char *out, size_t cap, struct message *why)
{
    const char *own = getenv("UNDERFOOT_DATA");
    const char *xdg = getenv("XDG_DATA_HOME");
    const char *home = getenv("HOME");

    if (own != NULL && own[0] != '\0') {
        int n = snprintf(out, cap, "%s", own);
        if (n < 0 || (size_t) n >= cap) {
            message_init(why, MESSAGE_DATA_PATH_TOO_LONG);
            return ERR_USAGE;
        }
        return ERR_OK;
    }
    if (xdg != NULL && xdg[0] == '/')
        return fileio_join(out, cap, xdg, "underfoot", why);
    if (home != NULL && home[0] == '/')
        return fileio_join(out, cap, home, ".local/share/underfoot", why);
    message_init(why, MESSAGE_DATA_NO_PLACE);
    return ERR_USAGE;
}

void
fileio_folder_of(char *out, size_t cap, const char *path)
{
    const char *slash = strrchr(path, '/');

    snprintf(out, cap, "%.*s", slash == NULL || slash == path ? 1 : (int) (slash - path), slash == NULL ? "." : path);
}

bool
fileio_beside(char *out, size_t cap, const char *path, const char *name)
{
    const char *slash = strrchr(path, '/');
    const int n = snprintf(out, cap, "%.*s%s", slash == NULL ? 0 : (int) (slash - path) + 1, path, name);

    return n >= 0 && (size_t) n < cap;
}

int64_t
fileio_free_bytes(const char *path)
{
    struct statvfs disc;

    return statvfs(path, &disc) == 0 ? (int64_t) disc.f_bavail * (int64_t) disc.f_frsize : -1;
}

void
fileio_sync_folder_of(const char *path)
{
    char folder[FILEIO_PATH_MAX];

    fileio_folder_of(folder, sizeof folder, path);
    int fd = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (fd >= 0) {
        (void) fsync(fd); /* not every file system can: then we have done what it offers */
        close(fd);
    }
}

/* One folder. Fine when it is there. */
static enum err
make_one(const char *path, struct message *why)
{
    struct stat st;

    if (mkdir(path, 0700) == 0) {
        fileio_sync_folder_of(path);
        return ERR_OK;
    }
    int number = errno;
    if (stat(path, &st) == 0) {
        if (S_ISDIR(st.st_mode))
            return ERR_OK;
        number = ENOTDIR;
    }
    return say_os(why, MESSAGE_FOLDER_NOT_MADE, path, number);
}

enum err
fileio_make_folder(const char *path, struct message *why)
{
    char part[FILEIO_PATH_MAX];
    size_t len = strlen(path);

    if (len == 0 || len >= sizeof part) {
        message_init(why, MESSAGE_FOLDER_NO_PATH);
        return ERR_USAGE;
    }
    memcpy(part, path, len + 1);
    for (size_t i = 1; i < len; i++) {
        if (part[i] != '/')
            continue;
        part[i] = '\0';
        enum err err = make_one(part, why);
        part[i] = '/';
        if (err != ERR_OK)
            return err;
    }
    return make_one(part, why);
}

FILE *
fileio_open_plain(const char *path, const char **reason)
{
    struct stat st = { .st_mode = 0 };
    const int fd = open(path, O_RDONLY | O_NONBLOCK | O_NOCTTY | O_CLOEXEC);
    const bool is_seen = fd >= 0 && fstat(fd, &st) == 0;
    FILE *f = is_seen && S_ISREG(st.st_mode) ? fdopen(fd, "r") : NULL;
    int number = errno;

    if (f != NULL)
        return f;
    if (is_seen && !S_ISREG(st.st_mode))
        number = ENXIO;
    if (fd >= 0)
        close(fd);
    *reason = S_ISDIR(st.st_mode)   ? N_("it is a folder, no file")
              : S_ISFIFO(st.st_mode) ? N_("it is a pipe, no file: write what it gives to a file first")
              : number == ENXIO      ? N_("it is a device or a socket, no file")
                                     : strerror(number);
    errno = number;
    return NULL;
}

/* fgets() tells no length: what it wrote last is the only 0 in a buffer that had none. */
char *
fileio_line(char *out, int cap, FILE *f, bool *is_hidden)
{
    memset(out, 1, (size_t) cap);
    if (!fgets(out, cap, f))
        return NULL;
    int end = cap - 1;
    while (out[end] != '\0')
        end--;
    *is_hidden = (size_t) end > strlen(out);
    return out;
}

enum err
fileio_aside_open(struct fileio_aside *a, const char *path, unsigned mode, struct message *why)
{
    const char *slash = strrchr(path, '/');
    int folder_len = slash == NULL ? 0 : (int) (slash - path) + 1;
    int n;
    int fd;

    a->f = NULL;
    n = snprintf(a->path, sizeof a->path, "%s", path);
    if (n < 0 || (size_t) n >= sizeof a->path)
        goto too_long;
    n = snprintf(a->aside, sizeof a->aside, "%.*s.%s.aside-%ld", folder_len, path, path + folder_len,
                 (long) getpid());
    if (n < 0 || (size_t) n >= sizeof a->aside)
        goto too_long;
    /* A left-over of a killed process that had our id is nobody's. */
    unlink(a->aside);
    fd = open(a->aside, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, (mode_t) mode);
    if (fd < 0)
        return say_os(why, MESSAGE_FILE_NOT_WRITTEN, path, errno);
    a->f = fdopen(fd, "w");
    if (a->f == NULL) {
        int number = errno;
        close(fd);
        unlink(a->aside);
        return say_os(why, MESSAGE_FILE_NOT_WRITTEN, path, number);
    }
    return ERR_OK;
too_long:
    message_tell(why, MESSAGE_PATH_TOO_LONG, message_path(path));
    return ERR_USAGE;
}

int
fileio_flush_error(FILE *f)
{
    struct statvfs room;

    errno = 0;
    if (fflush(f) != 0)
        return errno != 0 ? errno : EIO;
    if (!ferror(f))
        return 0;
    /* The write that failed lies behind, and with it its errno. */
    return fstatvfs(fileno(f), &room) == 0 && room.f_bavail == 0 && room.f_blocks > 0 ? ENOSPC : EIO;
}

enum err
fileio_aside_commit(struct fileio_aside *a, struct message *why)
{
    assert(a->f != NULL);
    int number = fileio_flush_error(a->f);
    if (number == 0 && fsync(fileno(a->f)) != 0)
        number = errno;
    if (fclose(a->f) != 0 && number == 0)
        number = errno;
    a->f = NULL;
    if (number == 0 && rename(a->aside, a->path) != 0)
        number = errno;
    if (number != 0) {
        unlink(a->aside);
        return say_os(why, MESSAGE_FILE_NOT_WRITTEN, a->path, number);
    }
    fileio_sync_folder_of(a->path);
    return ERR_OK;
}

void
fileio_aside_abandon(struct fileio_aside *a)
{
    if (a->f == NULL)
        return;
    fclose(a->f);
    a->f = NULL;
    unlink(a->aside);
}
