#!/usr/bin/python3
"""public_set.py - turns the files of the public running data set into the recordings that the checks read.

    public_set.py SET_FOLDER OUT_FOLDER
    UNDERFOOT_RECORDINGS=OUT_FOLDER make test

The set: Fukuchi RK, Fukuchi CA, Duarte M (2017), A public dataset of running biomechanics and the effects of running
speed on lower extremity kinematics and kinetics, PeerJ 5:e3298. Anyone may download it, CC BY 4.0:
https://doi.org/10.6084/m9.figshare.4543435 (the set's number as published, the address's form from memory).
SET_FOLDER is where its text files were unpacked.

Reads (layout from memory; tabs between columns, found by their names; a file that has others is named and refused):
    RBDSnnnrunTvvforces.txt    Time, Fx Fy Fz, COPx COPy COPz: x forward, y up, z right; 300 Hz
    RBDSnnnrunTvvmarkers.txt   Time, then NAMEX NAMEY NAMEZ of each marker in the same frame, mm; 150 Hz
    RBDSinfo.txt               Subject, Mass, ShoeSize, RFSI25 LFSI25 ... (published foot-strike labels)
Writes OUT_FOLDER/treadmill-runs: runs.csv, RBDSnnn_Tvv.csv (t, fz, copx right, copy forward; place only above 20 N),
RBDSnnn_Tvv_markers.csv. In the text form forces under about 30 N are 0, and so the flights are flat and spiked; the
expected figures were made from the unfiltered form, which the same tolerances cover. The slope runs, the walks and the
drifting trace are of other sources: checks of those still say `skipped`.
"""
import csv
import os
import re
import sys

import recordings

FORCE_HZ, MARKER_HZ, COP_FROM_N = 300.0, 150.0, 20.0
PELVIS = ("R.ASIS", "L.ASIS", "R.PSIS", "L.PSIS")
FOOT = {"heel": "Heel.Bottom", "mt1": "MT1", "mt5": "MT5"}
HEADER = ["t", "pelvis_fwd", "pelvis_up", "pelvis_right"] + [
    f"{side}_{part}_{axis}" for side in "LR" for part in FOOT for axis in ("fwd", "up")]


class Refused(Exception):
    """A file that is not what it should be: which, what, what to do."""


def table(path, wanted):
    """Rows of a tab-separated file as dicts; Refused when a wanted column is not there."""
    with open(path, newline="", encoding="utf-8-sig") as f:
        rows = csv.DictReader(f, delimiter="\t", skipinitialspace=True)
        names = [n.strip() for n in rows.fieldnames or ()]
        rows.fieldnames = names
        lost = [w for w in wanted if w not in names]
        if lost:
            raise Refused(f"{path}: no column {', '.join(lost)}: is it the set's own text file? It has {', '.join(names[:8])} ...")
        return list(rows)


def number(text, path, line):
    try:
        return float(text)
    except (TypeError, ValueError):
        raise Refused(f"{path}, line {line}: '{text}' is no number: download the file again") from None


def column(rows, name, path):
    """Numbers; NAN where a marker is missing."""
    return [number(r[name] if (r[name] or "").strip() else "nan", path, i + 2) for i, r in enumerate(rows)]


def as_mm(values, path):
    """Places in mm, whatever the file has: a run moves the place by hundreds of mm, never of metres."""
    known = [v for v in values if v == v and v != 0]
    if not known:
        raise Refused(f"{path}: no place in it: is it a run?")
    return [v * 1e3 for v in values] if max(known) - min(known) < 5 else values


def known_name(subject, speed):
    """The run's name as tests/data has it: some are written with two digits there."""
    with open(os.path.join(recordings.EXPECTED, "expected_counts.csv"), newline="") as f:
        for row in csv.DictReader(f):
            m = re.fullmatch(r"RBDS0*(\d+)_T(\d+)", row["run"])
            if m and (int(m[1]), m[2]) == (subject, speed):
                return row["run"]
    return f"RBDS{subject:03d}_T{speed}"


def write_forces(source, target):
    rows = table(source, ("Time", "Fy", "COPx", "COPz"))
    force = column(rows, "Fy", source)
    right, fwd = (as_mm(column(rows, c, source), source) for c in ("COPz", "COPx"))
    with open(target, "w") as out:
        out.write("t,fz,copx,copy\n")
        for i, f in enumerate(force):
            place = f"{right[i]:.1f},{fwd[i]:.1f}" if f > COP_FROM_N else ","
            out.write(f"{i / FORCE_HZ:.6f},{f:.2f},{place}\n")


def mean(values):
    known = [v for v in values if v == v]
    return sum(known) / len(known) if known else float("nan")


def write_markers(source, target):
    feet = [f"{side}.{name}" for side in "LR" for name in FOOT.values()]
    rows = table(source, ["Time"] + [m + axis for m in PELVIS for axis in "XYZ"] + [m + axis for m in feet for axis in "XY"])
    seen = {c: column(rows, c, source) for c in rows[0] if c and c[-1] in "XYZ" and c[:-1] in PELVIS + tuple(feet)}
    with open(target, "w") as out:
        out.write(",".join(HEADER) + "\n")
        for i in range(len(rows)):
            values = [mean([seen[m + axis][i] for m in PELVIS]) for axis in "XYZ"]
            values += [seen[m + axis][i] for m in feet for axis in "XY"]
            out.write(f"{i / MARKER_HZ:.6f}," + ",".join("" if v != v else f"{v:.1f}" for v in values) + "\n")


def convert(folder, target):
    """Writes all runs. Returns their names."""
    os.makedirs(target, exist_ok=True)
    info_path = os.path.join(folder, "RBDSinfo.txt")
    info = {}
    for row in table(info_path, ("Subject", "Mass", "ShoeSize")):
        info.setdefault(int(number(row["Subject"], info_path, 2)), row)
    listed = []
    for name in sorted(os.listdir(folder)):
        m = re.fullmatch(r"RBDS0*(\d+)runT(\d+)forces\.txt", name)
        if not m:
            continue
        subject, speed = int(m[1]), m[2]
        if subject not in info:
            raise Refused(f"{info_path}: no subject {subject}, of whom {name} is")
        run, row = known_name(subject, speed), info[subject]
        write_forces(os.path.join(folder, name), os.path.join(target, run + ".csv"))
        markers = os.path.join(folder, name.replace("forces", "markers"))
        if os.path.exists(markers):
            write_markers(markers, os.path.join(target, run + "_markers.csv"))
        listed.append([run, row["Mass"], f"{int(speed) / 10}", row.get("RFSI" + speed, ""), row.get("LFSI" + speed, ""), row["ShoeSize"]])
    if not listed:
        raise Refused(f"{folder}: no RBDSnnnrunTvvforces.txt in it: unpack the set's text files there")
    with open(os.path.join(target, "runs.csv"), "w", newline="") as out:
        write = csv.writer(out, lineterminator="\n")
        write.writerow("run,mass_kg,belt_m_s,strike_label_right,strike_label_left,shoe_size_us".split(","))
        write.writerows(listed)
    return [row[0] for row in listed]


def main():
    if len(sys.argv) != 3:
        print(__doc__, file=sys.stderr)
        return 2
    try:
        runs = convert(sys.argv[1], os.path.join(sys.argv[2], "treadmill-runs"))
    except (Refused, OSError) as why:
        print(f"public_set.py: {why}", file=sys.stderr)
        return 1
    print(f"{len(runs)} runs written to {sys.argv[2]}/treadmill-runs")
    return 0


if __name__ == "__main__":
    sys.exit(main())
