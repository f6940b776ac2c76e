#include "base/inifile.h"

#include "base/fileio.h"
#include "base/str.h"
#include "base/utf8.h"

#include <errno.h>
#include <stdbool.h>
#include <string.h>

#define LINE_MAX_CHARS 198 /* inih reads lines of up to 200 bytes */

enum err
inifile_open(struct inifile *i, const char *path, const char *what, struct message *why)
{
    const char *reason;
    *i = (struct inifile){ .path = path, .what = what, .why = why, .f = fileio_open_plain(path, &reason) };
    message_init(why, MESSAGE_NONE);
    if (i->f)
        return ERR_OK;
    const int os_error = errno;
    message_tell(why, MESSAGE_INI_NOT_OPENED, message_word(what), message_path(path), message_word(reason));
    return os_error == ENOENT ? ERR_GONE : ERR_OS;
}

char *
inifile_line(char *out, int cap, void *inifile)
{
    struct inifile *i = inifile;
    bool is_hidden;
    if (!fileio_line(out, cap, i->f, &is_hidden))
        return NULL;
    i->line++;
    const size_t n = strlen(out);
    if (n > LINE_MAX_CHARS && out[n - 1] != '\n') {
        inifile_refuse(i, MESSAGE_INI_LINE_TOO_LONG, NULL);
        return NULL;
    }
    if (str_ends_with(out, "\r\n"))
        str_copy(out + n - 2, 2, "\n"); /* from an editor that ends lines so */
    const enum utf8_fault fault = utf8_judge(out, (size_t) cap, true);
    if (fault == UTF8_IS_FINE && !is_hidden)
        return out;
    inifile_refuse(i, fault == UTF8_IS_BROKEN ? MESSAGE_INI_LINE_NO_UTF8 : MESSAGE_INI_LINE_HAS_CONTROL, NULL);
    return NULL;
}

bool
inifile_refuses(struct inifile *i, struct message_arg *place)
{
    if (i->bad_line != 0)
        return false;
    i->bad_line = i->line > 0 ? i->line : 1;
    *place = message_place(i->path, i->bad_line);
    return true;
}

int
inifile_refuse(struct inifile *i, enum message_code code, const char *value)
{
    struct message_arg place;
    if (!inifile_refuses(i, &place))
        return 0;
    if (value != NULL)
        message_tell(i->why, code, place, value);
    else
        message_tell(i->why, code, place);
    return 0;
}

enum err
inifile_close(struct inifile *i, int parsed)
{
    const bool has_read_error = ferror(i->f) != 0;
    fclose(i->f);
    i->f = NULL;
    if (has_read_error) {
        message_tell(i->why, MESSAGE_INI_NOT_READ, message_word(i->what), message_path(i->path));
        return ERR_OS;
    }
    /* A line that is neither key nor section never reaches the handler: inih only gives its number. */
    if (parsed > 0 && (i->bad_line == 0 || parsed < i->bad_line)) {
        i->bad_line = parsed;
        message_tell(i->why, MESSAGE_INI_NO_INI_LINE, message_place(i->path, parsed));
    }
    return i->bad_line == 0 ? ERR_OK : ERR_FORMAT;
}
