/* settings.h - what a clinic sets for itself: settings.ini in the data folder, beside the store.
 *
 *      [recordings]
 *      keep_visits = 1000     how many visits keep their recording; "all": no limit of that kind
 *      keep_gb = 50           how much all of them may take, GB of 1e9 bytes; "all" likewise
 *      [copies]
 *      keep = 7               how many kept copies of the store, one a day on which somebody ran (copies.h); 0: none
 *      gb = 5                 how much they may take together; "all": no limit
 *      [clinic]
 *      language = de          of what is printed and reported: two letters; without it, the environment's
 *
 * What is not said stays as the program has it (settings_default()); no file is no error. A section, key or value that
 * is not known is refused with its line: a slip of the pen must not drop a recording.
 * Errors: ERR_FORMAT, ERR_OS; one sentence in why.   Threads: any.
 */
#ifndef STORE_SETTINGS_H
#define STORE_SETTINGS_H

#include "base/err.h"
#include "base/message.h"

#include <stdint.h>

#define SETTINGS_FILE_NAME "settings.ini"

/* Generous: of a mat at 250 Hz an hour is about 0.2 GB, so both are years of a busy clinic. */
#define SETTINGS_KEEP_VISITS 1000
#define SETTINGS_KEEP_GB     50.0
#define SETTINGS_KEEP_COPIES 7
#define SETTINGS_COPIES_GB   5.0

struct settings {
    int64_t keep_visits; /* INT64_MAX: all */
    double keep_gb;      /* INFINITY: all */
    int64_t keep_copies; /* 0: none */
    double copies_gb;    /* INFINITY: no limit */
    char language[3];    /* "": not said */
};
struct settings settings_default(void);

/* Of the store at that path. *out is the default after a refusal. */
enum err settings_load(const char *store_path, struct settings *out, struct message *why);

#endif
