#!/usr/bin/python3
"""downsample.py - what coarser sampling, coarser steps and lost samples do to every metric.

    downsample.py BIN SIM_TRUTH [DATA_DIR]

Three sets: the recorded treadmill runs (300 Hz), the recorded slope runs (500 Hz, low-passed by their
makers: no loading rate in them) and simulated runs written by SIM_TRUTH --trace at 2000 Hz, whose truth is
known. Each trace is thinned (every n-th sample, or straight lines between samples where the rates do not
divide, as a sensor without an own low-pass would give it), rounded to 8, 10 or 12 bits of 3 body weights,
or robbed of 1 or 5 % of its rows, and measured by `BIN steps`. Error = that less the same run's value at its
native rate (recorded) or less the truth (simulated), step by step.

The lowest rate at which a metric counts as measured is the lowest one at which, in every set that can tell,
    bias <= BIAS_LIMIT and mean absolute error <= ERROR_LIMIT of the metric's mean,
at it and at every higher rate; of the simulated set the change against its highest rate counts, since what
is off there too is no matter of sampling. The engine's measure_min_rate_hz() must not be lower.
"""
import csv
import math
import os
import sys
import tempfile

import numpy as np

import compare as cmp
import markers as mk
import reference_steps as ref

BIAS_LIMIT, ERROR_LIMIT = 0.03, 0.05
# Where a share of the mean says little: the limits in the metric's own unit (bias, mean absolute error).
OWN_LIMITS = {"strike_index_pct": (2.0, 5.0), "landing_ahead_mm": (5.0, 10.0), "strike_travel_mm": (3.0, 8.0), "impact_transient": (0.03, 0.05)}
METRICS = ("step_time_s", "contact_ms", "flight_ms", "duty_factor", "peak_force_bw", "load_rate_bw_s",
           "load_rate_max_bw_s", "impact_transient", "transient_bw", "transient_ms", "com_drop_mm", "com_low_ms",
           "stiffness_kn_m", "strike_index_pct", "strike_travel_mm", "landing_ahead_mm")
LOADING = ("load_rate_bw_s", "load_rate_max_bw_s", "impact_transient", "transient_bw", "transient_ms")
RATES = {"treadmill": (250, 200, 150, 100, 50), "slope": (250, 100, 50),
         "simulated": (1000, 500, 300, 250, 200, 150, 100, 50)}
N_PICKED = 9  # recorded runs for the tables of steps and losses


def thin(trace, rate, to):
    """The trace at a lower rate: every n-th row, or straight lines between rows."""
    n = rate / to
    if abs(n - round(n)) < 1e-9:
        return {k: v[::int(round(n))] for k, v in trace.items()}
    t = np.arange(trace["t"][0], trace["t"][-1], 1.0 / to)
    return {k: t if k == "t" else np.interp(t, trace["t"], v) for k, v in trace.items()}


def quantise(trace, bits, weight):
    step = 3.0 * weight / 2 ** bits
    return dict(trace, fz=np.round(trace["fz"] / step) * step)


def lose(trace, share, seed):
    keep = np.random.default_rng(seed).random(len(trace["t"])) >= share
    keep[:2] = True
    return {k: v[keep] for k, v in trace.items()}


def write(trace, path):
    names = [c for c in ("t", "fz", "copx", "copy") if c in trace]
    with open(path, "w") as f:
        f.write(",".join(names) + "\n")
        columns = [trace[c] for c in names]
        for row in zip(*columns):
            f.write(",".join("" if v != v else f"{v:.6f}" if i == 0 else f"{v:.2f}" for i, v in enumerate(row)) + "\n")


class Run:
    """One trace with what is known of it: a table to hold against, as columns."""

    def __init__(self, name, trace, rate, options, weight, truth=None):
        self.name, self.trace, self.rate, self.options, self.weight = name, trace, rate, options, weight
        self.truth = truth


def measure(binary, run, trace, rate):
    """Rows of `BIN steps`. The rate is not given: column t tells, so that lost rows show as holes."""
    with tempfile.TemporaryDirectory() as d:
        path = os.path.join(d, "trace.csv")
        write(trace, path)
        code, rows, err = cmp.run_steps(binary, path, *run.options)
    if code != 0:
        print(f"{run.name} at {rate:g} Hz: {err.strip()}")
    return rows


def errors(rows, truth):
    """{metric: (differences, values)} over paired steps; and (paired, lost, made up)."""
    if not rows:
        return {}, (0, len(truth["touchdown_s"]), 0)
    mine = cmp.column(rows, "touchdown_s")
    pairs = []
    for i, t in enumerate(mine):
        j = int(np.argmin(np.abs(truth["touchdown_s"] - t)))
        if abs(truth["touchdown_s"][j] - t) < 0.06:
            pairs.append((i, j))
    i, j = np.array([p[0] for p in pairs], int), np.array([p[1] for p in pairs], int)
    out = {}
    for m in METRICS:
        if m in truth and len(i):
            # The loading peak is another one when the transient is seen differently: counted by impact_transient.
            a, b = cmp.column(rows, m)[i], truth[m][j]
            out[m] = (a - b, b)
    t = truth["touchdown_s"]
    inside = int(np.sum((t > mine[0] - 0.06) & (t < mine[-1] + 0.06)))
    made_up = int(np.sum((mine > t[0] + 0.06) & (mine < t[-1] - 0.06))) - int(np.sum((t[j] > t[0]) & (t[j] < t[-1])))
    return out, (len(pairs), inside - len(set(j)), max(0, made_up))


def pooled(parts):
    """{metric: dict(bias, mae, share_known, mean)} of many runs' errors."""
    out = {}
    for m in METRICS:
        d = [p[m][0] for p in parts if m in p]
        if not d:
            continue
        d, b = np.concatenate(d), np.concatenate([p[m][1] for p in parts if m in p])
        ok = np.isfinite(d)
        if np.isfinite(b).sum() < 20:
            continue
        mean = 1.0 if m in OWN_LIMITS else abs(float(np.nanmean(b)))
        out[m] = {"bias": float(np.mean(d[ok])) / mean if ok.any() else math.nan,
                  "mae": float(np.mean(np.abs(d[ok]))) / mean if ok.any() else math.nan,
                  "known": float(ok.sum() / np.isfinite(b).sum())}
    return out


def study(binary, runs, change, rate):
    parts, counts = [], np.zeros(3, int)
    for k, run in enumerate(runs):
        got, n = errors(measure(binary, run, change(run, k), rate), run.truth)
        parts.append(got)
        counts += n
    return pooled(parts), counts


# ------------------------------------------------------------------------------------------- the sets
def native_truth(binary, run):
    rows = measure(binary, run, run.trace, run.rate)
    return {c: cmp.column(rows, c) for c in METRICS + ("touchdown_s",)}


def recorded(binary, data):
    """Runs of the recorded sets, native values as truth."""
    sets = {"treadmill": [], "slope": []}
    for kind, folder, rate in (("treadmill", "treadmill-runs", 300), ("slope", "slope-runs", 500)):
        path = os.path.join(data, folder)
        if not os.path.isdir(path):
            continue
        for row in cmp.table(os.path.join(path, "runs.csv")):
            file = os.path.join(path, row["run"] + ".csv")
            if not os.path.exists(file):
                continue
            trace = ref.read_csv(file)
            trace = {k: v for k, v in trace.items() if k in ("t", "fz", "copx", "copy")}
            trace.setdefault("t", np.arange(len(trace["fz"])) / rate)
            foot = mk.foot_length_mm(float(row["shoe_size_us"])) if row.get("shoe_size_us") else None
            options = cmp.options_of(row, rate, foot)[2:]
            sets[kind].append(Run(row["run"], trace, rate, options, float(row["mass_kg"]) * ref.GRAVITY))
    for runs in sets.values():
        for run in runs:
            run.truth = native_truth(binary, run)
    return sets


def simulated(sim_truth):
    runs = []
    with tempfile.TemporaryDirectory() as d:
        cmp.subprocess.run([sim_truth, "--trace", d, "--rate", "2000"], check=True)
        for name in sorted(n for n in os.listdir(d) if n.endswith("_truth.csv")):
            truth = ref.read_csv(os.path.join(d, name))
            trace = ref.read_csv(os.path.join(d, name.replace("_truth", "")))
            mass = float(truth["mass_kg"][0])
            options = ["--mass", f"{mass}", "--speed", f"{truth['speed_m_s'][0]}", "--foot", f"{truth['foot_mm'][0]}",
                       "--threshold", str(cmp.THRESHOLD_N)]
            # The first steps of a simulated run are not yet periodic.
            runs.append(Run(name.replace("_truth.csv", ""), trace, 2000, options, mass * ref.GRAVITY,
                            {k: v[2:-2] for k, v in truth.items()}))
    return runs


# ------------------------------------------------------------------------------------------- the result
def is_good(metric, figure, base=None):
    """Within the limits. base: what is off at the highest rate too."""
    bias, mae = OWN_LIMITS.get(metric, (BIAS_LIMIT, ERROR_LIMIT))
    off, error = (figure["bias"] - base["bias"], figure["mae"] - base["mae"]) if base else (figure["bias"], figure["mae"])
    return abs(off) <= bias and error <= mae and figure["known"] >= 0.9


def lowest_rates(tables):
    """{metric: lowest rate at which it is good in every set that can tell}."""
    out = {}
    for m in METRICS:
        worst = 0
        for kind, by_rate in tables.items():
            if (kind == "slope" and m in LOADING) or not any(m in f for f in by_rate.values()):
                continue
            good = math.inf
            base = by_rate[max(by_rate)].get(m) if kind == "simulated" else None
            for rate in sorted(by_rate, reverse=True):
                if m not in by_rate[rate] or not is_good(m, by_rate[rate][m], base):
                    break
                good = rate
            if good is math.inf and kind == "treadmill":
                good = 300  # its native rate
            worst = max(worst, good)
        out[m] = worst
    return out


def cell(metric, figure):
    if figure is None:
        return "–"
    if metric in OWN_LIMITS:
        unit = {"strike_index_pct": "", "landing_ahead_mm": " mm", "strike_travel_mm": " mm"}.get(metric)
        if unit is None:
            return f"{100 * figure['bias']:+.0f} / {100 * figure['mae']:.0f} %"
        return f"{figure['bias']:+.1f} / {figure['mae']:.1f}{unit}"
    return f"{100 * figure['bias']:+.1f} / {100 * figure['mae']:.1f} %"


def table_lines(title, columns, figures, counts=None):
    lines = ["", title, "", "| metric | " + " | ".join(columns) + " |", "|---" * (len(columns) + 1) + "|"]
    for m in METRICS:
        if any(m in f for f in figures):
            lines.append(f"| {m} | " + " | ".join(cell(m, f.get(m)) for f in figures) + " |")
    if counts is not None:
        lines.append("| steps lost, made up | " + " | ".join(f"{c[1]}, {c[2]} of {c[0] + c[1]}" for c in counts) + " |")
    return lines


def filter_lines(binary, runs, tally):
    """What the 50 Hz low-pass does to loading rate: measured over true, with and without a transient."""
    lines = ["", "What the 50 Hz low-pass does to the mean loading rate: measured over the unfiltered noise-free "
             "curve's own (simulated), at 250, 500 and 1000 Hz.", "",
             "| rate | impact transient | no transient | both, mean (lowest, highest single step) |", "|---|---|---|---|"]
    for rate in (250, 500, 1000):
        ratio, has = [], []
        for run in runs:
            rows = measure(binary, run, thin(run.trace, run.rate, rate), rate)
            mine = cmp.column(rows, "touchdown_s")
            for t, true, transient in zip(run.truth["touchdown_s"], run.truth["load_rate_unfiltered_bw_s"],
                                          run.truth["impact_transient"]):
                k = int(np.argmin(np.abs(mine - t)))
                value = cmp.column(rows[k:k + 1], "load_rate_bw_s")[0]
                if abs(mine[k] - t) < 0.06 and math.isfinite(value / true):
                    ratio.append(value / true)
                    has.append(transient > 0.5)
        ratio, has = np.array(ratio), np.array(has)
        lines.append(f"| {rate} Hz | {ratio[has].mean():.3f} | {ratio[~has].mean():.3f} | {ratio.mean():.3f} "
                     f"({ratio.min():.3f}, {ratio.max():.3f}) |")
        tally.check(0.8 < ratio.mean() < 1.1, f"filter: loading rate {ratio.mean():.3f} of the unfiltered at {rate} Hz")
    return lines


def run_all(binary, sim_truth, data, tally):
    """Markdown lines; checks go to the tally."""
    sets = recorded(binary, data)
    sets["simulated"] = simulated(sim_truth)
    tables, lines = {}, []
    for kind, runs in sets.items():
        if not runs:
            tally.skip(f"down-sampling, {kind}: no data")
            continue
        figures, counts = [], []
        for rate in RATES[kind]:
            f, c = study(binary, runs, lambda run, _, to=rate: thin(run.trace, run.rate, to), rate)
            figures.append(f)
            counts.append(c)
            # At 50 Hz a flight has four samples: the first steps of a trace may lie 80 ms off and then pair with none.
            limit = 0.0 if rate >= 100 else 0.03
            tally.check(c[1] + c[2] <= limit * max(1, c[0]), f"{kind} at {rate} Hz: {c[1]} steps lost, {c[2]} made up of {c[0]}")
        tables[kind] = dict(zip(RATES[kind], figures))
        native = "truth" if kind == "simulated" else f"{runs[0].rate} Hz"
        lines += table_lines(f"{kind.capitalize()} runs ({len(runs)}), against their {native}: bias / mean absolute "
                             "error of a step.", [f"{r} Hz" for r in RATES[kind]], figures, counts)
    lowest = lowest_rates(tables)
    picked = sets["treadmill"][::max(1, len(sets["treadmill"]) // N_PICKED)]
    if picked:
        figures, counts, columns = [], [], []
        for rate in (300, 100):
            for bits in (12, 10, 8):
                f, c = study(binary, picked, lambda r, _, to=rate, b=bits: quantise(thin(r.trace, r.rate, to), b, r.weight), rate)
                columns.append(f"{rate} Hz {bits} bit")
                figures.append(f)
                counts.append(c)
                tally.check(c[1] + c[2] == 0, f"{rate} Hz in {bits} bits: {c[1]} steps lost, {c[2]} made up")
        lines += table_lines(f"Steps of 3 BW / 2^bits, {len(picked)} treadmill runs, against 300 Hz unrounded.", columns, figures, counts)
        figures, counts, columns = [], [], []
        for rate in (300, 100):
            for share in (0.01, 0.05):
                f, c = study(binary, picked, lambda r, k, to=rate, s=share: lose(thin(r.trace, r.rate, to), s, k), rate)
                columns.append(f"{rate} Hz {share * 100:.0f} % lost")
                figures.append(f)
                counts.append(c)
                tally.check(c[1] + c[2] <= 0.01 * c[0], f"{rate} Hz, {share * 100:.0f} % lost: {c[1]} steps lost, {c[2]} made up")
        lines += table_lines(f"Lost rows, {len(picked)} treadmill runs, against 300 Hz whole.", columns, figures, counts)
    lines += filter_lines(binary, sets["simulated"], tally)
    return lines, lowest


def main():
    if len(sys.argv) < 3:
        print(__doc__, file=sys.stderr)
        return 2
    data = sys.argv[3] if len(sys.argv) > 3 else cmp.recordings.folder()
    tally = cmp.Tally(False)
    lines, lowest = run_all(os.path.abspath(sys.argv[1]), os.path.abspath(sys.argv[2]), data, tally)
    print("\n".join(lines))
    print("\nlowest rate at which a metric is measured:", lowest)
    print(f"{tally.passed} passed, {tally.failed} failed, {tally.skipped} skipped")
    return 1 if tally.failed else 0


if __name__ == "__main__":
    sys.exit(main())
