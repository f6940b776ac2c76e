#!/usr/bin/python3
"""test_public_set.py - public_set.py on made-up files in the public set's layout (from memory: no file of the set is
here; the numbers are made up, and so is what is expected of them, computed by hand)."""
import os
import sys
import tempfile

import public_set

failed = passed = 0


def check(name, got, want):
    global failed, passed
    passed, failed = passed + (got == want), failed + (got != want)
    if got != want:
        print(f"FAILED {name}: {got!r}, should be {want!r}")


def write(path, lines):
    with open(path, "w") as f:
        f.write("".join("\t".join(str(c) for c in line) + "\n" for line in lines))


def read(path):
    with open(path) as f:
        return f.read().splitlines()


def make_set(folder, cop_unit=1.0):
    write(os.path.join(folder, "RBDSinfo.txt"), [
        ("Subject", "Age", "Mass", "ShoeSize", "RFSI25", "LFSI25", "RFSI35", "LFSI35"),
        (3, 30, 65.4, 10.5, "Rearfoot", "Rearfoot", "Midfoot", "Rearfoot"),
        (40, 30, 70, 9, "Forefoot", "Forefoot", "Forefoot", "Forefoot")])
    for name in ("RBDS003runT35forces.txt", "RBDS040runT25forces.txt"):
        write(os.path.join(folder, name), [
            ("Time", "Fx", "Fy", "Fz", "COPx", "COPy", "COPz", "Ty"),
            (0.0, 1, 0, 2, 0, 0, 0, 0),
            (0.00333, -30, 512.346, 4, 1500.26 * cop_unit, 0, 1100.04 * cop_unit, 0),
            (0.00667, -30, 700, 4, 1400 * cop_unit, 0, 1090 * cop_unit, 0)])
    markers = public_set.PELVIS + tuple(f"{s}.{m}" for s in "LR" for m in public_set.FOOT.values())
    header = ["Time"] + [m + a for m in markers for a in "XYZ"]
    first = [0.0] + [100.0 * k + a for k in range(len(markers)) for a in range(3)]
    second = list(first)
    second[header.index("L.MT5X")] = ""
    write(os.path.join(folder, "RBDS003runT35markers.txt"), [header, first, second])


def check_runs():
    with tempfile.TemporaryDirectory() as folder:
        make_set(folder)
        target = os.path.join(folder, "out")
        check("the runs' names, as tests/data writes them", public_set.convert(folder, target), ["RBDS03_T35", "RBDS040_T25"])
        check("force and place", read(os.path.join(target, "RBDS03_T35.csv")),
              ["t,fz,copx,copy", "0.000000,0.00,,", "0.003333,512.35,1100.0,1500.3", "0.006667,700.00,1090.0,1400.0"])
        rows = read(os.path.join(target, "RBDS03_T35_markers.csv"))
        check("the markers' columns", rows[0].split(",")[:6], ["t", "pelvis_fwd", "pelvis_up", "pelvis_right", "L_heel_fwd", "L_heel_up"])
        # R.ASIS 0, L.ASIS 100, R.PSIS 200, L.PSIS 300: their mean is 150; then heel 400, mt1 500, mt5 600 of the left
        check("pelvis and left foot", rows[1].split(",")[:10], "0.000000,150.0,151.0,152.0,400.0,401.0,500.0,501.0,600.0,601.0".split(","))
        check("a missing marker stays missing", rows[2].split(",")[7:10], ["501.0", "", "601.0"])
        check("no markers, none made up", os.path.exists(os.path.join(target, "RBDS040_T25_markers.csv")), False)
        check("what is known of the runs", read(os.path.join(target, "runs.csv")),
              ["run,mass_kg,belt_m_s,strike_label_right,strike_label_left,shoe_size_us", "RBDS03_T35,65.4,3.5,Midfoot,Rearfoot,10.5",
               "RBDS040_T25,70,2.5,Forefoot,Forefoot,9"])


def check_metres():
    with tempfile.TemporaryDirectory() as folder:
        make_set(folder, 1e-3)
        public_set.convert(folder, os.path.join(folder, "out"))
        check("metres become mm", read(os.path.join(folder, "out/RBDS03_T35.csv"))[2], "0.003333,512.35,1100.0,1500.3")


def check_refusals():
    spoilt = (("RBDS003runT35forces.txt", [("Time", "Fx", "Fz"), (0, 1, 2)], "no column Fy, COPx, COPz"),
              ("RBDS003runT35forces.txt", [("Time", "Fy", "COPx", "COPz"), (0, 1, 900, 2), (1, "x", 1, 2)], "line 3: 'x' is no number"),
              ("RBDSinfo.txt", [("Subject", "Mass", "ShoeSize"), (7, 70, 9)], "no subject 3"))
    for name, lines, want in spoilt:
        with tempfile.TemporaryDirectory() as folder:
            make_set(folder)
            write(os.path.join(folder, name), lines)
            try:
                public_set.convert(folder, os.path.join(folder, "out"))
                said = "nothing"
            except public_set.Refused as why:
                said = str(why)
            check(f"refused: {want} (said: {said})", want in said and name in said, True)
    with tempfile.TemporaryDirectory() as folder:
        write(os.path.join(folder, "RBDSinfo.txt"), [("Subject", "Mass", "ShoeSize")])
        sys.argv = ["public_set.py", folder, folder]
        check("an empty folder ends with 1", public_set.main(), 1)


if __name__ == "__main__":
    check_runs()
    check_metres()
    check_refusals()
    print(f"{passed} passed, {failed} failed, 0 skipped")
    sys.exit(1 if failed else 0)
