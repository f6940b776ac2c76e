#!/usr/bin/python3
"""braking.py - braking out of the vertical load alone: the program's step table against measured fore-aft force.

    braking.py BIN [DATA_DIR]

The runs of shared/data/braking-runs (6 runners at 2-5 m/s, forces low-passed at 15 Hz by their makers; one unfiltered run)
through `BIN steps` with mass, belt speed and a leg of 0.55 of stature / 1.04; beside them the measured fore-aft force, its
50 Hz low-pass by SciPy, over the same contacts. Error bars (src/coach/error_bar.c) are worked out anew without each runner
and tried on that runner. What was tried for the estimate beside what is in use is computed here, from force and COP alone.
Goals are checked as they stand. One that is not met is printed as not met and counted as failed. Exit code 1 then.
"""
import math
import os
import re
import sys
import tempfile

import numpy as np
from scipy.signal import butter, filtfilt

import compare as cmp
import landing
import recordings

G, CUTOFF_HZ, LEG_SHARE, HEIGHT_SHARE = 9.81, 50, 0.55 / 1.04, 0.55
FIGURES = ("braking_impulse_bw_s", "peak_braking_bw", "braking_end_pct")
NAMES = ("impulse", "peak", "end")
UNITS = ("mBW s", "BW", "% of contact")
SCALE = (1e3, 1, 1)  # impulse in mBW s
SHOWN = 1.96         # 95 % of a normal spread
LEAD_PCT = 4.4       # src/gait/braking.h
ERROR_BAR_C = os.path.normpath(os.path.join(os.path.dirname(os.path.abspath(__file__)), "../../src/coach/error_bar.c"))


def lowpass(x, rate_hz):
    b, a = butter(2, CUTOFF_HZ / (rate_hz / 2))
    return filtfilt(b, a, x)


def figures(forward_bw, dt_s):
    """(impulse mBW s, peak BW, end %) of a fore-aft force over one contact."""
    return -np.minimum(forward_bw, 0).sum() * dt_s * 1e3, -forward_bw.min(), 100 * np.argmin(np.cumsum(forward_bw)) / len(forward_bw)


class Run:
    """One recording with the program's steps beside the measured figures."""

    def __init__(self, binary, row, path, traces=None):
        self.name, self.mass, self.speed = row["run"], float(row["mass_kg"]), float(row["belt_m_s"])
        self.runner = "_".join(self.name.split("_")[:2])
        self.stature_mm, self.weight_n = float(row["stature_m"]) * 1e3, float(row["mass_kg"]) * G
        a = np.genfromtxt(traces or path, delimiter=",", names=True)
        self.t, self.fz, self.fx, self.cop = a["t"], np.nan_to_num(a["fz"]), np.nan_to_num(a["fx"]), a["copy"]
        self.rate_hz = 1 / np.median(np.diff(self.t))
        code, self.steps, err = cmp.run_steps(binary, path, "--mass", row["mass_kg"], "--speed", row["belt_m_s"],
                                              "--leg", f"{self.stature_mm * LEG_SHARE:.1f}")
        if code != 0:
            raise RuntimeError(f"{self.name}: {err}")
        self.down = np.array([landing.number(s["touchdown_s"]) for s in self.steps])
        self.off = np.array([landing.number(s["toeoff_s"]) for s in self.steps])
        self.fx_low = lowpass(self.fx, self.rate_hz)
        got, true, side = [], [], []
        for k, s in enumerate(self.steps):
            mine = [landing.number(s[f]) * m for f, m in zip(FIGURES, SCALE)]
            if not all(map(math.isfinite, mine)) or not math.isfinite(self.off[k]):
                continue
            got.append(mine)
            true.append(self.measured(k))
            side.append(s["side"])
        self.got, self.true, self.side = np.array(got), np.array(true), np.array(side)

    def measured(self, k):
        z = (self.t >= self.down[k]) & (self.t <= self.off[k])
        return figures(self.fx_low[z] / self.weight_n, 1 / self.rate_hz)

    def r(self, j):
        return np.corrcoef(self.got[:, j], self.true[:, j])[0, 1]

    def off_by(self, j):
        return self.got[:, j] - self.true[:, j]

    def sides(self, j):
        """Right less left: (estimated, measured)."""
        right, left = self.side == "right", self.side == "left"
        return tuple(x[right, j].mean() - x[left, j].mean() for x in (self.got, self.true))


def change_shares(runs, j):
    """Estimated over measured change from 2 m/s to 3, 4, 5, over the runners together."""
    out = []
    for speed in (3, 4, 5):
        pairs = [(a, b) for a in runs for b in runs if a.runner == b.runner and a.speed == 2 and b.speed == speed]
        out.append(sum(b.got[:, j].mean() - a.got[:, j].mean() for a, b in pairs) / sum(b.true[:, j].mean() - a.true[:, j].mean() for a, b in pairs))
    return out


# ------------------------------------------------------------------------------------------- error bars
def spreads(runs, j):
    """(of a run's mean, of single steps, of a runner's runs about the runner's own mean)."""
    mean = np.array([r.off_by(j).mean() for r in runs])
    step = np.sqrt(np.mean([r.off_by(j).var() for r in runs]))
    own, n, people = 0.0, 0, sorted({r.runner for r in runs})
    for p in people:
        d = mean[[r.runner == p for r in runs]]
        if len(d) > 1:
            own, n = own + ((d - d.mean()) ** 2).sum(), n + len(d) - 1
    return np.sqrt((mean ** 2).mean()), step, np.sqrt(own / n)


def in_use(j):
    """The three constants of the program, in the units of this page."""
    with open(ERROR_BAR_C) as f:
        m = re.search(r"\[METRIC_" + FIGURES[j].upper() + r"\] = \{ ([0-9.]+), ([0-9.]+), ([0-9.]+) \}", f.read())
    return tuple(float(x) * SCALE[j] for x in m.groups())


def covered(runs, j, spread_for):
    """Shares inside the 95 % bar: single steps, runs' means, changes between two runs of a runner."""
    step, mean, change = [], [], []
    for p in sorted({r.runner for r in runs}):
        run_sd, step_sd, own_sd = spread_for(p)
        mine = [r for r in runs if r.runner == p]
        for k, r in enumerate(mine):
            off = r.off_by(j)
            step.append((np.abs(off) <= SHOWN * np.hypot(run_sd, step_sd)).mean())
            mean.append(abs(off.mean()) <= SHOWN * np.hypot(run_sd, step_sd / np.sqrt(len(off))))
            for other in mine[:k]:
                width = np.sqrt(2 * own_sd ** 2 + step_sd ** 2 * (1 / len(off) + 1 / len(other.got)))
                change.append(abs(off.mean() - other.off_by(j).mean()) <= SHOWN * width)
    return np.mean(step), np.mean(mean), np.mean(change)


def error_bar_lines(runs, g, tally):
    for j, name in enumerate(NAMES):
        out = {p: spreads([r for r in runs if r.runner != p], j) for p in {r.runner for r in runs}}
        left_out, used = covered(runs, j, lambda p: out[p]), in_use(j)
        now = covered(runs, j, lambda p: used)
        for k, what in enumerate(("a single step", "a run's mean", "a change between two runs of a runner")):
            words = f"{name}: 95 % bar of {what} covers, constants of the other runners"
            if used[2] == 0 and k == 2:
                g.tell(words, f"{left_out[k]:.3f}: the program gives none")
            else:
                g.add(words, left_out[k], 0.90 <= left_out[k] <= 0.98, "0.90 to 0.98")
        if used[2] == 0:
            now = now[:2]
        g.tell(f"{name}: the same with the constants in use", ", ".join(f"{x:.3f}" for x in now))
        all_of = spreads(runs, j)
        g.tell(f"{name}: sd of a run, of a step, of a runner's own runs, {UNITS[j]} (in use)",
               "; ".join(f"{a:.3g} ({b:.3g})" for a, b in zip(all_of, used)))
        tally.check(all(abs(b / a - 1) < 0.10 for a, b in zip(all_of, used) if b > 0), f"{name}: error bar's constants are the runs' own, {all_of}, {used}")
        narrow = [SHOWN * np.hypot(used[0], used[1] / np.sqrt(200)), SHOWN * np.sqrt(2 * used[2] ** 2 + used[1] ** 2 / 100)]
        g.tell(f"{name}: half width for the mean of 200 steps, for a change between two such, {UNITS[j]}",
               ", ".join(f"{x:.3g}" for x in narrow[:2 if used[2] > 0 else 1]))


# ------------------------------------------------------------------------------------------- what was tried
ONE, TWO, THREE = (0.5, 1, 0.5), (0.5, 1, 1, 1, 0.5), (0.5, 1, 1, 1, 1, 1, 0.5)


def estimates(run, window, sinks=False):
    """[(force curve of 100 parts, measured, contact s)] of the steps that the window fits around; window None: last two."""
    dt, t = 1 / run.rate_hz, run.t
    ok = np.isfinite(run.cop) & (run.fz > 20)
    moment, force = np.where(ok, run.fz * np.nan_to_num(run.cop), 0), np.where(ok, run.fz, 0)
    z = [(t >= a) & (t < b) for a, b in zip(run.down[:-1], run.down[1:])]
    sums = np.array([(moment[i].sum(), force[i].sum()) for i in z])
    reach, out, part = (len(window) // 2 if window else 1), [], (np.arange(100) + 0.5) / 100
    for k in range(3, len(sums) - 3):
        if not math.isfinite(run.off[k]):
            continue
        of = sums[k - 1:k + 1].sum(axis=0) if window is None else np.array(window) @ sums[k - reach:k + reach + 1]
        near = (t >= run.down[k] - 0.1) & (t <= run.off[k] + 0.1)
        height = HEIGHT_SHARE * run.stature_mm
        if sinks:
            stride = (t >= run.down[k - 1]) & (t < run.down[k + 1])
            speed = np.cumsum(run.fz[stride] / run.fz[stride].mean() - 1) * G * dt
            place = np.cumsum(speed - speed.mean()) * dt * 1e3
            down = np.interp(t[near], t[stride], place) - np.interp(run.down[k], t[stride], place)
            height = height + np.where(t[near] < run.down[k], 0, down)
        curve = lowpass(-(moment[near] - of[0] / of[1] * force[near]) / height, run.rate_hz) / run.weight_n
        contact = run.off[k] - run.down[k]
        at = run.down[k] + part * contact
        out.append((np.interp(at, t[near], curve), np.interp(at, t, run.fx_low) / run.weight_n, contact))
    return out


def tried_line(name, by_run, runs):
    got, true = {}, {}
    for r in runs:
        got[r.name] = np.array([figures(e, c / 100) for e, _, c in by_run[r.name]])
        true[r.name] = np.array([figures(m, c / 100) for _, m, c in by_run[r.name]])
    cells = [name]
    for j in (0, 1):
        r_in = np.median([np.corrcoef(got[n][:, j], true[n][:, j])[0, 1] for n in got])
        bias = np.mean([got[n][:, j].mean() - true[n][:, j].mean() for n in got]) / np.mean([true[n][:, j].mean() for n in got])
        between = np.std([got[n][:, j].mean() - true[n][:, j].mean() for n in got], ddof=1)
        change = []
        for speed in (3, 4, 5):
            pairs = [(a.name, b.name) for a in runs for b in runs if a.runner == b.runner and a.speed == 2 and b.speed == speed]
            change.append(sum(got[b][:, j].mean() - got[a][:, j].mean() for a, b in pairs) / sum(true[b][:, j].mean() - true[a][:, j].mean() for a, b in pairs))
        cells += [f"{r_in:.3f}", f"{bias * 100:+.1f}", f"{between:.3g}", ", ".join(f"{c:.2f}" for c in change)]
    return "| " + " | ".join(cells) + " |"


def tried_lines(runs):
    lines = ["", "| mass centre | impulse: r within | bias % | sd between runs | change to 3, 4, 5 m/s | peak: r within | bias % | sd between runs | change |",
             "|---|---|---|---|---|---|---|---|---|"]
    two = {r.name: estimates(r, TWO) for r in runs}
    for name, window in (("last two contacts (live)", None), ("one stride around", ONE), ("**two strides around (in use)**", TWO), ("three strides", THREE)):
        lines.append(tried_line(name, {r.name: estimates(r, window) for r in runs}, runs))
    lines.append(tried_line("two, height less the body's drop", {r.name: estimates(r, TWO, True) for r in runs}, runs))
    patterned = {}
    for r in runs:  # the mean of what the estimate lacks in the other runners, by share of contact
        lack = np.mean([np.mean([m - e for e, m, _ in two[o.name]], axis=0) for o in runs if o.runner != r.runner], axis=0)
        patterned[r.name] = [(e + lack, m, c) for e, m, c in two[r.name]]
    lines.append(tried_line("two, with the others' pattern of angular momentum", patterned, runs))
    lead = [np.mean([figures(m, c)[2] - figures(e, c)[2] for e, m, c in two[r.name]]) for r in runs]
    people = sorted({r.runner for r in runs})
    others = [np.mean([x for x, r in zip(lead, runs) if r.runner != p]) for p in people]
    lines += ["", f"Lead of the estimate, % of contact: {np.mean(lead):.2f}, sd between runs {np.std(lead, ddof=1):.2f}; without one runner each "
              f"{min(others):.2f} to {max(others):.2f} ({LEAD_PCT} is added to the end, and to nothing else: impulse and peak don't change by it)."]
    return lines


# ------------------------------------------------------------------------------------------- where it fails
def one_foot_off(binary, row, path, by_mm):
    """The run with the right foot's COP read by_mm too far forward."""
    plain = Run(binary, row, path)
    with open(path) as f:
        head, *body = f.read().splitlines()
    names = head.split(",")
    at_t, at_cop = names.index("t"), names.index("copy")
    edges = [(plain.down[k] - 0.02, plain.off[k] + 0.02 if math.isfinite(plain.off[k]) else plain.down[k] + 0.4)
             for k, s in enumerate(plain.steps) if s["side"] == "right"]
    with tempfile.TemporaryDirectory() as folder:
        spoilt = os.path.join(folder, "trace.csv")
        with open(spoilt, "w") as f:
            f.write(head + "\n")
            for line in body:
                cells = line.split(",")
                if cells[at_cop] and any(a <= float(cells[at_t]) <= b for a, b in edges):
                    cells[at_cop] = f"{float(cells[at_cop]) + by_mm:.2f}"
                f.write(",".join(cells) + "\n")
        return Run(binary, row, spoilt, path)


def failing_lines(binary, rows, folder, runs):
    lines = ["", "| right foot's COP off by, mm | impulse: r within a run, median | lowest | right less left, off by, mBW s | runs whose difference is above all measured |",
             "|---|---|---|---|---|"]
    most = max(abs(r.sides(0)[1]) for r in runs)
    some = [r for r in rows if r["run"].endswith("_30") or r["run"].endswith("_25")]
    for by in (0, 10, 20, 40):
        got = [one_foot_off(binary, r, os.path.join(folder, r["run"] + ".csv"), by) for r in some]
        off = [g.sides(0)[0] - g.sides(0)[1] for g in got]
        seen = sum(abs(g.sides(0)[0]) > most for g in got)
        r_in = [g.r(0) for g in got]
        lines.append(f"| {by} | {np.median(r_in):.2f} | {min(r_in):.2f} | {np.mean(off):+.1f} | {seen} of {len(got)} |")
    lines += ["", f"Largest difference between the feet that was measured in any run: {most:.1f} mBW s."]
    return lines


# ------------------------------------------------------------------------------------------- the whole
def goal_lines(runs, alone, tally):
    g = landing.Goals(tally)
    g.tell("runs, runners, steps", f"{len(runs)}, {len({r.runner for r in runs})}, {sum(len(r.got) for r in runs)}")
    for j, name in enumerate(NAMES):
        mean = np.array([(r.got[:, j].mean(), r.true[:, j].mean()) for r in runs])
        bias = (mean[:, 0] - mean[:, 1]).mean() / mean[:, 1].mean()
        r_in = [r.r(j) for r in runs]
        sides = np.corrcoef(np.array([r.sides(j) for r in runs]).T)[0, 1]
        change = change_shares(runs, j)
        same = [np.corrcoef(mean[[r.speed == v for r in runs]].T)[0, 1] for v in (2, 3, 4, 5)]
        g.tell(f"{name}: measured, {UNITS[j]}; estimated; sd of the difference between runs; step to step",
               f"{mean[:, 1].mean():.3f}; {mean[:, 0].mean():.3f}; {(mean[:, 0] - mean[:, 1]).std(ddof=1):.3f}; {np.mean([r.off_by(j).std() for r in runs]):.3f}")
        if j == 2:
            g.tell("end: bias, % of contact; r within a run, median", f"{(mean[:, 0] - mean[:, 1]).mean():+.2f}; {np.median(r_in):.3f}")
            continue
        g.least(f"{name}: r within a run, median", np.median(r_in), (0.85, 0.70)[j], ("0.85", "0.70")[j])
        g.tell(f"{name}: the lowest run", f"{min(r_in):.2f}, {runs[int(np.argmin(r_in))].name}")
        g.most(f"{name}: bias, share of the measured", abs(bias), 0.05, "0.05")
        for speed, c in zip((3, 4, 5), change):
            g.add(f"{name}: change from 2 to {speed} m/s over the measured change", c, 0.8 <= c <= 1.2, "0.80 to 1.20")
        g.least(f"{name}: right less left, r over the runs", sides, 0.75, "0.75")
        g.tell(f"{name}: r between run means; the same among runs of one speed (2, 3, 4, 5 m/s)",
               f"{np.corrcoef(mean.T)[0, 1]:.2f}; {', '.join(f'{x:.2f}' for x in same)}")
    for r in alone:
        for j, name in enumerate(NAMES[:2]):
            g.tell(f"unfiltered run, {r.name}: {name} measured, estimated, r within, right less left measured, estimated",
                   f"{r.true[:, j].mean():.3f}, {r.got[:, j].mean():.3f}, {r.r(j):.2f}, {r.sides(j)[1]:.3f}, {r.sides(j)[0]:.3f}")
    return g


def run_lines(runs):
    lines = ["", "| run | steps | impulse mBW s: measured, estimated | r | peak BW: measured, estimated | r | end %: measured, estimated |", "|---" * 7 + "|"]
    for r in runs:
        m, e = r.true.mean(axis=0), r.got.mean(axis=0)
        lines.append(f"| {r.name} | {len(r.got)} | {m[0]:.1f}, {e[0]:.1f} | {r.r(0):.2f} | {m[1]:.3f}, {e[1]:.3f} | {r.r(1):.2f} | {m[2]:.1f}, {e[2]:.1f} |")
    return lines


def run_all(binary, data, tally):
    """Lines for the page."""
    folder = os.path.join(data, "braking-runs")
    if not os.path.isdir(folder):
        tally.skip("braking against measured fore-aft force: no such recordings")
        return ["", "Not measured this time: needs the recordings."]
    rows = cmp.table(os.path.join(folder, "runs.csv"))
    all_runs = [Run(binary, r, os.path.join(folder, r["run"] + ".csv")) for r in rows]
    runs, alone = [r for r in all_runs if r.name.startswith("hamner")], [r for r in all_runs if not r.name.startswith("hamner")]
    g = goal_lines(runs, alone, tally)
    error_bar_lines(runs, g, tally)
    with_one_off = failing_lines(binary, rows, folder, all_runs)
    return g.lines + run_lines(all_runs) + ["", "What was tried (computed by tests/reference/braking.py; runners left out where something is fitted):"] + \
        tried_lines(runs) + ["", "Where it fails: when the feet's COP are not on one scale (a deck of two plates, a mat with a seam)."] + with_one_off


def main():
    if len(sys.argv) < 2:
        print(__doc__, file=sys.stderr)
        return 2
    data = sys.argv[2] if len(sys.argv) > 2 else recordings.folder()
    tally = cmp.Tally(False)
    print("\n".join(run_all(os.path.abspath(sys.argv[1]), data, tally)))
    print(f"{tally.passed} passed, {tally.failed} failed, {tally.skipped} skipped")
    return 1 if tally.failed else 0


if __name__ == "__main__":
    sys.exit(main())
