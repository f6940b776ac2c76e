#include "sim/runner_model.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

static struct runner_config
even_runner(void)
{
    struct runner_config c = runner_config_default();
    memset(&c.style.spread, 0, sizeof c.style.spread);
    return c;
}

/* Runs on to the n-th finished step from now; returns its truth. *t_s moves on. */
static struct runner_truth
run_steps(struct runner *r, double *t_s, int n)
{
    struct runner_truth truth = { 0 };
    struct runner_now now;
    for (int i = 0; i < n; *t_s += 0.01) {
        runner_now(r, *t_s, &now);
        while (i < n && runner_take(r, &truth))
            i++;
    }
    return truth;
}

static struct runner RUNNER; /* large; each test runs in a process of its own */

/* Vertical speed in flight just before t_s, by differences of the height, m/s. */
static double
flight_speed_m_s(struct runner *r, double t_s)
{
    struct runner_now a, b;
    runner_now(r, t_s - 2e-3, &a);
    runner_now(r, t_s - 1e-3, &b);
    return (b.com_up_mm - a.com_up_mm) -
           UNITS_GRAVITY_M_S2 * 1.5e-3; /* from the interval's middle on to t_s */
}

Test(runner_model, impulse_of_every_even_step_is_weight_times_step_time)
{
    static const double strike_pct[] = { 8, 45, 80 }, speed_m_s[] = { 2, 3.3, 5 },
                        cadence_spm[] = { 150, 170, 200 };
    for (int i = 0; i < 27; i++) {
        struct runner_config c = even_runner();
        c.style.strike_index_pct = strike_pct[i % 3];
        c.style.speed_m_s = speed_m_s[i / 3 % 3];
        c.style.cadence_spm = cadence_spm[i / 9];
        double t_s = 0;
        runner_init(&RUNNER, &c);
        run_steps(&RUNNER, &t_s, 3);
        for (int k = 0; k < 10; k++) {
            struct runner_truth t = run_steps(&RUNNER, &t_s, 1);
            cr_assert_float_eq(t.impulse_bw_s, t.next_touchdown_s - t.touchdown_s, 1e-9);
            cr_assert_float_eq(t.cadence_spm, c.style.cadence_spm, 1e-6);
        }
    }
}

Test(runner_model, momentum_balances_over_a_minute_of_uneven_steps)
{
    struct runner_config c = runner_config_default();
    c.style.asymmetry.contact = 0.05;
    c.style.asymmetry.step_time = -0.03;
    double t_s = 0, impulse = 0;
    runner_init(&RUNNER, &c);
    struct runner_truth t = run_steps(&RUNNER, &t_s, 4);
    double start_s = t.next_touchdown_s, start_m_s = flight_speed_m_s(&RUNNER, start_s);
    for (int i = 0; i < 160; i++) {
        t = run_steps(&RUNNER, &t_s, 1);
        impulse += t.impulse_bw_s;
    }
    double change_m_s = flight_speed_m_s(&RUNNER, t.next_touchdown_s) - start_m_s;
    cr_assert_float_eq(impulse, t.next_touchdown_s - start_s + change_m_s / UNITS_GRAVITY_M_S2, 1e-5);
}

Test(runner_model, half_sine_runner_is_the_published_worked_example)
{
    /* Morin et al. 2005, worked with g = 9.81 (facts F row 1, facts G): 70 kg, tc 0.25 s, tf 0.11 s. */
    struct runner_config c = even_runner();
    c.style.mass_kg = 70;
    c.style.cadence_spm = 60 / 0.36;
    c.style.contact_ms = 250;
    c.style.bell_fullness = 1;
    c.style.bell_peak_place = 0.5;
    c.style.limb_stop_ms = 20;
    c.style.limb_speed_m_s = -UNITS_GRAVITY_M_S2 * 0.020; /* no pulse at all */
    c.style.speed_m_s = 3.33;
    double t_s = 0;
    runner_init(&RUNNER, &c);
    struct runner_truth t = run_steps(&RUNNER, &t_s, 6);
    cr_assert_float_eq(t.peak_force_bw * 70 * UNITS_GRAVITY_M_S2, 1553.28, 0.02);
    cr_assert_float_eq(t.com_drop_mm, 63.877, 0.002);
    cr_assert_float_eq(t.com_travel_mm, 78.715, 0.002);
    cr_assert_float_eq(t.touchdown_s + 0.125, t.down_s + t.com_low_ms * 1e-3, 1e-5);
    cr_assert_float_eq(flight_speed_m_s(&RUNNER, t.next_touchdown_s), -0.53955, 1e-4);
}

Test(runner_model, truth_agrees_with_the_integral_of_its_own_force)
{
    struct runner_config c = runner_config_default();
    double t_s = 0;
    runner_init(&RUNNER, &c);
    run_steps(&RUNNER, &t_s, 5);
    for (int k = 0; k < 5; k++) {
        struct runner_truth t = run_steps(&RUNNER, &t_s, 1);
        /* The contact is still among those kept: walk through it again. */
        struct runner_now now;
        double h_s = 2e-5, up_m = 0, up_m_s = flight_speed_m_s(&RUNNER, t.touchdown_s), low_m = 0, low_s = 0;
        double sum_n = 0, before_n = 0, down_s = NAN, up_s = NAN, peak_n = 0;
        double weight_n = c.style.mass_kg * UNITS_GRAVITY_M_S2;
        for (double at_s = t.touchdown_s; at_s < t.toe_off_s; at_s += h_s) {
            runner_now(&RUNNER, at_s, &now);
            double accel = now.force_n / c.style.mass_kg - UNITS_GRAVITY_M_S2;
            up_m += up_m_s * h_s;
            up_m_s += accel * h_s;
            sum_n += now.force_n * h_s;
            if (up_m < low_m)
                low_m = up_m, low_s = at_s;
            if (before_n < 20 && now.force_n >= 20)
                down_s = at_s;
            if (before_n >= 20 && now.force_n < 20)
                up_s = at_s;
            before_n = now.force_n;
            peak_n = fmax(peak_n, now.force_n);
        }
        cr_assert_float_eq(-low_m * 1e3, t.com_drop_mm, 0.05);
        cr_assert_float_eq(low_s, t.down_s + t.com_low_ms * 1e-3, 3e-4);
        cr_assert_float_eq(sum_n / weight_n, t.impulse_bw_s, 1e-5);
        cr_assert_float_eq(down_s, t.down_s, 5e-5);
        cr_assert_float_eq(up_s, t.up_s, 5e-5);
        cr_assert_float_eq(peak_n / weight_n, t.peak_force_bw, 1e-4);
    }
}

Test(runner_model, mean_force_of_contact_is_step_time_over_contact_time)
{
    /* facts G: Fmean,contact = (tc + tf) / tc body weights. */
    struct runner_config c = even_runner();
    double t_s = 0;
    runner_init(&RUNNER, &c);
    struct runner_truth t = run_steps(&RUNNER, &t_s, 4);
    double contact_s = t.toe_off_s - t.touchdown_s;
    cr_assert_float_eq(t.impulse_bw_s / contact_s, (t.next_touchdown_s - t.touchdown_s) / contact_s, 1e-9);
}

Test(runner_model, forces_look_like_published_running)
{
    /* Peaks: recorded treadmill runs 2.3 BW at 2.5 m/s to 2.8 at 4.5; heel transients 10-30 ms (facts B);
     * forefoot curves have no separate peak (facts B). */
    static const struct {
        double speed_m_s, cadence_spm, duty_factor, low_bw, high_bw;
    } row[] = { { 2.5, 162, 0.36, 2.1, 2.6 }, { 3.5, 171, 0.32, 2.3, 2.8 }, { 4.5, 184, 0.30, 2.4, 3.0 } };
    for (int i = 0; i < 6; i++) {
        bool is_heel = i % 2 == 0;
        struct runner_config c = even_runner();
        c.style.speed_m_s = row[i / 2].speed_m_s;
        c.style.cadence_spm = row[i / 2].cadence_spm;
        c.style.duty_factor = row[i / 2].duty_factor;
        c.style.strike_index_pct = is_heel ? 12 : 76;
        double t_s = 0;
        runner_init(&RUNNER, &c);
        struct runner_truth t = run_steps(&RUNNER, &t_s, 4);
        cr_assert(t.peak_force_bw > row[i / 2].low_bw && t.peak_force_bw < row[i / 2].high_bw, "%g BW",
                  t.peak_force_bw);
        cr_assert_eq(t.has_transient, is_heel);
        cr_assert_eq(t.zone, is_heel ? STEP_ZONE_REAR : STEP_ZONE_FORE);
        cr_assert(t.com_drop_mm > 30 && t.com_drop_mm < 90);
        if (is_heel) {
            cr_assert(t.transient_ms > 10 && t.transient_ms < 30);
            cr_assert(t.transient_bw > 1.0 && t.transient_bw < 1.9);
            cr_assert(t.load_rate_bw_s > 45 && t.load_rate_bw_s < 110, "%g BW/s", t.load_rate_bw_s);
            cr_assert(t.transient_lead_ms > 40);
        } else {
            cr_assert(t.load_rate_bw_s > 20 && t.load_rate_bw_s < 60, "%g BW/s", t.load_rate_bw_s);
        }
    }
}

Test(runner_model, weighted_cop_is_the_mean_place_of_the_mass_centre)
{
    struct runner_config c = runner_config_default();
    c.style.place_fwd_mm = 80;
    struct runner_now now;
    double force = 0, moment = 0, com = 0, com_weighted = 0;
    int n = 0;
    runner_init(&RUNNER, &c);
    for (int i = 0; i < 120000; i++) {
        runner_now(&RUNNER, i * 5e-4, &now);
        com += now.com_fwd_mm;
        n++;
        if (now.force_n <= 0)
            continue;
        force += now.force_n;
        moment += now.force_n * now.cop_fwd_mm;
        com_weighted += now.force_n * now.com_fwd_mm;
    }
    cr_assert_float_eq(moment / force, com_weighted / force, 2);
    cr_assert_float_eq(moment / force, com / n, 10);
}

Test(runner_model, runner_stays_in_place_for_ten_minutes)
{
    struct runner_config c = runner_config_default();
    struct runner_now now;
    runner_init(&RUNNER, &c);
    double sum = 0;
    for (int i = 0; i < 60000; i++) {
        runner_now(&RUNNER, i * 0.01, &now);
        sum += now.com_fwd_mm;
        cr_assert(fabs(now.com_fwd_mm) < 150, "at %g s", now.t_s);
        cr_assert(now.com_up_mm > -110 && now.com_up_mm < 60, "at %g s", now.t_s);
    }
    cr_assert(fabs(sum / 60000) < 40);
}

Test(runner_model, first_ahead_is_cop_minus_mass_centre_at_touchdown)
{
    struct runner_config c = runner_config_default();
    double t_s = 0;
    runner_init(&RUNNER, &c);
    run_steps(&RUNNER, &t_s, 10);
    for (int i = 0; i < 10; i++) {
        struct runner_truth t = run_steps(&RUNNER, &t_s, 1);
        struct runner_now now;
        runner_now(&RUNNER, t.touchdown_s + 1e-7, &now);
        cr_assert_float_eq(now.cop_fwd_mm - now.com_fwd_mm, t.first_ahead_mm, 0.01);
        cr_assert_float_eq(now.cop_fwd_mm, t.cop_fwd_mm, 0.01);
        cr_assert_eq(now.foot[0].is_right, t.foot == STEP_FOOT_RIGHT);
    }
}

Test(runner_model, wanted_landing_distance_is_what_the_runner_does)
{
    for (double ahead_mm = 220; ahead_mm <= 340; ahead_mm += 40) {
        struct runner_config c = even_runner();
        c.style.ahead_mm = ahead_mm;
        double t_s = 0;
        runner_init(&RUNNER, &c);
        struct runner_truth t = run_steps(&RUNNER, &t_s, 6);
        /* By the threshold the foot has ridden a little. */
        double ride_mm = t.belt_speed_m_s * (t.down_s - t.touchdown_s) * 1e3;
        cr_assert_float_eq(t.landing_ahead_mm + ride_mm, ahead_mm, 3, "wanted %g", ahead_mm);
    }
}

Test(runner_model, quicker_steps_land_nearer_as_published)
{
    /* Lieberman et al. 2015 (facts D): each +5 strides/min at 3.0 m/s, 75-95, landing distance -5.9 %. That
     * is ahead of the hip; of the mass centre the model may differ by a third. */
    double last_mm = NAN;
    for (double strides = 75; strides <= 95; strides += 5) {
        struct runner_config c = even_runner();
        c.style.cadence_spm = 2 * strides;
        double t_s = 0;
        runner_init(&RUNNER, &c);
        double ahead_mm = run_steps(&RUNNER, &t_s, 4).landing_ahead_mm;
        if (!isnan(last_mm)) {
            double fall_pct = (1 - ahead_mm / last_mm) * 100;
            cr_assert(fall_pct > 3.9 && fall_pct < 9.5, "%g strides/min: %g %%", strides, fall_pct);
        }
        last_mm = ahead_mm;
    }
}

Test(runner_model, same_seed_same_run_other_seed_other_run)
{
    struct runner_config c = runner_config_default();
    double last_s[3];
    for (int i = 0; i < 3; i++) {
        double t_s = 0;
        c.seed = i == 2 ? 8 : 7;
        runner_init(&RUNNER, &c);
        last_s[i] = run_steps(&RUNNER, &t_s, 50).touchdown_s;
    }
    cr_assert_eq(last_s[0], last_s[1]);
    cr_assert_neq(last_s[0], last_s[2]);
}

Test(runner_model, looking_more_often_changes_nothing)
{
    struct runner_config c = runner_config_default();
    double touchdown_s[2];
    for (int i = 0; i < 2; i++) {
        struct runner_now now;
        struct runner_truth t = { 0 };
        runner_init(&RUNNER, &c);
        for (double t_s = 0; t.number < 40; t_s += i ? 0.0003 : 0.02) {
            runner_now(&RUNNER, t_s, &now);
            runner_take(&RUNNER, &t);
        }
        touchdown_s[i] = t.touchdown_s;
    }
    cr_assert_eq(touchdown_s[0], touchdown_s[1]);
}

Test(runner_model, asymmetry_is_the_symmetry_index_of_the_two_feet)
{
    /* Robinson et al. 1987 (facts H): SI = (R - L) / (0.5 (R + L)). */
    struct runner_config c = even_runner();
    c.style.asymmetry.contact = -0.06;
    c.style.asymmetry.strike_share = 0.2;
    c.style.strike_index_pct = 30;
    double t_s = 0, contact[2] = { 0 }, strike[2] = { 0 };
    runner_init(&RUNNER, &c);
    for (int i = 0; i < 20; i++) {
        struct runner_truth t = run_steps(&RUNNER, &t_s, 1);
        contact[t.foot == STEP_FOOT_RIGHT] += t.contact_zero_ms / 10;
        strike[t.foot == STEP_FOOT_RIGHT] += t.strike_index_pct / 10;
    }
    cr_assert_float_eq((contact[1] - contact[0]) / (0.5 * (contact[1] + contact[0])), -0.06, 1e-6);
    cr_assert_float_eq(strike[1] - strike[0], 20, 1e-6);
}

Test(runner_model, tired_runner_drifts_as_told)
{
    struct runner_config c = even_runner();
    c.style.fatigue.cadence = -0.01;
    double t_s = 0;
    runner_init(&RUNNER, &c);
    struct runner_truth t = { 0 };
    while (t.touchdown_s < 300)
        t = run_steps(&RUNNER, &t_s, 1);
    cr_assert_float_eq(t.cadence_spm, 165 * 0.95, 0.3);
}

Test(runner_model, runner_follows_shown_targets_and_forgets_part)
{
    struct runner_config c = even_runner();
    double t_s = 0;
    runner_init(&RUNNER, &c);
    run_steps(&RUNNER, &t_s, 10);
    runner_set_target(&RUNNER, 175, NAN);
    runner_set_feedback(&RUNNER, true);
    struct runner_truth t = { 0 };
    for (double until_s = t_s + 15; t.touchdown_s < until_s;)
        t = run_steps(&RUNNER, &t_s, 1);
    cr_assert_float_eq(t.cadence_spm, 165 + 0.9 * 10 * (1 - exp(-1)), 0.4); /* one time constant */
    for (double until_s = t_s + 150; t.touchdown_s < until_s;)
        t = run_steps(&RUNNER, &t_s, 1);
    cr_assert_float_eq(t.cadence_spm, 174, 0.1); /* 0.9 of the way */
    runner_set_feedback(&RUNNER, false);
    for (double until_s = t_s + 600; t.touchdown_s < until_s;)
        t = run_steps(&RUNNER, &t_s, 1);
    cr_assert_float_eq(t.cadence_spm, 165 + 0.6 * 9, 0.1); /* 0.6 of that is kept */
}

Test(runner_model, told_to_land_nearer_lands_nearer_and_softer)
{
    struct runner_config c = even_runner();
    double t_s = 0;
    runner_init(&RUNNER, &c);
    struct runner_truth before = run_steps(&RUNNER, &t_s, 10), after = before;
    runner_set_target(&RUNNER, NAN, before.landing_ahead_mm - 40);
    runner_set_feedback(&RUNNER, true);
    for (double until_s = t_s + 150; after.touchdown_s < until_s;)
        after = run_steps(&RUNNER, &t_s, 1);
    cr_assert_float_eq(after.landing_ahead_mm, before.landing_ahead_mm - 36, 6);
    cr_assert_lt(after.load_rate_bw_s, 0.9 * before.load_rate_bw_s);
}

Test(runner_model, script_stands_walks_runs_and_leaves)
{
    static const struct runner_segment script[] = {
        { RUNNER_STANDS, 3, 0, 0, 0 }, { RUNNER_WALKS, 10, 1.3, 1.3, 0 }, { RUNNER_RUNS, 10, 3, 3, 0 },
        { RUNNER_IS_OFF, 3, 3, 3, 0 }, { RUNNER_RUNS, 5, 3, 3, 0 },       { RUNNER_STANDS, 2, 0, 0, 0 },
    };
    struct runner_config c = runner_config_default();
    c.script = script;
    c.n_segments = 6;
    double weight_n = c.style.mass_kg * UNITS_GRAVITY_M_S2, walk_n = 0;
    int n_double = 0, n_walk = 0, n_walk_steps = 0, n_run_steps = 0, n_unknown = 0;
    struct runner_now now;
    struct runner_truth t;
    runner_init(&RUNNER, &c);
    for (int i = 0; i < 34000; i++) {
        double t_s = i * 1e-3;
        runner_now(&RUNNER, t_s, &now);
        if (t_s > 0.5 && t_s < 2.5)
            cr_assert_float_eq(now.force_n, weight_n, 0.01 * weight_n);
        if (t_s >= 5 && t_s < 12) {
            walk_n += now.force_n;
            n_walk++;
            n_double += now.n_feet == 2;
            cr_assert(now.n_feet >= 1);
        }
        if (t_s > 23.5 && t_s < 26)
            cr_assert_eq(now.force_n, 0);
        while (runner_take(&RUNNER, &t)) {
            n_walk_steps += t.gait == STEP_GAIT_WALKING;
            n_run_steps += t.gait == STEP_GAIT_RUNNING;
            n_unknown += isnan(t.next_touchdown_s);
            cr_assert(!(t.touchdown_s > 23.5 && t.touchdown_s < 26));
        }
    }
    cr_assert_float_eq(walk_n / n_walk / weight_n, 1, 0.03);
    cr_assert(n_double > 0.1 * n_walk && n_double < 0.4 * n_walk);
    cr_assert(n_walk_steps >= 17 && n_walk_steps <= 19);
    cr_assert(n_run_steps >= 38 && n_run_steps <= 44);
    cr_assert_eq(n_unknown, 2); /* the last before the rails and the last before the stop */
}

Test(runner_model, belt_travel_is_the_integral_of_its_speed)
{
    static const struct runner_segment script[] = { { RUNNER_RUNS, 10, 2, 4, 0 },
                                                    { RUNNER_RUNS, 5, 4, 3, 0 } };
    struct runner_config c = runner_config_default();
    c.script = script;
    c.n_segments = 2;
    runner_init(&RUNNER, &c);
    double sum_mm = 0;
    for (int i = 0; i < 18000; i++)
        sum_mm += runner_belt_speed_m_s(&RUNNER, (i + 0.5) * 1e-3);
    cr_assert_float_eq(runner_belt_travel_mm(&RUNNER, 18), sum_mm, 1e-6 * sum_mm);
}

Test(runner_model, quicker_steps_land_softer_about_as_published)
{
    /* Willy et al. 2016 (facts C): about +8 % step rate, mean loading rate -18 %. */
    double rate[2];
    for (int i = 0; i < 2; i++) {
        struct runner_config c = even_runner();
        double t_s = 0;
        runner_init(&RUNNER, &c);
        runner_set_target(&RUNNER, 165 * 1.08, NAN);
        runner_set_feedback(&RUNNER, i == 1);
        rate[i] = run_steps(&RUNNER, &t_s, 400).load_rate_bw_s;
    }
    double fall_pct = (1 - rate[1] / rate[0]) * 100;
    cr_assert(fall_pct > 8 && fall_pct < 28, "%g %%", fall_pct);
}

Test(runner_model, step_width_is_the_distance_of_the_feet)
{
    struct runner_config c = even_runner();
    c.style.width_mm = 70;
    c.style.toe_out_deg = 0;
    c.style.wander_mm = 0;
    double t_s = 0, left_mm = 0, right_mm = 0;
    runner_init(&RUNNER, &c);
    for (int i = 0; i < 6; i++) {
        struct runner_truth t = run_steps(&RUNNER, &t_s, 1);
        *(t.foot == STEP_FOOT_RIGHT ? &right_mm : &left_mm) = t.cop_right_mm;
        if (i > 0)
            cr_assert_float_eq(t.step_width_mm, 70, 1e-6);
    }
    cr_assert_float_eq(right_mm - left_mm, 70, 1e-6);
}

Test(runner_model, wanderer_crosses_the_middle_line)
{
    struct runner_config c = runner_config_default();
    c.style.width_mm = 14;
    c.style.wander_mm = 22;
    double t_s = 0, sum = 0, squares = 0;
    int n_across = 0;
    runner_init(&RUNNER, &c);
    for (int i = 0; i < 1000; i++) {
        struct runner_truth t = run_steps(&RUNNER, &t_s, 1);
        double side_mm = t.cop_right_mm * (t.foot == STEP_FOOT_RIGHT ? 1 : -1);
        n_across += side_mm < 0;
        sum += t.cop_right_mm;
        squares += t.cop_right_mm * t.cop_right_mm;
    }
    cr_assert(n_across > 100);
    cr_assert(sqrt(squares / 1000) > 12 && sqrt(squares / 1000) < 45);
    cr_assert(fabs(sum / 1000) < 12);
}

Test(runner_model, small_asymmetry_of_times_makes_no_limp)
{
    /* Seen while building: a runner held to one touchdown height answers 2 % of contact time with a third of
     * the drop. Legs give way instead. */
    struct runner_config c = even_runner();
    c.style.asymmetry.step_time = 0.01;
    c.style.asymmetry.contact = -0.02;
    double t_s = 0, drop_mm[2] = { 0 };
    runner_init(&RUNNER, &c);
    run_steps(&RUNNER, &t_s, 20);
    for (int i = 0; i < 20; i++) {
        struct runner_truth t = run_steps(&RUNNER, &t_s, 1);
        drop_mm[t.foot == STEP_FOOT_RIGHT] += t.com_drop_mm / 10;
    }
    cr_assert(fabs(drop_mm[1] - drop_mm[0]) < 0.15 * drop_mm[0], "%g %g mm", drop_mm[0], drop_mm[1]);
}
