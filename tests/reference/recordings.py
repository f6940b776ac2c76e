"""recordings.py - where recordings that others made are found: the one place that knows, for the Python checks.

They are no part of this repository. tests/data/SOURCES.md names them; public_set.py makes the treadmill runs from
what the set's authors publish. Looked for in $UNDERFOOT_RECORDINGS, else in ../shared/data beside the checkout
(tests/aid/recordings.h says the same to C):

    treadmill-runs/   runs.csv, RBDSnnn_Tvv.csv, RBDSnnn_Tvv_markers.csv, hard_spikes.csv, hard_drift.csv
    slope-runs/       runs.csv, slope_NN.csv
    walks/            walk_1.csv, walk_2.csv

tests/data holds what is expected of them: cuts.csv lists windows of them (file, from, to), <cut>.expected the step
table of each window.
"""
import csv
import os

HERE = os.path.dirname(os.path.abspath(__file__))
EXPECTED = os.path.normpath(os.path.join(HERE, "../data"))


def folder():
    """The folder of the recordings, there or not."""
    return os.environ.get("UNDERFOOT_RECORDINGS") or os.path.normpath(os.path.join(HERE, "../../../shared/data"))


def cuts():
    """The rows of tests/data/cuts.csv."""
    with open(os.path.join(EXPECTED, "cuts.csv"), newline="") as f:
        return list(csv.DictReader(f))


def cut(row, target, data, suffix=""):
    """Writes one window of a recording, line by line, so that no digit changes. suffix: "_markers" for those.
    False where the recording is not there."""
    source = os.path.join(data, row["file"].replace(".csv", suffix + ".csv"))
    if not os.path.exists(source):
        return False
    with open(source) as f, open(target, "w") as out:
        out.write(next(f))
        out.writelines(line for line in f if float(row["from_s"]) <= float(line.split(",", 1)[0]) < float(row["to_s"]))
    return True
