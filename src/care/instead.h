/* instead.h - inside store/ only: a whole store, made beside, takes the place of the one that lies at its path. s has no open
 * connection then, only the path and why. */
#ifndef CARE_INSTEAD_H
#define CARE_INSTEAD_H

#include "base/message.h"
#include "store/store.h"

/* True when a visit runs with it, or another program has it open, as far as the system's locks tell. Not while this program has
 * it open. */
bool instead_is_in_use(const char *path);

/* By SQLite's backup into the file that is there, which must be readable. ERR_USAGE: in use. */
enum err instead_write_into(struct store *s, const char *aside, struct message *why);

/* By its name: what is there, with its log, is called kept from then on ("" where nothing was there). */
enum err instead_rename(struct store *s, const char *aside, char kept[STORE_PATH_MAX], struct message *why);

/* Removes what was made aside, with its log, and not only until the next power cut. Fine when nothing is there. */
void instead_drop(const char *aside);

/* err; of a refusal, the store's sentence goes into why. */
enum err instead_said(struct message *why, const struct store *s, enum err err);

#endif
