#!/usr/bin/python3
"""published.py - published formulas and values, through the program: synthetic traces and recordings in, tables out.

    published.py BIN

Every expected number is from the literature or follows from a formula in it, named beside the check; none
comes from the program. Traces are noise-free, 1000 Hz.
"""
import math
import os
import sys
import tempfile

import numpy as np

import compare as cmp
import downsample as ds
import wire_out

GRAVITY = 9.81
RATE = 1000
# Morin et al. 2005, J Appl Biomech 21:167-180, formulas; mass, leg, speed, contact, flight -> Fmax BW, drop m, kvert N/m.
# Worked with g = 9.81.
SPRING_MASS = ((70, 0.90, 3.33, 0.250, 0.110, 2.26195, 0.063877, 24316.61), (76, 0.9434, 3.33, 0.260, 0.100, 2.17495, 0.063244, 25639.62),
               (60, 0.85, 2.78, 0.280, 0.090, 2.07570, 0.065614, 18620.41), (80, 0.95, 5.00, 0.200, 0.140, 2.67035, 0.057119, 36689.91),
               (68, 0.92, 4.44, 0.220, 0.130, 2.49899, 0.060870, 27386.54))
# Karamanidis and Arampatzis 2005, J Exp Biol 208:3907-3923, table 4, 2.7 m/s: contact ms, flight ms -> duty %, cadence by identity.
GROUPS = (("older runners", 276, 80, 38.76, 168.5), ("older inactive", 284, 83, 38.69, 163.5),
          ("young runners", 271, 112, 35.38, 156.7), ("young inactive", 282, 104, 36.53, 155.4))
# Cavanagh and Lafortune 1980: index = COP from the heel over foot length; exact thirds. 260 mm foot.
STRIKES = ((40, 15.38, "rear"), (86, 33.08, "rear"), (130, 50.00, "mid"), (208, 80.00, "fore"))
# Robinson, Herzog and Nigg 1987: 100 (R - L) / (0.5 (R + L)).
SYMMETRY = ((250, 240, 4.08163), (240, 250, -4.08163), (220, 260, -16.66667))


def write_half_sines(path, mass, contact, flight, n=24, cop=None, curve=None):
    """n steps of half-sine contacts that balance momentum; cop(t since touchdown, foot index) -> (right, fwd)."""
    step, peak = contact + flight, mass * GRAVITY * math.pi / 2 * (flight / contact + 1)
    t = np.arange(int((0.5 + n * step + 0.5) * RATE)) / RATE
    k = np.floor((t - 0.5) / step).astype(int)
    u = (t - 0.5) - k * step
    on = (k >= 0) & (k < n) & (u <= contact)
    force = np.where(on, (curve(u) if curve else peak * np.sin(math.pi * u / contact)), 0.0)
    trace = {"t": t, "fz": force}
    if cop:
        right, fwd = cop(u, k)
        trace["copx"] = np.where(on & (force > 20), right, np.nan)
        trace["copy"] = np.where(on & (force > 20), fwd, np.nan)
    ds.write(trace, path)
    return peak


def middle(rows, name):
    return float(np.nanmedian(cmp.column(rows, name)[4:-4]))


class Table:
    def __init__(self, tally):
        self.tally = tally
        self.lines = ["", "| what | source | expected | measured | allowed |", "|---|---|---|---|---|"]

    def row(self, what, source, expected, got, allowed):
        self.lines.append(f"| {what} | {source} | {expected:.5g} | {got:.5g} | {allowed:.3g} |")
        self.tally.check(abs(got - expected) <= allowed, f"{what}: {got:.5g}, published {expected:.5g}")


def check_spring_mass(out, binary, d):
    path = os.path.join(d, "half.csv")
    for mass, leg, speed, contact, flight, fmax, drop, stiffness in SPRING_MASS:
        write_half_sines(path, mass, contact, flight)
        _, rows, _ = cmp.run_steps(binary, path, "--rate", str(RATE), "--mass", str(mass), "--threshold", "5")
        name, source = f"half sine {mass} kg, {contact * 1e3:.0f} / {flight * 1e3:.0f} ms", "Morin 2005"
        out.row(name + ": peak BW (50 Hz low-pass takes 0.3 %)", source, fmax, middle(rows, "peak_force_bw"), 0.005 * fmax)
        out.row(name + ": COM drop mm", source, drop * 1e3, middle(rows, "com_drop_mm"), 0.5)
        out.row(name + ": vertical stiffness kN/m", source, stiffness * 1e-3, middle(rows, "stiffness_kn_m"), 0.012 * stiffness * 1e-3)
    write_half_sines(path, 70, 0.25, 0.10989 / 1.0, curve=lambda u: 2.5 * 70 * GRAVITY * np.sin(math.pi * u / 0.25))
    for threshold, expected in ((20, 248.15), (30, 247.22), (50, 245.36), (100, 240.72)):
        _, rows, _ = cmp.run_steps(binary, path, "--rate", str(RATE), "--mass", "70", "--threshold", str(threshold))
        out.row(f"contact of a 250 ms half sine at {threshold} N", "arcsin of threshold / peak", expected,
                middle(rows, "contact_ms"), 0.1)
    out.row("its loading rate, no transient: 20-80 % of the force at 13 % of stance, BW/s", "Willy 2008, Milner 2006", 30.705,
            middle(rows_of(binary, path, 5), "load_rate_bw_s"), 0.03 * 30.705)
    out.row("its impact transient (0 = none)", "a half sine has none", 0, middle(rows_of(binary, path, 5), "impact_transient"), 0)
    rows = rows_of(binary, path, 5)
    out.row("step time / contact = mean stance force in BW", "momentum over a step", (0.25 + 0.10989) / 0.25,
            middle(rows, "step_time_s") / middle(rows, "contact_ms") * 1e3, 0.01)


def rows_of(binary, path, threshold):
    return cmp.run_steps(binary, path, "--rate", str(RATE), "--mass", "70", "--threshold", str(threshold))[1]


def check_ramp(out, binary, d):
    """A straight ramp to an impact peak of 1.6 BW in 25 ms is 64 BW/s; sharp corners are what a 50 Hz filter rounds."""
    weight = 70 * GRAVITY

    def curve(u):
        points = [0, 0.025, 0.045, 0.11, 0.25], [0, 1.6, 1.1, 2.3, 0]
        return weight * np.interp(u, *points)

    path = os.path.join(d, "ramp.csv")
    write_half_sines(path, 70, 0.25, 0.11, curve=curve)
    rows = rows_of(binary, path, 20)
    out.row("ramp 0 to 1.6 BW in 25 ms: mean loading rate BW/s", "Milner 2006: 64 unfiltered", 64.0, middle(rows, "load_rate_bw_s"), 0.10 * 64)
    out.row("its impact transient (1 = there)", "a local maximum with a dip", 1, middle(rows, "impact_transient"), 0)


def check_groups(out, binary, d):
    path = os.path.join(d, "group.csv")
    for name, contact, flight, duty, cadence in GROUPS:
        write_half_sines(path, 70, contact * 1e-3, flight * 1e-3)
        rows = rows_of(binary, path, 5)
        out.row(f"{name}, {contact} / {flight} ms: duty factor %", "Karamanidis 2005", duty, 100 * middle(rows, "duty_factor"), 0.2)
        out.row(f"{name}: cadence steps/min", "Karamanidis 2005", cadence, middle(rows, "cadence_spm"), 0.2)


def check_strikes(out, binary, d):
    """COP on the landing place for 30 ms, then gone to the ball (78 % of the foot, where recorded feet leave). A landing
    in front of that reads 78 %: the most that the front method can say."""
    path, foot, speed, contact = os.path.join(d, "strike.csv"), 260.0, 3.0, 0.25
    words = {"rear": 0, "mid": 1, "fore": 2}
    for place, index, zone in STRIKES:
        def cop(u, k, place=place):
            heel = 150.0 - speed * 1e3 * u
            share = np.clip((u - 0.03) / 0.07, 0, 1)
            return np.where(k % 2 == 0, 40.0, -40.0), heel + place + share * (0.78 * foot - place)
        write_half_sines(path, 70, contact, 0.11, cop=cop)
        _, rows, _ = cmp.run_steps(binary, path, "--rate", str(RATE), "--mass", "70", "--speed", str(speed), "--foot", str(foot))
        out.row(f"COP {place} mm from the heel of a {foot:.0f} mm foot: strike index %", "Cavanagh 1980", index,
                middle(rows, "strike_index_pct"), 2.5)
        got = [words.get(r["strike_zone"], -1) for r in rows[4:-4]]
        if abs(index - 100 / 3) > 2:
            out.row(f"its zone (0 rear, 1 mid, 2 fore)", "borders on the COP's travel", words[zone], float(np.median(got)), 0)


def write_switches(path, left_ms, right_ms, flight_ms, n=60):
    """Binary switches as text, 1000 Hz: each foot's heel down for its contact, forefoot 20 ms later."""
    edges, t = [], 500
    for k in range(n):
        contact = right_ms if k % 2 else left_ms
        edges.append((t, t + contact, k % 2))
        t += contact + flight_ms
    parts = [(1000, wire_out.text_line(f"#underfoot 1 kind=switches rate={RATE} zones=LH,LF,RH,RF"))]
    for ms in range(t + 500):
        state = [0, 0, 0, 0]
        for a, b, foot in edges:
            if a <= ms < b:
                state[2 * foot] = int(ms < b - 60)
                state[2 * foot + 1] = int(ms >= a + 20)
        parts.append((1000 + ms * 1000, wire_out.text_line(",".join(map(str, [1000 + ms * 1000] + state)))))
    wire_out.recording(path, parts, {"what": "synthetic switches"})


def check_switches(out, binary, d):
    path = os.path.join(d, "switches.rec")
    mass, leg, speed, contact, flight, fmax, drop, stiffness = SPRING_MASS[0]
    write_switches(path, 250, 250, 110, n=30)
    _, rows, _ = cmp.run_steps(binary, path, "--mass", str(mass), "--speed", str(speed), "--leg", str(leg * 1e3))
    out.row("switches, 250 / 110 ms: estimated peak BW", "Morin 2005", fmax, middle(rows, "peak_force_bw"), 0.005 * fmax)
    out.row("switches: estimated COM drop mm", "Morin 2005", drop * 1e3, middle(rows, "com_drop_mm"), 0.4)
    out.row("switches: estimated vertical stiffness kN/m", "Morin 2005", stiffness * 1e-3, middle(rows, "stiffness_kn_m"), 0.02 * stiffness * 1e-3)
    for right, left, expected in SYMMETRY:
        write_switches(path, left, right, 110)
        _, told, _ = cmp.run_steps(binary, path, "--summary")
        got = told.get("contact_ms", {}).get("asymmetry_pct")
        out.row(f"symmetry index of contact, right {right} left {left} ms, %", "Robinson 1987", expected,
                math.nan if got is None else float(got), 0.25)


def run_all(binary, tally, recorded=()):
    """Markdown lines. recorded: what compare.check_recorded() gave of each treadmill run."""
    out = Table(tally)
    with tempfile.TemporaryDirectory() as d:
        check_spring_mass(out, binary, d)
        check_ramp(out, binary, d)
        check_groups(out, binary, d)
        check_strikes(out, binary, d)
        check_switches(out, binary, d)
    by_speed = {}
    for got in recorded:
        mine = got["mine"]
        by_speed.setdefault(float(got["run"]["belt_m_s"]), []).append(
            (np.nanmean(cmp.column(mine, "contact_ms")), np.nanmean(cmp.column(mine, "duty_factor")),
             1e3 * np.nanmean(cmp.column(mine, "step_time_s")) / np.nanmean(cmp.column(mine, "contact_ms"))))
    if by_speed:
        out.lines += ["", "Contact and duty factor against speed (recorded runs). Stance-averaged force = step time / contact; athletes: "
                      "1.27 + 0.105 v (men; Weyand and Davis 2005), non-athletes at 2.7 m/s 1.29-1.41 (Karamanidis 2005).", "",
                      "| belt m/s | contact ms | duty factor | stance-averaged force BW | athletes |", "|---|---|---|---|---|"]
        mean = {v: np.mean(by_speed[v], axis=0) for v in sorted(by_speed)}
        for v, (contact, duty, force) in mean.items():
            out.lines.append(f"| {v} | {contact:.0f} | {duty:.3f} | {force:.3f} | {1.27 + 0.105 * v:.3f} |")
            tally.check(1.25 <= force <= 1.27 + 0.105 * v + 0.15, f"stance-averaged force at {v} m/s: {force:.3f} BW")
        order = [mean[v] for v in sorted(mean)]
        tally.check(all(a[0] > b[0] and a[1] > b[1] for a, b in zip(order, order[1:])), "contact and duty factor fall with speed")
    return out.lines


def main():
    if len(sys.argv) < 2:
        print(__doc__, file=sys.stderr)
        return 2
    tally = cmp.Tally(False)
    print("\n".join(run_all(os.path.abspath(sys.argv[1]), tally)))
    print(f"{tally.passed} passed, {tally.failed} failed, {tally.skipped} skipped")
    return 1 if tally.failed else 0


if __name__ == "__main__":
    sys.exit(main())
