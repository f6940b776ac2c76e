#include "aid/made_catalogue.h"

#include <assert.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define HEAD_BYTES 28

void
made_catalogue_put_word(struct made_catalogue *m, size_t at, uint32_t x)
{
    memcpy(m->bytes + at, &x, sizeof x);
}

struct made_catalogue
made_catalogue_of(const struct made_pair *pairs, size_t n)
{
    struct made_catalogue m = { .len = HEAD_BYTES + 16 * n };
    made_catalogue_put_word(&m, 0, 0x950412DEu);
    made_catalogue_put_word(&m, 8, (uint32_t) n);
    made_catalogue_put_word(&m, 12, HEAD_BYTES);
    made_catalogue_put_word(&m, 16, (uint32_t) (HEAD_BYTES + 8 * n));
    for (size_t table = 0; table < 2; table++)
        for (size_t i = 0; i < n; i++) {
            const char *text = table == 0 ? pairs[i].id : pairs[i].words;
            const size_t len = table == 0 ? pairs[i].id_len : pairs[i].words_len;
            const size_t row = HEAD_BYTES + 8 * (table * n + i);
            assert(m.len + len + 1 <= MADE_CATALOGUE_BYTES_MAX);
            made_catalogue_put_word(&m, row, (uint32_t) len);
            made_catalogue_put_word(&m, row + 4, (uint32_t) m.len);
            memcpy(m.bytes + m.len, text, len + 1);
            m.len += len + 1;
        }
    return m;
}

void
made_catalogue_install(const struct made_catalogue *m, char *folder)
{
    char path[300];
    const int is_made = mkdtemp(folder) != NULL;
    snprintf(path, sizeof path, "%s/languages", folder);
    if (!is_made || mkdir(path, 0700) != 0)
        abort();
    snprintf(path, sizeof path, "%s/languages/qq.mo", folder);
    FILE *f = fopen(path, "wb");
    if (!f || fwrite(m->bytes, 1, m->len, f) != m->len || fclose(f) != 0)
        abort();
}

void
made_catalogue_remove(const char *folder)
{
    char path[300];
    snprintf(path, sizeof path, "%s/languages/qq.mo", folder);
    unlink(path);
    snprintf(path, sizeof path, "%s/languages", folder);
    rmdir(path);
    rmdir(folder);
}
