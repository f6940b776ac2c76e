#!/usr/bin/python3
"""make_expected.py - what tests/data expects of the recordings, made from them (recordings.py says where they are).

    make_expected.py [--check]     --check writes nothing and exits 1 when a step table would change

<cut>.expected: the reference's step table of each window in cuts.csv. Before a table is written, its sides are held
against the body markers of the window where there are any: an expectation that the markers contradict is refused.
expected_counts.csv: steps of every full recording, counted by the reference and a second time in another way
(compare.py holds the program against it).
Says `skipped` where the recordings are not there.
"""
import csv
import io
import os
import sys
import tempfile

import numpy as np

import markers as mk
import recordings
import reference_steps as ref


def number(text):
    return float(text) if text else float("nan")


def expected_steps(cut, data, folder):
    """The step table of one window as text; None where the markers see other feet."""
    trace, seen = (os.path.join(folder, cut["cut"] + s + ".csv") for s in ("", "_markers"))
    recordings.cut(cut, trace, data)
    recordings.cut(cut, seen, data, "_markers")
    rows, _ = ref.analyse(ref.read_csv(trace), number(cut["rate_hz"]), number(cut["mass_kg"]), number(cut["belt_m_s"]),
                          number(cut["foot_mm"]), threshold=50.0)
    m = mk.load(seen)
    if m is not None:
        truth, second = mk.truth_sides(m, [r["touchdown_s"] for r in rows], [r["toeoff_s"] for r in rows])
        if [r["side"] for r in rows] != truth or truth != second:
            return None
    text = io.StringIO()
    ref.write_table(rows, text)
    return text.getvalue()


def is_text_form(cut, data):
    """True of what public_set.py made: below 30 N all is 0. Its steps are the same within tolerance, not bit for bit."""
    force = ref.read_csv(os.path.join(data, cut["file"]))["fz"]
    return not cut["cut"].startswith("hard") and float(np.mean(force == 0)) > 0.1


def count_by_markers(folder, name):
    got, _ = ref.analyse(ref.read_csv(os.path.join(folder, name + ".csv")), 300)
    m = mk.load(os.path.join(folder, name + "_markers.csv"))
    down, off = [r["touchdown_s"] for r in got], [r["toeoff_s"] for r in got]
    truth, second = mk.truth_sides(m, down, off)
    paired, lone_downs, lone_strikes = mk.match_strikes(m, down, truth)
    wrong = sum(a["side"] != b for a, b in zip(got, truth))
    return [name, len(got), paired, lone_downs, lone_strikes, wrong,
            "markers: every touchdown pairs with one foremost point of that foot" if truth == second else "marker rules disagree"]


def count_by_clean(folder, name, clean):
    got, _ = ref.analyse(ref.read_csv(os.path.join(folder, name + ".csv")), 300)
    same = sum(abs(a["touchdown_s"] - b["touchdown_s"]) < 0.01 for a, b in zip(got, clean))
    return [name, len(got), same, len(got) - same, len(clean) - same, "", "the clean run's touchdowns, one to one within 10 ms"]


def count_by_falls(folder, name):
    """Falls of the trace through half its mean force that follow a rise, and come down."""
    trace = ref.read_csv(os.path.join(folder, name + ".csv"))
    got, _ = ref.analyse(trace, 500, threshold=50)
    f = trace["fz"]
    level = 0.5 * f.mean()
    ups = np.flatnonzero((f[:-1] < level) & (f[1:] >= level))
    falls = np.flatnonzero((f[:-1] >= level) & (f[1:] < level))
    n = sum(bool((f[k:k + 50] < 50).any()) for k in falls[falls > ups[0]])
    return [name, len(got), n, max(0, len(got) - n), max(0, n - len(got)), "", "falls through half the mean force after a rise, down to 50 N"]


def expected_counts(data):
    treadmill, slope = os.path.join(data, "treadmill-runs"), os.path.join(data, "slope-runs")
    names = [[r["run"] for r in csv.DictReader(open(os.path.join(d, "runs.csv"), newline=""))] for d in (treadmill, slope)]
    clean, _ = ref.analyse(ref.read_csv(os.path.join(treadmill, "RBDS001_T25.csv")), 300)
    text = io.StringIO()
    write = csv.writer(text, lineterminator="\n")
    write.writerow("run,steps,second_count,only_in_force,only_in_second,sides_wrong,checked_by".split(","))
    write.writerows(count_by_markers(treadmill, n) for n in names[0])
    write.writerows(count_by_clean(treadmill, n, clean) for n in ("hard_spikes", "hard_drift"))
    write.writerows(count_by_falls(slope, n) for n in names[1])
    return text.getvalue()


def keep(name, text, is_check):
    """Writes tests/data/NAME, or only looks. True when it changed or would."""
    path = os.path.join(recordings.EXPECTED, name)
    before = open(path).read() if os.path.exists(path) else ""
    if before == text:
        return False
    print(f"{name}: {'would change' if is_check else 'written'}")
    if not is_check:
        with open(path, "w") as f:
            f.write(text)
    return True


def main():
    is_check, data, changed = "--check" in sys.argv, recordings.folder(), 0
    cuts = [c for c in recordings.cuts() if os.path.exists(os.path.join(data, c["file"]))]
    if len(cuts) < len(recordings.cuts()):
        print(f"skipped {len(recordings.cuts()) - len(cuts)} expectations: not all recordings are at {data}")
    with tempfile.TemporaryDirectory() as folder:
        for cut in cuts:
            if is_text_form(cut, data):
                print(f"skipped {cut['cut']}: it is of the set's text form, the expected figures are of the unfiltered one")
                continue
            text = expected_steps(cut, data, folder)
            if text is None:
                print(f"{cut['cut']}: the markers see other feet", file=sys.stderr)
                return 1
            changed += keep(cut["cut"] + ".expected", text, is_check)
    if not is_check and len(cuts) == len(recordings.cuts()):
        changed += keep("expected_counts.csv", expected_counts(data), False)
    print(f"{len(cuts)} cuts, {changed} changed")
    return 1 if changed and is_check else 0


if __name__ == "__main__":
    sys.exit(main())
