#!/usr/bin/python3
"""chain.py - recorded runs through the whole chain: sensor signals, wire, recording, steps.

    chain.py BIN [DATA_DIR]

Cells: each sample's force and centre of pressure become four cells' loads by statics (places as in
profiles/sensors/cells-4.ini; of the loads that balance force and both moments the smallest ones), counts of
that profile's gain, packets by wire_out.py, in binary and, for one run, as text.
Mat: each sample becomes a picture of 128 x 48 elements of 10 mm (a foot rides 0.7 m and more with the belt, a
64-row mat is too short for these speeds): a foot of the runner's length lies where the reference puts it, moves with the belt, and its
pressure is tilted along the foot until its sum and centre of pressure are the recorded ones. A plate's centre
of pressure leaves the foot in the first milliseconds (belt vibration); no foot can give such a picture, so it is first kept
within 8 to 92 % of the foot, and the trace that is measured directly has the same.
Both are read by `BIN steps RECORDING` and compared with `BIN steps TRACE` of the same force and COP.
"""
import os
import sys
import tempfile

import numpy as np
from scipy.ndimage import median_filter

import compare as cmp
import downsample as ds
import markers as mk
import reference_steps as ref
import wire_out

CELL_FWD, CELL_RIGHT = (-600.0, -600.0, 600.0, 600.0), (-300.0, 300.0, -300.0, 300.0)
CELL_FULL, CELL_GAIN = 4194304, 2000.0 / 4194304
MAT_ROWS, MAT_COLS, MAT_PITCH, MAT_FULL, MAT_GAIN = 128, 48, 10.0, 4095, 100.0 / 4095
N_SLICES, FOOT_WIDTH = 36, 84.0
# metric: (cells, mat): mean absolute difference to the direct trace that is allowed.
LIMITS = {"touchdown_s": (0.0003, 0.0015), "contact_ms": (0.5, 3.0), "cadence_spm": (0.1, 1.0),
          "peak_force_bw": (0.002, 0.02), "load_rate_bw_s": (0.3, 2.0), "com_drop_mm": (0.3, 1.0),
          "landing_ahead_mm": (4.0, 5.0), "strike_index_pct": (2.0, 3.0)}
PROFILE = {"cells": "[sensor]\nname = cells of a test\nkind = cells\nfull_scale_counts = 4194304\nmin_cop_n = 20\n"
           + "".join(f"[cell {i + 1}]\nfwd_mm = {f}\nright_mm = {r}\ngain_n_per_count = {CELL_GAIN!r}\noffset_counts = 0\n"
                     for i, (f, r) in enumerate(zip(CELL_FWD, CELL_RIGHT))),
           "mat": f"[sensor]\nname = mat of a test\nkind = mat\nfull_scale_counts = {MAT_FULL}\n[mat]\nrows = {MAT_ROWS}\n"
                  f"cols = {MAT_COLS}\npitch_mm = {MAT_PITCH:g}\ngain_n_per_count = {MAT_GAIN!r}\noffset_counts = 0\n"
                  "noise_counts = 3\n"}


def centred(trace):
    """The trace with its centre of pressure about the sensor's middle, and time from 0."""
    out = dict(trace)
    for name in ("copx", "copy"):
        out[name] = np.round(trace[name] - np.nanmean(trace[name]), 2)
    out["t"] = np.round(trace["t"] - trace["t"][0], 6)
    return out


# ------------------------------------------------------------------------------------------- cells
def cell_counts(trace):
    a = np.array([[1.0] * 4, CELL_FWD, CELL_RIGHT])
    smallest = a.T @ np.linalg.inv(a @ a.T)
    force = trace["fz"]
    moments = np.vstack([force, force * np.nan_to_num(trace["copy"]), force * np.nan_to_num(trace["copx"])])
    return np.rint(smallest @ moments / CELL_GAIN).astype(int).T


def cells_recording(path, trace, rate, is_text):
    board, parts = wire_out.Board(), []
    for k, (t, counts) in enumerate(zip(trace["t"], cell_counts(trace).tolist())):
        t_us = round(t * 1e6) + 1000
        data = b""
        if k % (5 * rate) == 0:
            data = wire_out.text_cells_hello(rate, 4, CELL_FULL) if is_text else \
                (b"" if k else b"\0") + board.hello_cells(t_us, rate, 4, CELL_FULL)
        if is_text:
            data += wire_out.text_line(",".join(map(str, [t_us] + counts)))
        else:
            data += board.cells(t_us, counts)
        parts.append((t_us, data))
    wire_out.recording(path, parts, {"what": "recorded treadmill run as four load cells, by statics"})


# ------------------------------------------------------------------------------------------- mat
def tilted(place, at):
    """Loads of slices at `place` (0..1), sum 1, smooth, with their centroid at `at`."""
    base = np.where((place > 0) & (place < 1), 1.0, 0.0)
    tilt = 0.0
    for _ in range(60):
        w = base * np.exp(tilt * (place - at))
        w /= w.sum()
        mean = np.sum(w * (place - at))
        spread = np.sum(w * (place - at) ** 2) - mean ** 2
        if abs(mean) < 1e-9:
            break
        tilt = np.clip(tilt - np.clip(mean / spread, -10, 10), -400, 400)
    return w


def splat(n, index, load):
    """Loads at fractional indices shared among neighbours, so that sum and centroid stay."""
    out = np.zeros(n)
    low = np.floor(index).astype(int)
    share = index - low
    for i, w in ((low, (1 - share) * load), (low + 1, share * load)):
        ok = (i >= 0) & (i < n)
        np.add.at(out, i[ok], w[ok])
    return out


def on_foot(trace, rate, speed, foot, mass):
    """The trace as a mat can show it, and the heel's place for every sample (NAN in flight)."""
    rows, _ = ref.analyse(trace, rate, mass, speed, foot, float("nan"), cmp.THRESHOLD_N)
    force = trace["fz"] - ref.baseline(trace["fz"], rate)
    heel = np.full(len(force), np.nan)
    fronts = [r["front_mm"] + r["cop_down_mm"] for r in rows]
    for row, front in zip(rows, fronts):
        a, b = int((row["touchdown_s"] - 0.012) * rate), int((row["toeoff_s"] + 0.012) * rate) + 1
        n = np.arange(max(0, a), min(len(force), b + 1))
        heel[n] = front - ref.FRONT_SHARE * foot - speed * 1e3 * (n / rate - row["touchdown_s"])
    out = dict(trace)
    is_on = np.isfinite(heel) & (force > 3)
    share = (np.nan_to_num(trace["copy"]) - heel) / foot
    share = np.where(np.isfinite(trace["copy"]), share, 0.5)
    share = np.clip(share, 0.08, 0.92)
    out["fz"] = np.where(is_on, np.round(force, 2), 0.0)
    out["copy"] = np.where(is_on & (out["fz"] > 20), heel + share * foot, np.nan)
    # A mat is 480 mm wide: the runner's slow wandering across the belt is taken out.
    known = np.flatnonzero(np.isfinite(trace["copx"]))
    middle = median_filter(np.interp(np.arange(len(force)), known, trace["copx"][known]), int(2 * rate))
    out["copx"] = np.where(is_on & (out["fz"] > 20), np.round(trace["copx"] - middle, 2), np.nan)
    return out, np.where(is_on, heel, np.nan), share


def mat_recording(path, trace, heel, share, rate, foot, is_dense):
    board, parts = wire_out.Board(), []
    place = (np.arange(N_SLICES) + 0.5) / N_SLICES
    across = (np.arange(9) + 0.5) / 9 * 2 - 1
    bell = 1 - 0.6 * across ** 2
    bell /= bell.sum()
    origin_fwd, origin_right = -0.5 * (MAT_ROWS - 1) * MAT_PITCH, -0.5 * (MAT_COLS - 1) * MAT_PITCH
    n_saturated = 0
    for k, (t, force) in enumerate(zip(trace["t"], trace["fz"])):
        t_us = round(t * 1e6) + 1000
        flat = [0] * (MAT_ROWS * MAT_COLS)
        if np.isfinite(heel[k]) and force > 0:
            right = np.nan_to_num(trace["copx"][k]) + across * FOOT_WIDTH / 2
            along = splat(MAT_ROWS, (heel[k] + place * foot - origin_fwd) / MAT_PITCH, tilted(place, share[k]))
            over = splat(MAT_COLS, (right - origin_right) / MAT_PITCH, bell)
            image = np.rint(np.outer(along, over) * force / MAT_GAIN).astype(int)
            n_saturated += int((image >= MAT_FULL).any())
            flat = np.clip(image, 0, MAT_FULL).ravel().tolist()
        data = b""
        if k % (5 * rate) == 0:
            data = (b"" if k else b"\0") + board.hello_mat(t_us, rate, MAT_ROWS, MAT_COLS, MAT_PITCH, MAT_FULL)
        data += (board.mat_dense if is_dense else board.mat_sparse)(t_us, MAT_ROWS, MAT_COLS, flat)
        parts.append((t_us, data))
    wire_out.recording(path, parts, {"what": "recorded treadmill run as a mat's pictures, by a foot model"})
    return n_saturated


# ------------------------------------------------------------------------------------------- compare
def hold_against(tally, name, kind, mine, direct):
    """One line of the table; checks every limit."""
    n, n_direct = len(mine), len(direct)
    tally.check(n == n_direct, f"{name} as {kind}: {n} steps, the direct trace has {n_direct}")
    a, b = cmp.pair_up(mine, direct)
    tally.check(len(a) == n_direct, f"{name} as {kind}: {len(a)} of {n_direct} steps pair up")
    got = {}
    for m, limits in LIMITS.items():
        got[m] = cmp.mean_abs(cmp.column(a, m), cmp.column(b, m))
        limit = limits[0 if kind.startswith("cells") else 1]
        tally.check(got[m] <= limit, f"{name} as {kind}: {m} {got[m]:.4f} off, allowed {limit}")
    sides = sum(x != y for x, y in zip(cmp.side_letters(a), cmp.side_letters(b)))
    tally.check(sides == 0, f"{name} as {kind}: {sides} sides differ")
    return (f"| {name} | {kind} | {n} / {n_direct} | {got['touchdown_s'] * 1e3:.2f} | {got['contact_ms']:.2f} | "
            f"{got['peak_force_bw']:.4f} | {got['load_rate_bw_s']:.2f} | {got['com_drop_mm']:.2f} | "
            f"{got['landing_ahead_mm']:.1f} | {got['strike_index_pct']:.1f} | {sides} |")


def runs_of(data):
    """(name, trace, options, speed, foot, mass) of recorded treadmill runs; none where they are not there."""
    folder = os.path.join(data, "treadmill-runs")
    if os.path.isdir(folder):
        for row in cmp.table(os.path.join(folder, "runs.csv")):
            path = os.path.join(folder, row["run"] + ".csv")
            if os.path.exists(path):
                foot = mk.foot_length_mm(float(row["shoe_size_us"]))
                yield row["run"], path, float(row["belt_m_s"]), foot, float(row["mass_kg"])
    else:
        print(f"skipped the whole chain of recorded runs: none at {folder}")


def steps_of(binary, path, options):
    code, rows, err = cmp.run_steps(binary, path, *options)
    if code != 0:
        print(f"{os.path.basename(path)}: {err.strip()}")
    return rows


def run_all(binary, data, tally):
    """Markdown lines; checks go to the tally."""
    rate = 300
    lines = ["", "| run | as | steps | touchdown ms | contact ms | peak BW | loading rate BW/s | COM drop mm | landing ahead mm "
             "| strike index | sides |", "|---" * 11 + "|"]
    with tempfile.TemporaryDirectory() as d:
        for kind, text in PROFILE.items():
            with open(os.path.join(d, kind + ".ini"), "w") as f:
                f.write(text)
        for k, (name, path, speed, foot, mass) in enumerate(runs_of(data)):
            trace = centred({c: v for c, v in ref.read_csv(path).items() if c in ("t", "fz", "copx", "copy")})
            options = ["--mass", str(mass), "--speed", str(speed), "--foot", f"{foot:.1f}", "--threshold", "50"]
            csv_path, rec = os.path.join(d, "trace.csv"), os.path.join(d, "run.rec")
            ds.write(trace, csv_path)
            direct = steps_of(binary, csv_path, options)
            form = "cells, text" if k == 0 else "cells"
            cells_recording(rec, trace, rate, k == 0)
            mine = steps_of(binary, rec, options + ["--profile", os.path.join(d, "cells.ini")])
            lines.append(hold_against(tally, name, form, mine, direct))
            if k % 3 != 0 and k % 4 != 2:
                continue
            seen, heel, share = on_foot(trace, rate, speed, foot, mass)
            ds.write(seen, csv_path)
            direct = steps_of(binary, csv_path, options)
            form = "mat, dense" if k == 0 else "mat"
            n_full = mat_recording(rec, seen, heel, share, rate, foot, k == 0)
            mine = steps_of(binary, rec, options + ["--profile", os.path.join(d, "mat.ini")])
            lines.append(hold_against(tally, name, form, mine, direct))
            tally.check(n_full == 0, f"{name} as mat: {n_full} pictures at full scale")
    return lines


def main():
    if len(sys.argv) < 2:
        print(__doc__, file=sys.stderr)
        return 2
    data = sys.argv[2] if len(sys.argv) > 2 else cmp.recordings.folder()
    tally = cmp.Tally("--verbose" in sys.argv)
    print("\n".join(run_all(os.path.abspath(sys.argv[1]), data, tally)))
    print(f"{tally.passed} passed, {tally.failed} failed, {tally.skipped} skipped")
    return 1 if tally.failed else 0


if __name__ == "__main__":
    sys.exit(main())
