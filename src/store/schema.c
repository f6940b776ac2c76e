#include "store/schema.h"

#include <stddef.h>

/* Rules of all tables: STRICT; times of day in UTC milliseconds, times of a visit in the sensor's
 * microseconds; words, not numbers, for kinds (words.c); NULL for unknown, never 0; what belongs to a runner
 * goes with it. */

static const char *const MIGRATION_1[] = {
    "CREATE TABLE runner ("
    " id INTEGER PRIMARY KEY,"
    " code TEXT NOT NULL UNIQUE CHECK (code <> ''),"
    " body_mass_kg REAL, leg_length_mm REAL, foot_length_mm REAL,"
    " pain_limit REAL CHECK (pain_limit BETWEEN 0 AND 10),"
    " shoe_note TEXT NOT NULL DEFAULT '',"
    " display TEXT NOT NULL DEFAULT '',"
    " created_utc_ms INTEGER NOT NULL) STRICT",

    "CREATE TABLE sensor ("
    " id INTEGER PRIMARY KEY,"
    " kind TEXT NOT NULL, name TEXT NOT NULL,"
    " UNIQUE (kind, name)) STRICT",

    "CREATE TABLE target_set ("
    " id INTEGER PRIMARY KEY,"
    " runner_id INTEGER NOT NULL REFERENCES runner ON DELETE CASCADE,"
    " version INTEGER NOT NULL,"
    " created_utc_ms INTEGER NOT NULL,"
    " reason TEXT NOT NULL DEFAULT '',"
    " UNIQUE (runner_id, version)) STRICT",

    "CREATE TABLE target ("
    " target_set_id INTEGER NOT NULL REFERENCES target_set ON DELETE CASCADE,"
    " rank INTEGER NOT NULL," /* 0, 1, ... from the left of the screen */
    " metric TEXT NOT NULL,"
    " low REAL, high REAL, baseline REAL,"
    " is_focus INTEGER NOT NULL CHECK (is_focus IN (0, 1)),"
    " PRIMARY KEY (target_set_id, metric)) STRICT, WITHOUT ROWID",

    "CREATE TABLE visit ("
    " id INTEGER PRIMARY KEY AUTOINCREMENT,"
    " runner_id INTEGER NOT NULL REFERENCES runner ON DELETE CASCADE,"
    " target_set_id INTEGER REFERENCES target_set,"
    " sensor_id INTEGER REFERENCES sensor,"
    " started_utc_ms INTEGER NOT NULL, ended_utc_ms INTEGER,"
    " zone_offset_min INTEGER NOT NULL,"
    " rate_hz REAL, belt_speed_m_s REAL,"
    " plan TEXT NOT NULL DEFAULT '', course_visit INTEGER,"
    " state TEXT NOT NULL DEFAULT 'unfinished' CHECK (state IN ('finished', 'unfinished')),"
    " n_dropped INTEGER NOT NULL DEFAULT 0, n_lost_packets INTEGER NOT NULL DEFAULT 0,"
    " body_weight_n REAL, body_weight_from TEXT,"
    " software TEXT NOT NULL DEFAULT '') STRICT",
    "CREATE INDEX visit_by_runner ON visit (runner_id, started_utc_ms)",

    "CREATE TABLE block ("
    " visit_id INTEGER NOT NULL REFERENCES visit ON DELETE CASCADE,"
    " number INTEGER NOT NULL,"
    " kind TEXT NOT NULL,"
    " start_us INTEGER NOT NULL, end_us INTEGER,"
    " planned_s REAL, belt_speed_m_s REAL, shown_share REAL,"
    " PRIMARY KEY (visit_id, number)) STRICT, WITHOUT ROWID",

    /* No reference to block: a step may come before its block's row does, on another ring.
     * estimated: names of the metrics whose value is estimated, not measured, between spaces. */
    "CREATE TABLE step ("
    " visit_id INTEGER NOT NULL REFERENCES visit ON DELETE CASCADE,"
    " number INTEGER NOT NULL,"
    " is_settled INTEGER NOT NULL CHECK (is_settled IN (0, 1)),"
    " foot TEXT, gait TEXT, zone TEXT,"
    " flags INTEGER NOT NULL,"
    " touchdown_us INTEGER NOT NULL, toe_off_us INTEGER NOT NULL,"
    " cop_fwd_mm REAL, cop_right_mm REAL, body_weight_n REAL,"
    " feedback_shown INTEGER NOT NULL CHECK (feedback_shown IN (0, 1)),"
    " block INTEGER,"
    " estimated TEXT NOT NULL DEFAULT '',"
    " PRIMARY KEY (visit_id, number)) STRICT, WITHOUT ROWID",

    "CREATE TABLE note ("
    " id INTEGER PRIMARY KEY,"
    " visit_id INTEGER NOT NULL REFERENCES visit ON DELETE CASCADE,"
    " at_us INTEGER,"
    " written_utc_ms INTEGER NOT NULL,"
    " text TEXT NOT NULL) STRICT",
    "CREATE INDEX note_by_visit ON note (visit_id)",

    "CREATE TABLE pain ("
    " id INTEGER PRIMARY KEY,"
    " visit_id INTEGER NOT NULL REFERENCES visit ON DELETE CASCADE,"
    " asked TEXT NOT NULL CHECK (asked IN ('before', 'during', 'after')),"
    " at_us INTEGER,"
    " pain REAL CHECK (pain BETWEEN 0 AND 10)) STRICT",
    "CREATE INDEX pain_by_visit ON pain (visit_id)",
    NULL,
};

/* How hard the run felt is asked with the pain. */
static const char *const MIGRATION_2[] = {
    "ALTER TABLE pain ADD COLUMN effort REAL CHECK (effort BETWEEN 0 AND 10)",
    NULL,
};

/* A visit that was stopped before its plan's end; what a person saw of the runner (coach/tally.h's words); the
 * targets that each block was run with; which of them ask for a change. */
static const char *const MIGRATION_3[] = {
    "ALTER TABLE visit ADD COLUMN is_cut_short INTEGER NOT NULL DEFAULT 0 CHECK (is_cut_short IN (0, 1))",
    "ALTER TABLE visit ADD COLUMN ticks TEXT NOT NULL DEFAULT ''",
    "ALTER TABLE block ADD COLUMN target_set_id INTEGER REFERENCES target_set",
    "ALTER TABLE target ADD COLUMN is_change INTEGER NOT NULL DEFAULT 0 CHECK (is_change IN (0, 1))",
    NULL,
};

/* Checks of a sensor (report: the JSON of `underfoot check`), the one that a visit was begun with, and how far its
 * calibration could be trusted. */
static const char *const MIGRATION_4[] = {
    "CREATE TABLE sensor_check ("
    " id INTEGER PRIMARY KEY,"
    " sensor_id INTEGER NOT NULL REFERENCES sensor ON DELETE CASCADE,"
    " made_utc_ms INTEGER NOT NULL,"
    " grade TEXT NOT NULL CHECK (grade IN ('good', 'mind', 'bad', 'untested')),"
    " report TEXT NOT NULL) STRICT",
    "CREATE INDEX sensor_check_by_sensor ON sensor_check (sensor_id, made_utc_ms)",
    "ALTER TABLE visit ADD COLUMN check_id INTEGER REFERENCES sensor_check",
    "ALTER TABLE visit ADD COLUMN calibration TEXT NOT NULL DEFAULT ''",
    "ALTER TABLE visit ADD COLUMN gain_drift_pct REAL",
    NULL,
};

/* Which block of the plan a row is a piece of: targets, belt speed and pauses cut a block in pieces. */
static const char *const MIGRATION_5[] = {
    "ALTER TABLE block ADD COLUMN part INTEGER",
    NULL,
};

/* Which definitions the figures of a visit's own steps have (base/metric.h's text; '' = all 1), and further measurements of
 * its recording, beside its own steps: measurement.h. In measured_step the metric columns grow as in step. The list of all
 * visits is in the order of their begin. */
static const char *const MIGRATION_6[] = {
    "ALTER TABLE visit ADD COLUMN definitions TEXT NOT NULL DEFAULT ''",
    "CREATE TABLE measurement ("
    " id INTEGER PRIMARY KEY AUTOINCREMENT,"
    " visit_id INTEGER NOT NULL REFERENCES visit ON DELETE CASCADE,"
    " made_utc_ms INTEGER NOT NULL,"
    " software TEXT NOT NULL,"
    " definitions TEXT NOT NULL,"
    " is_complete INTEGER NOT NULL CHECK (is_complete IN (0, 1)),"
    " body_weight_n REAL, body_weight_from TEXT) STRICT",
    "CREATE INDEX measurement_by_visit ON measurement (visit_id)",
    "CREATE TABLE measured_step ("
    " measurement_id INTEGER NOT NULL REFERENCES measurement ON DELETE CASCADE,"
    " number INTEGER NOT NULL,"
    " is_settled INTEGER NOT NULL CHECK (is_settled IN (0, 1)),"
    " foot TEXT, gait TEXT, zone TEXT,"
    " flags INTEGER NOT NULL,"
    " touchdown_us INTEGER NOT NULL, toe_off_us INTEGER NOT NULL,"
    " cop_fwd_mm REAL, cop_right_mm REAL, body_weight_n REAL,"
    " feedback_shown INTEGER NOT NULL CHECK (feedback_shown IN (0, 1)),"
    " block INTEGER,"
    " estimated TEXT NOT NULL DEFAULT '',"
    " PRIMARY KEY (measurement_id, number)) STRICT, WITHOUT ROWID",
    "CREATE INDEX visit_by_start ON visit (started_utc_ms)",
    "ALTER TABLE target ADD COLUMN definition INTEGER NOT NULL DEFAULT 1", /* of the figure that the band is for */
    NULL,
};

/* What a runner and a visit are told by wherever their copy goes: identity.h. Rows from before get theirs right behind this
 * (store_migrate.c). Several rows without one would be no clash. */
static const char *const MIGRATION_7[] = {
    "ALTER TABLE runner ADD COLUMN uuid TEXT",
    "ALTER TABLE visit ADD COLUMN uuid TEXT",
    "CREATE UNIQUE INDEX runner_by_uuid ON runner (uuid)",
    "CREATE UNIQUE INDEX visit_by_uuid ON visit (uuid)",
    NULL,
};

const char *const *const SCHEMA_MIGRATION[SCHEMA_VERSION] = { MIGRATION_1, MIGRATION_2, MIGRATION_3,
                                                              MIGRATION_4, MIGRATION_5, MIGRATION_6,
                                                              MIGRATION_7 };
