/* recordings.h - where recordings that others made are found: the one place that knows, for the tests in C.
 *
 * They are no part of this repository (tests/data/SOURCES.md names them); tests/reference/recordings.py says the same to
 * Python. Tests that need them say `skipped` where they are not there.
 */
#ifndef AID_RECORDINGS_H
#define AID_RECORDINGS_H

#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>

/* $UNDERFOOT_RECORDINGS, else ../shared/data beside the checkout that the tests run in. There or not. */
static inline const char *
recordings_folder(void)
{
    const char *given = getenv("UNDERFOOT_RECORDINGS");
    return given != NULL && given[0] != '\0' ? given : "../shared/data";
}

/* Whether that one is there; `out` takes its path. */
static inline int
recordings_find(const char *file, char *out, size_t cap)
{
    struct stat st;
    snprintf(out, cap, "%s/%s", recordings_folder(), file);
    return stat(out, &st) == 0 && S_ISREG(st.st_mode);
}

#endif
