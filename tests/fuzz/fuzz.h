/* fuzz.h - what the fuzz targets share: the input as numbers, and as a file in a folder of one's own.
 *
 * A target is a file tests/fuzz/NAME.c with one function, that libFuzzer calls with an input again and again; it must
 * take any input, keep nothing between two, and leave no file behind but those of fuzz_file(), which take the same place
 * each time. `make fuzz` builds and runs them, tests/fuzz/run.sh says how. An input that broke something lies in
 * tests/fuzz/found/NAME from then on.
 */
#ifndef FUZZ_FUZZ_H
#define FUZZ_FUZZ_H

#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define FUZZ_PATH_MAX 256

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

/* The input, taken from the front; 0 when it is used up. */
struct fuzz_input {
    const uint8_t *at;
    size_t left;
};

static inline uint8_t
fuzz_u8(struct fuzz_input *in)
{
    if (in->left == 0)
        return 0;
    in->left--;
    return *in->at++;
}

static inline uint16_t
fuzz_u16(struct fuzz_input *in)
{
    const unsigned low = fuzz_u8(in);
    return (uint16_t) (low | (unsigned) fuzz_u8(in) << 8);
}

/* Up to len bytes; how many there were is put into *len. */
static inline const uint8_t *
fuzz_take(struct fuzz_input *in, size_t *len)
{
    const uint8_t *at = in->at;
    if (*len > in->left)
        *len = in->left;
    in->at += *len;
    in->left -= *len;
    return at;
}

/* What must hold does not. */
static inline void
fuzz_must(int holds, const char *what)
{
    if (holds)
        return;
    fprintf(stderr, "fuzz: %s\n", what);
    abort();
}

/* A folder of this process; TMPDIR says where (run.sh removes it). It is the data folder and the home, too, so that
 * nothing of who runs it is read or written. */
static inline const char *
fuzz_folder(void)
{
    static char folder[FUZZ_PATH_MAX - 64];
    if (folder[0] == '\0') {
        const char *parent = getenv("TMPDIR");
        snprintf(folder, sizeof folder, "%s/underfoot-fuzz-XXXXXX", parent ? parent : "/tmp");
        fuzz_must(mkdtemp(folder) != NULL, "no folder to work in");
        setenv("UNDERFOOT_DATA", folder, 1);
        setenv("HOME", folder, 1);
        setenv("XDG_CONFIG_HOME", folder, 1);
    }
    return folder;
}

static inline void
fuzz_path(char out[FUZZ_PATH_MAX], const char *name)
{
    snprintf(out, FUZZ_PATH_MAX, "%s/%s", fuzz_folder(), name);
}

/* Writes the bytes as that file of the folder; path is where it lies. */
static inline void
fuzz_file(char path[FUZZ_PATH_MAX], const char *name, const uint8_t *bytes, size_t len)
{
    fuzz_path(path, name);
    FILE *f = fopen(path, "wb");
    fuzz_must(f != NULL && fwrite(bytes, 1, len, f) == len, "a file of our own can't be written");
    fclose(f);
}

#endif
