/* engine_config.h - what the gait engine is told before it starts, and where its body weight comes from.
 *
 * All optional figures are NAN when not known; then what needs them is missing or estimated, and flagged.
 * Memory: the struct.  Pure.
 */
#ifndef GAIT_ENGINE_CONFIG_H
#define GAIT_ENGINE_CONFIG_H

#include "sense/frame.h"

/* Contact threshold of a quiet calibrated sensor: at the upper end of what laboratories use (10 to 50 N: facts E, common
 * practice), since treadmills show noise of 8 to 15 N sd and belt vibration in flight (seen on the recorded runs). */
#define ENGINE_THRESHOLD_N 50.0

struct engine_config {
    enum frame_kind kind;
    double rate_hz;        /* nominal; NAN = learnt from the frames' times */
    double body_mass_kg;   /* NAN = body weight from the momentum balance over whole strides */
    double body_weight_n;  /* known beforehand (a second pass over a file); goes before body_mass_kg */
    double belt_speed_m_s; /* entered */
    double foot_length_mm;
    double leg_length_mm;
    double threshold_n;    /* contact threshold; NAN = ENGINE_THRESHOLD_N, more on a noisy sensor */
};

enum engine_weight_source {
    ENGINE_WEIGHT_UNKNOWN = 0,
    ENGINE_WEIGHT_GIVEN,
    ENGINE_WEIGHT_MASS,
    ENGINE_WEIGHT_MOMENTUM,
};

struct engine_config engine_config_default(enum frame_kind kind);

#endif
