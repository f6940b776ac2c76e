/* settings.c - what a clinic sets for itself, how a runner likes the screen, and a command of a recording: the first byte
 * says which. */
#include "fuzz.h"
#include "live/command_code.h"
#include "runner/show_as.h"
#include "store/settings.h"

static void
like_the_screen(const uint8_t *data, size_t size)
{
    char text[4096], said[SHOW_AS_TEXT_MAX];
    struct show_as a, b;
    memcpy(text, data, size < sizeof text ? size : sizeof text - 1);
    text[size < sizeof text ? size : sizeof text - 1] = '\0';
    show_as_parse(text, size % 2 ? "de en es fr ja" : NULL, &a);
    show_as_text(&a, said);
    fuzz_must(show_as_parse(said, NULL, &b) && a.has == b.has, "words of our own are not read again");
}

int
LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    char path[FUZZ_PATH_MAX], store[FUZZ_PATH_MAX];
    struct message why = { 0 };
    struct settings s;
    if (size == 0)
        return 0;
    if (data[0] % 3 == 0) {
        fuzz_file(path, SETTINGS_FILE_NAME, data + 1, size - 1);
        fuzz_path(store, "underfoot.sqlite");
        const enum err e = settings_load(store, &s, &why);
        fuzz_must(e == ERR_OK || !message_is_none(&why), "settings are refused without a word");
        fuzz_must(s.keep_visits >= 0 && s.keep_gb >= 0, "settings keep less than nothing");
    } else if (data[0] % 3 == 1)
        like_the_screen(data + 1, size - 1);
    else {
        struct command command;
        uint8_t again[COMMAND_CODE_MAX];
        if (command_code_read(data + 1, size - 1, &command))
            fuzz_must(command_code_write(&command, again) == size - 1 && memcmp(again, data + 1, size - 1) == 0,
                      "a command is not written as it was read");
    }
    return 0;
}
