/* made_catalogue.h - a catalogue as msgfmt writes it, made in memory: tests need no gettext, and can spoil any byte. */
#ifndef AID_MADE_CATALOGUE_H
#define AID_MADE_CATALOGUE_H

#include <stddef.h>
#include <stdint.h>

#define MADE_CATALOGUE_BYTES_MAX 4096

struct made_catalogue {
    unsigned char bytes[MADE_CATALOGUE_BYTES_MAX];
    size_t len;
};

struct made_pair {
    const char *id; /* context, the sign 4, text; all forms of it with a zero between */
    size_t id_len;
    const char *words;
    size_t words_len;
};

#define MADE_PAIR(id, words) { id, sizeof(id) - 1, words, sizeof(words) - 1 }

/* The pairs stand in the order of strcmp(), as in a file of msgfmt's. */
struct made_catalogue made_catalogue_of(const struct made_pair *pairs, size_t n);

void made_catalogue_put_word(struct made_catalogue *m, size_t at, uint32_t x);

/* Writes folder/languages/qq.mo, making both; folder is a template for mkdtemp(). */
void made_catalogue_install(const struct made_catalogue *m, char *folder);
void made_catalogue_remove(const char *folder);

#endif
