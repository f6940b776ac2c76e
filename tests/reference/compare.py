#!/usr/bin/python3
"""compare.py - the program's step table against the reference and the body markers, run by run.

    compare.py BIN [DATA_DIR] [--strict] [--verbose]

Runs `BIN steps` on every recorded trace of DATA_DIR (default: where recordings.py finds them) and
prints one line a run, what failed and why, then totals. Exit code 1 when anything is out of tolerance.
Traces that are not there are skipped and counted.

Basic level: step counts equal, no step made of a walk, every side as the markers have it, contact time
within 2 ms (mean absolute, step by step), landing ahead near the reference's and the pelvis'.
--strict: mean absolute difference to the reference: contact <= 1.0 ms, cadence <= 0.1 steps/min, peak
<= 0.5 %, mean loading rate <= 3 %, COM drop <= 2 mm, body weight from the momentum balance <= 0.3 %;
contact also without --threshold (the default must be the reference's 50 N, noise or not); landing ahead
against the pelvis markers: mean offset <= 10 mm, step to step <= 8 mm sd, r >= 0.99 between runs; COM drop
against the pelvis' drop: r >= 0.95 between runs; rear / not rear as labelled in >= 88 % of feet; strike
index against the markers': mean within 3 points, sd <= 6.
Step counts are also held against tests/data/expected_counts.csv.
"""
import csv
import json
import math
import os
import subprocess
import sys

import numpy as np

import markers as mk
import recordings
import reference_steps as ref

HERE = os.path.dirname(os.path.abspath(__file__))
THRESHOLD_N = 50.0


class Tally:
    def __init__(self, verbose):
        self.passed = self.failed = self.skipped = 0
        self.verbose = verbose

    def check(self, ok, what):
        """One check: counted; said aloud when it fails."""
        if ok:
            self.passed += 1
        else:
            self.failed += 1
        if not ok or self.verbose:
            print(f"    {'ok    ' if ok else 'FAILED'} {what}")

    def skip(self, what):
        self.skipped += 1
        print(f"skipped {what}")


def run_steps(binary, trace, *options):
    """(exit code, rows as dicts of text, stderr) of one `steps` call."""
    got = subprocess.run([binary, "steps", trace, *options], capture_output=True, text=True, timeout=120)
    if "--summary" in options:
        try:
            return got.returncode, json.loads(got.stdout), got.stderr
        except ValueError:
            return got.returncode or 1, {}, got.stderr + "(the summary is not JSON)"
    return got.returncode, list(csv.DictReader(got.stdout.splitlines())), got.stderr


def column(rows, name):
    """A column of the program's table as floats; blanks are NAN, yes and no 1 and 0. Works on the
    reference's rows too."""
    word = {"": math.nan, None: math.nan, "yes": 1.0, "no": 0.0}
    return np.array([float(word.get(r.get(name), r.get(name))) for r in rows])


def side_letters(rows):
    return [(r.get("side") or "")[:1].upper().replace("U", "") for r in rows]


def mean_abs(a, b):
    d = np.abs(a - b)
    return float(np.nanmean(d)) if np.isfinite(d).any() else math.nan


def mean_ratio(a, b):
    """Mean absolute difference as a share of the reference's mean."""
    return mean_abs(a, b) / abs(float(np.nanmean(b))) if np.isfinite(b).any() else math.nan


def options_of(run, rate, foot=None):
    out = ["--rate", str(rate), "--mass", str(run["mass_kg"]), "--threshold", str(THRESHOLD_N)]
    if run.get("belt_m_s"):
        out += ["--speed", str(run["belt_m_s"])]
    return out + (["--foot", f"{foot:.1f}"] if foot else [])


def pair_up(mine, theirs):
    """Rows of equal contacts (touchdowns within 60 ms), so that one extra step does not spoil all."""
    a, b = column(mine, "touchdown_s"), column(theirs, "touchdown_s")
    near = [(i, int(np.argmin(np.abs(b - t)))) for i, t in enumerate(a)] if len(b) else []
    near = [(i, j) for i, j in near if abs(a[i] - b[j]) < 0.06]
    return [mine[i] for i, _ in near], [theirs[j] for _, j in near]


def check_trace(tally, binary, path, run, rate, strict, foot=None):
    """Compares one running trace. Returns a dict of what was measured, or None."""
    name = run["run"]
    mass, speed = float(run["mass_kg"]), float(run.get("belt_m_s") or math.nan)
    theirs, summary = ref.analyse(ref.read_csv(path), rate, mass, speed, foot or math.nan, math.nan,
                                  THRESHOLD_N)
    code, mine, err = run_steps(binary, path, *options_of(run, rate, foot))
    if code != 0:
        print(f"{name}: exit code {code}: {err.strip()}")
        tally.check(False, f"{name}: runs")
        return None
    n, n_ref = len(mine), len(theirs)
    mine, theirs = pair_up(mine, theirs)
    got = {c: mean_abs(column(mine, c), column(theirs, c))
           for c in ("touchdown_s", "toeoff_s", "contact_ms", "flight_ms", "com_drop_mm", "com_low_ms",
                     "landing_ahead_mm", "landing_first_mm", "strike_travel_mm", "strike_index_pct")}
    got.update(n=n, n_ref=n_ref, mine=mine, theirs=theirs,
               cadence=abs(np.nanmean(column(mine, "cadence_spm") - column(theirs, "cadence_spm"))),
               peak=mean_ratio(column(mine, "peak_force_bw"), column(theirs, "peak_force_bw")),
               rate=mean_ratio(column(mine, "load_rate_bw_s"), column(theirs, "load_rate_bw_s")),
               transient=float(np.mean(column(mine, "impact_transient") == column(theirs, "impact_transient"))))
    print(f"{name:12s} steps {n:3d}/{n_ref:3d}  touchdown {got['touchdown_s'] * 1e3:5.2f} ms  contact "
          f"{got['contact_ms']:5.2f} ms  cadence {got['cadence']:5.2f}  peak {got['peak'] * 100:5.2f} %  rate "
          f"{got['rate'] * 100:5.1f} %  transient same {got['transient'] * 100:3.0f} %  drop "
          f"{got['com_drop_mm']:5.2f} mm  ahead {got['landing_ahead_mm']:6.2f} mm  index "
          f"{got['strike_index_pct']:5.2f}  travel {got['strike_travel_mm']:5.2f} mm")
    tally.check(n == n_ref, f"{name}: {n} steps, the reference has {n_ref}")
    counted = [int(r["second_count"]) for r in table(os.path.join(recordings.EXPECTED, "expected_counts.csv")) if r["run"] == name]
    tally.check(not counted or counted == [n], f"{name}: {n} steps, counted in another way {counted}")
    tally.check(all(r.get("gait") == "running" for r in mine) and n > 0, f"{name}: every step is running")
    tally.check(got["contact_ms"] <= (1.0 if strict else 2.0), f"{name}: contact {got['contact_ms']:.2f} ms")
    if foot and run.get("belt_m_s"):  # the reference works all of it out by itself
        tally.check(got["landing_ahead_mm"] <= 3 and got["strike_travel_mm"] <= 3,
                    f"{name}: landing ahead {got['landing_ahead_mm']:.1f}, strike travel {got['strike_travel_mm']:.1f} mm off the reference")
    if strict:
        tally.check(got["cadence"] <= 0.1, f"{name}: cadence {got['cadence']:.3f} steps/min")
        # The slope set is 5 s a trace and rings from its 30 Hz filter through the flight, where zero is read.
        peak_limit = 0.01 if "slope" in name else 0.005
        tally.check(got["peak"] <= peak_limit, f"{name}: peak {got['peak'] * 100:.2f} %")
        if "slope" not in name:  # that set is low-passed at 30 Hz: no loading rate in it
            tally.check(got["rate"] <= 0.03, f"{name}: loading rate {got['rate'] * 100:.1f} %")
            tally.check(got["com_drop_mm"] <= 2.0, f"{name}: COM drop {got['com_drop_mm']:.2f} mm")
        options = ["--rate", str(rate), "--threshold", str(THRESHOLD_N), "--summary"]
        code, told, _ = run_steps(binary, path, *options)
        weight = float(told.get("body_weight_n") or math.nan) if code == 0 else math.nan
        check_default_threshold(tally, binary, path, rate, theirs, name)
        off = abs(weight / summary["balance_n"] - 1)
        tally.check(off <= (0.005 if "slope" in name else 0.003), f"{name}: body weight off by {off * 100:.2f} %")
        got["balance"] = weight / (mass * ref.GRAVITY)
        got["balance_ref"] = summary["balance_n"] / (mass * ref.GRAVITY)
        print(f"             body weight by the momentum balance {weight:.1f} N, {got['balance']:.4f} of the stated mass, "
              f"{(weight / summary['balance_n'] - 1) * 100:+.2f} % off the reference's")
    return got


def check_default_threshold(tally, binary, path, rate, theirs, name):
    code, rows, _ = run_steps(binary, path, "--rate", str(rate))
    a, b = pair_up(rows, theirs)
    off = mean_abs(column(a, "contact_ms"), column(b, "contact_ms"))
    # The slope set rings from its makers' 30 Hz filter through the flight; that reads as noise and may raise the threshold.
    tally.check(code == 0 and len(rows) == len(theirs) and off <= (3.0 if "slope" in name else 1.0),
                f"{name}: with no options {len(rows)} steps, contact {off:.2f} ms")


def check_markers(tally, got, run, markers, foot):
    """Sides, landing ahead and strike index of one run against its markers."""
    name, speed = run["run"], float(run["belt_m_s"])
    down, off = column(got["mine"], "touchdown_s"), column(got["mine"], "toeoff_s")
    truth, second = mk.truth_sides(markers, down, off)
    wrong = sum(a != b for a, b in zip(side_letters(got["mine"]), truth))
    tally.check(truth == second, f"{name}: the two marker rules agree on the foot")
    got["sides_wrong"] = wrong
    tally.check(wrong == 0, f"{name}: {wrong} of {len(truth)} sides wrong by the markers")
    pelvis = mk.pelvis_fwd(markers, down)
    true_ahead = column(got["theirs"], "cop_down_mm") - pelvis
    ahead = column(got["mine"], "landing_first_mm")  # the first COP, which the pelvis markers can be held against
    got["ahead"], got["true_ahead"] = float(np.nanmean(ahead)), float(np.nanmean(true_ahead))
    inner = slice(2, -2)
    got["ahead_off"] = float(np.nanmean((ahead - true_ahead)[inner]))
    got["ahead_sd"] = float(np.nanstd((ahead - true_ahead)[inner]))
    tally.check(abs(got["ahead_off"]) <= 25 and np.isfinite(ahead).mean() > 0.9,
                f"{name}: first landing off the pelvis markers by {got['ahead_off']:.1f} mm "
                f"(sd {got['ahead_sd']:.1f}), known for {np.isfinite(ahead).mean() * 100:.0f} % of steps")
    drop = np.array([mk.pelvis_drop(markers, a, b) for a, b in zip(down, off)])
    got["pelvis_drop"], got["drop"] = float(np.nanmean(drop)), float(np.nanmean(column(got["mine"], "com_drop_mm")))
    got["feet"] = []
    index = column(got["mine"], "strike_index_pct")
    for letter, label in (("L", run["strike_label_left"]), ("R", run["strike_label_right"])):
        of = np.array([s == letter for s in truth])
        cop = column(got["theirs"], "cop_down_mm")
        by_markers = [mk.strike_index(markers, letter, a, b, speed, c, foot)
                      for a, b, c, m in zip(down, off, cop, of) if m]
        if np.isfinite(index[of]).any():
            got["feet"].append((float(np.nanmedian(index[of])), label == "Rearfoot",
                                float(np.nanmedian(by_markers))))


def across_runs(tally, all_got, strict):
    """What only shows between runs: correlations, offsets, labels. Returns them."""
    known = [g for g in all_got if math.isfinite(g.get("ahead", math.nan))]
    if len(known) < 5:
        return {}
    r = np.corrcoef([g["ahead"] for g in known], [g["true_ahead"] for g in known])[0, 1]
    off = np.array([g["ahead_off"] for g in known])
    sd = float(np.mean([g["ahead_sd"] for g in known]))
    drop_r = np.corrcoef([g["drop"] for g in known], [g["pelvis_drop"] for g in known])[0, 1]
    print(f"\nlanding by the first COP against the pelvis markers, {len(known)} runs: mean offset {off.mean():.1f} mm "
          f"(sd between runs {off.std():.1f}), {sd:.1f} mm sd from step to step, r = {r:.4f} between runs")
    print(f"COM drop against the pelvis' drop, between runs: r = {drop_r:.3f}")
    tally.check(r >= (0.99 if strict else 0.98), f"first landing: r {r:.4f} between runs")
    tally.check(abs(off.mean()) <= 10, f"first landing: mean offset {off.mean():.1f} mm")
    tally.check(sd <= 8, f"first landing: {sd:.1f} mm sd from step to step")
    if strict:
        tally.check(drop_r >= 0.95, f"COM drop against the pelvis': r {drop_r:.3f} between runs")
    out = {"r": r, "off": off.mean(), "between": off.std(), "sd": sd, "drop_r": drop_r,
           "drop_slope": float(np.polyfit([g["pelvis_drop"] for g in known], [g["drop"] for g in known], 1)[0])}
    feet = [f for g in known for f in g.get("feet", [])]
    if feet:
        agree = np.mean([(index < 100 / 3) == rear for index, rear, _ in feet])
        d = np.array([index - truth for index, _, truth in feet])
        print(f"rear / not rear as labelled: {agree * 100:.1f} % of {len(feet)} feet; strike index less the "
              f"markers': {d.mean():.1f} points (sd {d.std():.1f})")
        out.update(agree=agree, n_feet=len(feet), index_off=d.mean(), index_sd=d.std())
        if strict:
            tally.check(agree >= 0.88, f"strike labels: {agree * 100:.1f} % of feet agree")
            tally.check(abs(d.mean()) <= 3 and d.std() <= 6, f"strike index: {d.mean():.1f} +- {d.std():.1f} points off the markers'")
    return out


def table(path):
    with open(path, newline="") as f:
        return list(csv.DictReader(f))


def recorded_runs(data):
    """Every recorded running trace as (set, path, rate, foot length or None, row). Rows have run, mass_kg, belt_m_s,
    strike_label_left and _right. Nothing where there are no recordings."""
    for kind, rate in (("treadmill-runs", 300), ("slope-runs", 500)):
        folder = os.path.join(data, kind)
        if not os.path.isdir(folder):
            continue
        for row in table(os.path.join(folder, "runs.csv")):
            foot = mk.foot_length_mm(float(row["shoe_size_us"])) if row.get("shoe_size_us") else None
            yield kind, os.path.join(folder, row["run"] + ".csv"), rate, foot, row


def check_recorded(tally, binary, data, strict):
    """All recorded runs. Returns (what was measured of each treadmill run, of each slope run, across runs)."""
    all_got, slopes, clean, folder = [], [], None, None
    for kind, path, rate, foot, run in recorded_runs(data):
        if not os.path.exists(path):
            tally.skip(run["run"])
            continue
        got = check_trace(tally, binary, path, run, rate, strict, foot)
        if not got:
            continue
        got["run"] = run
        if kind == "slope-runs":
            slopes.append(got)
            continue
        folder = os.path.dirname(path)
        markers = mk.load(path.replace(".csv", "_markers.csv"))
        if markers:
            check_markers(tally, got, run, markers, foot)
        all_got.append(got)
        if run["run"] == "RBDS001_T25":
            clean = got
    across = across_runs(tally, all_got, strict)
    check_hard(tally, binary, folder, clean)
    return all_got, slopes, across


def check_hard(tally, binary, folder, clean):
    """The spiked and the drifting trace: the clean one's steps."""
    print()
    for name in ("hard_spikes", "hard_drift"):
        path = os.path.join(folder or "", name + ".csv")
        if not os.path.exists(path) or not clean:
            tally.skip(name)
            continue
        got = check_trace(tally, binary, path, {"run": name, "mass_kg": 62, "belt_m_s": 2.5}, 300, False)
        if not got:
            continue
        n = clean["n"]
        tally.check(got["n"] == n, f"{name}: {got['n']} steps of {n}")
        a, b = pair_up(got["mine"], clean["mine"])
        off = [mean_abs(column(a, c), column(b, c)) * 1e3 for c in ("touchdown_s", "toeoff_s")]
        print(f"             against the clean run: touchdown {off[0]:.2f} ms, toe-off {off[1]:.2f} ms")
        tally.check(len(a) == n and max(off) <= 2.0, f"{name}: the clean run's times (off {off})")
        clean.setdefault("hard", {})[name] = (got["n"], off)


def check_walks(tally, binary, folder):
    for name, mass in (("walk_1", 83), ("walk_2", 70)):
        path = os.path.join(folder, name + ".csv")
        if not os.path.exists(path):
            tally.skip(name)
            continue
        code, rows, err = run_steps(binary, path, "--rate", "100", "--mass", str(mass), "--threshold", "50")
        code2, told, _ = run_steps(binary, path, "--rate", "100", "--mass", str(mass), "--summary")
        print(f"{name:12s} rows {len(rows)}  gait {told.get('gait')}")
        tally.check(code == 0 and code2 == 0, f"{name}: exit codes {code}, {code2}: {err.strip()}")
        tally.check(not rows, f"{name}: {len(rows)} steps made of a walk")
        tally.check(told.get("gait") == "walking", f"{name}: called {told.get('gait')}, not walking")


def main():
    words = [a for a in sys.argv[1:] if not a.startswith("--")]
    if not words:
        print(__doc__, file=sys.stderr)
        return 2
    binary = os.path.abspath(words[0])
    data = words[1] if len(words) > 1 else recordings.folder()
    strict, tally = "--strict" in sys.argv, Tally("--verbose" in sys.argv)
    if not os.path.isdir(data):
        tally.skip(f"the recorded runs: none at {data}")
    check_recorded(tally, binary, data, strict)
    if os.path.isdir(os.path.join(data, "walks")):
        check_walks(tally, binary, os.path.join(data, "walks"))
    else:
        tally.skip("walks")
    print(f"{tally.passed} passed, {tally.failed} failed, {tally.skipped} skipped")
    return 1 if tally.failed else 0


if __name__ == "__main__":
    sys.exit(main())
