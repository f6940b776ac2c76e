#!/usr/bin/python3
"""make_cuts.py - takes the small cuts in tests/data out of the full recordings.

    make_cuts.py DATA_DIR      (DATA_DIR holds treadmill-runs/ and slope-runs/)

Writes tests/data/<cut>.csv, <cut>_markers.csv (fewer columns) and cuts.csv, the list that the tests
read. Licences and sources: tests/data/SOURCES.md. The walks are not copied: their licence was not seen.
Also writes expected_counts.csv: steps of every full trace, counted in two independent ways.
"""
import csv
import os
import sys

import numpy as np

import markers as mk
import reference_steps as ref

HERE = os.path.dirname(os.path.abspath(__file__))
OUT = os.path.normpath(os.path.join(HERE, "../data"))
FROM_S, TO_S = 10.0, 18.0
RUNS = ("RBDS001_T45", "RBDS011_T25", "RBDS014_T35", "RBDS017_T35", "RBDS020_T45", "RBDS023_T45",
        "RBDS026_T25", "RBDS03_T35", "RBDS08_T25")
HARD = ("RBDS001_T25", "hard_spikes", "hard_drift")
SLOPES = ("slope_00", "slope_02", "slope_06", "slope_09", "slope_17", "slope_20")
MARKERS = ("t", "pelvis_fwd", "pelvis_up", "L_heel_fwd", "L_heel_up", "L_mt5_fwd", "L_mt5_up",
           "R_heel_fwd", "R_heel_up", "R_mt5_fwd", "R_mt5_up")


def cut(source, target, start, end, columns=None):
    """Copies the rows with start <= t < end, cell by cell, so that no digit changes."""
    with open(source, newline="") as f, open(target, "w", newline="") as out:
        rows = csv.reader(f)
        header = next(rows)
        keep = [i for i, h in enumerate(header) if columns is None or h in columns]
        write = csv.writer(out, lineterminator="\n")
        write.writerow([header[i] for i in keep])
        for row in rows:
            if start <= float(row[header.index("t")]) < end:
                write.writerow([row[i] for i in keep])


def table(path):
    with open(path, newline="") as f:
        return {r["run"]: r for r in csv.DictReader(f)}


def count_all(data, runs, slopes):
    rows = []
    for name, run in runs.items():
        folder = os.path.join(data, "treadmill-runs")
        got, _ = ref.analyse(ref.read_csv(os.path.join(folder, name + ".csv")), 300)
        m = mk.load(os.path.join(folder, name + "_markers.csv"))
        down, off = [r["touchdown_s"] for r in got], [r["toeoff_s"] for r in got]
        truth, second = mk.truth_sides(m, down, off)
        paired, lone_downs, lone_strikes = mk.match_strikes(m, down, truth)
        wrong = sum(a["side"] != b for a, b in zip(got, truth))
        rows.append([name, len(got), paired, lone_downs, lone_strikes, wrong,
                     "markers: every touchdown pairs with one foremost point of that foot"
                     if truth == second else "marker rules disagree"])
    clean, _ = ref.analyse(ref.read_csv(os.path.join(data, "treadmill-runs/RBDS001_T25.csv")), 300)
    for name in ("hard_spikes", "hard_drift"):
        got, _ = ref.analyse(ref.read_csv(os.path.join(data, "treadmill-runs", name + ".csv")), 300)
        same = sum(abs(a["touchdown_s"] - b["touchdown_s"]) < 0.01 for a, b in zip(got, clean))
        rows.append([name, len(got), same, len(got) - same, len(clean) - same, "",
                     "the clean run's touchdowns, one to one within 10 ms"])
    for name in slopes:
        trace = ref.read_csv(os.path.join(data, "slope-runs", name + ".csv"))
        got, _ = ref.analyse(trace, 500, threshold=50)
        # second way: falls of the trace through half its mean force that follow a rise, and come down
        f = trace["fz"]
        level = 0.5 * f.mean()
        ups = np.flatnonzero((f[:-1] < level) & (f[1:] >= level))
        falls = np.flatnonzero((f[:-1] >= level) & (f[1:] < level))
        falls = falls[falls > ups[0]]
        n = sum(bool((f[k:k + 50] < 50).any()) for k in falls)
        rows.append([name, len(got), n, max(0, len(got) - n), max(0, n - len(got)), "",
                     "falls through half the mean force after a rise, down to 50 N"])
    with open(os.path.join(OUT, "expected_counts.csv"), "w", newline="") as out:
        write = csv.writer(out, lineterminator="\n")
        write.writerow("run,steps,second_count,only_in_force,only_in_second,sides_wrong,checked_by".split(","))
        write.writerows(rows)


def main():
    if len(sys.argv) != 2:
        print(__doc__, file=sys.stderr)
        return 2
    data = sys.argv[1]
    runs = table(os.path.join(data, "treadmill-runs/runs.csv"))
    slopes = table(os.path.join(data, "slope-runs/runs.csv"))
    listed = []
    for name in RUNS + HARD:
        source = os.path.join(data, "treadmill-runs", name)
        run = runs.get(name, runs["RBDS001_T25"])
        target = os.path.join(OUT, name)
        cut(source + ".csv", target + ".csv", FROM_S, TO_S)
        if os.path.exists(source + "_markers.csv"):
            cut(source + "_markers.csv", target + "_markers.csv", FROM_S, TO_S, MARKERS)
        foot = mk.foot_length_mm(float(run["shoe_size_us"]))
        listed.append([name, 300, run["mass_kg"], run["belt_m_s"], f"{foot:.1f}", run["strike_label_left"],
                       run["strike_label_right"]])
    for name in SLOPES:
        cut(os.path.join(data, "slope-runs", name + ".csv"), os.path.join(OUT, name + ".csv"), 0, 1e9)
        listed.append([name, 500, slopes[name]["mass_kg"], slopes[name]["belt_m_s"], "", "", ""])
    with open(os.path.join(OUT, "cuts.csv"), "w", newline="") as out:
        write = csv.writer(out, lineterminator="\n")
        write.writerow("cut,rate_hz,mass_kg,belt_m_s,foot_mm,label_left,label_right".split(","))
        write.writerows(listed)
    count_all(data, runs, slopes)
    return 0


if __name__ == "__main__":
    sys.exit(main())
