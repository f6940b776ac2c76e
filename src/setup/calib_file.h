/* calib_file.h - the history of a sensor's calibrations: an INI file beside no profile but its own.
 *
 *      [calibration 1]                     one section an entry, oldest first; numbers are never used again
 *      made = 2026-03-01T09:30:00Z
 *      what = zero                         zero, mass, running, equalise
 *      cell_offset_counts = 12 9 -4 30     the values that it sets, all of them
 *      [undone 2]                          taken back: kept, not in force
 *      ...
 *
 * Values: cell_offset_counts, zone_offset_counts, cell_gain_n_per_count (a number each), gain_n_per_count
 * (mat), element_offset_counts and element_gain (mat, "row:column v v ...", several lines). The later entry
 * of a group (offsets, gain, element gains) hides the earlier ones. The shipped profile is never written to.
 *
 * A recording keeps which entries were in force (calib_state_text()), so that a replay takes the same ones.
 * Writing: aside, then renamed (base/fileio.h).   Errors: enum err; a message in *why, with file and line.
 */
#ifndef SETUP_CALIB_FILE_H
#define SETUP_CALIB_FILE_H

#include "base/message.h"
#include "setup/calib.h"

#define CALIB_FILE_MAX_ENTRIES 256 /* of a history that is listed; older ones than that are counted */

/* Groups of values, each with its newest entry in force. */
enum calib_group { CALIB_OFFSETS = 0, CALIB_GAIN, CALIB_ELEMENTS, CALIB_N_GROUPS };

struct calib_state {
    int number[CALIB_N_GROUPS]; /* of the entry in force; 0 = none, the profile's own values */
    struct calib_entry in_force[CALIB_N_GROUPS]; /* valid where number is not 0 */
};

struct calib_history {
    int n, n_older; /* of entry: the newest CALIB_FILE_MAX_ENTRIES; and older ones that did not fit */
    int last_number;
    struct calib_entry entry[CALIB_FILE_MAX_ENTRIES];
};

/* Reads the file, if there is one, and changes the profile by the entries in force. only: the numbers of
 * those to take, for a replay; NULL: the newest that are not undone. history: NULL = not wanted. ERR_OK also
 * without a file. */
enum err calib_file_load(const char *path, const int only[CALIB_N_GROUPS], struct sense_profile *profile,
                         struct calib_state *state, struct calib_history *history, struct message *why);

/* Adds an entry with the values of profile that its kind of calibration sets; gives it its number. Makes
 * folder and file where they are missing. Precondition: history was loaded from the same file just before. */
enum err calib_file_append(const char *path, const struct calib_history *history,
                           const struct sense_profile *profile, struct calib_entry *entry,
                           struct message *why);

/* Takes the newest entry that is not undone back. *undone is it. ERR_GONE: there is none. */
enum err calib_file_undo(const char *path, const struct calib_history *history, struct calib_entry *undone,
                         struct message *why);

/* "3 5 2": for a recording's notes; and back. "" and false: nothing is in force. */
bool calib_state_text(const struct calib_state *s, char *out, size_t cap);
bool calib_state_from_text(const char *text, int only[CALIB_N_GROUPS]);

/* What to tell of it at a visit: how and when it was made, and whether it is older than the profile's
 * calibration_days. MESSAGE_NONE when nothing is in force. True: it is to be done again. */
bool calib_state_tell(const struct calib_state *s, const struct sense_profile *profile, int64_t now_utc_ms,
                      struct message *out);

/* "2026-03-01T09:30:00Z", at least 21 bytes; and back (ms, false when it is none). */
char *calib_time_text(int64_t utc_ms, char *out, size_t cap);
bool calib_time_from_text(const char *text, int64_t *utc_ms);

#endif
