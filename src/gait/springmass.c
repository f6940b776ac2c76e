#include "gait/springmass.h"

#include "base/units.h"

#include <math.h>

#define PI 3.14159265358979323846

double
springmass_peak_bw(double tc_s, double tf_s)
{
    return tc_s > 0 && tf_s >= 0 ? PI / 2 * (tf_s / tc_s + 1) : (double) NAN;
}

double
springmass_drop_mm(double tc_s, double tf_s)
{
    double accel_m_s2 = springmass_peak_bw(tc_s, tf_s) * UNITS_GRAVITY_M_S2;
    return 1e3 * fabs(accel_m_s2 * tc_s * tc_s / (PI * PI) - UNITS_GRAVITY_M_S2 * tc_s * tc_s / 8);
}

double
springmass_vertical_kn_m(double peak_n, double drop_mm)
{
    return peak_n > 0 && drop_mm > 0 ? peak_n / drop_mm : (double) NAN;
}

double
springmass_leg_kn_m(double peak_n, double drop_mm, double leg_mm, double speed_m_s, double tc_s)
{
    double reach_mm = 1e3 * speed_m_s * tc_s / 2;
    if (!(reach_mm > 0) || !(reach_mm < leg_mm))
        return NAN;
    double shortening_mm = drop_mm + leg_mm - sqrt(leg_mm * leg_mm - reach_mm * reach_mm);
    return peak_n > 0 && shortening_mm > 0 ? peak_n / shortening_mm : (double) NAN;
}
