#include "cli/overwrite.h"

#include "base/fileio.h"
#include "cli/say.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

struct option_row
overwrite_row(bool *is_forced)
{
    return (struct option_row){ .name = "force",
                                .type = OPTION_FLAG,
                                .help = N_("overwrite a file that is there already; else it is refused"),
                                .flag = is_forced };
}

/* 0 when a file may be made beside path, else the error's number. */
static int
folder_error(const char *path)
{
    char folder[FILEIO_PATH_MAX];
    const char *slash = strrchr(path, '/');
    const int n = snprintf(folder, sizeof folder, "%.*s", slash ? (int) (slash - path) + 1 : 1, slash ? path : ".");
    if (n < 0 || (size_t) n >= sizeof folder)
        return ENAMETOOLONG;
    return access(folder, W_OK | X_OK) == 0 ? 0 : errno;
}

bool
overwrite_refuses(const char *path, bool is_forced)
{
    struct stat st;
    if (!path)
        return false;
    int number = 0;
    if (stat(path, &st) != 0)
        number = errno == ENOENT ? folder_error(path) : errno;
    else if (S_ISDIR(st.st_mode))
        number = EISDIR;
    else if (!S_ISREG(st.st_mode)) { /* the finished file would take its place */
        say_note(MESSAGE_OVERWRITE_IS_DEVICE, message_path(path));
        return true;
    } else if (!is_forced) {
        say_note(MESSAGE_OVERWRITE_IS_THERE, message_path(path));
        return true;
    } else if (access(path, W_OK) != 0)
        number = errno;
    if (number == 0)
        return false;
    say_note(MESSAGE_OVERWRITE_REFUSED, message_path(path), message_errno(number));
    return true;
}
