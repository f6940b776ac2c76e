/* spill_parts.h - inside store/ only: what the files of spill.h share. */
#ifndef STORE_SPILL_PARTS_H
#define STORE_SPILL_PARTS_H

#include "base/message.h"
#include "store/spill.h"

/* What the file `home` says. */
struct spill_note {
    char home[STORE_PATH_MAX];
    int64_t made_utc_ms;
    int64_t first_visit; /* this one and later ones were run in it */
    bool is_whole, is_taken;
};

enum { SPILL_N_BASES = 5 };

/* spill_place.c: the folders that spills lie in, in order. "": none by that rule. */
void spill_base(int i, char out[STORE_PATH_MAX]);
/* Makes a folder of its own in that base. */
enum err spill_make_folder(int i, char out[STORE_PATH_MAX], struct message *why);
enum err spill_write_note(const char *folder, const struct spill_note *note, struct message *why);
bool spill_read_note(const char *folder, struct spill_note *note);
/* Every folder of that home's; fn returns false to stop. */
void spill_each(const char *home, bool (*fn)(void *context, const char *folder, const struct spill_note *note), void *context);
/* Whether a folder lies in it: what the program makes in a data folder beside the store. */
bool spill_has_folder(const char *folder);
/* Takes it away with its files. */
void spill_remove(const char *folder);

/* spill_take.c: the rows, from the store at that path, through home's connection. */
enum err spill_take_rows(struct store *home, const char *path, const struct spill_note *note, struct spill_taken *out);

#endif
