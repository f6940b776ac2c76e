#include "base/message.h"

#include <assert.h>
#include <string.h>

#define MESSAGE_ROW_(id, severity, signature) { MESSAGE_IS_##severity, signature },
static const struct {
    enum message_severity severity;
    const char *signature;
} ROW[MESSAGE_N_CODES] = { MESSAGE_LIST(MESSAGE_ROW_) };
#undef MESSAGE_ROW_

void
message_init(struct message *m, enum message_code code)
{
    memset(m, 0, sizeof *m);
    m->code = code;
}

static struct message_part *
next_part(struct message *m, enum message_kind kind)
{
    assert(m->n_parts < MESSAGE_MAX_PARTS && ROW[m->code].signature[m->n_parts] == (char) kind);
    struct message_part *part = &m->part[m->n_parts++];
    part->kind = kind;
    return part;
}

/* The byte continues a letter of UTF-8: no text may begin there, nor end before it. */
static bool
is_inside_letter(char c)
{
    return ((unsigned char) c & 0xC0u) == 0x80u;
}

static void
keep_text(struct message *m, struct message_part *part, const char *text, bool is_end_kept)
{
    /* Every part still to come has at least the byte of its end. */
    const size_t room = (size_t) (MESSAGE_TEXT_CAP - m->text_len - 1 - (MESSAGE_MAX_PARTS - m->n_parts));
    const size_t cap = room < MESSAGE_PART_MAX ? room : MESSAGE_PART_MAX;
    size_t len = strlen(text), from = 0;
    part->is_cut = len > cap;
    if (part->is_cut && is_end_kept) {
        for (from = len - cap; is_inside_letter(text[from]); from++)
            ;
        len -= from;
    } else if (part->is_cut)
        for (len = cap; len > 0 && is_inside_letter(text[len]); len--)
            ;
    part->text_at = m->text_len;
    memcpy(m->text + m->text_len, text + from, len);
    m->text[m->text_len + (int) len] = '\0';
    m->text_len += (int) len + 1;
}

void
message_add_text(struct message *m, const char *text)
{
    keep_text(m, next_part(m, MESSAGE_TEXT), text, false);
}

void
message_add_integer(struct message *m, int64_t value)
{
    next_part(m, MESSAGE_INTEGER)->integer = value;
}

void
message_add_real(struct message *m, double value, int digits, enum message_unit unit)
{
    struct message_part *part = next_part(m, MESSAGE_REAL);
    part->real = value;
    part->digits = digits;
    part->unit = unit;
}

void
message_add_path(struct message *m, const char *path)
{
    keep_text(m, next_part(m, MESSAGE_PATH), path, true);
}

void
message_add_place(struct message *m, const char *path, int line)
{
    struct message_part *part = next_part(m, MESSAGE_PLACE);
    part->line = line;
    keep_text(m, part, path, true);
}

bool
message_is_whole(const struct message *m)
{
    return (size_t) m->n_parts == strlen(ROW[m->code].signature);
}

enum message_severity
message_severity(enum message_code code)
{
    return ROW[code].severity;
}

const char *
message_signature(enum message_code code)
{
    return ROW[code].signature;
}

void
message_say(struct message *m, const char *sentence)
{
    message_init(m, MESSAGE_SAID);
    message_add_text(m, sentence);
}
