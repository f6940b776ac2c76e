#include "base/message_words.h"

#include "base/str.h"

#include <assert.h>
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#define CUT "…"
#define UNKNOWN "–"

static const char *const UNIT_SIGN[MESSAGE_N_UNITS] = {
    [MESSAGE_UNIT_NONE] = "",
    [MESSAGE_UNIT_NEWTON] = " N",
    [MESSAGE_UNIT_PCT] = " %",
};

/* English, by code. What a language's catalogue will replace. */
static const struct {
    const char *text;
} WORDS[MESSAGE_N_CODES] = {
    [MESSAGE_NONE] = { "" },
    [MESSAGE_SAID] = { "{1}" },
    [MESSAGE_COPIES_NO_ROOM] = { "no copy of the store is kept of today: it takes {1} MB, and there are {2} MB on its disc: make room" },
    [MESSAGE_COPIES_TOO_LARGE] = { "no copy of the store is kept of today: it takes {1} MB, and settings.ini allows {2} MB to all copies: "
                                   "raise gb in [copies], or keep copies elsewhere with `underfoot keep`" },
    [MESSAGE_COPIES_OLD_WENT] = { "{1} old kept copies went: settings.ini keeps no more; the newest is {2}" },
    [MESSAGE_TEXT_TOO_LONG] = { "{1} has {2} bytes, and there is room for {3}: shorten it" },
    [MESSAGE_TEXT_NO_UTF8] = { "{1} is not UTF-8, as a text of an older coding (Latin-1) is: give it in UTF-8" },
    [MESSAGE_TEXT_HAS_CONTROL] = { "{1} has a control sign in it: take it out" },
    [MESSAGE_STORE_HAS_FOREIGN] = { "the store {1} has a {2} that this program never made ({3}): nothing was changed; put a "
                                    "kept copy in its place, or move it away" },
    [MESSAGE_STORE_LACKS_TABLE] = { "the store {1} lacks its table {2}: it is damaged or was changed by hand; nothing was "
                                    "changed; put a kept copy in its place, or move it away" },
    [MESSAGE_STORE_FOLDER_IS_OPEN] = { "mind: others of this computer may write to the folder {1}, and so change or remove "
                                       "the visits in it: chmod 700 '{2}'" },
    [MESSAGE_RESTORE_NO_FILE] = { "{1} can't be restored: {2}: name a copy that `underfoot keep` made, or one beside the store" },
    [MESSAGE_RESTORE_IS_ITSELF] = { "{1} is the store itself: name a copy of it" },
    [MESSAGE_RESTORE_NOT_OURS] = { "{1} is no store of this program: nothing was changed" },
    [MESSAGE_RESTORE_NEWER] = { "{1} is from a newer version of this program: nothing was changed; use that version" },
    [MESSAGE_RESTORE_IN_USE] = { "another program has the store {1} open, or a visit is being run with it: end that first; nothing was "
                                 "changed" },
    [MESSAGE_RESTORE_NOT_MOVED] = { "the damaged store {1} can't be put aside: {2}: nothing was changed" },
    [MESSAGE_RESTORE_NOT_CONFIRMED] = { "not confirmed: nothing was changed" },
    [MESSAGE_REPAIR_NO_STORE] = { "there is no store {1}: nothing to repair" },
    [MESSAGE_STORE_IS_DAMAGED] = { "the store {1} is damaged: end this program, and save what can be read with `underfoot repair`, or put "
                                   "a kept copy in its place with `underfoot restore`" },
    [MESSAGE_REPAIR_NO_FIRST_PAGE] = { "nothing of {1} can be read, since its first page is lost: restore a kept copy "
                                       "(`underfoot restore FILE`)" },
    [MESSAGE_CALIB_NOT_OPENED] = { "the calibration {1} cannot be opened: {2}" },
    [MESSAGE_CALIB_NOT_READ] = { "the calibration {1} cannot be read" },
    [MESSAGE_CALIB_NO_FOLDER] = { "the path {1} is no file's" },
    [MESSAGE_CALIB_LINE_IS_NO_INI] = { "{1}: not a [section], a key = value, or a ; remark" },
    [MESSAGE_CALIB_NO_SECTION] = { "{1}: no [calibration N] or [undone N] in rising order: {2}" },
    [MESSAGE_CALIB_NO_KEY] = { "{1}: no such key: {2}" },
    [MESSAGE_CALIB_NO_NUMBER] = { "{1}: not a number: {2}" },
    [MESSAGE_CALIB_NO_WHAT] = { "{1}: what is none of zero, mass, running, equalise: {2}" },
    [MESSAGE_CALIB_NO_TIME] = { "{1}: made is no UTC time: {2}" },
    [MESSAGE_CALIB_WHAT_IS_LATE] = { "{1}: what must stand before the values: {2}" },
    [MESSAGE_CALIB_WHAT_IS_MISSING] = { "{1}: the entry does not say what it is" },
    [MESSAGE_CALIB_WRONG_COUNT] = { "{1}: not as many numbers as the profile has channels: {2}" },
    [MESSAGE_CALIB_ONLY_MAT] = { "{1}: only a mat's profile has elements" },
    [MESSAGE_CALIB_BAD_ELEMENTS] = { "{1}: {2}: {3}" },
    [MESSAGE_CALIB_NONE_TO_UNDO] = { "there is no calibration to take back" },
    [MESSAGE_CALIB_SOMEBODY_ON] = { "{1} were taken off: if somebody was on, and not the treadmill alone, take it back "
                                    "(undo)" },
    [MESSAGE_CALIB_GAIN_WAS_OFF] = { "the gain was off by more than the {1} that the profile allows: loads measured since "
                                     "the calibration before may be off by as much" },
    [MESSAGE_SPILL_TAKEN] = { "visit {1} of {2}, kept in {3} while its store could not be written, is in the store now" },
    [MESSAGE_SPILL_NOT_TAKEN] = { "what is kept in {1} is not in the store yet: {2}" },
    [MESSAGE_SPILL_HAS_NO_RUNNER] = { "a visit of {1} is kept in {2}, and there is no such runner in the store: add the "
                                      "runner and begin anew, or delete that folder" },
    [MESSAGE_SPILL_IS_WHOLE] = { "the store as it was before its file was moved, deleted or replaced is kept in {1}: delete "
                                 "that folder once nothing of it is missed" },
};

const char *
message_words_template(enum message_code code)
{
    return WORDS[code].text;
}

static void
put_real(const struct message_part *part, char *out, size_t cap)
{
    if (isnan(part->real))
        snprintf(out, cap, UNKNOWN);
    else if (part->digits == MESSAGE_DIGITS_AS_NEEDED)
        snprintf(out, cap, "%g%s", part->real, UNIT_SIGN[part->unit]);
    else
        snprintf(out, cap, "%.*f%s", part->digits, part->real, UNIT_SIGN[part->unit]);
}

/* One parameter as people read it; what was cut shows where. */
static void
put_part(const struct message *m, const struct message_part *part, char *out, size_t cap)
{
    const char *text = m->text + part->text_at;
    switch (part->kind) {
    case MESSAGE_TEXT:
        snprintf(out, cap, "%s%s", text, part->is_cut ? CUT : "");
        return;
    case MESSAGE_INTEGER:
        snprintf(out, cap, "%" PRId64, part->integer);
        return;
    case MESSAGE_REAL:
        put_real(part, out, cap);
        return;
    case MESSAGE_PATH:
        snprintf(out, cap, "%s%s", part->is_cut ? CUT : "", text);
        return;
    case MESSAGE_PLACE:
        snprintf(out, cap, "%s%s:%d", part->is_cut ? CUT : "", text, part->line);
        return;
    }
}

/* Ends out, which is full, with the sign that something is missing, and with no half letter before it. */
static void
mark_cut(char *out, size_t cap)
{
    size_t at = cap - sizeof CUT;
    while (at > 0 && ((unsigned char) out[at] & 0xC0u) == 0x80u)
        at--;
    memcpy(out + at, CUT, sizeof CUT);
}

char *
message_words(const struct message *m, char *out, size_t cap)
{
    char word[MESSAGE_PART_MAX + 32];
    bool has_fitted = true;
    assert(message_is_whole(m) && cap >= sizeof CUT);
    out[0] = '\0';
    for (const char *at = WORDS[m->code].text; *at != '\0' && has_fitted;) {
        if (at[0] == '{') {
            put_part(m, &m->part[at[1] - '1'], word, sizeof word);
            at += strlen("{1}");
        } else {
            const size_t len = strcspn(at, "{");
            snprintf(word, sizeof word, "%.*s", (int) len, at);
            at += len;
        }
        has_fitted = str_append(out, cap, word);
    }
    if (!has_fitted)
        mark_cut(out, cap);
    return out;
}
