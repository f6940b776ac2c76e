/* old_store.h - a store as an older program left it, in the suite's rig, and the copies beside a store. */
#ifndef AID_OLD_STORE_H
#define AID_OLD_STORE_H

#include "aid/store_file.h"
#include "aid/store_suite.h"
#include "store/store_parts.h"

#include <dirent.h>

/* As a program of that version left it: its own statements, two metric columns, two runners with a visit of 30 steps each.
 * In one go: each statement by itself waits for the disc. */
static inline void
make_version(int version)
{
    static char sql[32768];
    size_t n = (size_t) snprintf(sql, sizeof sql, "PRAGMA journal_mode = WAL; BEGIN;");
    store_file_write(rig.path, "", 0);
    for (int i = 0; i < version; i++)
        for (const char *const *p = SCHEMA_MIGRATION[i]; *p != NULL; p++)
            n += (size_t) snprintf(sql + n, sizeof sql - n, "%s;", *p);
    n += (size_t) snprintf(sql + n, sizeof sql - n, "ALTER TABLE step ADD COLUMN contact_ms REAL;"
                                                    "ALTER TABLE step ADD COLUMN cadence_spm REAL;");
    for (int r = 1; r <= 2; r++)
        n += (size_t) snprintf(sql + n, sizeof sql - n,
                               "INSERT INTO runner (code, created_utc_ms, shoe_note) VALUES ('R-OLD%d', 1, 'shoe-of-%d');"
                               "INSERT INTO visit (runner_id, started_utc_ms, zone_offset_min, software) VALUES (%d, %d, 60, 'x');"
                               "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 30) INSERT INTO step"
                               " (visit_id, number, is_settled, flags, touchdown_us, toe_off_us, feedback_shown, contact_ms)"
                               " SELECT %d, i, 1, 0, i * 400000, i * 400000 + 250000, 1, 250.5 + i FROM n;",
                               r, r, r, 5 + r, r);
    n += (size_t) snprintf(sql + n, sizeof sql - n, "PRAGMA application_id = 0x756e6674; PRAGMA user_version = %d; COMMIT", version);
    cr_assert_lt(n, sizeof sql);
    store_file_sql(rig.path, sql);
}

/* The path of the only copy beside the store; how many there are. "copying": one that was left half made. */
static inline int
find_copies(char path[512])
{
    char folder[128];
    int n = 0;
    snprintf(folder, sizeof folder, "%s/data", rig.folder);
    DIR *d = opendir(folder);
    cr_assert_not_null(d);
    for (struct dirent *e; (e = readdir(d)) != NULL;)
        if (strncmp(e->d_name, STORE_FILE_NAME ".v", strlen(STORE_FILE_NAME) + 2) == 0) {
            snprintf(path, 512, "%s/%.200s", folder, e->d_name);
            n++;
        }
    closedir(d);
    return n;
}

#endif
