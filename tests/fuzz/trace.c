/* trace.c - a force trace in CSV, through the whole of `underfoot steps`. The first byte says with which options. */
#include "cli/commands.h"
#include "fuzz.h"

int
LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    char path[FUZZ_PATH_MAX];
    if (size == 0)
        return 0;
    fuzz_file(path, "trace.csv", data + 1, size - 1);
    char *words[16] = { (char[]){ "steps" }, path };
    int n = 2;
    const char *pairs[][2] = { { "--rate", "300" }, { "--speed", "2.5" }, { "--mass", "71.2" }, { "--foot", "265" },
                               { "--leg", "900" }, { "--threshold", "20" } };
    for (int i = 0; i < 6; i++)
        if (data[0] & 1 << i)
            for (int k = 0; k < 2; k++)
                words[n++] = (char *) (uintptr_t) pairs[i][k];
    if (data[0] & 64)
        words[n++] = (char[]){ "--summary" };
    words[n] = NULL;
    cmd_steps(n, words);
    return 0;
}
