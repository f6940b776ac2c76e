#include "sim/runner_plan.h"

#include "sim/runner_truth.h"

#include <assert.h>
#include <math.h>
#include <string.h>

#define LEAN_PER_SPEED_S  0.35 /* the foot goes this much farther ahead for each m/s too fast: brings the
                                  mass centre's speed back within two steps */
#define LEAN_PER_PLACE    0.08 /* and this share of the distance from the runner's place */
#define MIN_FLIGHT_S      0.015
#define BELL_MIN_BW       0.5
#define BELL_MAX_BW       6.0
#define WALK_DUTY         0.62
#define WALK_CADENCE_SPM  112.0 /* at 1.4 m/s, growing with the root of the speed */
#define WALK_STRIKE       0.08
#define STAND_SHARE       0.52  /* of the foot: where the weight rests */
#define STAND_RAMP_S      0.25

static double
com_height_m(const struct runner *r)
{
    return 1.1 * r->config.style.leg_length_mm * 1e-3; /* pelvis and trunk above the hip joint */
}

static double
limb_stop_s(const struct runner_style *s, double strike_share)
{
    if (!isnan(s->limb_stop_ms))
        return s->limb_stop_ms * 1e-3;
    double fore = fmax(0, fmin(1, (strike_share - 0.20) / 0.45));
    return 0.022 + fore * (0.050 - 0.022);
}

/* A forefoot-lander's calf lets the limb down: less speed is left for the ground to stop at once. */
static double
limb_speed_m_s(const struct runner_style *s, double strike_share)
{
    return s->limb_speed_m_s * (1 - 0.45 * fmax(0, fmin(1, (strike_share - 0.20) / 0.45)));
}

static struct force_law
running_law(const struct runner *r, double contact_s, double strike_share, double limb_speed_share)
{
    const struct runner_style *s = &r->config.style;
    struct force_law f = { .kind = FORCE_LAW_RUN, .contact_s = contact_s, .peak_place = s->bell_peak_place,
                           .fullness = s->bell_fullness, .bell_n = 0 };
    f.impact_half_s = fmin(limb_stop_s(s, strike_share), 0.25 * contact_s);
    f.impact_n = force_law_impact_n(s->mass_kg, limb_speed_m_s(s, strike_share) * limb_speed_share, f.impact_half_s);
    return f;
}

/* Vertical motion over contact and flight, all linear in the bell's height:
 * y(end of flight) = v T - g T2/2 + bell (P + R tf) + impact's part, v' = v - g T + bell R + impact's part. */
struct vertical {
    double bell_speed, bell_rise;     /* R; P + R tf, per newton */
    double impact_speed, impact_rise; /* m/s, m */
};

static struct vertical
vertical_of(const struct force_law *f, double mass_kg, double flight_s)
{
    struct vertical k;
    double impulse_s, moment_s2, impact_ns = f->impact_n * f->impact_half_s;
    force_law_unit_bell(f, &impulse_s, &moment_s2);
    k.bell_speed = impulse_s / mass_kg;
    k.bell_rise = (f->contact_s * impulse_s - moment_s2) / mass_kg + k.bell_speed * flight_s;
    k.impact_speed = impact_ns / mass_kg;
    k.impact_rise = k.impact_speed * (f->contact_s - f->impact_half_s + flight_s);
    return k;
}

/* Sets the bell so that the step repeats itself; returns the vertical speed at touchdown for that. */
static double
set_periodic_bell(struct force_law *f, double mass_kg, double flight_s)
{
    struct vertical k = vertical_of(f, mass_kg, flight_s);
    double step_s = f->contact_s + flight_s;
    f->bell_n = (UNITS_GRAVITY_M_S2 * step_s - k.impact_speed) / k.bell_speed;
    return (UNITS_GRAVITY_M_S2 / 2 * step_s * step_s - f->bell_n * k.bell_rise - k.impact_rise) / step_s;
}

/* Sets the bell so that a body that lands with up_m_s is back at height 0 after flight_s; where that asks for
 * an impossible push the flight comes out as it must. Returns the flight; *up_m_s moves to the next touchdown,
 * *rise_m is the height of the flight's top. */
static double
set_bell(struct force_law *f, double mass_kg, double flight_s, double *up_m_s, double *end_m_s, double *rise_m)
{
    struct vertical k = vertical_of(f, mass_kg, flight_s);
    double g = UNITS_GRAVITY_M_S2, step_s = f->contact_s + flight_s, weight_n = mass_kg * g;
    f->bell_n = (g / 2 * step_s * step_s - *up_m_s * step_s - k.impact_rise) / k.bell_rise;
    f->bell_n = fmax(BELL_MIN_BW * weight_n, fmin(BELL_MAX_BW * weight_n, f->bell_n));
    *end_m_s = *up_m_s - g * f->contact_s + f->bell_n * k.bell_speed + k.impact_speed;
    double lift_m = *up_m_s * step_s - g / 2 * step_s * step_s + f->bell_n * k.bell_rise + k.impact_rise -
                    *end_m_s * flight_s + g / 2 * flight_s * flight_s;
    double under_root = *end_m_s * *end_m_s + 2 * g * lift_m;
    double air_s = under_root > 0 ? (*end_m_s + sqrt(under_root)) / g : 0;
    /* Too little left to leave the ground: the next leg is put down at once, lower. */
    air_s = fmax(MIN_FLIGHT_S, air_s);
    *rise_m = lift_m + *end_m_s * *end_m_s / (2 * g);
    *up_m_s = *end_m_s - g * air_s;
    return air_s;
}

/* Fore-aft motion relative to the mass centre at touchdown. The equation is linear in the landing distance and
 * in the speed: three solutions side by side, [0] without either, [1] per metre ahead, [2] per m/s. */
struct fore_aft {
    double place[3], speed[3];
};

static double
roll_m(const struct runner *r, double strike_share, double phase, double turn_cos)
{
    return r->config.style.foot_length_mm * 1e-3 * turn_cos * (foot_cop_share(strike_share, phase) - strike_share);
}

struct fore_aft_rig {
    const struct runner *r;
    const struct force_law *law;
    double strike_share, belt_m_s, turn_cos;
};

static struct fore_aft
fore_aft_slope(const struct fore_aft_rig *rig, const struct fore_aft *x, double t_s)
{
    struct fore_aft d;
    double pull = force_law_at(rig->law, t_s) / (rig->r->config.style.mass_kg * com_height_m(rig->r));
    double cop_m = roll_m(rig->r, rig->strike_share, t_s / rig->law->contact_s, rig->turn_cos) - rig->belt_m_s * t_s;
    for (int i = 0; i < 3; i++) {
        d.place[i] = x->speed[i];
        d.speed[i] = pull * (x->place[i] - (i == 0 ? cop_m : i == 1 ? 1 : 0));
    }
    return d;
}

static struct fore_aft
moved(const struct fore_aft *x, const struct fore_aft *d, double by_s)
{
    struct fore_aft y;
    for (int i = 0; i < 3; i++) {
        y.place[i] = x->place[i] + by_s * d->place[i];
        y.speed[i] = x->speed[i] + by_s * d->speed[i];
    }
    return y;
}

/* One fourth-order Runge-Kutta step. */
static struct fore_aft
fore_aft_step(const struct fore_aft_rig *rig, const struct fore_aft *x, double t_s, double h_s)
{
    struct fore_aft d[4], y;
    d[0] = fore_aft_slope(rig, x, t_s);
    y = moved(x, &d[0], h_s / 2);
    d[1] = fore_aft_slope(rig, &y, t_s + h_s / 2);
    y = moved(x, &d[1], h_s / 2);
    d[2] = fore_aft_slope(rig, &y, t_s + h_s / 2);
    y = moved(x, &d[2], h_s);
    d[3] = fore_aft_slope(rig, &y, t_s + h_s);
    y = *x;
    for (int i = 0; i < 3; i++) {
        y.place[i] += h_s / 6 * (d[0].place[i] + 2 * d[1].place[i] + 2 * d[2].place[i] + d[3].place[i]);
        y.speed[i] += h_s / 6 * (d[0].speed[i] + 2 * d[1].speed[i] + 2 * d[2].speed[i] + d[3].speed[i]);
    }
    return y;
}

static const struct fore_aft FORE_AFT_START = { { 0, 0, 0 }, { 0, 0, 1 } };

/* The landing distance and the mass centre's speed at touchdown with which the step repeats itself. */
static void
solve_periodic(const struct fore_aft_rig *rig, double flight_s, int n_nodes, double *ahead_m, double *speed_m_s)
{
    struct fore_aft x = FORE_AFT_START;
    double h_s = rig->law->contact_s / n_nodes;
    for (int i = 0; i < n_nodes; i++)
        x = fore_aft_step(rig, &x, i * h_s, h_s);
    double p0 = x.place[0] + flight_s * x.speed[0], p1 = x.place[1] + flight_s * x.speed[1];
    double p2 = x.place[2] + flight_s * x.speed[2], v0 = x.speed[0], v1 = x.speed[1], v2 = x.speed[2] - 1;
    double det = p1 * v2 - p2 * v1;
    *ahead_m = (-p0 * v2 + p2 * v0) / det;
    *speed_m_s = (-p1 * v0 + p0 * v1) / det;
}

double
runner_balanced_ahead_mm(const struct runner *r, double contact_s, double step_s, double strike_share,
                         double belt_m_s)
{
    struct force_law f = running_law(r, contact_s, strike_share, 1);
    double flight_s = fmax(MIN_FLIGHT_S, step_s - contact_s), ahead_m, speed_m_s;
    set_periodic_bell(&f, r->config.style.mass_kg, flight_s);
    double turn_cos = cos(r->config.style.toe_out_deg * 0.017453292519943295);
    struct fore_aft_rig rig = { r, &f, strike_share, belt_m_s, turn_cos };
    solve_periodic(&rig, flight_s, RUNNER_N_NODES / 4, &ahead_m, &speed_m_s);
    return ahead_m * 1e3;
}

double
runner_contact_for_ahead_s(const struct runner *r, double ahead_mm, double step_s, double strike_share,
                           double belt_m_s)
{
    double low_s = 0.3 * step_s, high_s = 0.94 * step_s;
    for (int i = 0; i < 24; i++) { /* the distance grows with the contact */
        double middle_s = (low_s + high_s) / 2;
        if (runner_balanced_ahead_mm(r, middle_s, step_s, strike_share, belt_m_s) < ahead_mm)
            low_s = middle_s;
        else
            high_s = middle_s;
    }
    return (low_s + high_s) / 2;
}

/* What the runner means to do with the next step, all variation in. */
struct intent {
    double step_s, contact_s, strike_share, limb_speed_share, toe_out_deg, width_mm, ahead_error_m, belt_m_s;
};

static void
respond(struct runner *r, double over_s)
{
    const struct runner_response *p = &r->config.style.response;
    if (isnan(r->target_cadence_spm) && isnan(r->target_ahead_mm))
        return;
    if (r->is_feedback_shown)
        r->level += (1 - r->level) * (1 - exp(-over_s / p->tau_s));
    else if (r->level > p->keep_share * r->level_best)
        r->level += (p->keep_share * r->level_best - r->level) * (1 - exp(-over_s / p->forget_tau_s));
    r->level_best = fmax(r->level_best, r->level);
}

static double
side_factor(double asymmetry, bool is_right)
{
    return 1 + (is_right ? 0.5 : -0.5) * asymmetry;
}

/* About how far a contact reaches ahead: half the belt's way less the pressure's roll. Only its ratio is used. */
static double
reach_m(const struct runner *r, double belt_m_s, double contact_s)
{
    return fmax(0.02, 0.48 * belt_m_s * contact_s - 0.3 * r->config.style.foot_length_mm * 1e-3);
}

static void
choose_times(struct runner *r, struct intent *in)
{
    const struct runner_style *s = &r->config.style;
    double minutes = r->run_s / 60, pace = fmax(0.2, in->belt_m_s / s->speed_m_s);
    double own_spm = s->cadence_spm * (1 + 0.25 * (pace - 1)) * (1 + s->fatigue.cadence * minutes), spm = own_spm;
    double yield = s->response.gain * r->level;
    if (!isnan(r->target_cadence_spm))
        spm += (r->target_cadence_spm - own_spm) * yield;
    in->step_s = 60 / spm;
    in->contact_s = r->base_contact_s * s->cadence_spm / spm / sqrt(pace) * (1 + s->fatigue.contact * minutes);
    in->contact_s = fmin(in->contact_s, 0.95 * in->step_s);
    if (!isnan(r->target_ahead_mm) && yield > 0) {
        double goal_s = runner_contact_for_ahead_s(r, r->target_ahead_mm, in->step_s, in->strike_share, in->belt_m_s);
        in->contact_s += (goal_s - in->contact_s) * yield;
    }
    double reach = reach_m(r, in->belt_m_s, in->contact_s) / reach_m(r, s->speed_m_s, r->base_contact_s);
    in->limb_speed_share = fmax(0.3, fmin(2, reach)) * (1 + s->fatigue.limb_speed * minutes);
}

static struct intent
choose_step(struct runner *r)
{
    const struct runner_style *s = &r->config.style;
    const struct runner_spread *v = &s->spread;
    struct intent in;
    bool is_right = r->next_is_right;
    in.belt_m_s = runner_belt_speed_m_s(r, r->next_start_s);
    in.strike_share = s->strike_index_pct / 100 + s->fatigue.strike_share * r->run_s / 60;
    choose_times(r, &in);
    in.strike_share += (is_right ? 0.5 : -0.5) * s->asymmetry.strike_share;
    in.strike_share += v->strike_share * random_normal(&r->random);
    in.strike_share = fmax(FOOT_STRIKE_MIN, fmin(FOOT_STRIKE_MAX, in.strike_share));
    in.step_s *= side_factor(s->asymmetry.step_time, is_right) * (1 + v->step_time * random_normal(&r->random));
    in.contact_s *= side_factor(s->asymmetry.contact, is_right) * (1 + v->contact * random_normal(&r->random));
    in.limb_speed_share *= side_factor(s->asymmetry.limb_speed, is_right);
    in.limb_speed_share *= fmax(0.2, 1 + v->limb_speed * random_normal(&r->random));
    in.ahead_error_m = v->ahead_mm * 1e-3 * random_normal(&r->random);
    in.toe_out_deg = s->toe_out_deg + (is_right ? 0.5 : -0.5) * s->asymmetry.toe_out_deg +
                     v->toe_out_deg * random_normal(&r->random);
    in.width_mm = s->width_mm + v->width_mm * 1.4142135623730951 * random_normal(&r->random);
    if (r->stumble_left == 2) {
        in.contact_s *= 0.5;
        in.step_s = in.contact_s + 0.03;
        in.limb_speed_share *= 1.4;
    } else if (r->stumble_left == 1) {
        in.contact_s *= 1.15;
    }
    in.contact_s = fmin(in.contact_s, in.step_s - MIN_FLIGHT_S);
    return in;
}

static struct runner_contact *
new_contact(struct runner *r, enum step_gait gait, bool is_right)
{
    const struct runner_style *s = &r->config.style;
    struct runner_contact *c = &r->contact[r->n_contacts % RUNNER_N_CONTACTS];
    r->n_contacts++;
    memset(c, 0, sizeof *c);
    c->gait = gait;
    c->start_s = r->next_start_s;
    c->belt_start_mm = runner_belt_travel_mm(r, c->start_s);
    c->place.is_right = is_right;
    c->place.length_mm = s->foot_length_mm;
    c->place.width_mm = s->foot_width_mm;
    return c;
}

/* Puts the foot so that its strike place is at cop_fwd_mm and its middle at the wanted side distance. */
static void
put_foot(struct runner *r, struct runner_contact *c, double share, double cop_fwd_mm, double width_mm,
         double shift_right_mm)
{
    double fwd_mm, right_mm, middle_mm;
    c->place.heel_fwd_mm = c->place.heel_right_mm = 0;
    foot_axis_point(&c->place, share, &fwd_mm, &right_mm);
    c->place.heel_fwd_mm = cop_fwd_mm - fwd_mm;
    foot_axis_point(&c->place, 0.5, &fwd_mm, &middle_mm);
    double side = c->place.is_right ? 0.5 : -0.5;
    c->place.heel_right_mm = r->config.style.place_right_mm + shift_right_mm + side * width_mm - middle_mm;
}

/* Integrates the mass centre over the contact into its nodes and moves r's state to toe-off. */
static void
move_mass_centre(struct runner *r, struct runner_contact *c, const struct fore_aft_rig *rig, double ahead_m,
                 double up_m_s)
{
    struct fore_aft x = FORE_AFT_START;
    double h_s = c->law.contact_s / RUNNER_N_NODES, up_m = 0, g = UNITS_GRAVITY_M_S2;
    double mass_kg = r->config.style.mass_kg;
    c->com_fwd_mm[0] = r->com_fwd_m * 1e3;
    c->com_up_mm[0] = 0;
    for (int i = 0; i < RUNNER_N_NODES; i++) {
        double t_s = i * h_s;
        x = fore_aft_step(rig, &x, t_s, h_s);
        c->com_fwd_mm[i + 1] = (r->com_fwd_m + x.place[0] + ahead_m * x.place[1] + r->com_fwd_m_s * x.place[2]) * 1e3;
        double a0 = force_law_at(&c->law, t_s) / mass_kg - g, a1 = force_law_at(&c->law, t_s + h_s / 2) / mass_kg - g;
        double a2 = force_law_at(&c->law, t_s + h_s) / mass_kg - g;
        up_m += h_s * up_m_s + h_s * h_s / 6 * (a0 + 2 * a1);
        up_m_s += h_s / 6 * (a0 + 4 * a1 + a2);
        c->com_up_mm[i + 1] = up_m * 1e3;
    }
    c->com_fwd_end_m_s = x.speed[0] + ahead_m * x.speed[1] + r->com_fwd_m_s * x.speed[2];
    r->com_fwd_m = c->com_fwd_mm[RUNNER_N_NODES] * 1e-3;
    r->com_fwd_m_s = c->com_fwd_end_m_s;
}

static void
plan_running(struct runner *r, const struct runner_segment *segment)
{
    struct intent in = choose_step(r);
    const struct runner_style *s = &r->config.style;
    struct runner_contact *c = new_contact(r, STEP_GAIT_RUNNING, r->next_is_right);
    double flight_s = in.step_s - in.contact_s, rise_m, balanced_m, speed_m_s;
    c->strike_share = in.strike_share;
    c->place.toe_out_deg = in.toe_out_deg;
    c->law = running_law(r, in.contact_s, in.strike_share, in.limb_speed_share);
    double even_m_s = set_periodic_bell(&c->law, s->mass_kg, flight_s);
    struct fore_aft_rig rig = { r, &c->law, in.strike_share, in.belt_m_s, cos(in.toe_out_deg * 0.017453292519943295) };
    solve_periodic(&rig, flight_s, RUNNER_N_NODES / 2, &balanced_m, &speed_m_s);
    if (r->is_fresh) {
        r->com_up_m_s = even_m_s;
        r->com_fwd_m_s = speed_m_s;
        r->last_rise_mm = NAN;
    }
    double up_m_s = r->com_up_m_s;
    double ahead_m = balanced_m + in.ahead_error_m + LEAN_PER_SPEED_S * (r->com_fwd_m_s - speed_m_s) +
                     LEAN_PER_PLACE * (r->com_fwd_m - s->place_fwd_mm * 1e-3);
    double cop_mm = (r->com_fwd_m + ahead_m) * 1e3;
    put_foot(r, c, in.strike_share, cop_mm, in.width_mm, segment ? segment->shift_right_mm : 0);
    flight_s = set_bell(&c->law, s->mass_kg, flight_s, &r->com_up_m_s, &c->com_up_end_m_s, &rise_m);
    move_mass_centre(r, c, &rig, ahead_m, up_m_s);
    r->com_fwd_m += r->com_fwd_m_s * flight_s;
    runner_truth_close(r, c);
    runner_truth_open(r, c, ahead_m * 1e3);
    r->last_rise_mm = rise_m * 1e3;
    r->next_start_s = c->start_s + c->law.contact_s + flight_s;
    r->run_s += c->law.contact_s + flight_s;
    respond(r, c->law.contact_s + flight_s);
    r->stumble_left -= r->stumble_left > 0;
    r->next_is_right = !r->next_is_right;
    r->is_fresh = false;
}

/* Walking: both feet overlap, the sum of their double humps carries the weight; the mass centre is held still
 * in the lab, and the foot is put where its force-weighted centre of pressure is under it. */
static void
plan_walking(struct runner *r, const struct runner_segment *segment)
{
    const struct runner_style *s = &r->config.style;
    struct runner_contact *c = new_contact(r, STEP_GAIT_WALKING, r->next_is_right);
    double belt_m_s = runner_belt_speed_m_s(r, r->next_start_s), impulse_s, moment_s2;
    double step_s = 60 / (WALK_CADENCE_SPM * sqrt(fmax(0.3, belt_m_s) / 1.4));
    step_s *= 1 + s->spread.step_time * random_normal(&r->random);
    c->law.kind = FORCE_LAW_WALK;
    c->law.contact_s = WALK_DUTY * 2 * step_s;
    force_law_unit_bell(&c->law, &impulse_s, &moment_s2);
    c->law.bell_n = s->mass_kg * UNITS_GRAVITY_M_S2 * step_s / impulse_s;
    c->strike_share = WALK_STRIKE;
    c->place.toe_out_deg = s->toe_out_deg;
    double turn_cos = cos(s->toe_out_deg * 0.017453292519943295), sum_n = 0, sum_nm = 0;
    for (int i = 0; i < RUNNER_N_NODES; i++) {
        double u = (i + 0.5) / RUNNER_N_NODES, force_n = force_law_at(&c->law, u * c->law.contact_s);
        sum_n += force_n;
        sum_nm += force_n * (belt_m_s * u * c->law.contact_s - roll_m(r, c->strike_share, u, turn_cos));
    }
    r->com_fwd_m = s->place_fwd_mm * 1e-3;
    r->com_fwd_m_s = 0;
    for (int i = 0; i <= RUNNER_N_NODES; i++)
        c->com_fwd_mm[i] = s->place_fwd_mm;
    double width_mm = fmax(90, s->width_mm) + s->spread.width_mm * random_normal(&r->random);
    put_foot(r, c, c->strike_share, s->place_fwd_mm + sum_nm / sum_n * 1e3, width_mm,
             segment ? segment->shift_right_mm : 0);
    runner_truth_close(r, c);
    runner_truth_open(r, c, sum_nm / sum_n * 1e3);
    r->last_rise_mm = NAN;
    r->next_start_s = c->start_s + step_s;
    r->next_is_right = !r->next_is_right;
    r->is_fresh = true; /* a run that follows starts from its own even bounce */
}

static void
plan_standing(struct runner *r, double end_s)
{
    const struct runner_style *s = &r->config.style;
    runner_truth_close(r, NULL);
    for (int side = 0; side < 2; side++) {
        struct runner_contact *c = new_contact(r, STEP_GAIT_STANDING, side == 1);
        c->law.kind = FORCE_LAW_STAND;
        c->law.contact_s = end_s - r->next_start_s;
        c->law.ramp_s = fmin(STAND_RAMP_S, c->law.contact_s / 2);
        c->law.bell_n = s->mass_kg * UNITS_GRAVITY_M_S2 * (side ? 0.49 : 0.51);
        c->strike_share = STAND_SHARE;
        c->place.toe_out_deg = s->toe_out_deg;
        for (int i = 0; i <= RUNNER_N_NODES; i++)
            c->com_fwd_mm[i] = s->place_fwd_mm;
        put_foot(r, c, STAND_SHARE, s->place_fwd_mm, 180, 0);
    }
    r->com_fwd_m = s->place_fwd_mm * 1e-3;
    r->com_fwd_m_s = 0;
    r->last_cop_right_mm = NAN;
    r->next_start_s = end_s;
    r->is_fresh = true;
}

void
runner_plan_next(struct runner *r)
{
    double start_s = 0, end_s = INFINITY;
    const struct runner_segment *segment = runner_segment_at(r, r->next_start_s, &start_s, &end_s);
    enum runner_activity activity = r->config.script ? segment ? segment->activity : RUNNER_IS_OFF : RUNNER_RUNS;
    if (!r->config.script)
        end_s = INFINITY;
    switch (activity) {
    case RUNNER_STUMBLES: {
        int index = (int) (segment - r->config.script);
        if (r->stumbled_segment != index)
            r->stumble_left = 2;
        r->stumbled_segment = index;
        plan_running(r, segment);
        break;
    }
    case RUNNER_RUNS:
        plan_running(r, segment);
        break;
    case RUNNER_WALKS:
        plan_walking(r, segment);
        break;
    case RUNNER_STANDS:
        plan_standing(r, end_s);
        break;
    case RUNNER_IS_OFF:
        runner_truth_close(r, NULL);
        r->last_cop_right_mm = NAN;
        r->com_fwd_m = r->config.style.place_fwd_mm * 1e-3;
        r->com_fwd_m_s = 0;
        r->next_start_s = segment ? end_s : (double) INFINITY;
        r->is_fresh = true;
        break;
    }
}
