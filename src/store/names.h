/* words.h - the words for the step's and the visit's kinds, as they stand in the store, the tables and the
 * exports. One table each; unknown has no word in files (NULL, empty), and "-" for people.
 *
 * Every function gives static storage, and NULL for the unknown kind. The _from functions give the unknown
 * kind (0) for a word that is not in the table, and for NULL.
 */
#ifndef STORE_NAMES_H
#define STORE_NAMES_H

#include "coach/verdict.h"
#include "gait/step.h"
#include "store/store.h"

#include <stdio.h>

const char *names_foot(enum step_foot foot); /* left, right */
enum step_foot names_foot_from(const char *word);

const char *names_gait(enum step_gait gait); /* off, standing, walking, running */
enum step_gait names_gait_from(const char *word);

const char *names_zone(enum step_zone zone); /* rear, mid, fore, border */
enum step_zone names_zone_from(const char *word);

const char *names_block(enum verdict_block kind); /* free, warm_up ... ; never NULL for a kind of the enum */
enum verdict_block names_block_from(const char *word);

/* How the visit ended, for people: finished, cut short, unfinished. */
const char *names_visit_end(const struct store_visit *v);

const char *names_pain_when(enum store_pain_when when); /* before, during, after */
enum store_pain_when names_pain_when_from(const char *word);

const char *names_weight_from(enum store_weight_from from);
enum store_weight_from names_weight_from_from(const char *word);

/* Bytes that hold every flag's word at once. */
#define NAMES_FLAGS_MAX 160

/* Writes the words of all set flags (first, last, gap, ... overlap), joined by `;`, into out. "" for none. */
void names_flags(uint32_t flags, char out[NAMES_FLAGS_MAX]);

#endif
