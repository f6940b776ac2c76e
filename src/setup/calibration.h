/* calibration.h - a profile with its calibration, read, added to and taken back; `calibrate` and the panel share it.
 *
 *      load --> profile (with all that is in force), state, history
 *      calib.h works a changed profile out of frames --> keep: the file has it, load again puts it in force
 *
 * Memory: the struct (about 150 kB).   Threads: one at a time.   Errors: enum err with a message in why.
 */
#ifndef SETUP_CALIBRATION_H
#define SETUP_CALIBRATION_H

#include "base/fileio.h"
#include "base/message.h"
#include "setup/calib_file.h"

struct calibration {
    char path[FILEIO_PATH_MAX]; /* of its file */
    struct sense_profile profile; /* in force */
    struct sense_profile changed; /* what calib_finish() makes of it, to be kept */
    struct calib_state state;
    struct calib_history history;
    struct message why; /* whole after any answer but ERR_OK */
};

/* name: of a profile, or its file. */
enum err calibration_load(struct calibration *c, const char *name);

/* Adds entry, with c->changed, made now. */
enum err calibration_keep(struct calibration *c, struct calib_entry *entry);

/* Takes the newest one back; *undone is it. */
enum err calibration_undo(struct calibration *c, struct calib_entry *undone);

/* "3  2026-03-01T09:30:00Z  mass 71.5 kg; the gain was off by +1.2 %". */
void calibration_entry_tell(const struct calib_entry *e, struct message *out);

/* What is in force; MESSAGE_NONE when nothing is. True: it is to be done again. */
bool calibration_tell(const struct calibration *c, struct message *out);

/* The gain was off by more than the profile allows, or a zero took a body's weight off: a message. */
bool calibration_was_off(const struct calibration *c, const struct calib_entry *e, struct message *out);

/* How long it takes. */
double calibration_seconds(enum calib_what what);

#endif
