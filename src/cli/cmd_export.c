/* cmd_export.c - `underfoot export ID`: a visit for other programs. */
#include "base/fileio.h"
#include "base/str.h"
#include "cli/commands.h"
#include "cli/overwrite.h"
#include "cli/say_options.h"
#include "cli/store_word.h"
#include "report/export.h"

#include <stdio.h>
#include <string.h>

enum format { FORMAT_CSV, FORMAT_JSON, FORMAT_FHIR, FORMAT_NONE };

static enum format
format_of(const char *word)
{
    static const char *const words[] = { "csv", "json", "fhir" };
    for (int i = 0; i < FORMAT_NONE; i++)
        if (strcmp(word, words[i]) == 0)
            return (enum format) i;
    return FORMAT_NONE;
}

static enum err
write_to(struct store *s, int64_t id, enum format format, bool has_steps, FILE *f)
{
    if (format == FORMAT_CSV)
        return export_csv(s, id, f);
    return format == FORMAT_JSON ? export_json(s, id, has_steps, f) : export_fhir(s, id, f);
}

static enum err
export_visit(struct store *s, int64_t id, enum format format, bool has_steps, const char *out)
{
    struct fileio_aside aside;
    if (!out)
        return write_to(s, id, format, has_steps, stdout);
    enum err err = fileio_aside_open(&aside, out, 0600, &s->why);
    if (err != ERR_OK)
        return err;
    err = write_to(s, id, format, has_steps, aside.f);
    if (err == ERR_OK)
        return fileio_aside_commit(&aside, &s->why);
    fileio_aside_abandon(&aside);
    return err;
}

int
cmd_export(int argc, char **argv)
{
    const char *folder = NULL, *format_word = "csv", *out = NULL, *word[1];
    bool has_steps = false, is_forced = false;
    int64_t id;
    const struct option_row rows[] = {
        { "format", OPTION_TEXT, "FORMAT", N_("csv: the step table; json: everything; fhir: an R4 bundle (csv)"), NULL,
          &format_word, NULL, 0, 0 },
        { "steps", OPTION_FLAG, NULL, N_("with every step, in json"), &has_steps, NULL, NULL, 0, 0 },
        { "out", OPTION_TEXT, "FILE", N_("write there (standard output)"), NULL, &out, NULL, 0, 0 },
        overwrite_row(&is_forced),
        store_word_row(&folder),
    };
    const struct options_spec spec = { "export", "ID", N_("Writes a stored visit for other programs. Codes, not names, are in it."),
                                       rows, (int) (sizeof rows / sizeof *rows) };
    const int n = say_options(&spec, argc, argv, word, 1);
    if (n < 0)
        return n == OPTIONS_HELP ? 0 : 2;
    const enum format format = format_of(format_word);
    if (format == FORMAT_NONE)
        return say_refuse(&spec, MESSAGE_EXPORT_NO_FORMAT, format_word);
    if (n < 1 || !str_to_i64(word[0], &id) || id < 1)
        return say_refuse(&spec, MESSAGE_EXPORT_WHICH);
    if (overwrite_refuses(out, is_forced))
        return 1;
    struct store s = { .db = NULL };
    enum err err = store_word_read(&s, folder);
    if (err == ERR_OK)
        err = export_visit(&s, id, format, has_steps, out);
    return store_word_end(&s, err);
}
