/* store_parts.h - inside store/ only: what its files share about rows. */
#ifndef STORE_STORE_PARTS_H
#define STORE_STORE_PARTS_H

#include "store/store.h"

/* Finds or makes the sensor's row; *sensor_id is 0 when kind and name are empty. */
enum err store_ensure_sensor(struct store *s, const char *kind, const char *name, int64_t *sensor_id);

#endif
