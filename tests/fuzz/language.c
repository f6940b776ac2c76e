/* language.c - a catalogue of words: whatever loads is looked up in, with counts, and filled with what a text may be filled with. */
#include "base/catalogue.h"
#include "fuzz.h"
#include "pages/panel_words.h"
#include "runner/words.h"

#include <sys/stat.h>

static void
look_up(const struct catalogue *c)
{
    char out[PANEL_WORDS_MAX];
    static const char *const TEXTS[] = { "", "Save", "{1} of the {2}", "\1", "zebra" };
    const char *const parts[] = { "R-014", "12" };
    for (size_t i = 0; i < sizeof TEXTS / sizeof TEXTS[0]; i++) {
        fuzz_must(catalogue_of(c, NULL, TEXTS[i]) != NULL && catalogue_of(c, "runner", TEXTS[i]) != NULL, "a text has no words");
        fuzz_must(strlen(catalogue_count(c, NULL, TEXTS[i], "many", i)) < CATALOGUE_BYTES_MAX, "a form that does not end");
    }
    const struct panel_words panel = { .catalogue = *c };
    for (uint32_t i = 0; catalogue_at(c, i); i++)
        fuzz_must(strlen(panel_words_fill(&panel, out, sizeof out, catalogue_at(c, i), parts, 2)) < sizeof out, "filled too far");
}

int
LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static struct words words;
    char path[FUZZ_PATH_MAX];
    struct message why;
    struct catalogue c;
    fuzz_path(path, "languages");
    mkdir(path, 0700);
    fuzz_file(path, "languages/xx.mo", data, size);
    const enum err err = catalogue_load(&c, path, &why);
    fuzz_must(err == ERR_OK || !message_is_none(&why), "a catalogue is refused without a word");
    look_up(&c);
    catalogue_close(&c);
    const enum err e = words_load(&words, "xx", fuzz_folder());
    fuzz_must(e == ERR_OK || !message_is_none(&words.why), "words are refused without a word");
    return 0;
}
