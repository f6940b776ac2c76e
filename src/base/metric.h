/* metric.h - the one table of everything that is measured of a step.
 *
 * The step table, the store, the summaries, the screens, the exports and the tests all read names,
 * units and digits here. To add a metric: one line in METRIC_LIST, then let gait/ fill it.
 * Definitions and their published sources stand where each one is computed (gait/) and in
 * tests/VALIDITY.md.
 *
 * The definition number says what a stored value means. Two values of one figure are compared only where their numbers are
 * the same; measured by different ones they are two different figures. It begins at 1 and is raised, by one, in the same
 * commit that can make the same recording give another value of that figure than before: another formula, filter, threshold
 * or edge, a mended mistake, a rule on when the figure is missing or estimated, and everything that it is worked out from
 * (a change in contact.c raises all that hang on touchdown and toe-off). It is not raised for what leaves every value as it
 * is: speed, names, digits, a new sensor, one more figure. `underfoot remeasure` on old recordings shows which figures move.
 * Never lower a number, nor use one twice. What was stored before there were numbers has definition 1 of everything.
 */
#ifndef BASE_METRIC_H
#define BASE_METRIC_H

/* X(id, name, unit, digits after the point in tables, definition number) */
#define METRIC_LIST(X)                                                    \
    X(STEP_TIME_S, "step_time_s", "s", 4, 2)                              \
    X(CONTACT_MS, "contact_ms", "ms", 2, 2)                               \
    X(FLIGHT_MS, "flight_ms", "ms", 2, 2)                                 \
    X(CADENCE_SPM, "cadence_spm", "steps/min", 2, 2)                      \
    X(DUTY_FACTOR, "duty_factor", "1", 4, 2)                              \
    X(PEAK_FORCE_BW, "peak_force_bw", "BW", 4, 2)                         \
    X(LOAD_RATE_BW_S, "load_rate_bw_s", "BW/s", 2, 2)                     \
    X(LOAD_RATE_MAX_BW_S, "load_rate_max_bw_s", "BW/s", 2, 2)             \
    X(IMPACT_TRANSIENT, "impact_transient", "yes/no", 0, 2)               \
    X(TRANSIENT_BW, "transient_bw", "BW", 4, 2)                           \
    X(TRANSIENT_MS, "transient_ms", "ms", 2, 2)                           \
    X(TRANSIENT_LEAD_MS, "transient_lead_ms", "ms", 2, 2)                 \
    X(COM_DROP_MM, "com_drop_mm", "mm", 2, 2)                             \
    X(COM_LOW_MS, "com_low_ms", "ms", 2, 2)                               \
    X(STRIKE_INDEX_PCT, "strike_index_pct", "%", 2, 2)                    \
    X(STRIKE_TRAVEL_MM, "strike_travel_mm", "mm", 2, 1)                   \
    X(LANDING_AHEAD_MM, "landing_ahead_mm", "mm", 2, 2)                   \
    X(LANDING_FIRST_MM, "landing_first_mm", "mm", 2, 1)                   \
    X(AHEAD_AT_LOAD_MM, "ahead_at_load_mm", "mm", 2, 2)                   \
    X(WHOLE_FOOT_AT_LOAD, "whole_foot_at_load", "yes/no", 0, 2)           \
    X(STIFFNESS_KN_M, "stiffness_kn_m", "kN/m", 3, 2)                     \
    X(LEG_STIFFNESS_KN_M, "leg_stiffness_kn_m", "kN/m", 3, 2)             \
    X(BELT_SPEED_M_S, "belt_speed_m_s", "m/s", 3, 2)                      \
    X(STEP_WIDTH_MM, "step_width_mm", "mm", 2, 2)                         \
    X(TOE_OUT_DEG, "toe_out_deg", "deg", 2, 2)                            \
    X(HEEL_TO_FORE_MS, "heel_to_fore_ms", "ms", 2, 1)                     \
    X(ASYM_STEP_TIME_PCT, "asym_step_time_pct", "%", 2, 2)                \
    X(ASYM_CONTACT_PCT, "asym_contact_pct", "%", 2, 2)                    \
    X(ASYM_LOAD_RATE_PCT, "asym_load_rate_pct", "%", 2, 2)                \
    X(STEP_VAR_PCT, "step_var_pct", "%", 2, 2)                            \
    X(BRAKING_IMPULSE_BW_S, "braking_impulse_bw_s", "BW s", 5, 1)         \
    X(PEAK_BRAKING_BW, "peak_braking_bw", "BW", 4, 1)                     \
    X(BRAKING_END_PCT, "braking_end_pct", "%", 2, 1)

enum metric {
#define METRIC_ENUM(id, name, unit, digits, definition) METRIC_##id,
    METRIC_LIST(METRIC_ENUM)
#undef METRIC_ENUM
        METRIC_COUNT
};

/* How a value came about. Missing is drawn as a dash and stored as NULL, never as 0. */
enum metric_standing {
    METRIC_MISSING = 0,
    METRIC_MEASURED,
    METRIC_ESTIMATED,
};

struct metric_info {
    const char *name; /* as in tables, the store and target files */
    const char *unit; /* plain ASCII */
    int digits;       /* after the point, in tables */
    int definition;   /* today's, >= 1 */
};

/* Which definition each figure of a measurement has; see above. */
struct metric_definitions {
    int of[METRIC_COUNT];
};

/* Bytes that hold every figure's name and number as text. */
#define METRIC_DEFINITIONS_MAX 1024

/* The table's row. Precondition: 0 <= m < METRIC_COUNT. Static storage. */
const struct metric_info *metric_info(enum metric m);

/* Finds a metric by its table name. Returns METRIC_COUNT when there is none. */
enum metric metric_by_name(const char *name);

/* Today's, of every figure. */
struct metric_definitions metric_definitions_today(void);

/* As text, "contact_ms=2 flight_ms=2": those that are not 1, in the table's order, so that equal definitions have equal
 * texts; "" when all are 1. */
const char *metric_definitions_write(const struct metric_definitions *d, char out[METRIC_DEFINITIONS_MAX]);

/* Reads it again; figures that it does not name have definition 1, names that are in no row are passed over. */
struct metric_definitions metric_definitions_read(const char *text);

#endif
