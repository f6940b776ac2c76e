#include "cli/store_word.h"

#include "base/fileio.h"
#include "base/str.h"
#include "base/utf8.h"
#include "care/homecoming.h"
#include "cli/say.h"
#include "store/copies.h"

#include <stdio.h>

struct option_row
store_word_row(const char **folder)
{
    return (struct option_row){ .name = "store",
                                .type = OPTION_TEXT,
                                .argument = "DIR",
                                .help = N_("folder of the store (the user's data folder)"),
                                .text = folder };
}

static void
tell(void *context, const struct message *m)
{
    (void) context;
    say_note_of(m);
}

/* Visits that were kept elsewhere while this store could not be written. */
static enum err
opened(struct store *s, enum err err)
{
    if (err == ERR_OK)
        homecoming(s, tell, NULL);
    return err;
}

void
store_word_settle(const char *path)
{
    struct store s;
    (void) opened(&s, store_open(&s, path, STORE_MUST_EXIST | STORE_UNCHECKED));
    store_close(&s);
}

static enum err
open_at(struct store *s, const char *folder, bool is_reading)
{
    char path[STORE_PATH_MAX];
    const char *at = NULL; /* the usual place */
    if (folder) {
        const enum err err = fileio_join(path, sizeof path, folder, STORE_FILE_NAME, &s->why);
        if (err != ERR_OK)
            return err;
        at = path;
    }
    if (!is_reading)
        return opened(s, store_open(s, at, 0));
    const enum err err = opened(s, store_open(s, at, STORE_MUST_EXIST));
    /* May be a read-only file: reading still works then. What is damaged or newer stays refused, and where that does not
     * work either, the first reason is the one to tell. */
    const struct message why = s->why;
    if (err != ERR_OS || store_open(s, at, STORE_READ_ONLY) == ERR_OK)
        return err == ERR_OS ? ERR_OK : err;
    s->why = why;
    return err;
}

enum err
store_word_path(const char *folder, char path[STORE_PATH_MAX], struct message *why)
{
    path[0] = '\0';
    return folder ? fileio_join(path, STORE_PATH_MAX, folder, STORE_FILE_NAME, why) : ERR_OK;
}

void
store_word_keep_copy(const char *path)
{
    struct settings rule;
    struct message told;
    struct store s;
    enum err err = store_open(&s, path, STORE_MUST_EXIST | STORE_UNCHECKED);
    if (err == ERR_OK)
        err = settings_load(s.path, &rule, &s.why);
    if (err == ERR_OK)
        err = copies_keep(&s, &rule, &(struct store_stop){ NULL, NULL }, &told);
    if (err != ERR_OK)
        say_note(MESSAGE_CLI_NO_COPY, message_of(&s.why));
    else if (told.code != MESSAGE_NONE)
        say_note_of(&told);
    store_close(&s);
}

enum err
store_word_read(struct store *s, const char *folder)
{
    return open_at(s, folder, true);
}

enum err
store_word_write(struct store *s, const char *folder)
{
    return open_at(s, folder, false);
}

bool
store_word_text(struct store *s, char *out, size_t cap, const char *text, bool has_lines, const char *what)
{
    return utf8_enter(text, cap, has_lines, what, &s->why) == ERR_OK && str_copy(out, cap, text);
}

int
store_word_end(struct store *s, enum err err)
{
    if (err != ERR_OK)
        say_note_of(&s->why);
    store_close(s);
    return err == ERR_OK ? 0 : 1;
}
