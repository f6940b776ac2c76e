#!/usr/bin/python3
"""fault.py - the disc refuses: each call that changes a file, of each command that writes and of a short visit, is refused
once (disc.c), for every N, as a failing disc does (EIO: all calls), as a full one (ENOSPC: writes, and what makes a file or
a name), as one that was mounted read-only (EROFS: what opens to write, makes, renames or removes). It holds for SQLite's
calls and for all others alike.

Then of a command: the store is sound, as before or as after; where it says done, all is done; else its exit code is not 0
and one plain line tells why; a file that it makes is whole or not there.
Of a visit, where also a spell of the disc is tried (all calls refused for FAULT_MS, from a random one on): it runs to its
end whatever the disc does, the earlier visits are there, and where the spell is over before its last second, so is what
was saved after it: steps to the end, and none of those between is missing.

COUNT: calls of a command at most, drawn by the seed where it makes more; from 200 on, every one. Each with each error.
"""
import csv
import errno
import os
import random
import re
import shutil
import sqlite3
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor

import proof
import scenarios

EVERY = 200
LANES = 4
FAULT_MS = 1500
DISCS = [("EIO", errno.EIO, "owstrum"), ("ENOSPC", errno.ENOSPC, "owtrm"), ("EROFS", errno.EROFS, "orum")]
SPELL_VISIT_S = 5
RESUMED_S = proof.LATE_S
RAW = re.compile(r"SQL logic|SQLITE_|near \"|no such (table|column)|assert|Aborted|core dumped|AddressSanitizer")


def problems_of_words(result):
    """What is wrong with the way in which it ended."""
    if result.code is None:
        return ["it hangs"]
    if result.code >= 124 or result.code < 0:
        return ["it ended by a signal: %d: %s" % (result.code, result.err.strip()[-200:])]
    found = []
    lines = [line for line in result.err.splitlines() if line.strip()]
    if result.code != 0 and not any(line.startswith("underfoot: ") and len(line) > 20 for line in lines):
        found.append("exit code %d without a line that says why" % result.code)
    if RAW.search(result.err):
        found.append("raw words: %s" % RAW.search(result.err).group(0))
    return found


def fault_command(bench, scenario, measure, letter, with_errno, at):
    folder = bench.fresh(scenario)
    options = ["--fail", str(at), "--with", str(with_errno), "--kinds", letter]
    result, _, failed = scenarios.run_under_disc(scenario, folder, options)
    found = problems_of_words(result)
    if failed == 0:
        found.append("no call was refused")
    found += scenarios.problems_of_state(scenario, measure, folder, is_done=result.code == 0 and not scenario.is_visit)
    shutil.rmtree(folder, ignore_errors=True)
    return ["%s (it said: %s)" % (f, (result.err.strip().splitlines() or ["nothing"])[-1]) for f in found]


def fault_visit(bench, scenario, measure, letter, with_errno, at):
    """A visit's calls come as the clock has them: where it makes fewer than at, nothing was refused, and all is well."""
    folder = bench.fresh(scenario)
    options = ["--fail", str(at), "--with", str(with_errno), "--kinds", letter]
    result, _, failed = scenarios.run_under_disc(scenario, folder, options)
    found = problems_of_words(result) + scenarios.problems_of_state(scenario, measure, folder)
    if result.code == 0 and not found:
        found += problems_of_saved(folder, 3, is_finished=True)
    shutil.rmtree(folder, ignore_errors=True)
    return ["%s (it said: %s)" % (f, (result.err.strip().splitlines() or ["nothing"])[-1]) for f in found]


def problems_of_saved(folder, visit, is_finished):
    """A visit that was said to be saved: it is there, finished, its steps without a hole."""
    db = sqlite3.connect(os.path.join(folder, "data", proof.STORE))
    finished = db.execute("SELECT count(*) FROM visit WHERE id = ? AND state = 'finished'", (visit,)).fetchone()[0]
    numbers = [row[0] for row in db.execute("SELECT number FROM step WHERE visit_id = ? ORDER BY number", (visit,))]
    db.close()
    found = []
    if is_finished and not finished:
        found.append("exit code 0, and the visit is not finished in the store")
    if numbers != list(range(1, len(numbers) + 1)):
        found.append("steps are missing between others")
    if len(numbers) < 2:
        found.append("exit code 0, and no steps are stored")
    return found


def problems_of_resuming(folder):
    """What the board sent to the end is in the store. By its own table, whatever the computer let it do in that time."""
    db = sqlite3.connect(os.path.join(folder, "data", proof.STORE))
    last_us = db.execute("SELECT max(touchdown_us) FROM step WHERE visit_id = 3").fetchone()[0] or 0
    db.close()
    with open(os.path.join(folder, "truth.csv"), encoding="utf-8", newline="") as f:
        sent_s = max(float(row["touchdown_s"]) for row in csv.DictReader(f))
    return [] if last_us / 1e6 > sent_s - proof.PACE * RESUMED_S else [
        "saving did not resume: the last step is of %.1f s, the board's of %.1f s" % (last_us / 1e6, sent_s)]


def spell(bench, scenario, measure, with_errno, at):
    """All calls are refused for a while in mid-visit; then the disc is well again."""
    folder = bench.fresh(scenario)
    words = list(scenario.words)
    words[words.index("--seconds") + 1] = str(SPELL_VISIT_S)
    longer = scenarios.Scenario("spell", scenario.template, words, sensor=["--truth", os.path.join(folder, "truth.csv")],
                                is_visit=True)
    options = ["--fail", str(at), "--with", str(with_errno), "--for-ms", str(FAULT_MS)]
    result, _, failed = scenarios.run_under_disc(longer, folder, options)
    found = problems_of_words(result)
    if failed == 0:
        found.append("no call was refused")
    found += scenarios.problems_of_state(longer, measure, folder)
    begun = any(line.startswith("visit  ") for line in result.out.splitlines())
    if begun and not found:
        found += problems_of_saved(folder, 3, is_finished=result.code == 0)
        if result.code == 0:
            found += problems_of_resuming(folder)
    shutil.rmtree(folder, ignore_errors=True)
    return ["%s (it said: %s)" % (f, (result.err.strip().splitlines() or ["nothing"])[-1]) for f in found]


def guarded(function, *words):
    try:
        return function(*words)
    except (OSError, ValueError, sqlite3.Error, subprocess.SubprocessError) as e:
        return ["the proof itself: %r" % e]


def places(n, count, rng):
    return list(range(1, n + 1)) if count >= min(EVERY, n) else sorted(rng.sample(range(1, n + 1), count))


def fault_scenario(tally, pool, bench, scenario, args, rng):
    measure = scenarios.Measure(bench, scenario)
    for name, number, letter in DISCS:
        n = scenarios.Measure(bench, scenario, ["--kinds", letter]).n_calls
        function = fault_visit if scenario.is_visit else fault_command
        jobs = [(at, pool.submit(guarded, function, bench, scenario, measure, letter, number, at))
                for at in places(n, args.count, rng)]
        for at, job in jobs:
            tally.add(scenario.name, ["%s at call %d of %d: %s" % (name, at, n, p) for p in job.result()])
    if scenario.is_visit:
        jobs = [(at, pool.submit(guarded, spell, bench, scenario, measure, number, at))
                for _, number, _ in DISCS[:2] for at in [rng.randint(40, measure.n_calls) for _ in range(max(1, args.count // 5))]]
        for at, job in jobs:
            tally.add("spell of %d ms" % FAULT_MS, ["from call %d: %s" % (at, p) for p in job.result()])


def main():
    args = proof.arguments("fault")
    rng = random.Random(args.seed)
    tally = proof.Tally("fault", "a refused call: EIO, ENOSPC, EROFS at the Nth call of each command and of a visit", args)
    wanted = args.only.split()
    with proof.work_folder() as folder, ThreadPoolExecutor(LANES) as pool:
        bench = scenarios.Bench(folder)
        for scenario in scenarios.all_scenarios():
            if not wanted or scenario.name in wanted:
                fault_scenario(tally, pool, bench, scenario, args, rng)
    return tally.write()


if __name__ == "__main__":
    sys.exit(main())
