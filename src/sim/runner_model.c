#include "sim/runner_model.h"

#include "sim/runner_motion.h"
#include "sim/runner_plan.h"

#include <assert.h>
#include <math.h>
#include <string.h>

struct runner_style
runner_style_default(void)
{
    struct runner_style s = {
        .mass_kg = 70,
        .speed_m_s = 3.0,
        .cadence_spm = 165,
        .contact_ms = NAN,
        .duty_factor = 0.35,
        .ahead_mm = NAN,
        .strike_index_pct = 12,
        .limb_speed_m_s = 1.0,
        .limb_stop_ms = NAN,
        .bell_peak_place = 0.47,
        .bell_fullness = 0.5,
        .foot_length_mm = 265,
        .foot_width_mm = 95,
        .leg_length_mm = 900,
        .width_mm = 60,
        .toe_out_deg = 6,
        .place_fwd_mm = 0,
        .place_right_mm = 0,
        .wander_mm = 6,
        .spread = { .step_time = 0.012,
                    .contact = 0.015,
                    .limb_speed = 0.08,
                    .strike_share = 0.015,
                    .ahead_mm = 5,
                    .width_mm = 10,
                    .toe_out_deg = 1 },
        .response = { .gain = 0.9, .tau_s = 15, .keep_share = 0.6, .forget_tau_s = 60 },
    };
    return s;
}

struct runner_config
runner_config_default(void)
{
    struct runner_config c = { .style = runner_style_default(), .seed = 1, .truth_threshold_n = 20 };
    return c;
}

void
runner_init(struct runner *r, const struct runner_config *c)
{
    const struct runner_style *s = &c->style;
    assert(s->mass_kg > 0 && s->speed_m_s > 0 && s->cadence_spm > 0);
    assert(s->response.gain >= 0 && s->response.gain <= 1);
    memset(r, 0, sizeof *r);
    r->config = *c;
    random_init(&r->random, c->seed);
    double step_s = 60 / s->cadence_spm, strike_share = s->strike_index_pct / 100;
    if (!isnan(s->ahead_mm))
        r->base_contact_s = runner_contact_for_ahead_s(r, s->ahead_mm, step_s, strike_share, s->speed_m_s);
    else if (!isnan(s->contact_ms))
        r->base_contact_s = s->contact_ms * 1e-3;
    else
        r->base_contact_s = s->duty_factor * 2 * step_s;
    assert(r->base_contact_s > 0.2 * step_s && r->base_contact_s < 0.98 * step_s);
    r->base_ahead_mm = runner_balanced_ahead_mm(r, r->base_contact_s, step_s, strike_share, s->speed_m_s);
    r->target_cadence_spm = r->target_ahead_mm = NAN;
    r->com_fwd_m = s->place_fwd_mm * 1e-3;
    r->next_is_right = true;
    r->is_fresh = true;
    r->stumbled_segment = -1;
    r->last_cop_right_mm = r->last_top_mm = NAN;
}

void
runner_set_target(struct runner *r, double cadence_spm, double ahead_mm)
{
    r->target_cadence_spm = cadence_spm;
    r->target_ahead_mm = ahead_mm;
}

void
runner_set_feedback(struct runner *r, bool is_shown)
{
    r->is_feedback_shown = is_shown;
}

static int
kept_contacts(const struct runner *r)
{
    return r->n_contacts < RUNNER_N_CONTACTS ? r->n_contacts : RUNNER_N_CONTACTS;
}

static double
node_value(const double node[RUNNER_N_NODES + 1], double share)
{
    double at = fmax(0, fmin(1, share)) * RUNNER_N_NODES;
    int i = at >= RUNNER_N_NODES ? RUNNER_N_NODES - 1 : (int) at;
    return node[i] + (at - i) * (node[i + 1] - node[i]);
}

/* Where the mass centre is, from the last contact begun and the flight after it. */
static void
place_mass_centre(const struct runner *r, struct runner_now *out)
{
    out->com_fwd_mm = r->com_fwd_m * 1e3;
    out->com_up_mm = 0;
    const struct runner_contact *c = NULL;
    for (int back = 0; back < kept_contacts(r) && (!c || c->start_s > out->t_s); back++)
        c = &r->contact[(r->n_contacts - 1 - back) % RUNNER_N_CONTACTS];
    if (!c)
        return;
    double since_s = out->t_s - c->start_s, air_s = since_s - c->law.contact_s;
    out->com_fwd_mm = node_value(c->com_fwd_mm, since_s / c->law.contact_s);
    out->com_up_mm = node_value(c->com_up_mm, since_s / c->law.contact_s);
    if (air_s > 0 && air_s < 1 && c->gait == STEP_GAIT_RUNNING) {
        out->com_fwd_mm += c->com_fwd_end_m_s * air_s * 1e3;
        out->com_up_mm += (c->com_up_end_m_s * air_s - UNITS_GRAVITY_M_S2 / 2 * air_s * air_s) * 1e3;
    }
}

static void
place_foot(const struct runner_contact *c, const struct runner_now *now, struct runner_foot_now *f)
{
    double since_s = now->t_s - c->start_s;
    f->is_down = true;
    f->is_right = c->place.is_right;
    f->force_n = force_law_at(&c->law, since_s);
    f->phase = c->gait == STEP_GAIT_STANDING ? 0.4 : since_s / c->law.contact_s;
    f->strike_share = c->strike_share;
    f->place = c->place;
    f->place.heel_fwd_mm -= now->belt_travel_mm - c->belt_start_mm;
    sole_axis_point(&f->place, sole_cop_share(f->strike_share, f->phase), &f->cop_fwd_mm, &f->cop_right_mm);
}

void
runner_now(struct runner *r, double t_s, struct runner_now *out)
{
    while (t_s >= r->next_start_s)
        runner_plan_next(r);
    memset(out, 0, sizeof *out);
    out->t_s = t_s;
    out->belt_speed_m_s = runner_belt_speed_m_s(r, t_s);
    out->belt_travel_mm = runner_belt_travel_mm(r, t_s);
    place_mass_centre(r, out);
    double moment_fwd = 0, moment_right = 0;
    for (int back = 0; back < kept_contacts(r) && out->n_feet < 2; back++) {
        const struct runner_contact *c = &r->contact[(r->n_contacts - 1 - back) % RUNNER_N_CONTACTS];
        if (!(t_s > c->start_s && t_s < c->start_s + c->law.contact_s))
            continue;
        struct runner_foot_now *f = &out->foot[out->n_feet++];
        place_foot(c, out, f);
        out->force_n += f->force_n;
        moment_fwd += f->force_n * f->cop_fwd_mm;
        moment_right += f->force_n * f->cop_right_mm;
    }
    out->cop_fwd_mm = out->force_n > 0 ? moment_fwd / out->force_n : (double) NAN;
    out->cop_right_mm = out->force_n > 0 ? moment_right / out->force_n : (double) NAN;
    out->fore_aft_n = (out->force_n * out->com_fwd_mm - moment_fwd) * 1e-3 / runner_com_height_m(r);
}

bool
runner_take(struct runner *r, struct runner_truth *out)
{
    if (r->n_taken < r->n_truths - RUNNER_N_TRUTHS + 1)
        r->n_taken = r->n_truths - RUNNER_N_TRUTHS + 1; /* the oldest were written over */
    if (r->n_taken >= r->n_truths)
        return false;
    *out = r->truth[r->n_taken++ % RUNNER_N_TRUTHS];
    return true;
}
