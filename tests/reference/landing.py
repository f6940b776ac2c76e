#!/usr/bin/python3
"""landing.py - landing, strike and slow running: the program's step table against body markers and made-up slow runners.

    landing.py BIN [DATA_DIR]

Landing and strike: every treadmill run through `BIN steps` with its belt speed and foot length, step by step beside the
markers' truth (shared/tools/truth_from_markers.py, written apart from the program). Strike once more with the belt
speed 1 and 3 % wrong, and with each runner left out when the borders are set.
Slow running: the 2 m/s runs of shared/data/braking-runs against the plain 50 N crossings of their force; and runners
made up here (no line of the program's simulator): 1.8-3 m/s, duty factors 0.38-0.55, two walkers.
Goals are checked as they stand. One that is not met is printed as not met and counted as failed. Exit code 1 then.
"""
import csv
import io
import math
import os
import subprocess
import sys
import tempfile

import numpy as np

import compare as cmp
import markers as mk
import recordings

REAR_DEG, FORE_DEG = 8.0, -1.6  # Altman and Davis 2012 (facts A)
REAR_MM, FORE_MM, BORDER_MM = -76.0, -31.0, 4.0  # src/gait/strike.h; checked against the table's zones
FAR_SHARE = 0.25  # src/coach/tally.c
PAIR_S = 0.03
EDGE_LIMIT_MS = 5.0
MADE_UP_LIMIT_MS = 10.0
SPEEDS_M_S, DUTIES, MADE_UP_HZ = (1.8, 2.2, 2.6, 3.0), (0.38, 0.42, 0.46, 0.50, 0.55), 500


class Goals:
    """Goals as printed lines: figure, limit, met or not."""

    def __init__(self, tally):
        self.tally, self.lines = tally, ["", "| figure | here | goal | |", "|---|---|---|---|"]

    def most(self, what, value, limit, text):
        self.add(what, value, value <= limit, "at most " + text)

    def least(self, what, value, limit, text):
        self.add(what, value, value >= limit, "at least " + text)

    def add(self, what, value, ok, text):
        ok = bool(ok)
        shown = f"{value:.4f}" if abs(value) < 0.01 and value else f"{value:.3f}" if abs(value) < 2 else f"{value:.1f}"
        self.lines.append(f"| {what} | {shown} | {text} | {'met' if ok else '**not met**'} |")
        self.tally.check(ok, f"{what}: {shown}, goal {text}")

    def tell(self, what, value):
        self.lines.append(f"| {what} | {value} | | |")


def number(text):
    return float(text) if text else math.nan


def truths(data):
    """The markers' rows by run, or None where the tool or the data are not there."""
    tool = os.path.normpath(os.path.join(data, "../tools/truth_from_markers.py"))
    folder = os.path.join(data, "treadmill-runs")
    if not os.path.exists(tool) or not os.path.isdir(folder):
        return None
    got = subprocess.run(["/usr/bin/python3", tool, folder], capture_output=True, text=True, check=True)
    out = {}
    for r in csv.DictReader(io.StringIO(got.stdout)):
        out.setdefault(r["run"], []).append(r)
    return out


def paired(binary, data, truth, speed_share=1.0):
    """Steps of all runs beside their truth, as columns."""
    rows = []
    for r in cmp.table(os.path.join(data, "treadmill-runs", "runs.csv")):
        path = os.path.join(data, "treadmill-runs", r["run"] + ".csv")
        foot = mk.foot_length_mm(float(r["shoe_size_us"]))
        code, steps, err = cmp.run_steps(binary, path, "--rate", "300", "--mass", r["mass_kg"], "--foot", f"{foot:.1f}",
                                         "--speed", f"{float(r['belt_m_s']) * speed_share:.4f}")
        if code != 0:
            raise RuntimeError(f"{r['run']}: {err}")
        pelvis_up = float(np.nanmean(mk.load(path.replace(".csv", "_markers.csv"))["pelvis_up"]))
        downs = np.array([float(s["touchdown_s"]) for s in steps])
        for t in truth[r["run"]]:
            k = int(np.argmin(np.abs(downs - float(t["touchdown_s"]))))
            if abs(downs[k] - float(t["touchdown_s"])) > PAIR_S:
                continue
            s = steps[k]
            contact_s = float(t["toeoff_s"]) - float(t["touchdown_s"])
            rows.append((r["run"], s["strike_zone"], float(r["belt_m_s"]), contact_s, number(t["strike_angle_deg"]),
                         number(t["midfoot_ahead_mm"]), number(s["landing_ahead_mm"]), number(s["landing_first_mm"]),
                         number(s["strike_travel_mm"]), foot, pelvis_up))
    names = "run zone speed contact angle true ahead first travel foot pelvis_up".split()
    return {n: np.array(c) for n, c in zip(names, zip(*rows))}


# ------------------------------------------------------------------------------------------- landing
def against(d, got):
    """Bias, spreads, correlations and slope of one landing figure against the markers'."""
    ok = np.isfinite(d["true"]) & np.isfinite(got)
    off = got - d["true"]
    runs = [r for r in np.unique(d["run"]) if (ok & (d["run"] == r)).sum() > 10]
    of = {r: ok & (d["run"] == r) for r in runs}
    mean = np.array([off[of[r]].mean() for r in runs])
    step = np.array([off[of[r]].std() for r in runs])
    r_between = np.corrcoef([got[of[r]].mean() for r in runs], [d["true"][of[r]].mean() for r in runs])[0, 1]
    r_within = np.median([np.corrcoef(got[of[r]], d["true"][of[r]])[0, 1] for r in runs])
    angled = ok & np.isfinite(d["angle"])
    slope = np.polyfit(d["angle"][angled], off[angled], 1)[0]
    y, x = [], []
    for r in runs:
        z = angled & (d["run"] == r)
        y.append(off[z] - off[z].mean())
        x.append(d["angle"][z] - d["angle"][z].mean())
    x, y = np.concatenate(x), np.concatenate(y)
    return {"n": int(ok.sum()), "runs": len(runs), "bias": mean.mean(), "between": mean.std(ddof=1), "step": step.mean(),
            "worst": step.max(), "r": r_between, "within": r_within, "slope": slope, "slope_within": (x @ y) / (x @ x)}


def landing_lines(d, tally):
    g = Goals(tally)
    a = against(d, d["ahead"])
    g.tell("steps, runs", f"{a['n']}, {a['runs']}")
    g.most("landing ahead, off the markers' mid-foot in the mean, mm", abs(a["bias"]), 15, "15")
    g.most("sd between runs, mm", a["between"], 15, "15")
    g.most("step to step within a run, mm", a["step"], 9, "9")
    g.tell("the same in the worst run, mm", f"{a['worst']:.1f}")
    g.least("r between runs", a["r"], 0.94, "0.94")
    g.tell("r within a run, median", f"{a['within']:.2f}")
    g.most("mm per degree of strike angle, all steps", abs(a["slope"]), 0.6, "0.6")
    g.most("mm per degree of strike angle, within runs", abs(a["slope_within"]), 0.6, "0.6")
    # The offset of the load's centre, taken afresh from these runs.
    share = (d["ahead"] + 0.32 * d["foot"] - d["true"]) / d["foot"]
    share = [np.nanmean(share[d["run"] == r]) for r in np.unique(d["run"])]
    g.tell("load's centre ahead of mid-foot, share of foot length (0.32 is taken off)", f"{np.nanmean(share):.3f}, sd {np.nanstd(share, ddof=1):.3f} between runs")
    usual = against(d, d["ahead"] + 0.32 * d["foot"] - 85)
    g.tell("without a foot length (85 mm): bias, sd between runs, mm", f"{usual['bias']:.1f}, {usual['between']:.1f}")
    lines_far(d, g, tally)
    times_mm = 0.807 * d["speed"] * 1e3 * d["contact"] / 2 - 48
    for name, got in (("old definition (first 25 ms of COP)", d["first"]), ("from times alone (footswitches)", times_mm),
                      ("COP and times mixed 0.75 to 0.25 (not done)", 0.75 * d["ahead"] + 0.25 * times_mm)):
        b = against(d, got)
        g.tell(f"{name}: bias, between runs, step to step, r, r within, mm per degree within",
               f"{b['bias']:.1f}, {b['between']:.1f}, {b['step']:.1f}, {b['r']:.2f}, {b['within']:.2f}, {b['slope_within']:.2f}")
    return g.lines


def lines_far(d, g, tally):
    """What the tally's limit, FAR_SHARE of leg length, makes of the recorded runners. Nobody measured their legs: the pelvis
    markers' height stands in, and nine tenths of it (a trochanter lies lower), so the truth is between the two."""
    said = 0
    for speed in np.unique(d["speed"]):
        runs = [r for r in np.unique(d["run"]) if d["speed"][d["run"] == r][0] == speed]
        share = np.array([np.nanmean(d["ahead"][d["run"] == r]) / np.nanmean(d["pelvis_up"][d["run"] == r]) for r in runs])
        low, middle, high = np.percentile(share, [10, 50, 90])
        far = [int((share / leg > FAR_SHARE).sum()) for leg in (1.0, 0.9)]
        g.tell(f"{speed} m/s: landing ahead over pelvis height, 10, 50, 90 % of runs; called far ahead (over {FAR_SHARE} of leg length)"
               " if the leg is as long as that, and 0.9 of it", f"{low:.2f}, {middle:.2f}, {high:.2f}; {far[0]} and {far[1]} of {len(runs)}")
        said += len(runs)
    tally.check(said == len(np.unique(d["run"])), f"the tally's limit is held against all {said} runs")


# ------------------------------------------------------------------------------------------- strike
def wilson(seen, n, z=1.96):
    """Wilson 1927: the interval of a share (formula from memory)."""
    p, d = seen / n, 1 + z * z / n
    half = z / d * math.sqrt(p * (1 - p) / n + z * z / (4 * n * n))
    return (p + z * z / (2 * n)) / d - half, (p + z * z / (2 * n)) / d + half


def fore_by_runner(t, zone, runner, g, tally):
    """Fore seen of each runner and over all, with intervals: steps of a runner are alike, so runners are drawn for the latter."""
    decided, told = (zone != "border") & (t == "fore"), 0
    people = [p for p in np.unique(runner) if (decided & (runner == p)).any()]
    for p in people:
        z = decided & (runner == p)
        seen, n = int((zone[z] == "fore").sum()), int(z.sum())
        low, high = wilson(seen, n)
        g.tell(f"{p}: fore seen, of decided fore steps; 95 % (Wilson, as if its steps were independent)",
               f"{seen} of {n} = {seen / n:.2f}; {low:.2f} to {high:.2f}")
        tally.check(low - 1e-9 <= seen / n <= high + 1e-9, f"{p}: fore seen lies in its interval")
        told += n
    random, got = np.random.default_rng(1), []
    for _ in range(1000):
        z = np.concatenate([np.flatnonzero(decided & (runner == p)) for p in random.choice(people, len(people))])
        got.append((zone[z] == "fore").mean())
    low, high = np.percentile(got, [2.5, 97.5])
    all_seen = (zone[decided] == "fore").mean()
    g.tell(f"all {told} decided fore steps: fore seen; 95 % over runners drawn anew (bootstrap, {len(people)} runners only)",
           f"{all_seen:.3f}; {low:.2f} to {high:.2f}")
    tally.check(len(people) >= 3 and told == int(decided.sum()), f"fore seen is told of each of {len(people)} runners, {told} steps")


def classes(angle):
    return np.where(angle > REAR_DEG, "rear", np.where(angle < FORE_DEG, "fore", "mid"))


def called(travel, fore_mm, rear_mm, half_mm=BORDER_MM):
    zone = np.where(travel > fore_mm, "fore", np.where(travel < rear_mm, "rear", "mid"))
    return np.where((np.abs(travel - fore_mm) < half_mm) | (np.abs(travel - rear_mm) < half_mm), "border", zone)


def shares(truth, zone):
    decided = zone != "border"

    def share(of, as_):
        z = decided & (truth == of)
        return float((zone[z] == as_).mean()) if z.any() else math.nan

    return {"border": float(1 - decided.mean()), "fore seen": share("fore", "fore"), "rear as fore": share("rear", "fore"),
            "rear kept": share("rear", "rear"), "mid as rear": share("mid", "rear"), "mid as fore": share("mid", "fore")}


def borders(truth, travel, speed):
    """The rules of src/gait/strike.h: (fore, rear)."""
    slow = travel + 0.01 * speed * 1e3 * (0.090 - 0.0125)  # as a belt speed 1 % low reads it: from window to window
    rear = (np.percentile(travel[truth == "rear"], 95) + np.percentile(travel[truth == "mid"], 5)) / 2
    for fore in np.arange(-60, 0, 0.5):  # upwards: the lowest line that calls at most half of the decided mids fore
        if shares(truth, called(slow, fore, rear))["mid as fore"] <= 0.5:
            return float(fore), float(rear)
    return math.nan, float(rear)


def interval(truth, travel, speed, runner):
    """Where the borders fall over resampled runners: 5 and 95 %."""
    random, got = np.random.default_rng(1), []
    people = np.unique(runner)
    for _ in range(200):
        z = np.concatenate([np.flatnonzero(runner == p) for p in random.choice(people, len(people))])
        if all((truth[z] == c).sum() > 20 for c in ("rear", "mid", "fore")):
            got.append(borders(truth[z], travel[z], speed[z]))
    return np.nanpercentile(np.array(got), [5, 95], axis=0)


def strike_lines(binary, data, truth, right, tally):
    g = Goals(tally)
    for wrong in (1.0, 0.99, 1.01, 0.97, 1.03):
        d = right if wrong == 1.0 else paired(binary, data, truth, wrong)
        ok = np.isfinite(d["angle"]) & np.isfinite(d["travel"])
        t, s = classes(d["angle"][ok]), shares(classes(d["angle"][ok]), d["zone"][ok])
        name = "belt speed right" if wrong == 1 else f"belt speed {100 * (wrong - 1):+.0f} %"
        is_near = abs(wrong - 1) < 0.02
        if wrong == 1.0:
            g.tell("steps: rear, mid, fore by angle", ", ".join(str((t == c).sum()) for c in ("rear", "mid", "fore")))
            g.tell("r of travel with the strike angle", f"{np.corrcoef(d['travel'][ok], d['angle'][ok])[0, 1]:.3f}")
            same = called(d["travel"][ok], FORE_MM, REAR_MM) == d["zone"][ok]
            tally.check(same.mean() > 0.999, f"zones are those of the borders in {same.mean() * 100:.2f} % of steps")
            g.most("steps in a border class", s["border"], 0.10, "0.10")
        if is_near:
            g.least(f"{name}: fore seen", s["fore seen"], 0.85, "0.85")
            g.most(f"{name}: rear called fore", s["rear as fore"], 0.01, "0.01")
            g.least(f"{name}: rear kept", s["rear kept"], 0.95, "0.95")
            g.most(f"{name}: mid called rear", s["mid as rear"], 0.10, "0.10")
            g.most(f"{name}: mid called fore", s["mid as fore"], 0.50, "0.50")
        else:
            g.least(f"{name}: rear kept", s["rear kept"], 0.92, "0.92")
            g.most(f"{name}: mid called rear", s["mid as rear"], 0.15, "0.15")
    ok = np.isfinite(right["angle"]) & np.isfinite(right["travel"])
    t, travel, zone = classes(right["angle"][ok]), right["travel"][ok], right["zone"][ok]
    runner = np.array([r.split("_")[0] for r in right["run"][ok]])
    speed = right["speed"][ok]
    fore_by_runner(t, zone, runner, g, tally)
    fore, rear = borders(t, travel, speed)
    span = interval(t, travel, speed, runner)
    g.tell("borders by the rules, mm: fore, rear (in use)", f"{fore:.0f}, {rear:.0f} ({FORE_MM:.0f}, {REAR_MM:.0f})")
    g.tell("over resampled runners, 5-95 %, mm: fore; rear", f"{span[0][0]:.0f} to {span[1][0]:.0f}; {span[0][1]:.0f} to {span[1][1]:.0f}")
    left_out = np.empty(len(t), dtype="U6")
    for p in np.unique(runner):
        z = runner == p
        f, r = borders(t[~z], travel[~z], speed[~z])
        left_out[z] = called(travel[z], f, r)
        if (t[z] == "fore").any():
            seen = shares(t[z], zone[z])["fore seen"], shares(t[z], left_out[z])["fore seen"]
            g.tell(f"{p}: fore steps; seen, and with its own steps left out of the rule (border then)",
                   f"{(t[z] == 'fore').sum()}; {seen[0]:.2f}, {seen[1]:.2f} ({f:.0f} mm)")
    s = shares(t, left_out)
    g.tell("each runner left out: fore seen, rear called fore, rear kept, mid called rear, mid called fore",
           ", ".join(f"{s[k]:.3f}" for k in ("fore seen", "rear as fore", "rear kept", "mid as rear", "mid as fore")))
    return g.lines


# ------------------------------------------------------------------------------------------- slow running
def crossings(path):
    """Contacts by the plain 50 N crossings of a force whose zero is right: (touchdown, toe-off), and whether the load
    crossed at all on either side (False: it sank and rose without)."""
    a = np.genfromtxt(path, delimiter=",", names=True)
    t, f = a["t"], np.nan_to_num(a["fz"])
    on = f > 50
    out, down = [], 0.0 if on[0] else math.nan
    for k in range(1, len(f)):
        at = t[k - 1] + (50 - f[k - 1]) / (f[k] - f[k - 1]) * (t[k] - t[k - 1]) if on[k] != on[k - 1] else math.nan
        if on[k] and not on[k - 1]:
            down = at
        elif on[k - 1] and not on[k] and math.isfinite(down):
            out.append((down, at))
    parts = []
    for down, off in out:
        if off - down < 0.08:
            continue
        is_cut = down == 0.0  # was there when the data began: only what parts from it counts
        inside = (t > down + 0.15) & (t < off - 0.15)
        k = np.flatnonzero(inside)[np.argmin(f[inside])] if inside.any() else 0
        if off - down > 0.5 and f[k] < 0.45 * f.max():  # two contacts whose load never fell under 50 N
            parts += [(math.nan, off)] if is_cut else [(down, math.nan), (math.nan, off)]
        elif not is_cut:
            parts.append((down, off))
    return parts


def recorded_slow_lines(binary, data, tally):
    lines = ["", "| run | contacts, program's | worst edge where 50 N is crossed, ms | gait |", "|---|---|---|---|"]
    folder = os.path.join(data, "braking-runs")
    for r in cmp.table(os.path.join(folder, "runs.csv")):
        if not r["run"].endswith("_20"):
            continue
        path = os.path.join(folder, r["run"] + ".csv")
        truth = crossings(path)
        code, steps, _ = cmp.run_steps(binary, path, "--mass", r["mass_kg"], "--speed", r["belt_m_s"])
        edges = [(float(s["touchdown_s"]), number(s["toeoff_s"])) for s in steps]
        worst, missed = 0.0, 0
        for down, off in truth:
            near = [e for e in edges if (abs(e[0] - down) < 0.06 if math.isfinite(down) else abs(e[1] - off) < 0.06)]
            missed += len(near) != 1
            for e in near:
                worst = max([worst] + [abs(x - y) * 1e3 for x, y in zip(e, (down, off)) if math.isfinite(y)])
        # A contact that the recording's end cuts has no toe-off in the truth; the program may give it as cut.
        made_up = len([e for e in edges if math.isfinite(e[1])]) - len(truth)
        ok = code == 0 and missed == 0 and made_up == 0 and worst <= EDGE_LIMIT_MS and all(s["gait"] == "running" for s in steps)
        lines.append(f"| {r['run']} | {len(truth)}, {len(steps)} | {worst:.1f} | {'running' if ok else '**not met**'} |")
        tally.check(missed == 0 and made_up == 0, f"{r['run']}: {missed} contacts missed, {made_up} made up of {len(truth)}")
        tally.check(worst <= EDGE_LIMIT_MS, f"{r['run']}: an edge {worst:.1f} ms off, allowed {EDGE_LIMIT_MS:g}")
    return lines


def made_up_runner(speed, duty, is_walk, seed, seconds=24):
    """(t, force, copx, copy, contacts): feet one after the other, each with its own load, roll and place; a plate's noise."""
    random = np.random.default_rng(seed)
    t = np.arange(0, seconds, 1 / MADE_UP_HZ)
    step_s = 60 / (110 if is_walk else 150 + 8 * (speed - 1.8))
    weight_n, down, left, contacts = 70 * 9.81, 1.0, True, []
    force, fwd, right = np.zeros_like(t), np.zeros_like(t), np.zeros_like(t)
    while down < seconds - 2:
        contact = duty * 2 * step_s * (1 + 0.015 * random.standard_normal())
        u = (t - down) / contact
        z = (u > 0) & (u < 1)
        if is_walk:  # two humps
            own = np.sin(np.pi * u[z]) ** 0.8 * (1 + 0.35 * np.cos(4 * np.pi * (u[z] - 0.25)) * np.sin(np.pi * u[z]))
        else:  # one bell, and a heel's impact in its rise
            own = np.sin(np.pi * u[z]) ** 1.1 + 0.35 * np.exp(-(((u[z] * contact) - 0.030) / 0.010) ** 2)
        own *= weight_n * step_s / (own.sum() / MADE_UP_HZ)
        roll = 30 + 150 * np.clip(u[z] / 0.6, 0, 1)
        place = 0.45 * speed * 1e3 * contact - 90 + roll - speed * 1e3 * (t[z] - down) + 6 * random.standard_normal()
        force[z] += own
        fwd[z] += own * place
        right[z] += own * ((-1 if left else 1) * 45 + 8 * random.standard_normal())
        over = np.flatnonzero(own > 50)
        if len(over):
            first, last = np.flatnonzero(z)[over[0]], np.flatnonzero(z)[over[-1]]
            contacts.append((t[first] - 0.5 / MADE_UP_HZ, t[last] + 0.5 / MADE_UP_HZ, "left" if left else "right"))
        down += step_s * (1 + 0.012 * random.standard_normal())
        left = not left
    force += 3 + 4 * random.standard_normal(len(t))
    fwd += 1500 * random.standard_normal(len(t))  # N mm
    right += 1500 * random.standard_normal(len(t))
    cop = np.where(force > 20, fwd / np.maximum(force, 1), np.nan), np.where(force > 20, right / np.maximum(force, 1), np.nan)
    return t, force, cop[1], cop[0], contacts


def write_trace(path, t, force, copx, copy):
    with open(path, "w") as f:
        f.write("t,fz,copx,copy\n")
        for row in zip(t, force, copx, copy):
            f.write(",".join("" if math.isnan(x) else f"{x:.4f}" for x in row) + "\n")


def made_up_lines(binary, tally):
    lines = ["", "| m/s | duty factor | contacts missed, made up | sides wrong | contact ms: mean off, worst | called |", "|---|---|---|---|---|---|"]
    seed = 0
    for speed, duty, is_walk in [(v, d, False) for v in SPEEDS_M_S for d in DUTIES] + [(1.2, 0.62, True), (1.8, 0.58, True)]:
        seed += 1
        with tempfile.TemporaryDirectory() as folder:
            path = os.path.join(folder, "trace.csv")
            t, force, copx, copy, contacts = made_up_runner(speed, duty, is_walk, seed)
            write_trace(path, t, force, copx, copy)
            options = ("--rate", str(MADE_UP_HZ), "--mass", "70", "--speed", str(speed))
            _, steps, _ = cmp.run_steps(binary, path, *options)
            _, told, _ = cmp.run_steps(binary, path, *options, "--summary")
        name = f"{'walker' if is_walk else 'runner'} of {speed} m/s, duty factor {duty}"
        if is_walk:
            tally.check(not steps and told.get("gait") == "walking", f"{name}: {len(steps)} steps, called {told.get('gait')}")
            lines.append(f"| {speed} | {duty} (walks) | –, {len(steps)} | – | – | {told.get('gait')} |")
            continue
        missed = wrong = 0
        off = []
        for down, up, side in contacts:
            near = [s for s in steps if abs(float(s["touchdown_s"]) - down) < 0.08]
            missed += len(near) != 1
            for s in near:
                wrong += s["side"] != side
                off.append(number(s["contact_ms"]) - (up - down) * 1e3)
        made_up = len(steps) - len(contacts) + missed
        worst = float(np.max(np.abs(off))) if off else math.nan
        mean = float(np.mean(off)) if off else math.nan
        tally.check(missed == 0 and made_up == 0 and wrong == 0, f"{name}: {missed} missed, {made_up} made up, {wrong} sides wrong of {len(contacts)}")
        tally.check(worst <= MADE_UP_LIMIT_MS, f"{name}: contact off by up to {worst:.1f} ms, allowed {MADE_UP_LIMIT_MS:g}")
        tally.check(told.get("gait") == "running", f"{name}: called {told.get('gait')}")
        lines.append(f"| {speed} | {duty} | {missed}, {made_up} of {len(contacts)} | {wrong} | {mean:.1f}, {worst:.1f} | {told.get('gait')} |")
    return lines


# ------------------------------------------------------------------------------------------- the whole
def run_all(binary, data, tally, truth):
    """Lines for the page: (landing, strike, slow). truth: of truths()."""
    if truth is None:
        tally.skip("landing and strike against the markers: no full recordings, or no tool beside them")
        landing = strike = ["", "Not measured this time: needs the full recordings."]
    else:
        right = paired(binary, data, truth)
        landing, strike = landing_lines(right, tally), strike_lines(binary, data, truth, right, tally)
    slow = []
    if os.path.isdir(os.path.join(data, "braking-runs")):
        slow += recorded_slow_lines(binary, data, tally)
    else:
        tally.skip("slow recorded runs: none there")
    return landing, strike, slow + made_up_lines(binary, tally)


def main():
    if len(sys.argv) < 2:
        print(__doc__, file=sys.stderr)
        return 2
    data = sys.argv[2] if len(sys.argv) > 2 else recordings.folder()
    tally = cmp.Tally(False)
    for part in run_all(os.path.abspath(sys.argv[1]), data, tally, truths(data)):
        print("\n".join(part))
    print(f"{tally.passed} passed, {tally.failed} failed, {tally.skipped} skipped")
    return 1 if tally.failed else 0


if __name__ == "__main__":
    sys.exit(main())
