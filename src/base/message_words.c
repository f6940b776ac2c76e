#include "base/message_words.h"

#include "base/mark.h"
#include "base/str.h"

#include <assert.h>
#include <errno.h>
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#define CUT "…"
#define UNKNOWN "–"
#define DECIMAL_CONTEXT "runner" /* where the languages say what their decimal sign is */

static const char *const UNIT_SIGN[MESSAGE_N_UNITS] = {
    [MESSAGE_UNIT_NONE] = "",
    [MESSAGE_UNIT_NEWTON] = N_("N"),
    [MESSAGE_UNIT_PCT] = N_("%"),
    [MESSAGE_UNIT_MM] = N_("mm"),
    [MESSAGE_UNIT_CM] = N_("cm"),
    [MESSAGE_UNIT_M] = N_("m"),
    [MESSAGE_UNIT_MS] = N_("ms"),
    [MESSAGE_UNIT_S] = N_("s"),
    [MESSAGE_UNIT_MIN] = N_("min"),
    [MESSAGE_UNIT_KG] = N_("kg"),
    [MESSAGE_UNIT_MB] = N_("MB"),
    [MESSAGE_UNIT_GB] = N_("GB"),
    [MESSAGE_UNIT_HZ] = N_("Hz"),
    [MESSAGE_UNIT_M_S] = N_("m/s"),
    [MESSAGE_UNIT_KM_H] = N_("km/h"),
    [MESSAGE_UNIT_BW] = N_("BW"),
    [MESSAGE_UNIT_BW_S] = N_("BW/s"),
    [MESSAGE_UNIT_STEPS_MIN] = N_("steps/min"),
};

/* Why the system refused, in the words that it has itself for English: what people meet. The others come as it says them. */
static const struct {
    int number;
    const char *english;
} REFUSED[] = {
    { ENOENT, N_("No such file or directory") },
    { EACCES, N_("Permission denied") },
    { EPERM, N_("Operation not permitted") },
    { EEXIST, N_("File exists") },
    { ENOTDIR, N_("Not a directory") },
    { EISDIR, N_("Is a directory") },
    { ENOSPC, N_("No space left on device") },
    { EDQUOT, N_("Disk quota exceeded") },
    { EFBIG, N_("File too large") },
    { EIO, N_("Input/output error") },
    { EROFS, N_("Read-only file system") },
    { EBUSY, N_("Device or resource busy") },
    { ENODEV, N_("No such device") },
    { ENXIO, N_("No such device or address") },
    { ENOTTY, N_("Inappropriate ioctl for device") },
    { EINVAL, N_("Invalid argument") },
    { ENOMEM, N_("Cannot allocate memory") },
    { EMFILE, N_("Too many open files") },
    { ENAMETOOLONG, N_("File name too long") },
    { ELOOP, N_("Too many levels of symbolic links") },
    { EPIPE, N_("Broken pipe") },
    { EXDEV, N_("Invalid cross-device link") },
};

static const struct {
    const char *one, *many; /* one NULL: no count in it */
} ENGLISH[MESSAGE_N_CODES] = {
    { NULL, "" },
#define MESSAGE(id, severity, signature, english)         { NULL, english },
#define MESSAGE_COUNT(id, severity, signature, one, many) { one, many },
#include "base/messages.inc"
#undef MESSAGE
#undef MESSAGE_COUNT
};

const char *
message_words_template(enum message_code code)
{
    return ENGLISH[code].many;
}

/* What the message says, its places not filled in yet. */
static const char *
template_of(const struct message *m, const struct catalogue *c)
{
    int i = 0;
    if (m->code == MESSAGE_NONE)
        return "";
    if (!ENGLISH[m->code].one)
        return catalogue_of(c, NULL, ENGLISH[m->code].many);
    while (i < m->n_parts - 1 && m->part[i].kind != MESSAGE_INTEGER)
        i++;
    const int64_t count = m->part[i].integer;
    return catalogue_count(c, NULL, ENGLISH[m->code].one, ENGLISH[m->code].many, (uint64_t) (count < 0 ? -count : count));
}

static void
put_real(const struct message_part *part, const struct catalogue *c, char *out, size_t cap)
{
    if (isnan(part->real)) {
        snprintf(out, cap, UNKNOWN);
        return;
    }
    if (part->digits == MESSAGE_DIGITS_AS_NEEDED)
        snprintf(out, cap, part->is_signed ? "%+g" : "%g", part->real);
    else
        snprintf(out, cap, part->is_signed ? "%+.*f" : "%.*f", part->digits, part->real);
    str_set_decimal(out, cap, catalogue_of(c, DECIMAL_CONTEXT, "."));
    if (part->unit != MESSAGE_UNIT_NONE) {
        str_append(out, cap, " ");
        str_append(out, cap, catalogue_of(c, NULL, UNIT_SIGN[part->unit]));
    }
}

static const char *
errno_words(int number, const struct catalogue *c)
{
    for (size_t i = 0; i < sizeof REFUSED / sizeof *REFUSED; i++)
        if (REFUSED[i].number == number)
            return catalogue_of(c, NULL, REFUSED[i].english);
    return strerror(number);
}

/* One parameter as people read it; what was cut shows where. A cause comes as the words that it has already got. */
static void
put_part(const struct message *m, const struct message_part *part, const struct catalogue *c, const char *cause, char *out,
         size_t cap)
{
    const char *text = m->text + part->text_at, *cut = part->is_cut ? CUT : "";
    switch (part->kind) {
    case MESSAGE_TEXT:
        snprintf(out, cap, "%s%s", text, cut);
        return;
    case MESSAGE_WORD:
        snprintf(out, cap, "%s", catalogue_of(c, NULL, text));
        return;
    case MESSAGE_INTEGER:
        snprintf(out, cap, "%" PRId64, part->integer);
        return;
    case MESSAGE_REAL:
        put_real(part, c, out, cap);
        return;
    case MESSAGE_PATH:
        snprintf(out, cap, "%s%s", cut, text);
        return;
    case MESSAGE_PLACE:
        snprintf(out, cap, "%s%s:%d", cut, text, part->line);
        return;
    case MESSAGE_ERRNO:
        snprintf(out, cap, "%s", errno_words((int) part->integer, c));
        return;
    case MESSAGE_INNER:
        snprintf(out, cap, "%s", part->is_cut ? CUT : cause);
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

/* The words of one message, whose cause's words are there already. */
static void
fill(const struct message *m, const struct catalogue *c, const char *cause, char *out, size_t cap)
{
    char word[MESSAGE_WORDS_MAX];
    bool has_fitted = true;
    assert(message_is_whole(m));
    out[0] = '\0';
    for (const char *at = template_of(m, c); *at != '\0' && has_fitted;) {
        if (at[0] == '{' && at[1] >= '1' && at[1] < '1' + m->n_parts && at[2] == '}') {
            put_part(m, &m->part[at[1] - '1'], c, cause, word, sizeof word);
            at += strlen("{1}");
        } else {
            const size_t len = 1 + strcspn(at + 1, "{");
            snprintf(word, sizeof word, "%.*s", (int) len, at);
            at += len;
        }
        has_fitted = str_append(out, cap, word);
    }
    if (!has_fitted)
        mark_cut(out, cap);
}

/* Goes down to the deepest cause first: words are made from there upwards. */
char *
message_words(const struct message *m, const struct catalogue *c, char *out, size_t cap)
{
    struct message chain[MESSAGE_MAX_DEPTH];
    char cause[MESSAGE_WORDS_MAX] = "";
    int n = 1;
    assert(cap >= sizeof CUT);
    chain[0] = *m;
    for (int i = 0; n < MESSAGE_MAX_DEPTH && i < chain[n - 1].n_parts; i++)
        if (message_inner(&chain[n - 1], i, &chain[n])) {
            n++;
            i = -1;
        }
    while (--n > 0) {
        char words[MESSAGE_WORDS_MAX];
        fill(&chain[n], c, cause, words, sizeof words);
        memcpy(cause, words, sizeof cause);
    }
    fill(&chain[0], c, cause, out, cap);
    return out;
}
