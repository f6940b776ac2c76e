#include "store/settings.h"

#include "base/fileio.h"
#include "base/inifile.h"
#include "base/mark.h"
#include "base/str.h"

#include <ini.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

struct settings
settings_default(void)
{
    return (struct settings){ SETTINGS_KEEP_VISITS, SETTINGS_KEEP_GB, SETTINGS_KEEP_COPIES, SETTINGS_COPIES_GB, "" };
}

struct loader {
    struct inifile file;
    struct settings *out;
};

static int
on_copies_key(struct loader *l, const char *key, const char *value)
{
    const bool is_all = strcmp(value, "all") == 0;
    if (strcmp(key, "keep") == 0) {
        if (!str_to_i64(value, &l->out->keep_copies) || l->out->keep_copies < 0 || l->out->keep_copies > 999)
            return inifile_refuse(&l->file, MESSAGE_SETTINGS_NO_KEEP, value);
    } else if (strcmp(key, "gb") == 0) {
        if (!is_all && (!str_to_double(value, &l->out->copies_gb) || !(l->out->copies_gb > 0)))
            return inifile_refuse(&l->file, MESSAGE_SETTINGS_NO_GB, value);
        l->out->copies_gb = is_all ? (double) INFINITY : l->out->copies_gb;
    } else
        return inifile_refuse(&l->file, MESSAGE_SETTINGS_NO_COPIES_KEY, key);
    return 1;
}

static int
on_clinic_key(struct loader *l, const char *key, const char *value)
{
    const bool is_code = strlen(value) == 2 && strspn(value, "abcdefghijklmnopqrstuvwxyz") == 2;
    if (strcmp(key, "language") != 0)
        return inifile_refuse(&l->file, MESSAGE_SETTINGS_NO_CLINIC_KEY, key);
    if (!is_code)
        return inifile_refuse(&l->file, MESSAGE_SETTINGS_NO_LANGUAGE, value);
    str_copy(l->out->language, sizeof l->out->language, value);
    return 1;
}

static int
on_key(void *context, const char *section, const char *key, const char *value)
{
    struct loader *l = context;
    const bool is_all = strcmp(value, "all") == 0;
    if (strcmp(section, "copies") == 0)
        return on_copies_key(l, key, value);
    if (strcmp(section, "clinic") == 0)
        return on_clinic_key(l, key, value);
    if (strcmp(section, "recordings") != 0)
        return inifile_refuse(&l->file, MESSAGE_SETTINGS_NO_SECTION, section);
    if (strcmp(key, "keep_visits") == 0) {
        if (!is_all && (!str_to_i64(value, &l->out->keep_visits) || l->out->keep_visits < 1))
            return inifile_refuse(&l->file, MESSAGE_SETTINGS_NO_KEEP_VISITS, value);
        l->out->keep_visits = is_all ? INT64_MAX : l->out->keep_visits;
    } else if (strcmp(key, "keep_gb") == 0) {
        if (!is_all && (!str_to_double(value, &l->out->keep_gb) || !(l->out->keep_gb > 0)))
            return inifile_refuse(&l->file, MESSAGE_SETTINGS_NO_KEEP_GB, value);
        l->out->keep_gb = is_all ? (double) INFINITY : l->out->keep_gb;
    } else
        return inifile_refuse(&l->file, MESSAGE_SETTINGS_NO_RECORDINGS_KEY, key);
    return 1;
}

enum err
settings_load(const char *store_path, struct settings *out, struct message *why)
{
    struct loader l = { .out = out };
    char path[FILEIO_PATH_MAX];
    *out = settings_default();
    if (!fileio_beside(path, sizeof path, store_path, SETTINGS_FILE_NAME)) {
        message_tell(why, MESSAGE_SETTINGS_PATH_TOO_LONG, SETTINGS_FILE_NAME, message_path(store_path));
        return ERR_USAGE;
    }
    enum err err = inifile_open(&l.file, path, N_("the settings"), why);
    if (err == ERR_GONE) {
        message_init(why, MESSAGE_NONE);
        return ERR_OK;
    }
    if (err == ERR_OK)
        err = inifile_close(&l.file, ini_parse_stream(inifile_line, &l.file, on_key, &l));
    if (err != ERR_OK)
        *out = settings_default();
    return err;
}
