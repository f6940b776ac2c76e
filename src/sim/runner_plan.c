#include "sim/runner_plan.h"

#include "sim/runner_motion.h"
#include "sim/runner_script.h"
#include "sim/runner_truth.h"

#include <assert.h>
#include <math.h>
#include <string.h>

#define LEAN_PER_SPEED_S                                                                                     \
    0.35                    /* the foot goes this much farther ahead for each m/s too fast: brings the       \
                               mass centre's speed back within two steps */
#define LEAN_PER_PLACE 0.08 /* and this share of the distance from the runner's place */
#define LIMB_PER_REACH                                                                                       \
    3.0 /* limb speed goes with this power of the reach: +7.5 % cadence then lowers the                      \
         */
        /* loading rate by about a tenth to a fifth (Willy et al. 2016: 18 %) */
#define LIMB_PER_PACE    0.6
#define WANDER_TAU_S     8.0
#define WALK_DUTY        0.62
#define WALK_CADENCE_SPM 112.0 /* at 1.4 m/s, growing with the root of the speed */
#define WALK_STRIKE      0.08
#define STAND_SHARE      0.52 /* of the foot: where the weight rests */
#define RADIAN           0.017453292519943295
#define STAND_RAMP_S     0.25

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

/* About how far a contact reaches ahead: half the belt's way less the pressure's roll. Only its ratio is
 * used. */
static double
reach_m(const struct runner *r, double belt_m_s, double contact_s)
{
    return fmax(0.02, 0.48 * belt_m_s * contact_s - 0.3 * r->config.style.foot_length_mm * 1e-3);
}

static void
choose_times(struct runner *r, struct intent *in)
{
    const struct runner_style *s = &r->config.style;
    /* cppcheck-suppress ctuuninitvar -- belt_m_s is set by the caller */
    double minutes = r->run_s / 60, pace = fmax(0.2, in->belt_m_s / s->speed_m_s);
    double own_spm = s->cadence_spm * (1 + 0.25 * (pace - 1)) * (1 + s->fatigue.cadence * minutes),
           spm = own_spm;
    double yield = s->response.gain * r->level;
    if (!isnan(r->target_cadence_spm))
        spm += (r->target_cadence_spm - own_spm) * yield;
    in->step_s = 60 / spm;
    in->contact_s =
        r->base_contact_s * s->cadence_spm / spm / sqrt(pace) * (1 + s->fatigue.contact * minutes);
    in->contact_s = fmin(in->contact_s, 0.95 * in->step_s);
    if (!isnan(r->target_ahead_mm) && yield > 0) {
        double goal_s =
            runner_contact_for_ahead_s(r, r->target_ahead_mm, in->step_s, in->strike_share, in->belt_m_s);
        in->contact_s += (goal_s - in->contact_s) * yield;
    }
    double own_s = r->base_contact_s / sqrt(pace);
    double reach = reach_m(r, in->belt_m_s, in->contact_s) / reach_m(r, in->belt_m_s, own_s);
    in->limb_speed_share = pow(pace, LIMB_PER_PACE) * fmax(0.3, fmin(2, pow(reach, LIMB_PER_REACH)));
    in->limb_speed_share *= 1 + s->fatigue.limb_speed * minutes;
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
    in.strike_share = fmax(SOLE_STRIKE_MIN, fmin(SOLE_STRIKE_MAX, in.strike_share));
    in.step_s *=
        side_factor(s->asymmetry.step_time, is_right) * (1 + v->step_time * random_normal(&r->random));
    in.contact_s *=
        side_factor(s->asymmetry.contact, is_right) * (1 + v->contact * random_normal(&r->random));
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
    in.contact_s = fmin(in.contact_s, in.step_s - RUNNER_MIN_FLIGHT_S);
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
    sole_axis_point(&c->place, share, &fwd_mm, &right_mm);
    c->place.heel_fwd_mm = cop_fwd_mm - fwd_mm;
    sole_axis_point(&c->place, 0.5, &fwd_mm, &middle_mm);
    double side = c->place.is_right ? 0.5 : -0.5;
    c->place.heel_right_mm = r->config.style.place_right_mm + shift_right_mm + side * width_mm - middle_mm;
}

static void
wander(struct runner *r, double over_s)
{
    double keep = exp(-over_s / WANDER_TAU_S);
    r->wander_mm *= keep;
    r->wander_mm += r->config.style.wander_mm * sqrt(1 - keep * keep) * random_normal(&r->random);
}

static void
plan_running(struct runner *r, const struct runner_segment *segment)
{
    struct intent in = choose_step(r);
    const struct runner_style *s = &r->config.style;
    struct runner_contact *c = new_contact(r, STEP_GAIT_RUNNING, r->next_is_right);
    double flight_s = in.step_s - in.contact_s, balanced_m, speed_m_s;
    c->strike_share = in.strike_share;
    c->place.toe_out_deg = in.toe_out_deg;
    c->law = runner_running_law(r, in.contact_s, in.strike_share, in.limb_speed_share);
    double even_m_s = runner_set_periodic_bell(&c->law, s->mass_kg, flight_s);
    struct runner_rig rig = { r, &c->law, in.strike_share, in.belt_m_s, cos(in.toe_out_deg * RADIAN) };
    runner_solve_periodic(&rig, flight_s, RUNNER_N_NODES / 2, &balanced_m, &speed_m_s);
    if (r->is_fresh) {
        r->bounce = (struct runner_bounce){ .up_m_s = even_m_s };
        r->com_fwd_m_s = speed_m_s;
        r->last_top_mm = NAN;
    }
    double ahead_m = balanced_m + in.ahead_error_m + LEAN_PER_SPEED_S * (r->com_fwd_m_s - speed_m_s) +
                     LEAN_PER_PLACE * (r->com_fwd_m - s->place_fwd_mm * 1e-3);
    double cop_mm = (r->com_fwd_m + ahead_m) * 1e3;
    wander(r, in.step_s);
    put_foot(r, c, in.strike_share, cop_mm, in.width_mm,
             r->wander_mm + (segment ? segment->shift_right_mm : 0));
    struct runner_bounce next = r->bounce;
    runner_set_bell(&c->law, s->mass_kg, flight_s, even_m_s, &next);
    c->com_up_end_m_s = next.end_m_s;
    runner_move_mass_centre(r, c, &rig, ahead_m);
    r->com_fwd_m += r->com_fwd_m_s * flight_s;
    runner_truth_close(r, c);
    runner_truth_open(r, c, ahead_m * 1e3);
    r->last_top_mm = next.top_m * 1e3;
    r->bounce = next;
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
    double turn_cos = cos(s->toe_out_deg * RADIAN), sum_n = 0, sum_nm = 0;
    for (int i = 0; i < RUNNER_N_NODES; i++) {
        double u = (i + 0.5) / RUNNER_N_NODES, force_n = force_law_at(&c->law, u * c->law.contact_s);
        sum_n += force_n;
        sum_nm +=
            force_n * (belt_m_s * u * c->law.contact_s - runner_roll_m(r, c->strike_share, u, turn_cos));
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
    r->last_top_mm = NAN;
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
    enum runner_activity activity =
        r->config.script ? segment ? segment->activity : RUNNER_IS_OFF : RUNNER_RUNS;
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
