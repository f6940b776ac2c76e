#!/usr/bin/python3
"""validity.py - measures all that stands in tests/VALIDITY.md, checks it, and writes the page.

    validity.py BIN SIM_TRUTH [HARD_CASES] [--data DIR] [--out FILE.md]

BIN: the program. SIM_TRUTH: tests/validity/sim_truth.c, built. HARD_CASES: tests/unit/gait/test_hard_cases.c, built.
Parts: recorded runs (compare.py), landing, strike and slow running (landing.py), braking (braking.py), down-sampling (downsample.py), the whole chain (chain.py), published values
(published.py), simulated truth, hard cases. Where the recordings (recordings.py) are absent their parts say
`skipped`, and the page goes to build/ so that the one that holds them is kept. Exit code 1 when anything is out of tolerance. Beside the page: VALIDITY-ahead.svg.
"""
import contextlib
import csv
import io
import math
import os
import re
import subprocess
import sys

import numpy as np

import braking
import chain
import compare as cmp
import downsample
import landing
import published
import recordings
import validity_words as words

HERE = os.path.dirname(os.path.abspath(__file__))
DEFAULT_OUT = os.path.normpath(os.path.join(HERE, "../VALIDITY.md"))
PARTIAL_OUT = os.path.normpath(os.path.join(HERE, "../../build/VALIDITY.md"))
KINDS = ("force", "cells", "mat", "switches")
N_SIM_STEPS = 10200


# ------------------------------------------------------------------------------------------- recorded runs
def recorded_lines(all_got, slopes, across):
    lines = ["", "| run | m/s | steps, reference | sides wrong | contact ms | cadence | peak % | loading rate % | COM drop mm | weight by momentum / "
             "stated mass | first COP ahead mm: ours, pelvis | sd of a step mm | strike index L, R (markers') | label |", "|---" * 14 + "|"]
    for g in all_got:
        run, feet = g["run"], g.get("feet", [])
        index = ", ".join(f"{i:.0f} ({m:.0f})" for i, _, m in feet) or "–"
        ahead = f"{g['ahead']:.0f}, {g['true_ahead']:.0f}" if "ahead" in g else "–"
        sd = f"{g['ahead_sd']:.1f}" if "ahead" in g else "–"
        label = f"{run['strike_label_left']}, {run['strike_label_right']}".replace("foot", "")
        lines.append(f"| {run['run']} | {run['belt_m_s']} | {g['n']}, {g['n_ref']} | {g.get('sides_wrong', '–')} | {g['contact_ms']:.2f} | "
                     f"{g['cadence']:.3f} | {g['peak'] * 100:.2f} | {g['rate'] * 100:.1f} | {g['com_drop_mm']:.2f} | {g['balance']:.4f} | "
                     f"{ahead} | {sd} | {index} | {label} |")
    lines += ["", "Differences are mean absolute ones, step by step, against the reference in tests/reference/reference_steps.py "
              "(NumPy and SciPy, written without a look at the engine)."]
    if across:
        lines += ["", f"- The first COP ahead of the mass centre (landing_first_mm) against the pelvis markers, {len(all_got)} runs: mean offset {across['off']:.1f} mm (sd between runs "
                  f"{across['between']:.1f}), {across['sd']:.1f} mm sd from step to step, r = {across['r']:.4f} between runs. Allowed: 10 mm, 8 mm, 0.99.",
                  f"- COM drop against the pelvis' drop between runs: r = {across['drop_r']:.3f}, slope {across['drop_slope']:.2f} (the pelvis stands in for "
                  "the mass centre; arms and trunk move otherwise)."]
        if "agree" in across:
            lines += [f"- Rear / not rear as the published labels have it: {across['agree'] * 100:.1f} % of {across['n_feet']} feet (allowed: 88 %). Strike "
                      f"index less the foot markers': {across['index_off']:.1f} points, sd {across['index_sd']:.1f}."]
    for g in all_got:
        for name, (n, off) in g.get("hard", {}).items():
            lines.append(f"- {name}: {n} steps, the clean run has {g['n']}; touchdown {off[0]:.2f} ms and toe-off {off[1]:.2f} ms off the clean run's.")
    if slopes:
        lines += ["", f"Slope runs ({len(slopes)}; 500 Hz, low-passed at 30 Hz by their makers): {sum(g['n'] for g in slopes)} steps, the reference has "
                  f"{sum(g['n_ref'] for g in slopes)}; contact {np.mean([g['contact_ms'] for g in slopes]):.2f} ms (worst run "
                  f"{max(g['contact_ms'] for g in slopes):.2f}), peak {np.mean([g['peak'] for g in slopes]) * 100:.2f} %, weight by momentum / stated mass "
                  f"{min(g['balance'] for g in slopes):.3f} to {max(g['balance'] for g in slopes):.3f}."]
    return lines


def balance_words(all_got):
    """The range of weight by momentum over stated mass, as measured this time."""
    ratios = [g["balance"] for g in all_got if math.isfinite(g["balance"])]
    if not ratios:
        return "not measured here"
    low, high = min(ratios), max(ratios)
    side = ", never 1" if high < 1 or low > 1 else ""
    return f"this set reads {low:.2f} to {high:.2f}{side}"


def ahead_svg(all_got, path):
    """Bland-Altman picture of the runs' mean landing ahead, steps as small dots behind. Written by hand."""
    points, steps = [], []
    for g in all_got:
        if "steps_ahead" not in g:
            continue
        mine, truth = g["steps_ahead"]
        ok = np.isfinite(mine) & np.isfinite(truth)
        if not ok.any():
            continue
        steps += list(zip((mine[ok] + truth[ok]) / 2, mine[ok] - truth[ok]))
        points.append(((mine[ok] + truth[ok]).mean() / 2, (mine[ok] - truth[ok]).mean(), float(g["run"]["belt_m_s"])))
    if not points:
        return
    width, height, left, top, right, bottom = 720, 420, 62, 46, 20, 52
    x0, x1 = min(p[0] for p in steps) - 10, max(p[0] for p in steps) + 10
    y0, y1 = -40, 40

    def at(x, y):
        return (left + (x - x0) / (x1 - x0) * (width - left - right), top + (y1 - y) / (y1 - y0) * (height - top - bottom))

    off = np.array([p[1] for p in points])
    mean, spread = off.mean(), 1.96 * off.std(ddof=1)
    out = [f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" font-family="sans-serif" font-size="13">',
           f'<rect width="{width}" height="{height}" fill="white"/>',
           f'<text x="{left}" y="20" font-size="15">Landing ahead: program less markers (mid-foot less pelvis), {len(points)} runs ({len(steps)} steps)</text>',
           f'<text x="{left}" y="37" fill="#555">large marks: a run\'s mean; dots: single steps; lines: mean and 1.96 sd between runs</text>']
    for y in range(y0, y1 + 1, 10):
        px, py = at(x0, y)
        out.append(f'<line x1="{px:.1f}" y1="{py:.1f}" x2="{width - right}" y2="{py:.1f}" stroke="{"#888" if y == 0 else "#ddd"}"/>'
                   f'<text x="{left - 8}" y="{py + 4:.1f}" text-anchor="end">{y}</text>')
    for x in range(int(math.ceil(x0 / 50)) * 50, int(x1) + 1, 50):
        px, py = at(x, y0)
        out.append(f'<text x="{px:.1f}" y="{py + 18:.1f}" text-anchor="middle">{x}</text>')
    dots = "".join(f"M{px:.0f} {py:.0f}h0" for px, py in (at(x, y) for x, y in steps if y0 <= y <= y1))
    out.append(f'<path d="{dots}" stroke="#56B4E9" stroke-opacity="0.5" stroke-width="2.6" stroke-linecap="round"/>')
    for y, dash in ((mean, ""), (mean - spread, ' stroke-dasharray="6 4"'), (mean + spread, ' stroke-dasharray="6 4"')):
        (ax, ay), (bx, _) = at(x0, y), at(x1, y)
        out.append(f'<line x1="{ax:.1f}" y1="{ay:.1f}" x2="{bx:.1f}" y2="{ay:.1f}" stroke="black"{dash}/>'
                   f'<text x="{bx - 4:.1f}" y="{ay - 4:.1f}" text-anchor="end">{y:+.1f} mm</text>')
    for x, y, speed in points:
        px, py = at(x, y)
        shape = {2.5: f'<circle cx="{px:.1f}" cy="{py:.1f}" r="5"', 3.5: f'<rect x="{px - 4.5:.1f}" y="{py - 4.5:.1f}" width="9" height="9"'}.get(
            speed, f'<path d="M {px:.1f} {py - 6:.1f} l 6 11 h -12 z"')
        out.append(shape + ' fill="#D55E00" stroke="black"/>')
    out.append(f'<text x="{width / 2}" y="{height - 14}" text-anchor="middle">mean of both, mm (circle 2.5, square 3.5, triangle 4.5 m/s)</text>'
               f'<text x="16" y="{height / 2}" text-anchor="middle" transform="rotate(-90 16 {height / 2})">difference, mm</text></svg>')
    with open(path, "w") as f:
        f.write("\n".join(out) + "\n")


def add_step_pairs(all_got, data):
    """Single steps' landing ahead beside the markers', for the picture. Returns the markers' rows, None without."""
    truth = landing.truths(data)
    for g in all_got if truth else []:
        rows = truth.get(g["run"]["run"], [])
        downs = np.array([float(t["touchdown_s"]) for t in rows])
        true = np.array([landing.number(t["midfoot_ahead_mm"]) for t in rows])
        mine = cmp.column(g["mine"], "touchdown_s")
        near = [int(np.argmin(np.abs(downs - t))) for t in mine] if len(downs) else []
        if near:
            far = np.abs(downs[near] - mine) > landing.PAIR_S
            g["steps_ahead"] = (cmp.column(g["mine"], "landing_ahead_mm"), np.where(far, math.nan, true[near]))
    return truth


# ------------------------------------------------------------------------------------------- simulated truth
def simulated_rows(sim_truth):
    got = subprocess.run([sim_truth, "--steps", str(N_SIM_STEPS), "--profiles", os.path.join(HERE, "../../profiles/sensors")],
                         capture_output=True, text=True, check=True)
    rows = {}
    for r in csv.DictReader(got.stdout.splitlines()):
        rows[r["kind"], r["metric"]] = r
    return rows


def number(text):
    return float(text) if text not in ("", "nan", "-nan") else math.nan


def simulated_lines(rows, tally):
    lines = []
    for kind in KINDS:
        n = int(rows[kind, "found"]["n"])
        shares = {m: 100 * (1 - number(rows[kind, m]["bias"])) for m in ("found", "side_right", "zone_right")}
        made_up = int(rows[kind, "made_up"]["n"]) if (kind, "made_up") in rows else 0
        unknown = {m: int(rows[kind, m]["missing"]) for m in ("side_right", "zone_right")}
        tally.check(n >= 9500, f"simulated {kind}: {n} steps")
        tally.check(shares["found"] == 100 and made_up == 0, f"simulated {kind}: {shares['found']:.3f} % found, {made_up} made up")
        tally.check(shares["side_right"] >= 99.9, f"simulated {kind}: sides right {shares['side_right']:.2f} %")
        limit = words.ZONE_RIGHT_PCT[kind]
        tally.check(shares["zone_right"] >= limit, f"simulated {kind}: strike zone right {shares['zone_right']:.2f} %, allowed {limit}")
        lines += ["", f"**{kind}**: {n} steps inside runs, {shares['found']:.2f} % found, {made_up} made up; side right {shares['side_right']:.2f} % "
                  f"({unknown['side_right']} unknown); strike zone right {shares['zone_right']:.2f} % of steps at least 12 mm of travel from a border "
                  f"({unknown['zone_right']} unknown; allowed {limit} %).", "",
                  "| metric | n | missing | mean | bias | sd | 95 % within | worst | worst case |", "|---|---|---|---|---|---|---|---|---|"]
        for (k, m), r in rows.items():
            if k != kind or m in ("found", "made_up", "side_right", "zone_right") or m.startswith("standing:") or int(r["n"]) == 0:
                continue
            lines.append(f"| {m} | {r['n']} | {r['missing']} | {number(r['mean_truth']):.4g} | {number(r['bias']):+.3g} | {number(r['sd']):.3g} | "
                         f"{number(r['p95']):.3g} | {number(r['worst']):+.3g} | {r['case']} |")
            limits = words.SIM_LIMITS.get(kind + " " + m) or words.SIM_LIMITS.get(m)
            if limits is None:
                tally.check(False, f"simulated {kind}: no tolerance is stated for {m}")
                continue
            tally.check(abs(number(r["bias"])) <= limits[0] and number(r["p95"]) <= limits[1],
                        f"simulated {kind}: {m} bias {number(r['bias']):.3g}, 95 % within {number(r['p95']):.3g}, allowed {limits}")
    return lines


def standing_lines(rows, tally):
    """Which sensor gives what: by the simulated runs' records."""
    lines = ["", "| metric | force | cells | mat | switches |", "|---|---|---|---|---|"]
    metrics = [m[len("standing:"):] for k, m in rows if k == "force" and m.startswith("standing:")]
    for m in metrics:
        cells = []
        for kind in KINDS:
            r = rows[kind, "standing:" + m]
            counts = {"measured": int(r["n"]), "estimated": int(r["estimated"]), "missing": int(r["missing"])}
            best = max(counts, key=counts.get)
            if m in words.SOMETIMES and counts["measured"] > 0:  # only steps that have one
                best = "measured"
            cells.append("–" if best == "missing" else best)
        expected = words.STANDING.get(m)
        if expected is not None:
            tally.check([c[0] for c in cells] == list(expected), f"standing of {m}: {cells}, said to be {expected}")
        lines.append(f"| {m} | " + " | ".join(cells) + " |")
    return lines


# ------------------------------------------------------------------------------------------- the rest
def rate_lines(lowest, sim_truth, tally, is_whole):
    got = subprocess.run([sim_truth, "--list"], capture_output=True, text=True, check=True)
    engine = dict(line.split(",") for line in got.stdout.split())
    lines = ["", f"Lowest rate at which a metric is called measured: bias <= {downsample.BIAS_LIMIT * 100:.0f} % and mean absolute error of a step <= "
             f"{downsample.ERROR_LIMIT * 100:.0f} % of the mean in all sets (strike index 2 and 5 points, landing ahead 5 and 10 mm, transient 3 and 5 % of "
             "steps). Below the engine's rate a value is an estimate and flagged low_rate.", "", "| metric | by these tables, Hz | the engine's, Hz |", "|---|---|---|"]
    for m, rate in lowest.items():
        lines.append(f"| {m} | {rate:g} | {float(engine[m]):g} |")
        if not is_whole:
            continue
        tally.check(float(engine[m]) >= rate, f"lowest rate of {m}: the engine says {engine[m]} Hz, measured {rate:g}")
    if not is_whole:
        tally.skip("the engine's lowest rates: only the recordings hold steps enough to tell")
    return lines


def hard_lines(binary, tally):
    if not binary:
        tally.skip("hard cases: no test binary given")
        return ["", "Not run this time."]
    got = subprocess.run([binary, "--verbose"], capture_output=True, text=True)
    told = re.sub(r"\x1b\[[0-9;]*m", "", got.stdout + got.stderr)
    lines = ["", "tests/unit/gait/test_hard_cases.c: no step is made up, none is wrong without a flag that says why.", ""]
    for verdict, name in re.findall(r"\[(PASS|FAIL|SKIP)\] hard_cases::(\w+)", told):
        lines.append(f"- {name.replace('_', ' ')}: {verdict.lower()}")
        if verdict == "SKIP":
            tally.skip(f"hard case {name}")
        else:
            tally.check(verdict == "PASS", f"hard case {name}")
    tally.check(len(lines) > 10, "hard cases ran")
    return lines


def aloud(name, work):
    """Runs a part; what it prints is shown only where something failed."""
    print(f"{name} ...", flush=True)
    said = io.StringIO()
    with contextlib.redirect_stdout(said):
        result = work()
    for line in said.getvalue().splitlines():
        if "FAILED" in line or line.startswith("skipped"):
            print(line)
    return result


def main():
    args = [a for a in sys.argv[1:]]
    data, out = recordings.folder(), None
    for name in ("--data", "--out"):
        if name in args:
            k = args.index(name)
            value = args[k + 1]
            data, out = (value, out) if name == "--data" else (data, value)
            del args[k:k + 2]
    if len(args) < 2:
        print(__doc__, file=sys.stderr)
        return 2
    binary, sim_truth = os.path.abspath(args[0]), os.path.abspath(args[1])
    tally = cmp.Tally(False)
    is_whole = os.path.isdir(data)
    if not is_whole:
        tally.skip(f"recorded runs, their down-sampling, the whole chain: no recordings at {data}")
    out = out or (DEFAULT_OUT if is_whole else PARTIAL_OUT)
    all_got, slopes, across = aloud("recorded runs", lambda: cmp.check_recorded(tally, binary, data, True))
    truth = add_step_pairs(all_got, data)
    ahead_svg(all_got, os.path.join(os.path.dirname(out), "VALIDITY-ahead.svg"))
    landed, struck, slow = aloud("landing, strike, slow running", lambda: landing.run_all(binary, data, tally, truth))
    braked = aloud("braking", lambda: braking.run_all(binary, data, tally))
    down, lowest = aloud("down-sampling", lambda: downsample.run_all(binary, sim_truth, data, tally))
    down += rate_lines(lowest, sim_truth, tally, is_whole)
    through = aloud("whole chain", lambda: chain.run_all(binary, data, tally))
    values = aloud("published values", lambda: published.run_all(binary, tally, all_got))
    rows = aloud("simulated truth", lambda: simulated_rows(sim_truth))
    simulated, standing = simulated_lines(rows, tally), standing_lines(rows, tally)
    hard = aloud("hard cases", lambda: hard_lines(os.path.abspath(args[2]) if len(args) > 2 else None, tally))
    page = ["# Validity", "", words.HEAD, "" if is_whole else words.NO_RECORDINGS, "## Recorded runs", "",
            words.RECORDED.format(balance=balance_words(all_got))] + recorded_lines(all_got, slopes, across)
    page += ["", "![Bland-Altman picture of landing ahead](VALIDITY-ahead.svg)"]
    page += ["", "## Landing against the markers", "", words.LANDING] + landed
    page += ["", "## Strike against the strike angle", "", words.STRIKE] + struck
    page += ["", "## Slow running", "", words.SLOW] + slow
    page += ["", "## Braking", "", words.BRAKING] + braked
    page += ["", "## Down-sampling, coarse steps, lost samples", "", words.DOWN] + down
    page += ["", "## Through the whole chain", "", words.CHAIN] + through
    page += ["", "## Published values", "", words.PUBLISHED] + values
    page += ["", "## Simulated truth", "", words.SIMULATED] + simulated
    page += ["", "## Hard cases"] + hard
    page += ["", "## Definitions that are contested"] + ["", words.CONTESTED]
    page += ["", "## What each sensor can give"] + ["", words.STANDINGS] + standing
    page += ["", f"{tally.passed} passed, {tally.failed} failed, {tally.skipped} skipped", ""]
    with open(out, "w") as f:
        f.write("\n".join(page))
    print(f"written: {os.path.relpath(out)}")
    print(f"{tally.passed} passed, {tally.failed} failed, {tally.skipped} skipped")
    return 1 if tally.failed else 0


if __name__ == "__main__":
    sys.exit(main())
