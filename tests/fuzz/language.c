/* language.c - files of words: the first byte says whether of the runner's screen or of the panel. What is read is
 * drawn with what a text may be filled with. */
#include "fuzz.h"
#include "pages/panel_words.h"
#include "runner/words.h"

int
LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static struct words words;
    static struct panel_words panel;
    char path[FUZZ_PATH_MAX], out[PANEL_WORDS_MAX];
    const char *const parts[] = { "R-014", "12" };
    if (size == 0)
        return 0;
    if (data[0] % 2 == 0) {
        fuzz_file(path, "cues-xx.ini", data + 1, size - 1);
        const enum err e = words_load(&words, "xx", fuzz_folder());
        fuzz_must(e == ERR_OK || words.why[0] != '\0', "words are refused without a word");
        return 0;
    }
    fuzz_file(path, "panel-xx.ini", data + 1, size - 1);
    const enum err e = panel_words_load(&panel, "xx", fuzz_folder());
    fuzz_must(e == ERR_OK || panel.why[0] != '\0', "words are refused without a word");
    for (int i = 0; e == ERR_OK && i < panel.n; i++)
        panel_words_fill(&panel, out, sizeof out, panel.row[i].text, parts, 2);
    panel_words_fill(&panel, out, sizeof out, "{1} of the {2}", parts, 2);
    return 0;
}
