/* store_parts.h - inside store/ only: what its files share about rows. */
#ifndef STORE_STORE_PARTS_H
#define STORE_STORE_PARTS_H

#include "store/sql.h"
#include "store/store.h"

/* The columns of a runner that store_read_runner() reads, from the first on; of: such as "r.". */
#define STORE_RUNNER_COLUMNS(of)                                                                                        \
    of "id, " of "code, " of "body_mass_kg, " of "leg_length_mm, " of "foot_length_mm, " of "pain_limit, " of             \
       "shoe_note, " of "display, " of "created_utc_ms"
#define STORE_N_RUNNER_COLUMNS 9

void store_read_runner(sqlite3_stmt *st, struct store_runner *out);

/* Finds or makes the sensor's row; *sensor_id is 0 when kind and name are empty. */
enum err store_ensure_sensor(struct store *s, const char *kind, const char *name, int64_t *sensor_id);

#endif
