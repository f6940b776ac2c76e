#include "gait/measure.h"

#include "gait/springmass.h"
#include "gait/strike.h"

#include <math.h>

/* Margin of samples around a contact, so that the filter starts and ends in flight. */
#define MARGIN_US 40000.0
/* A hole in the data at an edge longer than this leaves the edge unknown. */
#define EDGE_GAP_US 9000.0
#define UNSTEADY_MM_S 150.0
#define COP_TRAVEL_MM 160.0
#define BELT_MIN 4
#define BELT_ODD_SHARE 0.06
/* Of people who run; where none is entered. */
#define USUAL_FOOT_MM 265.0

static void
put(struct step *s, enum metric m, double v, enum metric_standing standing)
{
    s->value[m] = v;
    s->standing[m] = (uint8_t) (isnan(v) ? METRIC_MISSING : standing);
}

/* As it stands, unless the sampling is too slow for this metric: then an estimate, and flagged. */
static void
put_rated(const struct engine *e, struct step *s, enum metric m, double v, enum metric_standing standing)
{
    bool is_slow = e->period_us > 1.02e6 / measure_min_rate_hz(m);
    if (is_slow && !isnan(v))
        s->flags |= STEP_FLAG_LOW_RATE;
    put(s, m, v, is_slow ? METRIC_ESTIMATED : standing);
}

static void
put_measured(const struct engine *e, struct step *s, enum metric m, double v)
{
    put_rated(e, s, m, v, METRIC_MEASURED);
}

double
measure_min_rate_hz(enum metric m)
{
    switch ((int) m) {
    case METRIC_LOAD_RATE_BW_S:
    case METRIC_LOAD_RATE_MAX_BW_S:
    case METRIC_IMPACT_TRANSIENT:
    case METRIC_TRANSIENT_BW:
    case METRIC_TRANSIENT_MS:
    case METRIC_TRANSIENT_LEAD_MS:
    case METRIC_ASYM_LOAD_RATE_PCT:
        return 250;
    /* A plate's belt vibration (100-140 Hz) folds into the landing COP. */
    case METRIC_STRIKE_INDEX_PCT:
    case METRIC_LANDING_AHEAD_MM:
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
        return 100;
    default:
        return 50;
    }
}

/* ------------------------------------------------------------------ at toe-off */

static bool
is_force(const struct engine *e)
{
    return e->config.kind != FRAME_KIND_SWITCHES;
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
read_loading(struct engine *e, const struct engine_contact *c)
{
    double period_us = e->period_us;
    double start_us = c->touchdown_us - MARGIN_US;
    int n = (int) ((c->toe_off_us - c->touchdown_us + 2 * MARGIN_US) / period_us) + 1;
    if (n > CONDITION_SCRATCH) { /* faster than anything we know of: thin it out */
        period_us *= (double) n / CONDITION_SCRATCH;
        n = CONDITION_SCRATCH;
    }
    n = condition_resample(&e->trace[0], &c->zero, start_us, period_us, e->scratch, n);
    if (n < 8)
        return (struct loading) { NAN, NAN, false, NAN, NAN, NAN, NAN };
    condition_lowpass(e->scratch, n, 1e6 / period_us, CONDITION_CUTOFF_HZ);
    return loading_measure(e->scratch, n, start_us, period_us, c->touchdown_us, c->toe_off_us);
}

/* Belt speed from the COP alone, good to some tenths of a m/s: the COP travels back with the belt and forward
 * along the foot, by about 160 mm (Lee & Farley 1998, in facts F). Enough to carry a COP over 25 ms, not enough for
 * a strike index or a figure of its own. */
static double
rough_speed_m_s(const struct trace *t, const struct engine_contact *c)
{
    double contact_us = c->toe_off_us - c->touchdown_us;
    double first_mm = strike_landing_fwd_mm(t, &c->zero, c->touchdown_us, NAN);
    double last_mm = strike_cop_fwd_mm(t, c->touchdown_us + 0.9 * contact_us);
    double speed_m_s = (first_mm - last_mm + COP_TRAVEL_MM) * 1e3 / (0.9 * contact_us - 0.5 * STRIKE_LANDING_US);
    return fmax(0, speed_m_s);
}

/* The print, at a speed that rests on the last dozen contacts when none was entered; its own speed beside it. */
static void
read_print(struct engine *e, struct engine_contact *c)
{
    struct footprint *print = &e->print[1 - e->print_now];
    double foot_mm = e->config.foot_length_mm;
    double own_m_s = footprint_read(print, c->touchdown_us, c->toe_off_us, NAN, foot_mm).belt_speed_m_s;
    double usual_m_s = e->belt.n >= BELT_MIN ? stats_median(&e->belt) : (double) NAN;
    stats_feed(&e->belt, own_m_s);
    c->print = footprint_read(print, c->touchdown_us, c->toe_off_us, engine_belt_speed_m_s(e), foot_mm);
    /* The belt's seam beside the foot, or a foot that slid: one contact's speed far from the last ones' is withheld. A
     * belt that really changes is believed as soon as half of them show it. */
    bool is_odd = fabs(own_m_s - usual_m_s) > BELT_ODD_SHARE * usual_m_s;
    c->print.belt_speed_m_s = is_odd ? (double) NAN : own_m_s;
}

void
measure_contact(struct engine *e, struct engine_contact *c)
{
    if (!is_force(e))
        return;
    const struct trace *t = &e->trace[0];
    double contact_us = c->toe_off_us - c->touchdown_us;
    c->loading = read_loading(e, c);
    c->early_right_mm = mean_right_mm(t, &c->zero, c->touchdown_us + FOOTSIDE_FROM_SHARE * contact_us,
                                      c->touchdown_us + FOOTSIDE_TO_SHARE * contact_us, c->on_n);
    c->mean_right_mm = mean_right_mm(t, &c->zero, c->touchdown_us, c->toe_off_us, c->on_n);
    double peak_n = c->loading.peak_n;
    if (e->config.kind == FRAME_KIND_MAT && e->print[1 - e->print_now].has_idle)
        read_print(e, c);
    double speed_m_s = engine_belt_speed_m_s(e);
    c->landing_fwd_mm = strike_landing_fwd_mm(t, &c->zero, c->touchdown_us,
                                              isnan(speed_m_s) ? rough_speed_m_s(t, c) : speed_m_s);
    c->front_fwd_mm = strike_front_fwd_mm(t, &c->zero, c->touchdown_us, c->toe_off_us, speed_m_s,
                                          STRIKE_FRONT_SHARE * peak_n, e->scratch);
    double load_us = c->loading.has_transient ? c->loading.transient_us : c->loading.peak_us;
    c->load_fwd_mm = strike_cop_fwd_mm(t, c->touchdown_us + load_us);
}

/* ------------------------------------------------------------------ when the next touchdown is known */

static bool
is_gap(const struct engine *e, double spacing_us)
{
    return spacing_us > fmax(EDGE_GAP_US, 1.5 * e->period_us);
}

static void
measure_times(struct engine *e, struct engine_contact *c)
{
    struct step *s = &c->step;
    const struct engine_contact *next = &e->contact[(c->serial + 1) % ENGINE_CONTACTS];
    double contact_ms = (c->toe_off_us - c->touchdown_us) * 1e-3;
    double step_s = (c->next_touchdown_us - c->touchdown_us) * 1e-6;
    double flight_ms = (c->next_touchdown_us - c->toe_off_us) * 1e-3;
    bool is_down_lost = is_gap(e, c->touchdown_gap_us), is_up_lost = is_gap(e, c->toe_off_gap_us);
    bool is_next_lost = !isnan(step_s) && is_gap(e, next->touchdown_gap_us);
    bool is_over_edge = c->flags & STEP_FLAG_EDGE; /* off the mat the foot comes late and leaves early */
    if (isnan(step_s))
        s->flags |= STEP_FLAG_LAST;
    if (is_down_lost || is_next_lost)
        step_s = NAN;
    put_measured(e, s, METRIC_CONTACT_MS, is_down_lost || is_up_lost || is_over_edge ? (double) NAN : contact_ms);
    put_measured(e, s, METRIC_FLIGHT_MS, is_up_lost || is_next_lost || is_over_edge ? (double) NAN : flight_ms);
    put_measured(e, s, METRIC_STEP_TIME_S, step_s);
    put_measured(e, s, METRIC_CADENCE_SPM, 60 / step_s);
    /* Until the same foot is down again the stride is the one that ends with this step. */
    put_measured(e, s, METRIC_DUTY_FACTOR, s->value[METRIC_CONTACT_MS] * 1e-3 / (step_s + c->step_before_us * 1e-6));
    if (!c->is_linked)
        s->flags |= STEP_FLAG_FIRST;
}

static void
measure_force_curve(struct engine *e, struct engine_contact *c)
{
    struct step *s = &c->step;
    const struct loading *l = &c->loading;
    bool is_spoilt = c->flags & ENGINE_FORCE_LOST;
    put_measured(e, s, METRIC_IMPACT_TRANSIENT, isnan(l->peak_n) || is_spoilt ? (double) NAN : (l->has_transient ? 1 : 0));
    put_measured(e, s, METRIC_TRANSIENT_MS, is_spoilt ? (double) NAN : l->transient_us * 1e-3);
}

static void
measure_vertical(struct engine *e, struct engine_contact *c)
{
    struct step *s = &c->step;
    put_measured(e, s, METRIC_COM_DROP_MM, c->vertical.drop_mm);
    put_measured(e, s, METRIC_COM_LOW_MS, c->vertical.low_us * 1e-3);
    put_measured(e, s, METRIC_TRANSIENT_LEAD_MS, (c->vertical.low_us - c->loading.transient_us) * 1e-3);
}

/* Switches see times only: half-sine estimates. */
static void
measure_half_sine(struct engine *e, struct engine_contact *c)
{
    struct step *s = &c->step;
    double tc_s = (c->toe_off_us - c->touchdown_us) * 1e-6;
    double after_s = (c->next_touchdown_us - c->toe_off_us) * 1e-6;
    double tf_s = isnan(c->flight_before_us) ? after_s : 0.5 * (after_s + c->flight_before_us * 1e-6);
    double drop_mm = springmass_drop_mm(tc_s, tf_s);
    double peak_bw = springmass_peak_bw(tc_s, tf_s);
    double peak_n = peak_bw * e->config.body_mass_kg * UNITS_GRAVITY_M_S2;
    put(s, METRIC_PEAK_FORCE_BW, peak_bw, METRIC_ESTIMATED);
    put(s, METRIC_COM_DROP_MM, drop_mm, METRIC_ESTIMATED);
    put(s, METRIC_COM_LOW_MS, isnan(drop_mm) ? (double) NAN : tc_s * 500, METRIC_ESTIMATED);
    put(s, METRIC_STIFFNESS_KN_M, springmass_vertical_kn_m(peak_n, drop_mm), METRIC_ESTIMATED);
    put(s, METRIC_LEG_STIFFNESS_KN_M,
        springmass_leg_kn_m(peak_n, drop_mm, e->config.leg_length_mm, engine_belt_speed_m_s(e), tc_s),
        METRIC_ESTIMATED);
    put(s, METRIC_HEEL_TO_FORE_MS, c->zone_lag_us * 1e-3, METRIC_MEASURED);
    s->zone = strike_zone_from_lag(c->zone_lag_us);
    /* The foot rides with the belt for half the contact; then the body is over the COP, which has rolled on
     * from where the foot landed. */
    double foot_mm = isnan(e->config.foot_length_mm) ? USUAL_FOOT_MM : e->config.foot_length_mm;
    put(s, METRIC_LANDING_AHEAD_MM, 1e3 * engine_belt_speed_m_s(e) * tc_s / 2 - foot_mm * strike_roll_share(s->zone),
        METRIC_ESTIMATED);
}

static void
measure_strike(struct engine *e, struct engine_contact *c)
{
    struct step *s = &c->step;
    double foot_mm = e->config.foot_length_mm, index_pct = NAN;
    enum metric_standing standing = METRIC_ESTIMATED;
    if (c->print.is_valid && c->print.length_mm > 0) {
        index_pct = strike_index_pct(c->landing_fwd_mm, c->print.heel_fwd_mm, c->print.length_mm);
        standing = METRIC_MEASURED;
    } else if (e->config.kind != FRAME_KIND_MAT) {
        index_pct = strike_index_from_front_pct(c->front_fwd_mm - c->landing_fwd_mm, foot_mm);
    }
    if (index_pct < -STRIKE_BEYOND_PCT || index_pct > 100 + STRIKE_BEYOND_PCT)
        index_pct = NAN; /* beside the foot: speed, foot length or COP is not what it was said to be */
    put_rated(e, s, METRIC_STRIKE_INDEX_PCT, index_pct, standing);
    s->zone = strike_zone(index_pct);
}

static void
measure_print(struct engine *e, struct engine_contact *c)
{
    struct step *s = &c->step;
    double foot_mm = isnan(e->config.foot_length_mm) ? c->print.length_mm : e->config.foot_length_mm;
    double load_us = c->loading.has_transient ? c->loading.transient_us : c->loading.peak_us;
    double cover = footprint_cover(&e->print[1 - e->print_now], c->touchdown_us + load_us, foot_mm);
    put(s, METRIC_WHOLE_FOOT_AT_LOAD, isnan(cover) ? (double) NAN : (cover >= FOOTPRINT_WHOLE_SHARE ? 1 : 0),
        METRIC_MEASURED);
}

/* Lateral distance from the foot before; mean COP of each contact. */
static void
measure_width(const struct engine *e, struct engine_contact *c)
{
    if (!c->is_linked || c->serial == 0 || c->step.foot == STEP_FOOT_UNKNOWN)
        return;
    const struct engine_contact *before = &e->contact[(c->serial - 1) % ENGINE_CONTACTS];
    double right_mm = c->mean_right_mm - before->mean_right_mm;
    put(&c->step, METRIC_STEP_WIDTH_MM, c->step.foot == STEP_FOOT_RIGHT ? right_mm : -right_mm, METRIC_MEASURED);
}

static void
measure_weight(struct engine *e, struct engine_contact *c)
{
    struct step *s = &c->step;
    enum engine_weight_source from;
    double weight_n = engine_body_weight_n(e, &from);
    s->body_weight_n = weight_n;
    s->flags &= ~(uint32_t) STEP_FLAG_NO_WEIGHT;
    if (isnan(weight_n))
        s->flags |= STEP_FLAG_NO_WEIGHT;
    bool is_spoilt = c->flags & ENGINE_FORCE_LOST;
    const struct loading *l = &c->loading;
    double scale = is_spoilt ? (double) NAN : 1 / weight_n;
    put_measured(e, s, METRIC_PEAK_FORCE_BW, l->peak_n * scale);
    put_measured(e, s, METRIC_LOAD_RATE_BW_S, l->rate_n_s * scale);
    put_measured(e, s, METRIC_LOAD_RATE_MAX_BW_S, l->rate_max_n_s * scale);
    put_measured(e, s, METRIC_TRANSIENT_BW, l->transient_n * scale);
    /* An uncalibrated sensor knows forces in body weights only; newtons then need the runner's mass. */
    double peak_n = l->peak_n;
    if (s->flags & STEP_FLAG_RELATIVE)
        peak_n = l->peak_n / engine_momentum_weight_n(e) * e->config.body_mass_kg * UNITS_GRAVITY_M_S2;
    double contact_s = (c->toe_off_us - c->touchdown_us) * 1e-6;
    put_measured(e, s, METRIC_STIFFNESS_KN_M, springmass_vertical_kn_m(peak_n, c->vertical.drop_mm));
    put_measured(e, s, METRIC_LEG_STIFFNESS_KN_M,
                 springmass_leg_kn_m(peak_n, c->vertical.drop_mm, e->config.leg_length_mm,
                                     engine_belt_speed_m_s(e), contact_s));
}

void
measure_again(struct engine *e, struct engine_contact *c)
{
    const struct engine_contact *next = &e->contact[(c->serial + 1) % ENGINE_CONTACTS];
    if (next->serial == c->serial + 1 && next->is_linked) /* touchdown to the same foot's next touchdown */
        put_measured(e, &c->step, METRIC_DUTY_FACTOR,
                     1e3 * c->step.value[METRIC_CONTACT_MS] / (next->next_touchdown_us - c->touchdown_us));
    if (!is_force(e))
        return;
    bool is_right = c->step.foot == STEP_FOOT_RIGHT;
    if (c->print.is_valid && c->step.foot != STEP_FOOT_UNKNOWN)
        put(&c->step, METRIC_TOE_OUT_DEG, is_right ? c->print.axis_deg : -c->print.axis_deg, METRIC_MEASURED);
    measure_vertical(e, c);
    measure_width(e, c);
    measure_weight(e, c);
}

void
measure_step(struct engine *e, struct engine_contact *c)
{
    struct step *s = &c->step;
    s->touchdown = (struct dev_time) { llround(c->touchdown_us) };
    s->toe_off = (struct dev_time) { llround(c->toe_off_us) };
    s->cop_fwd_mm = c->landing_fwd_mm;
    s->cop_right_mm = c->mean_right_mm;
    s->flags |= c->flags;
    s->gait = STEP_GAIT_RUNNING;
    measure_times(e, c);
    if (is_force(e)) {
        measure_force_curve(e, c);
        measure_strike(e, c);
        measure_again(e, c);
    } else {
        measure_half_sine(e, c);
        measure_again(e, c);
    }
    if (c->print.is_valid) {
        measure_print(e, c);
        put(s, METRIC_BELT_SPEED_M_S, c->print.belt_speed_m_s, METRIC_MEASURED);
    } else {
        put(s, METRIC_BELT_SPEED_M_S, engine_belt_speed_m_s(e), METRIC_ESTIMATED); /* entered, not seen */
    }
}

/* ------------------------------------------------------------------ place */

double
measure_mass_centre_fwd_mm(const struct engine *e, uint64_t contact, uint64_t first, uint64_t end, int n_steps,
                           double *drift_mm_s)
{
    *drift_mm_s = NAN;
    int before = (int) (contact - first < (uint64_t) n_steps ? contact - first : (uint64_t) n_steps);
    int after = (int) (end - contact < (uint64_t) n_steps ? end - contact : (uint64_t) n_steps);
    int half = before < after ? before : after;
    uint64_t from = contact - (uint64_t) half, to = contact + (uint64_t) half;
    if (half == 0) { /* the run's first or last: the one stride there is */
        if (end - first < 2)
            return NAN;
        from = contact == first ? contact : end - 2;
        to = from + 2;
    }
    struct mass_centre_sum sum = { 0 }, early = { 0 }, late = { 0 };
    for (uint64_t k = from; k < to; k++) {
        const struct engine_contact *c = &e->contact[k % ENGINE_CONTACTS];
        if (c->flags & ENGINE_FORCE_LOST)
            return NAN;
        mass_centre_add(&sum, &c->sum);
        if (to - from >= 4 && k < from + 2)
            mass_centre_add(&early, &c->sum);
        if (to - from >= 4 && k >= to - 2)
            mass_centre_add(&late, &c->sum);
    }
    if (to - from >= 4)
        *drift_mm_s = (mass_centre_fwd_mm(&late) - mass_centre_fwd_mm(&early)) /
                      (sum.duration_s - 0.5 * (early.duration_s + late.duration_s));
    return mass_centre_fwd_mm(&sum);
}

void
measure_place(struct engine *e, struct engine_contact *c, double com_fwd_mm, double drift_mm_s)
{
    struct step *s = &c->step;
    if (!is_force(e))
        return;
    if (fabs(drift_mm_s) > UNSTEADY_MM_S)
        s->flags |= STEP_FLAG_UNSTEADY;
    if (s->flags & (STEP_FLAG_UNSTEADY | STEP_FLAG_EDGE))
        com_fwd_mm = NAN;
    c->com_fwd_mm = com_fwd_mm;
    put_rated(e, s, METRIC_LANDING_AHEAD_MM, c->landing_fwd_mm - com_fwd_mm, METRIC_ESTIMATED);
    put_rated(e, s, METRIC_AHEAD_AT_LOAD_MM, c->load_fwd_mm - com_fwd_mm, METRIC_ESTIMATED);
}
