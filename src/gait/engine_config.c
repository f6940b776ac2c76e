#include "gait/engine_config.h"

#include <math.h>

struct engine_config
engine_config_default(enum frame_kind kind)
{
    return (struct engine_config) {
        .kind = kind,
        .rate_hz = NAN,
        .body_mass_kg = NAN,
        .body_weight_n = NAN,
        .belt_speed_m_s = NAN,
        .foot_length_mm = NAN,
        .leg_length_mm = NAN,
        .threshold_n = NAN,
    };
}
