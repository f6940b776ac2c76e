#include "sim/runner_motion.h"

#include <math.h>

#define LEVEL_PER_S 3.0 /* speed asked for per metre too high at touchdown: halves the error with each step  \
                         */
#define BELL_MIN_BW 0.5
#define BELL_MAX_BW 6.0
#define RADIAN      0.017453292519943295

double
runner_com_height_m(const struct runner *r)
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

struct force_law
runner_running_law(const struct runner *r, double contact_s, double strike_share, double limb_speed_share)
{
    const struct runner_style *s = &r->config.style;
    struct force_law f = { .kind = FORCE_LAW_RUN,
                           .contact_s = contact_s,
                           .peak_place = s->bell_peak_place,
                           .fullness = s->bell_fullness,
                           .bell_n = 0 };
    f.impact_half_s = fmin(limb_stop_s(s, strike_share), 0.25 * contact_s);
    f.impact_n =
        force_law_impact_n(s->mass_kg, limb_speed_m_s(s, strike_share) * limb_speed_share, f.impact_half_s);
    return f;
}

/* Vertical motion over contact and flight, all linear in the bell's height:
 * y(end of flight) = v T - g T2/2 + bell (P + R tf) + impact's part, v' = v - g T + bell R + impact's part.
 */
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
double
runner_set_periodic_bell(struct force_law *f, double mass_kg, double flight_s)
{
    struct vertical k = vertical_of(f, mass_kg, flight_s);
    double step_s = f->contact_s + flight_s;
    f->bell_n = (UNITS_GRAVITY_M_S2 * step_s - k.impact_speed) / k.bell_speed;
    return (UNITS_GRAVITY_M_S2 / 2 * step_s * step_s - f->bell_n * k.bell_rise - k.impact_rise) / step_s;
}

void
runner_set_bell(struct force_law *f, double mass_kg, double flight_s, double even_m_s,
                struct runner_bounce *b)
{
    struct vertical k = vertical_of(f, mass_kg, flight_s);
    double g = UNITS_GRAVITY_M_S2, step_s = f->contact_s + flight_s, weight_n = mass_kg * g;
    double wanted_m_s = even_m_s - LEVEL_PER_S * b->up_m;
    f->bell_n = (wanted_m_s - b->up_m_s + g * step_s - k.impact_speed) / k.bell_speed;
    f->bell_n = fmax(BELL_MIN_BW * weight_n, fmin(BELL_MAX_BW * weight_n, f->bell_n));
    b->end_m_s = b->up_m_s - g * f->contact_s + f->bell_n * k.bell_speed + k.impact_speed;
    b->up_m += b->up_m_s * step_s - g / 2 * step_s * step_s + f->bell_n * k.bell_rise + k.impact_rise;
    b->up_m_s = b->end_m_s - g * flight_s;
    b->top_m = b->up_m + b->up_m_s * b->up_m_s / (2 * g);
}

/* Fore-aft motion relative to the mass centre at touchdown. The equation is linear in the landing distance
 * and in the speed: three solutions side by side, [0] without either, [1] per metre ahead, [2] per m/s. */
struct fore_aft {
    double place[3], speed[3];
};

double
runner_roll_m(const struct runner *r, double strike_share, double phase, double turn_cos)
{
    return r->config.style.foot_length_mm * 1e-3 * turn_cos *
           (sole_cop_share(strike_share, phase) - strike_share);
}

static struct fore_aft
fore_aft_slope(const struct runner_rig *rig, const struct fore_aft *x, double t_s)
{
    struct fore_aft d;
    double pull = force_law_at(rig->law, t_s) / (rig->r->config.style.mass_kg * runner_com_height_m(rig->r));
    double cop_m = runner_roll_m(rig->r, rig->strike_share, t_s / rig->law->contact_s, rig->turn_cos) -
                   rig->belt_m_s * t_s;
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
fore_aft_step(const struct runner_rig *rig, const struct fore_aft *x, double t_s, double h_s)
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
void
runner_solve_periodic(const struct runner_rig *rig, double flight_s, int n_nodes, double *ahead_m,
                      double *speed_m_s)
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

/* The pressure's force-weighted mean place over a contact, ahead of where it began, mm. */
static double
mean_roll_mm(const struct runner_rig *rig)
{
    double sum_n = 0, moment = 0;
    for (int i = 0; i < RUNNER_N_NODES; i++) {
        double u = (i + 0.5) / RUNNER_N_NODES, force_n = force_law_at(rig->law, u * rig->law->contact_s);
        sum_n += force_n;
        moment += force_n * runner_roll_m(rig->r, rig->strike_share, u, rig->turn_cos);
    }
    return 1e3 * moment / sum_n;
}

double
runner_balanced_ahead_mm(const struct runner *r, double contact_s, double step_s, double strike_share,
                         double belt_m_s)
{
    struct force_law f = runner_running_law(r, contact_s, strike_share, 1);
    double flight_s = fmax(RUNNER_MIN_FLIGHT_S, step_s - contact_s), ahead_m, speed_m_s;
    runner_set_periodic_bell(&f, r->config.style.mass_kg, flight_s);
    double turn_cos = cos(r->config.style.toe_out_deg * RADIAN);
    struct runner_rig rig = { r, &f, strike_share, belt_m_s, turn_cos };
    runner_solve_periodic(&rig, flight_s, RUNNER_N_NODES / 4, &ahead_m, &speed_m_s);
    return ahead_m * 1e3 + mean_roll_mm(&rig) - RUNNER_LOAD_SHARE * r->config.style.foot_length_mm;
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

/* Integrates the mass centre over the contact into its nodes and moves r's state to toe-off. */
void
runner_move_mass_centre(struct runner *r, struct runner_contact *c, const struct runner_rig *rig,
                        double ahead_m)
{
    struct fore_aft x = FORE_AFT_START;
    double h_s = c->law.contact_s / RUNNER_N_NODES, up_m = r->bounce.up_m, up_m_s = r->bounce.up_m_s;
    double g = UNITS_GRAVITY_M_S2, mass_kg = r->config.style.mass_kg;
    c->com_fwd_mm[0] = r->com_fwd_m * 1e3;
    c->com_up_mm[0] = up_m * 1e3;
    for (int i = 0; i < RUNNER_N_NODES; i++) {
        double t_s = i * h_s;
        x = fore_aft_step(rig, &x, t_s, h_s);
        c->com_fwd_mm[i + 1] =
            (r->com_fwd_m + x.place[0] + ahead_m * x.place[1] + r->com_fwd_m_s * x.place[2]) * 1e3;
        double a0 = force_law_at(&c->law, t_s) / mass_kg - g,
               a1 = force_law_at(&c->law, t_s + h_s / 2) / mass_kg - g;
        double a2 = force_law_at(&c->law, t_s + h_s) / mass_kg - g;
        up_m += h_s * up_m_s + h_s * h_s / 6 * (a0 + 2 * a1);
        up_m_s += h_s / 6 * (a0 + 4 * a1 + a2);
        c->com_up_mm[i + 1] = up_m * 1e3;
    }
    c->com_fwd_end_m_s = x.speed[0] + ahead_m * x.speed[1] + r->com_fwd_m_s * x.speed[2];
    r->com_fwd_m = c->com_fwd_mm[RUNNER_N_NODES] * 1e-3;
    r->com_fwd_m_s = c->com_fwd_end_m_s;
}
