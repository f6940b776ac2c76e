/* fileio.h - where our files live, and how to write one without ever leaving half of it.
 *
 * Data folder: $UNDERFOOT_DATA; else $XDG_DATA_HOME/underfoot; else $HOME/.local/share/underfoot. A relative
 *      XDG_DATA_HOME is passed over, as the XDG base directory specification has it.
 * Writing aside: all goes to a file beside the target (.NAME.aside-PID), which takes the target's name only
 *      once it is whole and on disc; any failure before that leaves the target as it was.
 * Errors: ERR_OS or ERR_USAGE, and a sentence in why.   Threads: any, one at a time per object.
 */
#ifndef BASE_FILEIO_H
#define BASE_FILEIO_H

#include "base/err.h"
#include "base/message.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#define FILEIO_PATH_MAX 1024

/* Fills out with the data folder's path; makes nothing. ERR_USAGE when no variable tells one. */
enum err fileio_data_folder(char *out, size_t cap, struct message *why);

/* Makes the folder and its missing parents, each with mode 0700 and on the disc. Fine when it is there already; one that was
 * there keeps its mode. */
enum err fileio_make_folder(const char *path, struct message *why);

/* Brings the names in the folder that holds path to the disc: a file that was made, renamed or removed is so after a
 * power cut only from then on, whatever was done with the file itself. */
void fileio_sync_folder_of(const char *path);

/* folder/name into out. ERR_USAGE when it does not fit. */
enum err fileio_join(char *out, size_t cap, const char *folder, const char *name, struct message *why);

/* Opens a plain file to read, and nothing else: a pipe, a device or a folder under its name is refused without waiting
 * for it. NULL: *reason says why, as words that go behind "can't be opened: ", and errno is the system's, ENXIO where it
 * is no file. */
FILE *fileio_open_plain(const char *path, const char **reason);
/* As fgets(). *is_hidden: a byte of value 0 lies in the line, and what follows it there is not seen. */
char *fileio_line(char *out, int cap, FILE *f, bool *is_hidden);

/* The folder that path lies in, without a slash at its end: "." of a bare name, "/" of what lies there. What does not fit is cut. */
void fileio_folder_of(char *out, size_t cap, const char *path);

/* name in the same folder as path, as path gives it: a bare name stays one. False when it does not fit. */
bool fileio_beside(char *out, size_t cap, const char *path, const char *name);

/* What a person may still write on the disc of that file or folder; -1 when it can't be looked at. */
int64_t fileio_free_bytes(const char *path);

/* Flushes. 0 when all that was printed to f so far is written; else the errno of what went wrong, by the file system's
 * free room where stdio no longer knows it. */
int fileio_flush_error(FILE *f);

struct fileio_aside {
    FILE *f;                     /* write here; NULL when not open */
    char path[FILEIO_PATH_MAX];  /* the target */
    char aside[FILEIO_PATH_MAX]; /* the file that is being written */
};

/* Opens the file aside (mode: of the finished file, as 0600). */
enum err fileio_aside_open(struct fileio_aside *a, const char *path, unsigned mode, struct message *why);
/* Puts the whole file in the target's place. On failure the target is as before and the aside file is gone.
 */
enum err fileio_aside_commit(struct fileio_aside *a, struct message *why);
/* Drops what was written. Accepts one that is not open. */
void fileio_aside_abandon(struct fileio_aside *a);

#endif
