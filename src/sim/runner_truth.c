#include "sim/runner_truth.h"

#include "sim/runner_motion.h"

#include <math.h>

#define WHOLE_FOOT_SHARE 0.8

static double
node_time_s(const struct runner_contact *c, double node)
{
    return node * c->law.contact_s / RUNNER_N_NODES;
}

/* Lowest point of the mass centre: a parabola through the lowest node and its neighbours. */
static void
lowest_point(const struct runner_contact *c, double *drop_mm, double *low_s)
{
    int low = 1;
    for (int i = 1; i < RUNNER_N_NODES; i++)
        if (c->com_up_mm[i] < c->com_up_mm[low])
            low = i;
    double before = c->com_up_mm[low - 1], here = c->com_up_mm[low], after = c->com_up_mm[low + 1];
    double bend = before - 2 * here + after;
    double shift = bend > 0 ? 0.5 * (before - after) / bend : 0;
    *low_s = node_time_s(c, low + shift);
    *drop_mm = c->com_up_mm[0] - (here - 0.25 * (before - after) * shift);
}

/* Mean over the contact, weighted by the force. */
static double
mean_cop_right_mm(const struct runner_contact *c)
{
    double sum_n = 0, moment = 0;
    for (int i = 0; i < RUNNER_N_NODES; i++) {
        double u = (i + 0.5) / RUNNER_N_NODES, fwd_mm, right_mm;
        double force_n = force_law_at(&c->law, u * c->law.contact_s);
        sole_axis_point(&c->place, sole_cop_share(c->strike_share, u), &fwd_mm, &right_mm);
        sum_n += force_n;
        moment += force_n * right_mm;
    }
    return moment / sum_n;
}

/* The pressure's force-weighted mean place in [from, to) after down_s, on a foot that stands where it stood then. */
static double
mean_cop_fwd_mm(const struct runner *r, const struct runner_contact *c, double down_s, double from_s, double to_s)
{
    double sum_n = 0, moment = 0;
    for (int i = 0; i < RUNNER_N_NODES; i++) {
        double t_s = down_s + from_s + (i + 0.5) / RUNNER_N_NODES * (to_s - from_s), fwd_mm, right_mm;
        double force_n = force_law_at(&c->law, t_s - c->start_s);
        sole_axis_point(&c->place, sole_cop_share(c->strike_share, (t_s - c->start_s) / c->law.contact_s), &fwd_mm, &right_mm);
        sum_n += force_n;
        moment += force_n * fwd_mm;
    }
    return moment / sum_n - (runner_belt_travel_mm(r, down_s) - c->belt_start_mm);
}

static double
node_at(const double value[RUNNER_N_NODES + 1], const struct runner_contact *c, double t_s)
{
    double node = t_s / c->law.contact_s * RUNNER_N_NODES;
    int i = (int) fmax(0, fmin(RUNNER_N_NODES - 1, floor(node)));
    return value[i] + (node - i) * (value[i + 1] - value[i]);
}

static void
fill_loads(const struct runner *r, const struct runner_contact *c, struct runner_truth *t)
{
    double weight_n = r->config.style.mass_kg * UNITS_GRAVITY_M_S2;
    struct force_law_features f = force_law_features(&c->law, t->threshold_n);
    t->down_s = c->start_s + f.down_s;
    t->up_s = c->start_s + f.up_s;
    t->contact_ms = (f.up_s - f.down_s) * 1e3;
    t->peak_force_bw = f.peak_n / weight_n;
    t->has_transient = f.has_transient;
    t->transient_bw = f.transient_n / weight_n;
    t->transient_ms = (f.transient_s - f.down_s) * 1e3;
    t->transient_dip_bw = f.dip_n / weight_n;
    t->load_rate_bw_s = f.load_rate_n_s / weight_n;
    t->load_rate_max_bw_s = f.load_rate_max_n_s / weight_n;
    t->impulse_bw_s = force_law_impulse(&c->law) / weight_n;
    t->com_drop_mm = t->com_drop_from_down_mm = t->com_travel_mm = t->com_low_ms = t->transient_lead_ms = NAN;
    if (c->gait == STEP_GAIT_RUNNING) {
        double low_s;
        lowest_point(c, &t->com_drop_mm, &low_s);
        t->com_low_ms = (low_s - f.down_s) * 1e3;
        t->com_drop_from_down_mm = t->com_drop_mm + node_at(c->com_up_mm, c, f.down_s) - c->com_up_mm[0];
        t->com_travel_mm = t->com_drop_mm + r->last_top_mm - c->com_up_mm[0];
        t->transient_lead_ms = (low_s - f.transient_s) * 1e3;
    }
    double load_s = f.has_transient ? f.transient_s : f.peak_s;
    double from_share, to_share, cop_mm, right_mm;
    sole_extent(c->strike_share, load_s / c->law.contact_s, &from_share, &to_share);
    t->whole_foot_at_load = to_share - from_share >= WHOLE_FOOT_SHARE;
    sole_axis_point(&c->place, sole_cop_share(c->strike_share, load_s / c->law.contact_s), &cop_mm,
                    &right_mm);
    cop_mm -= runner_belt_travel_mm(r, c->start_s + load_s) - c->belt_start_mm;
    t->ahead_at_load_mm = cop_mm - node_at(c->com_fwd_mm, c, load_s);
}

/* The force through the mass centre, from the threshold's one crossing to the other. */
static void
fill_braking(const struct runner *r, const struct runner_contact *c, struct runner_truth *t)
{
    double weight_n = r->config.style.mass_kg * UNITS_GRAVITY_M_S2, sum = 0, lowest = 0;
    double part_s = (t->up_s - t->down_s) / RUNNER_N_NODES;
    t->braking_impulse_bw_s = t->peak_braking_bw = t->braking_end_pct = 0;
    for (int i = 0; i < RUNNER_N_NODES; i++) {
        double since_s = t->down_s + (i + 0.5) * part_s - c->start_s, cop_mm, right_mm;
        sole_axis_point(&c->place, sole_cop_share(c->strike_share, since_s / c->law.contact_s), &cop_mm, &right_mm);
        cop_mm -= runner_belt_travel_mm(r, c->start_s + since_s) - c->belt_start_mm;
        double forward_bw = force_law_at(&c->law, since_s) / weight_n * (node_at(c->com_fwd_mm, c, since_s) - cop_mm) * 1e-3 /
                            runner_com_height_m(r);
        t->braking_impulse_bw_s -= fmin(forward_bw, 0) * part_s;
        t->peak_braking_bw = fmax(t->peak_braking_bw, -forward_bw);
        sum += forward_bw;
        if (sum < lowest) {
            lowest = sum;
            t->braking_end_pct = 100.0 * (i + 1) / RUNNER_N_NODES;
        }
    }
}

static enum step_zone
zone_of(double travel_mm)
{
    if (isnan(travel_mm))
        return STEP_ZONE_UNKNOWN;
    if (travel_mm < RUNNER_REAR_MM)
        return STEP_ZONE_REAR;
    return travel_mm > RUNNER_FORE_MM ? STEP_ZONE_FORE : STEP_ZONE_MID;
}

static void
fill_places(const struct runner *r, const struct runner_contact *c, struct runner_truth *t)
{
    double com_mm = node_at(c->com_fwd_mm, c, t->down_s - c->start_s);
    double whole_mm = mean_cop_fwd_mm(r, c, t->down_s, 0, t->up_s - t->down_s);
    t->landing_ahead_mm = whole_mm - com_mm - RUNNER_LOAD_SHARE * r->config.style.foot_length_mm;
    t->strike_travel_mm = NAN;
    if (t->up_s - t->down_s >= RUNNER_MIDDLE_TO_S)
        t->strike_travel_mm = mean_cop_fwd_mm(r, c, t->down_s, 0, RUNNER_FIRST_S) -
                              mean_cop_fwd_mm(r, c, t->down_s, RUNNER_MIDDLE_FROM_S, RUNNER_MIDDLE_TO_S);
    t->zone = zone_of(t->strike_travel_mm);
}

void
runner_truth_open(struct runner *r, const struct runner_contact *c, double ahead_mm)
{
    struct runner_truth *t = &r->truth[r->n_truths % RUNNER_N_TRUTHS];
    t->number = (uint32_t) r->n_truths + 1;
    t->foot = c->place.is_right ? STEP_FOOT_RIGHT : STEP_FOOT_LEFT;
    t->gait = c->gait;
    t->touchdown_s = c->start_s;
    t->toe_off_s = c->start_s + c->law.contact_s;
    t->threshold_n = r->config.truth_threshold_n;
    t->contact_zero_ms = c->law.contact_s * 1e3;
    fill_loads(r, c, t);
    t->strike_index_pct = c->strike_share * 100;
    t->first_ahead_mm = ahead_mm;
    fill_places(r, c, t);
    fill_braking(r, c, t);
    sole_axis_point(&c->place, c->strike_share, &t->cop_fwd_mm, &t->cop_right_mm);
    t->cop_right_mm = mean_cop_right_mm(c);
    t->step_width_mm = (t->cop_right_mm - r->last_cop_right_mm) * (c->place.is_right ? 1 : -1);
    t->toe_out_deg = c->place.toe_out_deg;
    t->belt_speed_m_s = runner_belt_speed_m_s(r, c->start_s + c->law.contact_s / 2);
    r->last_cop_right_mm = t->cop_right_mm;
    r->has_open_truth = true;
}

void
runner_truth_close(struct runner *r, const struct runner_contact *next)
{
    if (!r->has_open_truth)
        return;
    struct runner_truth *t = &r->truth[r->n_truths % RUNNER_N_TRUTHS];
    t->next_touchdown_s = t->next_down_s = NAN;
    if (next) {
        t->next_touchdown_s = next->start_s;
        t->next_down_s = next->start_s + force_law_features(&next->law, t->threshold_n).down_s;
    }
    t->step_time_s = t->next_down_s - t->down_s;
    t->cadence_spm = 60 / t->step_time_s;
    t->flight_ms = (t->next_down_s - t->up_s) * 1e3;
    t->duty_factor = t->contact_ms * 1e-3 / (2 * t->step_time_s);
    r->has_open_truth = false;
    r->n_truths++;
}
