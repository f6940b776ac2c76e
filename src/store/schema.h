/* schema.h - the store's tables, as numbered migrations.
 *
 * Migration i (1, 2, ...) turns a store of user_version i - 1 into one of user_version i. A migration that
 * has been released is never edited: write the next one. The metric columns of `step` and `measured_step` are the
 * exception: each name of METRIC_LIST that a table lacks is added as a REAL column at opening (store_migrate.c), so
 * that a new metric is one line in base/metric.h.
 */
#ifndef STORE_SCHEMA_H
#define STORE_SCHEMA_H

/* "unft" in ASCII, at offset 68 of the file: tells ours from other programs' SQLite files. */
#define SCHEMA_APPLICATION_ID 0x756e6674

#define SCHEMA_VERSION 7

/* SCHEMA_MIGRATION[i]: the statements of migration i + 1, ended by NULL. */
extern const char *const *const SCHEMA_MIGRATION[SCHEMA_VERSION];

#endif
