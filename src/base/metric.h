/* metric.h - the one table of everything that is measured of a step.
 *
 * The step table, the store, the summaries, the screens, the exports and the tests all read names,
 * units and digits here. To add a metric: one line in METRIC_LIST, then let gait/ fill it.
 * Definitions and their published sources stand where each one is computed (gait/) and in
 * tests/VALIDITY.md.
 */
#ifndef BASE_METRIC_H
#define BASE_METRIC_H

/* X(id, name, unit, digits after the point in tables) */
#define METRIC_LIST(X)                                              \
    X(STEP_TIME_S, "step_time_s", "s", 4)                           \
    X(CONTACT_MS, "contact_ms", "ms", 2)                            \
    X(FLIGHT_MS, "flight_ms", "ms", 2)                              \
    X(CADENCE_SPM, "cadence_spm", "steps/min", 2)                   \
    X(DUTY_FACTOR, "duty_factor", "1", 4)                           \
    X(PEAK_FORCE_BW, "peak_force_bw", "BW", 4)                      \
    X(LOAD_RATE_BW_S, "load_rate_bw_s", "BW/s", 2)                  \
    X(LOAD_RATE_MAX_BW_S, "load_rate_max_bw_s", "BW/s", 2)          \
    X(IMPACT_TRANSIENT, "impact_transient", "yes/no", 0)            \
    X(TRANSIENT_BW, "transient_bw", "BW", 4)                        \
    X(TRANSIENT_MS, "transient_ms", "ms", 2)                        \
    X(TRANSIENT_LEAD_MS, "transient_lead_ms", "ms", 2)              \
    X(COM_DROP_MM, "com_drop_mm", "mm", 2)                          \
    X(COM_LOW_MS, "com_low_ms", "ms", 2)                            \
    X(STRIKE_INDEX_PCT, "strike_index_pct", "%", 2)                 \
    X(LANDING_AHEAD_MM, "landing_ahead_mm", "mm", 2)                \
    X(AHEAD_AT_LOAD_MM, "ahead_at_load_mm", "mm", 2)                \
    X(WHOLE_FOOT_AT_LOAD, "whole_foot_at_load", "yes/no", 0)        \
    X(STIFFNESS_KN_M, "stiffness_kn_m", "kN/m", 3)                  \
    X(LEG_STIFFNESS_KN_M, "leg_stiffness_kn_m", "kN/m", 3)          \
    X(BELT_SPEED_M_S, "belt_speed_m_s", "m/s", 3)                   \
    X(STEP_WIDTH_MM, "step_width_mm", "mm", 2)                      \
    X(TOE_OUT_DEG, "toe_out_deg", "deg", 2)                         \
    X(HEEL_TO_FORE_MS, "heel_to_fore_ms", "ms", 2)                  \
    X(ASYM_STEP_TIME_PCT, "asym_step_time_pct", "%", 2)             \
    X(ASYM_CONTACT_PCT, "asym_contact_pct", "%", 2)                 \
    X(ASYM_LOAD_RATE_PCT, "asym_load_rate_pct", "%", 2)             \
    X(STEP_VAR_PCT, "step_var_pct", "%", 2)

enum metric {
#define METRIC_ENUM(id, name, unit, digits) METRIC_##id,
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
};

/* The table's row. Precondition: 0 <= m < METRIC_COUNT. Static storage. */
const struct metric_info *metric_info(enum metric m);

/* Finds a metric by its table name. Returns METRIC_COUNT when there is none. */
enum metric metric_by_name(const char *name);

#endif
