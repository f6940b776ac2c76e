#include "setup/plan_copy.h"

#include "base/fileio.h"
#include "base/str.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

static enum err
check_name(const char *name, struct message *why)
{
    static const char allowed[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_";
    char path[PLACES_PATH_MAX];
    struct message none;
    if (!name[0] || strspn(name, allowed) != strlen(name) || strlen(name) >= PLAN_COPY_NAME_MAX || strchr("-_", name[0])) {
        message_tell(why, MESSAGE_PLAN_NAME_IS_NONE, name);
        return ERR_USAGE;
    }
    if (places_find("plans", name, path, sizeof path, &none) == ERR_OK) {
        message_tell(why, MESSAGE_PLAN_NAME_IS_TAKEN, name);
        return ERR_USAGE;
    }
    return ERR_OK;
}

static enum err
copy_bytes(const char *from, const char *to, struct message *why)
{
    char bytes[4096];
    ssize_t n = -1;
    bool is_whole = false;
    const char *reason = NULL;
    FILE *in = fileio_open_plain(from, &reason);
    const int out = in == NULL ? -1 : open(to, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0644); /* O_EXCL: never over another */
    if (out >= 0) {
        is_whole = true;
        while (is_whole && (n = read(fileno(in), bytes, sizeof bytes)) > 0)
            is_whole = write(out, bytes, (size_t) n) == n;
        is_whole = is_whole && n == 0 && fsync(out) == 0;
    }
    const int error = errno;
    const bool is_closed = out < 0 || close(out) == 0;
    if (in != NULL)
        fclose(in);
    if (is_whole && is_closed) {
        fileio_sync_folder_of(to);
        return ERR_OK;
    }
    if (out >= 0)
        unlink(to); /* made by us a moment ago */
    if (in == NULL)
        message_tell(why, MESSAGE_PLAN_NOT_COPIED_FROM, message_path(from), message_word(reason));
    else
        message_tell(why, MESSAGE_PLAN_NOT_COPIED, message_path(to), message_errno(error));
    return ERR_OS;
}

enum err
plan_copy(const char *plan, const char *name, char path[PLACES_PATH_MAX], struct message *why)
{
    char from[PLACES_PATH_MAX], folder[PLACES_PATH_MAX] = "";
    enum err err = check_name(name, why);
    if (err == ERR_OK)
        err = places_find("plans", plan, from, sizeof from, why);
    if (err == ERR_OK)
        err = places_own("plans", folder, sizeof folder, why);
    if (err == ERR_OK)
        err = fileio_make_folder(folder, why);
    if (err == ERR_OK && snprintf(path, PLACES_PATH_MAX, "%s/%s.ini", folder, name) >= PLACES_PATH_MAX) {
        message_init(why, MESSAGE_PLAN_PATH_TOO_LONG);
        err = ERR_USAGE;
    }
    return err == ERR_OK ? copy_bytes(from, path, why) : err;
}
