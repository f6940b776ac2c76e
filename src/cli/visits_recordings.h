/* visits_recordings.h - what `underfoot visits` says of recordings: of one visit, and of all. */
#ifndef CLI_VISITS_RECORDINGS_H
#define CLI_VISITS_RECORDINGS_H

#include "report/json.h"
#include "store/store.h"

/* One line: its size and MB a minute, or that there is none. */
void visits_recordings_print(struct store *s, const struct store_visit *v);

/* recording_bytes, null when there is none. */
void visits_recordings_json(struct store *s, const struct store_visit *v, struct json *j);

/* Every recording, the oldest first, and what the rule keeps. */
enum err visits_recordings_list(struct store *s);

#endif
