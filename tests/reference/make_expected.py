#!/usr/bin/python3
"""make_expected.py - the reference's step table beside every cut in tests/data: <cut>.expected

    make_expected.py [--check]     --check writes nothing and exits 1 when a file would change

Before a table is written, its sides are held against the body markers of the cut where there are any:
an expectation that the markers contradict is refused.
"""
import csv
import io
import os
import sys

import markers as mk
import reference_steps as ref

HERE = os.path.dirname(os.path.abspath(__file__))
DATA = os.path.normpath(os.path.join(HERE, "../data"))


def number(text):
    return float(text) if text else float("nan")


def main():
    changed = 0
    with open(os.path.join(DATA, "cuts.csv"), newline="") as f:
        cuts = list(csv.DictReader(f))
    for cut in cuts:
        base = os.path.join(DATA, cut["cut"])
        rows, _ = ref.analyse(ref.read_csv(base + ".csv"), number(cut["rate_hz"]), number(cut["mass_kg"]),
                              number(cut["belt_m_s"]), number(cut["foot_mm"]), threshold=50.0)
        m = mk.load(base + "_markers.csv")
        if m is not None:
            truth, second = mk.truth_sides(m, [r["touchdown_s"] for r in rows], [r["toeoff_s"] for r in rows])
            if [r["side"] for r in rows] != truth or truth != second:
                print(f"{cut['cut']}: the markers see other feet", file=sys.stderr)
                return 1
        text = io.StringIO()
        ref.write_table(rows, text)
        path = base + ".expected"
        before = open(path).read() if os.path.exists(path) else ""
        if before != text.getvalue():
            changed += 1
            print(f"{cut['cut']}: {len(rows)} steps, {'would change' if '--check' in sys.argv else 'written'}")
            if "--check" not in sys.argv:
                with open(path, "w") as f:
                    f.write(text.getvalue())
    print(f"{len(cuts)} cuts, {changed} changed")
    return 1 if changed and "--check" in sys.argv else 0


if __name__ == "__main__":
    sys.exit(main())
