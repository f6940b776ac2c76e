"""validity_words.py - what validity.py says in words, and the tolerances of the simulated truth."""

HEAD = """Made by `make validity` (some minutes), which measures everything below afresh, writes this page and exits 1 when
anything is out of tolerance. Nothing here is typed in by hand but the words. The parts can be run alone, from the root:

    /usr/bin/python3 tests/reference/compare.py build/underfoot --strict      recorded runs against the reference and the markers
    /usr/bin/python3 tests/reference/downsample.py build/underfoot SIM_TRUTH  rates, coarse steps, lost samples
    /usr/bin/python3 tests/reference/chain.py build/underfoot                 cells and mat over the wire
    /usr/bin/python3 tests/reference/published.py build/underfoot             published values
    build/main/tests/validity/sim_truth                                       simulated truth as CSV (this is SIM_TRUTH)
    build/main/tests/unit/gait/test_hard_cases                                hard cases
"""
NO_RECORDINGS = """**The recordings were not there: what rests on them was skipped.**
"""
RECORDED = """Treadmill runs of Fukuchi, Fukuchi and Duarte 2017 (PeerJ 5:e3298; 300 Hz, body markers at 150 Hz) and slope runs of
Alcantara et al. 2022 (PeerJ 10:e12752). Stated body mass, belt speed and foot length are given to the program; the
weight in the table is what the momentum balance alone makes of the force. Its ratio to the stated mass is a gain
error of the recording's force or of the scale: {balance}."""
LANDING = """Every step of the treadmill runs against its foot and pelvis markers: mid-foot (between heel and metatarsal markers) ahead of
the pelvis at touchdown. Belt speed and foot length (from the shoe size) are given. A run's mean counts once, however many steps."""
STRIKE = """Strike angle by markers: rear above 8, fore below -1.6 degrees (Altman and Davis 2012). Shares are over the steps that are not in
a border class. Borders: gait/strike.h. Fore steps are few, and most of one runner: what the rules would have said without each
runner's own steps stands below, and where the borders fall over runners drawn anew."""
SLOW = """Recorded runs at 2 m/s (Hamner and Delp 2013, low-passed at 15 Hz by their makers, flights from 8 ms on, three without any) against
the plain 50 N crossings of their force; then runners made up by tests/reference/landing.py, whose feet overlap above a duty factor
of 0.5: each foot's own 50 N crossing is the truth there. Goals: no contact missed or made up, no side wrong, 5 and 10 ms."""
DOWN = """The program's own value at the native rate, or the simulator's truth, is held against its value on a thinned trace."""
CHAIN = """Recorded force and centre of pressure turned into the signals of four load cells (statics) and into a mat's pictures
(foot model), sent over the wire by an encoder written from hardware/WIRE.md alone, wrapped as a recording, read by
`underfoot steps`. Mean absolute differences to the direct trace, step by step."""
PUBLISHED = """Synthetic traces and recordings go in, the program's table comes out. 1000 Hz, noise-free."""
SIMULATED = """Sixty simulated runners drawn at random: 2-5 m/s, 45-110 kg, landing from heel to forefoot, a third of them asymmetric, a
quarter tiring, three levels of sensor noise, a fifth with 0.5 % of packets lost. Force: frames with plate noise. The
others: the simulated board's bytes through wire, profile and calibration. Error = settled record less truth, in the
engine's own definitions. Feet land at least 20 mm apart: nearer ones are told by no load sensor, and flagged side_guess."""
STANDINGS = """Counted over the simulated runs' records. A dash is a value that sensor can't give honestly: it is missing, never 0. A plate
or cells need the belt's speed and the foot's length entered for the strike index; leg stiffness needs the leg's length;
switches see times and which part of the foot came first, all else of theirs is a half-sine estimate."""
BRAKING = """Against the measured fore-aft force of 24 recorded runs (Hamner and Delp 2013; 6 runners at 2, 3, 4, 5 m/s, low-passed at 15 Hz
by their makers) and of one unfiltered run, both after the 50 Hz low-pass. Impulse in thousandths of BW s. Mass and speed are given, the leg is
0.55 of stature / 1.04. It follows change within a runner; it does not rank runners at one speed (below). A constant is tried on
runners that it was not worked out on. A doubt is not raised by it: see the last table."""
CONTESTED = """- **Touchdown and toe-off**: 50 N above the flight's own zero. 20 N is as common, but recorded belts shake by 8-13 N sd in flight; 20 N makes contacts 11-18 ms longer.
- **An edge that crosses the threshold several times** (belt vibration, within 10 ms): placed so that the time above the threshold stays; first and last crossing differ by up to 10 ms, this lies between.
- **Zero**: median of each flight's middle (35-85 %), a straight line under the contact; earlier the last push still fades, later the landing begins.
- **Low-pass of the force curve**: 2nd-order Butterworth forth and back at 50 Hz, cut-off not corrected for the second pass; common on force treadmills. Edges and integrals use the unfiltered force.
- **Loading rate**: 20-80 % by force, not by time, of the transient's peak (Milner 2006); by force it does not hang on the threshold. No transient: of the force at 13 % of stance (Willy 2008).
- **Impact transient**: a local maximum in the first 35 % of contact with a dip of 2 % of the active peak after it; less is the filter's ripple. No published depth was found.
- **Peak force**: the active peak, after 25 % of contact; downhill the transient may be higher.
- **COM drop**: from touchdown to the lowest point, as spring-mass formulas take it (Morin 2005); the rise in flight is not in it. Body weight in it is the stride's own mean force, so that gain errors cancel (Cavagna 1975).
- **Vertical stiffness**: peak force over COM drop; leg stiffness with belt speed as the stance's speed, which reads a little low (Burns 2021).
- **Body weight**: entered mass where there is one, else the momentum balance over whole strides; the ratio of both is reported.
- **Landing place**: force-weighted mean of the whole contact's COP, carried back to touchdown with the belt. The first 25 ms, which were used before, tell where on the foot the load came, not where the foot stands; they are kept as landing_first_mm.
- **Landing ahead**: mid-foot, as marker studies have it, ahead of the mass centre of the one stride around the contact, not of the hip or the ankle; 0.32 of foot length is taken off the load's place.
- **Landing ahead mixed with times**: 0.25 of the estimate from times would take 0.5 mm off the scatter from step to step; not done, since a quarter of a change that leaves contact time alone would then go unseen.
- **Strike zone**: by the COP's travel along the foot, with a class around each border for what can't be told. Thirds of the strike index called one forefoot landing in twenty so.
- **Contacts without a flight between**: parted where the COP jumps forward; each foot's share by the lever. Such edges are estimates and flagged overlap; loading rate and strike of a foot that lands so are missing.
- **Zero in slow running**: only from flights of 45 ms or more, and flat ones below 90 ms; a load that low-passes hold above nothing in shorter ones read 20-40 N too high.
- **Strike index without a picture**: the COP leaves the foot at 78 % of its length, measured on 54 recorded feet, not at the toe's tip; it can say no more than 78 %.
- **Strike zone of switches**: heel first by more than 10 ms is rear, forefoot first by more than 1 ms is fore, mid between: the middle between the classes' edges on 45 simulated runners. No published figure was found, and no recording has switches and markers.
- **Symmetry index**: (right - left) over their mean (Robinson 1987), signed, of the last 15 steps a side; given from 5 a side on.
- **Step variability**: of stride time, over the last 30 strides, sample standard deviation.
- **Duty factor**: contact over the stride that it begins, once that is known; live, over the stride that just ended.
- **Braking**: F_fore-aft = -F_vertical (COP - centre of mass) / (1.04 leg length), the negative part over the contact; no angular momentum, no impact spikes. The centre of mass of two strides around the contact, one more than for landing ahead: r within a run rises by 0.07.
- **Whole foot at load**: 80 % of the foot's length bears load. Ours.
- **g**: 9.81 m/s2, as the sources take it."""

# Share of steps at least 12 mm of travel from a border whose zone must be right. Switches know order and lag only.
ZONE_RIGHT_PCT = {"force": 99, "cells": 99, "mat": 99, "switches": 90}

# metric or "kind metric": (bias, 95 % of single steps within).
SIM_LIMITS = {
    "step_time_s": (0.0002, 0.002), "switches step_time_s": (0.0005, 0.004),
    "contact_ms": (0.5, 2.5), "switches contact_ms": (2, 6), "flight_ms": (0.5, 2.5), "switches flight_ms": (2, 6),
    "cadence_spm": (0.05, 1.0), "switches cadence_spm": (0.1, 2.0), "duty_factor": (0.001, 0.004), "switches duty_factor": (0.003, 0.008),
    "peak_force_bw": (0.005, 0.015), "switches peak_force_bw": (0.2, 0.4),
    "load_rate_bw_s": (0.5, 2.0), "mat load_rate_bw_s": (1.5, 4.0), "load_rate_max_bw_s": (0.5, 2.0), "mat load_rate_max_bw_s": (1.5, 4.0),
    "load_rate_unfiltered_bw_s": (2.0, 8.0), "impact_transient": (0.02, 0), "transient_bw": (0.01, 0.02), "transient_ms": (1.0, 1.5),
    "transient_lead_ms": (1.5, 3.0), "com_drop_mm": (1.0, 3.5), "switches com_drop_mm": (6, 16), "com_low_ms": (1.0, 2.5),
    "switches com_low_ms": (12, 25), "stiffness_kn_m": (0.5, 2.0), "switches stiffness_kn_m": (5, 12), "leg_stiffness_kn_m": (0.2, 0.6),
    "switches leg_stiffness_kn_m": (1.5, 3.0), "strike_index_pct": (3, 10), "landing_ahead_mm": (10, 25), "landing_first_mm": (10, 25), "strike_travel_mm": (4, 10), "switches landing_ahead_mm": (20, 60),
    "ahead_at_load_mm": (3, 20), "whole_foot_at_load": (0.04, 0.04), "belt_speed_m_s": (0.04, 0.08), "step_width_mm": (1, 2), "toe_out_deg": (0.2, 0.5),
    "asym_step_time_pct": (0.05, 0.3), "switches asym_step_time_pct": (0.3, 1.5), "asym_contact_pct": (0.05, 0.4),
    "switches asym_contact_pct": (0.3, 1.5), "asym_load_rate_pct": (0.3, 1.5), "touchdown_ms": (0.4, 1.5), "switches touchdown_ms": (4, 9),
    # The simulated centre is 1.1 legs high, the figure's 1.04, and moves by its own braking; its force does not lag the estimate.
    "braking_impulse_bw_s": (0.0025, 0.005), "peak_braking_bw": (0.035, 0.06), "braking_end_pct": (5, 7),
    "weight_ratio": (0.002, 0.003),
}

# m measured, e estimated, – missing; of force, cells, mat, switches.
STANDING = {
    "step_time_s": "mmmm", "contact_ms": "mmmm", "flight_ms": "mmmm", "cadence_spm": "mmmm", "duty_factor": "mmmm",
    "peak_force_bw": "mmme", "load_rate_bw_s": "mmm–", "load_rate_max_bw_s": "mmm–", "impact_transient": "mmm–", "transient_bw": "mmm–",
    "transient_ms": "mmm–", "transient_lead_ms": "mmm–", "com_drop_mm": "mmme", "com_low_ms": "mmme", "strike_index_pct": "eee–", "strike_travel_mm": "mmm–", "landing_first_mm": "eee–",
    "landing_ahead_mm": "eeee", "ahead_at_load_mm": "eee–", "whole_foot_at_load": "––m–", "stiffness_kn_m": "mmme",
    "leg_stiffness_kn_m": "mmme", "belt_speed_m_s": "eeme", "step_width_mm": "mmm–", "toe_out_deg": "––m–", "heel_to_fore_ms": "–––m",
    "asym_step_time_pct": "mmmm", "asym_contact_pct": "mmmm", "asym_load_rate_pct": "mmm–", "step_var_pct": "mmmm",
    "braking_impulse_bw_s": "eee–", "peak_braking_bw": "eee–", "braking_end_pct": "eee–",
}
# Given only by steps that have a transient.
SOMETIMES = ("transient_bw", "transient_ms", "transient_lead_ms")
