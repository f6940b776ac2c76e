#!/usr/bin/python3
"""test_reference.py - the reference itself against exact and published values (facts B, E, F, G)."""
import math
import sys

import numpy as np

import reference_steps as ref
import validity

G = 9.81
MASS, CONTACT, FLIGHT = 70.0, 0.250, 0.110  # the worked example of Morin et al. 2005's formulas
PEAK = MASS * G * math.pi / 2 * (FLIGHT / CONTACT + 1)
failed = passed = 0


def check(name, got, want, tolerance):
    global failed, passed
    ok = math.isfinite(got) and abs(got - want) <= tolerance
    passed, failed = passed + ok, failed + (not ok)
    if not ok:
        print(f"FAILED {name}: {got:.5f}, should be {want} +- {tolerance}")


def half_sines(rate, seconds=20.0, contact=CONTACT, flight=FLIGHT, peak=PEAK, start=0.05):
    t = np.arange(0, seconds, 1 / rate)
    phase = np.mod(t - start, contact + flight)
    f = np.where((t >= start) & (phase < contact), peak * np.sin(np.pi * phase / contact), 0.0)
    return {"t": t, "fz": f}


def column(rows, name):
    return np.array([r[name] for r in rows[2:-3]], dtype=float)


def main():
    trace = half_sines(1000)
    rows, summary = ref.analyse(trace, 1000)
    check("steps", len(rows), math.floor((20.0 - 0.05 - CONTACT) / (CONTACT + FLIGHT)) + 1, 0)
    lost = 2 * CONTACT / math.pi * math.asin(50.0 / PEAK) * 1e3  # below the threshold at both edges
    check("contact above 50 N, ms", column(rows, "contact_ms").mean(), CONTACT * 1e3 - lost, 0.1)
    check("cadence", column(rows, "cadence_spm").mean(), 60 / (CONTACT + FLIGHT), 0.02)
    check("body weight by momentum", summary["balance_n"], MASS * G, 0.002 * MASS * G)
    check("peak, BW", column(rows, "peak_force_bw").mean(), 2.26195, 0.01)
    fallen = 0.53955 * lost / 2  # the drop is counted from 50 N on, not from the first touch
    check("COM drop, mm", column(rows, "com_drop_mm").mean(), 63.877 - fallen, 0.2)
    check("COM travel, mm", np.mean([r["com_travel_mm"] for r in rows[2:-3]]), 78.715, 0.3)
    check("time of the low, ms", column(rows, "com_low_ms").mean(), CONTACT * 500 - lost / 2, 0.3)
    check("no transient in a half sine", column(rows, "impact_transient").sum(), 0, 0)
    check("mean rate, BW/s", column(rows, "load_rate_bw_s").mean(), 30.705 * 2.26195 / 2.5, 0.8)
    check("stiffness, kN/m", column(rows, "stiffness_kn_m").mean(), 24.317, 0.6)

    # facts E: threshold error of a half sine, 70 kg, 2.5 BW, 250 ms
    for level, want in ((20.0, 248.15), (50.0, 245.36), (100.0, 240.72)):
        rows, _ = ref.analyse(half_sines(2000, peak=2.5 * MASS * G), 2000, threshold=level)
        check(f"contact at {level:.0f} N", column(rows, "contact_ms").mean(), want, 0.05)

    # a transient of known height and time on a slow rise, as a smooth bump that the filter spares
    t = half_sines(1000)
    phase = np.mod(t["t"] - 0.05, CONTACT + FLIGHT)
    bump = np.where((t["t"] >= 0.05) & (phase < 0.06), 0.9 * MASS * G * np.sin(np.pi * phase / 0.06) ** 2, 0)
    rows, _ = ref.analyse({"t": t["t"], "fz": t["fz"] + bump}, 1000, MASS)
    clean = t["fz"] + bump
    k = 50 + np.flatnonzero(np.diff(clean[50:110]) < 0)[0]
    check("transient found", column(rows, "impact_transient").mean(), 1, 0)
    check("transient, BW", column(rows, "transient_bw").mean(), clean[k] / MASS / G, 0.05)

    # ghosts: drift, lone spikes and 120 Hz vibration leave count and times
    rows, _ = ref.analyse(half_sines(300), 300)
    noisy = half_sines(300)
    rng = np.random.default_rng(1)
    wave = 20.0 * np.sin(2 * np.pi * 120.0 * noisy["t"]) + rng.normal(0, 6, len(noisy["t"]))
    noisy["fz"] = noisy["fz"] + wave + 5.0 * noisy["t"]
    noisy["fz"][np.flatnonzero(noisy["fz"] < 60)[::41]] += 70.0
    hard, _ = ref.analyse(noisy, 300)
    check("steps under noise", len(hard), len(rows), 0)
    if len(hard) == len(rows):
        off = column(hard, "contact_ms") - column(rows, "contact_ms")
        check("contact under noise, ms", np.abs(off).mean(), 0, 2.0)

    # the page's words follow what was measured
    for ratios, want in (([0.963, 0.988], "0.96 to 0.99, never 1"), ([0.97, 1.02], "0.97 to 1.02"), ([math.nan], "not measured here")):
        got = validity.balance_words([{"balance": x} for x in ratios])
        check(f"words of the balance: {got}", got.endswith(want), True, 0)
    check("the page takes them", validity.words.RECORDED.format(balance="HERE").endswith("HERE."), True, 0)
    print(f"{passed} passed, {failed} failed, 0 skipped")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
