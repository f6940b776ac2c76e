#include "gait/measure.h"

#include "gait/braking.h"
#include "gait/condition.h"
#include "gait/footside.h"
#include "gait/landing.h"
#include "gait/springmass.h"
#include "gait/strike.h"

#include <math.h>

/* Margin of samples around a contact, so that the filter starts and ends in flight: two periods of its 50 Hz. */
#define MARGIN_US 40000.0
/* Fewer filtered values are no curve. common practice, no source */
#define CURVE_MIN 8
/* A hole in the data at an edge longer than this, and than so many periods, leaves the edge unknown: its place
 * between two samples could be off by half of it. common practice, no source */
#define EDGE_GAP_US 9000.0
#define EDGE_GAP_PERIODS 1.5
/* A mass centre that moves faster than this over two strides is that of a runner who moves on the belt or of a belt that
 * changes. common practice, no source */
#define UNSTEADY_MM_S 150.0
/* How far the COP travels along a foot in contact (Lee & Farley 1998, facts F). */
#define COP_TRAVEL_MM 160.0
/* The COP is read before the last tenth of the contact, where it is noise. common practice, no source */
#define COP_LAST_SHARE 0.9
/* A sensor's own clock may be off by 2 % before its rate counts as below the least: period in us times rate in Hz.
 * common practice, no source */
#define SLOW_FROM_US_HZ 1.02e6

void
measure_init(struct measure *m, const struct engine_config *c)
{
    m->config = *c;
    weight_init(&m->weight, c);
    belt_init(&m->belt, c->belt_speed_m_s);
    prints_init(&m->prints);
}

static void
put(struct step *s, enum metric m, double v, enum metric_standing standing)
{
    s->value[m] = v;
    s->standing[m] = (uint8_t) (isnan(v) ? METRIC_MISSING : standing);
}

/* As it stands, unless the sampling is too slow for this metric: then an estimate, and flagged. */
static void
put_rated(double period_us, struct step *s, enum metric m, double v, enum metric_standing standing)
{
    bool is_slow = period_us > SLOW_FROM_US_HZ / measure_min_rate_hz(m);
    if (is_slow && !isnan(v))
        s->flags |= STEP_FLAG_LOW_RATE;
    put(s, m, v, is_slow ? METRIC_ESTIMATED : standing);
}

static void
put_measured(double period_us, struct step *s, enum metric m, double v)
{
    put_rated(period_us, s, m, v, METRIC_MEASURED);
}

double
measure_min_rate_hz(enum metric metric)
{
    switch ((int) metric) {
    /* The mean COP of the first 25 ms: at 250 Hz that is six samples, 2.0 points off on 33 recorded runs (validity). */
    case METRIC_STRIKE_INDEX_PCT:
        return 300;
    case METRIC_LOAD_RATE_BW_S:
    case METRIC_LOAD_RATE_MAX_BW_S:
    case METRIC_IMPACT_TRANSIENT:
    case METRIC_TRANSIENT_BW:
    case METRIC_TRANSIENT_MS:
    case METRIC_TRANSIENT_LEAD_MS:
    case METRIC_ASYM_LOAD_RATE_PCT:
        return 250;
    /* A plate's belt vibration (100-140 Hz) folds into the landing COP. */
    case METRIC_STRIKE_TRAVEL_MM:
    case METRIC_LANDING_AHEAD_MM:
    case METRIC_LANDING_FIRST_MM:
    case METRIC_AHEAD_AT_LOAD_MM:
    case METRIC_WHOLE_FOOT_AT_LOAD:
        return 200;
    case METRIC_CONTACT_MS:
    case METRIC_FLIGHT_MS:
    case METRIC_DUTY_FACTOR:
    case METRIC_ASYM_CONTACT_PCT:
    case METRIC_PEAK_FORCE_BW:
    case METRIC_COM_DROP_MM:
    case METRIC_COM_LOW_MS:
    case METRIC_STIFFNESS_KN_M:
    case METRIC_LEG_STIFFNESS_KN_M:
    case METRIC_BRAKING_IMPULSE_BW_S:
    case METRIC_PEAK_BRAKING_BW:
    case METRIC_BRAKING_END_PCT:
        return 100;
    default:
        return 50;
    }
}

/* ------------------------------------------------------------------ at toe-off */

bool
measure_sees_force(const struct measure *m)
{
    return m->config.kind != FRAME_KIND_SWITCHES;
}

/* Force-weighted mean COP to the right over [from, to]. */
static double
mean_right_mm(const struct trace *t, const struct trace_zero *z, double from_us, double to_us, double min_n)
{
    double sum = 0, moment = 0;
    for (uint64_t i = trace_find(t, from_us); i < t->n_fed; i++) {
        const struct trace_sample *s = trace_at(t, i);
        if (s->time_us > to_us)
            break;
        double force_n = s->force_n - trace_zero_at(z, s->time_us);
        if (force_n < min_n || isnan(s->cop_right_mm))
            continue;
        sum += force_n;
        moment += force_n * s->cop_right_mm;
    }
    return sum > 0 ? moment / sum : (double) NAN;
}

/* The low-passed force curve, read. */
static struct loading
read_loading(const struct trace *t, const struct footfall *c, double period_us, double *scratch)
{
    /* From sample to sample: between them a straight line would take away what the filter is to keep (1 % of the loading
     * rate at 300 Hz). */
    double start_us = c->touchdown_us - MARGIN_US;
    uint64_t first = trace_find(t, start_us);
    if (trace_has(t, first))
        start_us = trace_at(t, first)->time_us;
    int n = (int) ((c->toe_off_us - c->touchdown_us + 2 * MARGIN_US) / period_us) + 1;
    if (n > CONDITION_SCRATCH) { /* faster than anything we know of: thin it out */
        period_us *= (double) n / CONDITION_SCRATCH;
        n = CONDITION_SCRATCH;
    }
    n = condition_resample(t, &c->zero, start_us, period_us, scratch, n);
    if (n < CURVE_MIN)
        return (struct loading) { NAN, NAN, false, NAN, NAN, NAN, NAN };
    condition_lowpass(scratch, n, 1e6 / period_us, CONDITION_CUTOFF_HZ);
    return loading_measure(scratch, n, start_us, period_us, c->touchdown_us, c->toe_off_us);
}

/* Belt speed from the COP alone, good to some tenths of a m/s: the COP travels back with the belt and forward
 * along the foot, by about 160 mm (Lee & Farley 1998, in facts F). Enough to carry a COP over 25 ms, not enough for
 * a strike index or a figure of its own. */
static double
rough_speed_m_s(const struct trace *t, const struct footfall *c)
{
    double contact_us = c->toe_off_us - c->touchdown_us;
    double first_mm = strike_landing_fwd_mm(t, &c->zero, c->touchdown_us, NAN);
    double last_mm = strike_cop_fwd_mm(t, c->touchdown_us + COP_LAST_SHARE * contact_us);
    double speed_m_s = (first_mm - last_mm + COP_TRAVEL_MM) * 1e3 / (COP_LAST_SHARE * contact_us - 0.5 * STRIKE_LANDING_US);
    return fmax(0, speed_m_s);
}

/* The print, at a speed that rests on the last dozen contacts when none was entered; its own speed beside it. */
static void
read_print(struct measure *m, struct footfall *c)
{
    const struct footprint *print = prints_last(&m->prints);
    double foot_mm = m->config.foot_length_mm;
    double own_m_s = footprint_read(print, c->touchdown_us, c->toe_off_us, NAN, foot_mm).belt_speed_m_s;
    double told_m_s = belt_feed(&m->belt, own_m_s);
    c->print = footprint_read(print, c->touchdown_us, c->toe_off_us, belt_speed_m_s(&m->belt), foot_mm);
    c->print.belt_speed_m_s = told_m_s;
}

void
measure_contact(struct measure *m, const struct trace *t, double period_us, struct footfall *c)
{
    if (!measure_sees_force(m))
        return;
    double contact_us = c->toe_off_us - c->touchdown_us;
    c->loading = read_loading(t, c, period_us, m->scratch);
    braking_read(t, &c->zero, c->touchdown_us, c->toe_off_us, period_us, m->scratch, &c->braking);
    c->early_right_mm = mean_right_mm(t, &c->zero, c->touchdown_us + FOOTSIDE_FROM_SHARE * contact_us,
                                      c->touchdown_us + FOOTSIDE_TO_SHARE * contact_us, c->on_n);
    c->mean_right_mm = mean_right_mm(t, &c->zero, c->touchdown_us, c->toe_off_us, c->on_n);
    double peak_n = c->loading.peak_n;
    if (m->config.kind == FRAME_KIND_MAT && prints_last(&m->prints)->has_idle)
        read_print(m, c);
    double speed_m_s = belt_speed_m_s(&m->belt);
    c->landing_fwd_mm = strike_landing_fwd_mm(t, &c->zero, c->touchdown_us,
                                              isnan(speed_m_s) ? rough_speed_m_s(t, c) : speed_m_s);
    c->front_fwd_mm = strike_front_fwd_mm(t, &c->zero, c->touchdown_us, c->toe_off_us, speed_m_s,
                                          STRIKE_FRONT_SHARE * peak_n, m->scratch);
    c->whole_fwd_mm = landing_place_fwd_mm(t, &c->zero, c->touchdown_us, 0, contact_us, speed_m_s);
    c->middle_fwd_mm = NAN;
    if (contact_us >= STRIKE_MIDDLE_TO_US)
        c->middle_fwd_mm = landing_place_fwd_mm(t, &c->zero, c->touchdown_us, STRIKE_MIDDLE_FROM_US, STRIKE_MIDDLE_TO_US,
                                                speed_m_s);
    double load_us = c->loading.has_transient ? c->loading.transient_us : c->loading.peak_us;
    c->load_fwd_mm = strike_cop_fwd_mm(t, c->touchdown_us + load_us);
}

/* ------------------------------------------------------------------ when the next touchdown is known */

static bool
is_gap(double period_us, double spacing_us)
{
    return spacing_us > fmax(EDGE_GAP_US, EDGE_GAP_PERIODS * period_us);
}

/* An edge that nothing crossed the threshold at is an estimate, and with it all times that begin or end there. */
static void
mark_parted(struct step *s, const struct footfall *c)
{
    static const enum metric times[] = { METRIC_CONTACT_MS, METRIC_FLIGHT_MS, METRIC_STEP_TIME_S, METRIC_CADENCE_SPM,
                                         METRIC_DUTY_FACTOR };
    if (!c->is_down_parted && !c->is_off_parted)
        return;
    for (int i = 0; i < (int) (sizeof times / sizeof times[0]); i++)
        if (s->standing[times[i]] == METRIC_MEASURED)
            s->standing[times[i]] = METRIC_ESTIMATED;
    if (c->is_off_parted && s->value[METRIC_FLIGHT_MS] < 0)
        s->value[METRIC_FLIGHT_MS] = 0; /* none: both feet were down */
    s->flags |= STEP_FLAG_OVERLAP;
}

static void
measure_times(const struct footfall_row *r, double period_us, struct footfall *c)
{
    struct step *s = &c->step;
    const struct footfall *next = footfall_see(r, c->serial + 1);
    double contact_ms = (c->toe_off_us - c->touchdown_us) * 1e-3;
    double step_s = (c->next_touchdown_us - c->touchdown_us) * 1e-6;
    double flight_ms = (c->next_touchdown_us - c->toe_off_us) * 1e-3;
    bool is_down_lost = is_gap(period_us, c->touchdown_gap_us), is_up_lost = is_gap(period_us, c->toe_off_gap_us);
    bool is_next_lost = !isnan(step_s) && is_gap(period_us, next->touchdown_gap_us);
    bool is_over_edge = c->flags & STEP_FLAG_EDGE; /* off the mat the foot comes late and leaves early */
    if (isnan(step_s))
        s->flags |= STEP_FLAG_LAST;
    if (is_down_lost || is_next_lost)
        step_s = NAN;
    put_measured(period_us, s, METRIC_CONTACT_MS, is_down_lost || is_up_lost || is_over_edge ? (double) NAN : contact_ms);
    put_measured(period_us, s, METRIC_FLIGHT_MS, is_up_lost || is_next_lost || is_over_edge ? (double) NAN : flight_ms);
    put_measured(period_us, s, METRIC_STEP_TIME_S, step_s);
    put_measured(period_us, s, METRIC_CADENCE_SPM, 60 / step_s);
    /* Until the same foot is down again the stride is the one that ends with this step. */
    put_measured(period_us, s, METRIC_DUTY_FACTOR, s->value[METRIC_CONTACT_MS] * 1e-3 / (step_s + c->step_before_us * 1e-6));
    if (!c->is_linked)
        s->flags |= STEP_FLAG_FIRST;
    mark_parted(s, c);
}

static void
measure_force_curve(double period_us, struct footfall *c)
{
    struct step *s = &c->step;
    const struct loading *l = &c->loading;
    bool is_spoilt = (c->flags & FOOTFALL_FORCE_LOST) || c->is_down_parted;
    put_measured(period_us, s, METRIC_IMPACT_TRANSIENT, isnan(l->peak_n) || is_spoilt ? (double) NAN : (l->has_transient ? 1 : 0));
    put_measured(period_us, s, METRIC_TRANSIENT_MS, is_spoilt ? (double) NAN : l->transient_us * 1e-3);
}

static void
measure_vertical(double period_us, struct footfall *c)
{
    struct step *s = &c->step;
    put_measured(period_us, s, METRIC_COM_DROP_MM, c->vertical.drop_mm);
    put_measured(period_us, s, METRIC_COM_LOW_MS, c->vertical.low_us * 1e-3);
    put_measured(period_us, s, METRIC_TRANSIENT_LEAD_MS,
                 c->is_down_parted ? (double) NAN : (c->vertical.low_us - c->loading.transient_us) * 1e-3);
}

/* Switches see times only: half-sine estimates. */
static void
measure_half_sine(const struct measure *m, struct footfall *c)
{
    struct step *s = &c->step;
    double tc_s = (c->toe_off_us - c->touchdown_us) * 1e-6;
    double after_s = (c->next_touchdown_us - c->toe_off_us) * 1e-6;
    double tf_s = isnan(c->flight_before_us) ? after_s : 0.5 * (after_s + c->flight_before_us * 1e-6);
    double drop_mm = springmass_drop_mm(tc_s, tf_s);
    double peak_bw = springmass_peak_bw(tc_s, tf_s);
    double peak_n = peak_bw * m->config.body_mass_kg * UNITS_GRAVITY_M_S2;
    put(s, METRIC_PEAK_FORCE_BW, peak_bw, METRIC_ESTIMATED);
    put(s, METRIC_COM_DROP_MM, drop_mm, METRIC_ESTIMATED);
    put(s, METRIC_COM_LOW_MS, isnan(drop_mm) ? (double) NAN : tc_s * 500, METRIC_ESTIMATED);
    put(s, METRIC_STIFFNESS_KN_M, springmass_vertical_kn_m(peak_n, drop_mm), METRIC_ESTIMATED);
    put(s, METRIC_LEG_STIFFNESS_KN_M,
        springmass_leg_kn_m(peak_n, drop_mm, m->config.leg_length_mm, belt_speed_m_s(&m->belt), tc_s),
        METRIC_ESTIMATED);
    put(s, METRIC_HEEL_TO_FORE_MS, c->zone_lag_us * 1e-3, METRIC_MEASURED);
    s->zone = strike_zone_from_lag(c->zone_lag_us);
    put(s, METRIC_LANDING_AHEAD_MM, landing_ahead_from_times_mm(belt_speed_m_s(&m->belt), c->toe_off_us - c->touchdown_us),
        METRIC_ESTIMATED);
}

static void
measure_strike(const struct measure *m, double period_us, struct footfall *c)
{
    struct step *s = &c->step;
    double foot_mm = m->config.foot_length_mm, index_pct = NAN;
    enum metric_standing standing = METRIC_ESTIMATED;
    if (c->print.is_valid && c->print.length_mm > 0) {
        index_pct = strike_index_pct(c->landing_fwd_mm, c->print.heel_fwd_mm, c->print.length_mm);
        standing = METRIC_MEASURED;
    } else if (m->config.kind != FRAME_KIND_MAT) {
        index_pct = strike_index_from_front_pct(c->front_fwd_mm - c->landing_fwd_mm, foot_mm);
    }
    if (index_pct < -STRIKE_BEYOND_PCT || index_pct > 100 + STRIKE_BEYOND_PCT)
        index_pct = NAN; /* beside the foot: speed, foot length or COP is not what it was said to be */
    put_rated(period_us, s, METRIC_STRIKE_INDEX_PCT, index_pct, standing);
    /* While the other foot is still down the first COP is of both. */
    double travel_mm = c->is_down_parted ? (double) NAN : c->landing_fwd_mm - c->middle_fwd_mm;
    put_measured(period_us, s, METRIC_STRIKE_TRAVEL_MM, travel_mm);
    s->zone = strike_zone_from_travel(travel_mm);
}

static void
measure_print(const struct measure *m, struct footfall *c)
{
    struct step *s = &c->step;
    double foot_mm = isnan(m->config.foot_length_mm) ? c->print.length_mm : m->config.foot_length_mm;
    double load_us = c->loading.has_transient ? c->loading.transient_us : c->loading.peak_us;
    double cover = footprint_cover(prints_last(&m->prints), c->touchdown_us + load_us, foot_mm);
    put(s, METRIC_WHOLE_FOOT_AT_LOAD, isnan(cover) ? (double) NAN : (cover >= FOOTPRINT_WHOLE_SHARE ? 1 : 0),
        METRIC_MEASURED);
}

/* Lateral distance from the foot before; mean COP of each contact. */
static void
measure_width(const struct footfall_row *r, struct footfall *c)
{
    if (!c->is_linked || c->serial == 0 || c->step.foot == STEP_FOOT_UNKNOWN)
        return;
    const struct footfall *before = footfall_see(r, c->serial - 1);
    double right_mm = c->mean_right_mm - before->mean_right_mm;
    put(&c->step, METRIC_STEP_WIDTH_MM, c->step.foot == STEP_FOOT_RIGHT ? right_mm : -right_mm, METRIC_MEASURED);
}

static void
measure_weight(const struct measure *m, double period_us, struct footfall *c)
{
    struct step *s = &c->step;
    enum engine_weight_source from;
    double weight_n = weight_in_use_n(&m->weight, &from);
    s->body_weight_n = weight_n;
    s->flags &= ~(uint32_t) STEP_FLAG_NO_WEIGHT;
    if (isnan(weight_n))
        s->flags |= STEP_FLAG_NO_WEIGHT;
    bool is_spoilt = c->flags & FOOTFALL_FORCE_LOST;
    const struct loading *l = &c->loading;
    double scale = is_spoilt ? (double) NAN : 1 / weight_n;
    put_measured(period_us, s, METRIC_PEAK_FORCE_BW, l->peak_n * scale);
    double rise_scale = c->is_down_parted ? (double) NAN : scale; /* the other foot's load is in the rise */
    put_measured(period_us, s, METRIC_LOAD_RATE_BW_S, l->rate_n_s * rise_scale);
    put_measured(period_us, s, METRIC_LOAD_RATE_MAX_BW_S, l->rate_max_n_s * rise_scale);
    put_measured(period_us, s, METRIC_TRANSIENT_BW, l->transient_n * rise_scale);
    /* An uncalibrated sensor knows forces in body weights only; newtons then need the runner's mass. */
    double peak_n = l->peak_n;
    if (s->flags & STEP_FLAG_RELATIVE)
        peak_n = l->peak_n / weight_momentum_n(&m->weight) * m->config.body_mass_kg * UNITS_GRAVITY_M_S2;
    double contact_s = (c->toe_off_us - c->touchdown_us) * 1e-6;
    put_measured(period_us, s, METRIC_STIFFNESS_KN_M, springmass_vertical_kn_m(peak_n, c->vertical.drop_mm));
    put_measured(period_us, s, METRIC_LEG_STIFFNESS_KN_M,
                 springmass_leg_kn_m(peak_n, c->vertical.drop_mm, m->config.leg_length_mm,
                                     belt_speed_m_s(&m->belt), contact_s));
}

void
measure_again(const struct measure *m, const struct footfall_row *r, double period_us, struct footfall *c)
{
    const struct footfall *next = footfall_see(r, c->serial + 1);
    if (next->serial == c->serial + 1 && next->is_linked) /* touchdown to the same foot's next touchdown */
        put_measured(period_us, &c->step, METRIC_DUTY_FACTOR,
                     1e3 * c->step.value[METRIC_CONTACT_MS] / (next->next_touchdown_us - c->touchdown_us));
    mark_parted(&c->step, c);
    if (!measure_sees_force(m))
        return;
    bool is_right = c->step.foot == STEP_FOOT_RIGHT;
    if (c->print.is_valid && c->step.foot != STEP_FOOT_UNKNOWN)
        put(&c->step, METRIC_TOE_OUT_DEG, is_right ? c->print.axis_deg : -c->print.axis_deg, METRIC_MEASURED);
    measure_vertical(period_us, c);
    measure_width(r, c);
    measure_weight(m, period_us, c);
}

void
measure_step(const struct measure *m, const struct footfall_row *r, double period_us, struct footfall *c)
{
    struct step *s = &c->step;
    s->touchdown = (struct dev_time) { llround(c->touchdown_us) };
    s->toe_off = (struct dev_time) { llround(c->toe_off_us) };
    s->cop_fwd_mm = c->landing_fwd_mm;
    s->cop_right_mm = c->mean_right_mm;
    s->flags |= c->flags;
    s->gait = STEP_GAIT_RUNNING;
    measure_times(r, period_us, c);
    if (measure_sees_force(m)) {
        measure_force_curve(period_us, c);
        measure_strike(m, period_us, c);
        measure_again(m, r, period_us, c);
    } else {
        measure_half_sine(m, c);
        measure_again(m, r, period_us, c);
    }
    if (c->print.is_valid) {
        measure_print(m, c);
        put(s, METRIC_BELT_SPEED_M_S, c->print.belt_speed_m_s, METRIC_MEASURED);
    } else {
        put(s, METRIC_BELT_SPEED_M_S, belt_speed_m_s(&m->belt), METRIC_ESTIMATED); /* entered, not seen */
    }
}

/* ------------------------------------------------------------------ place */

void
measure_place(const struct measure *m, double period_us, struct footfall *c, const struct strides_centre *at)
{
    struct step *s = &c->step;
    if (!measure_sees_force(m))
        return;
    double com_fwd_mm = at->near_fwd_mm, stride_fwd_mm = at->stride_fwd_mm, two_fwd_mm = at->two_fwd_mm;
    if (fabs(at->drift_mm_s) > UNSTEADY_MM_S)
        s->flags |= STEP_FLAG_UNSTEADY;
    if (s->flags & (STEP_FLAG_UNSTEADY | STEP_FLAG_EDGE))
        com_fwd_mm = stride_fwd_mm = two_fwd_mm = NAN;
    c->com_fwd_mm = com_fwd_mm;
    double foot_mm = m->config.foot_length_mm;
    if (isnan(foot_mm) && c->print.is_valid)
        foot_mm = c->print.length_mm;
    put_rated(period_us, s, METRIC_LANDING_AHEAD_MM, landing_ahead_mm(c->whole_fwd_mm, stride_fwd_mm, foot_mm),
              METRIC_ESTIMATED);
    put_rated(period_us, s, METRIC_LANDING_FIRST_MM, c->is_down_parted ? (double) NAN : c->landing_fwd_mm - com_fwd_mm,
              METRIC_ESTIMATED);
    put_rated(period_us, s, METRIC_AHEAD_AT_LOAD_MM, c->load_fwd_mm - com_fwd_mm, METRIC_ESTIMATED);
    struct braking b = braking_measure(&c->braking, two_fwd_mm, m->config.leg_length_mm, s->body_weight_n);
    put_rated(period_us, s, METRIC_BRAKING_IMPULSE_BW_S, b.impulse_bw_s, METRIC_ESTIMATED);
    put_rated(period_us, s, METRIC_PEAK_BRAKING_BW, b.peak_bw, METRIC_ESTIMATED);
    put_rated(period_us, s, METRIC_BRAKING_END_PCT, b.end_pct, METRIC_ESTIMATED);
}
