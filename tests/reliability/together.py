#!/usr/bin/python3
"""together.py - COUNT visits by the panel with up to three other programs beside it, begun at random moments of the visit, until
the panel is killed at a random moment: `visits`, `visits add`, `report`, `keep`, `export`, and a second panel. After it:

    the store       opens with good integrity
    the visit       lost at most the last second of its steps (kill.py); what was marked a second before is there
    the others      each ended with exit code 0, and what it said that it kept is there

Only what was started here is ended, by id.
"""
import os
import random
import shutil
import sqlite3
import subprocess
import sys
import threading
import time

import aside
import kill
import proof
import scenarios

LANES = 2
OTHERS_MAX = 3


def words_of(name, folder, i):
    out = os.path.join(folder, "out-%d" % i)
    return {"visits": ["visits"],
            "add": ["visits", "add", "1", "--note", "beside %d" % i],
            "report": ["report", "1", "--out", out + ".pdf"],
            "keep": ["keep", out + ".sqlite"],
            "export": ["export", "1", "--format", "csv", "--out", out + ".csv"],
            "panel": []}[name]


class Other:
    """One program beside the panel, after a pause; a second panel is killed after another."""

    def __init__(self, folder, i, name, pause_s, lasts_s):
        self.folder, self.i, self.name, self.pause_s, self.lasts_s = folder, i, name, pause_s, lasts_s
        self.problem = None
        self.thread = threading.Thread(target=self.work)
        self.thread.start()

    def work(self):
        time.sleep(self.pause_s)
        words = words_of(self.name, self.folder, self.i)
        if self.name != "panel":
            ran = proof.run(self.folder, words)
            if ran.code != 0:
                self.problem = "`%s`: exit code %s: %s" % (" ".join(words[:2]), ran.code, ran.err.strip()[:200])
            return
        p = subprocess.Popen([proof.PROGRAM, "--port", os.path.join(self.folder, "none")], env=proof.environment(self.folder),
                             cwd=proof.ROOT, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        time.sleep(self.lasts_s)
        if p.poll() is not None:
            self.problem = "the second panel ended by itself: exit code %d" % p.returncode
        p.kill()
        p.wait()


def one_visit(bench, seat, seed, worst):
    rng = random.Random(seed)
    moment_s = rng.uniform(1.0, 6)
    folder = bench.fresh(scenarios.Scenario("together", scenarios.FULL, []))
    sensor = kill.TruthSensor(folder)
    p, found = kill.begin_run(folder, sensor, seat)
    names = [rng.choice(["visits", "add", "report", "keep", "export", "panel"]) for _ in range(rng.randint(1, OTHERS_MAX))]
    others = [] if found else [Other(folder, i, name, rng.uniform(0, moment_s), rng.uniform(0.3, 2)) for i, name in enumerate(names)]
    waits = proof.Waits(p.pid, sensor.p.pid)
    marked = [] if found else kill.mark_until(seat, time.monotonic() + moment_s)
    waited_s, killed, killed_utc_s = waits.end(), time.monotonic(), time.time()
    kill.end_both(p, sensor)
    truth = sensor.end_and_read()
    for other in others:
        other.thread.join()
        if other.problem:
            found.append(other.problem)
    found += kill.problems_of_visit(folder, 3, truth, worst, killed_utc_s, waited_s)
    found += kill.marks_lost(folder, [t for t in marked if t < killed - kill.LOST_MAX_S - waited_s])
    found += problems_of_others(folder, others)
    shutil.rmtree(folder, ignore_errors=True)
    return found


def problems_of_others(folder, others):
    found = []
    for other in others:
        if other.name == "keep" and not other.problem:
            problem, _, _ = proof.look(os.path.join(folder, "out-%d.sqlite" % other.i))
            found += ["the kept copy: %s" % problem] if problem else []
        if other.name == "add" and not other.problem:
            db = sqlite3.connect(os.path.join(folder, "data", proof.STORE))
            n = db.execute("SELECT count(*) FROM note WHERE text = ?", ("beside %d" % other.i,)).fetchone()[0]
            db.close()
            found += [] if n == 1 else ["the note beside is there %d times" % n]
    return found


def main():
    args = proof.arguments("together")
    aside.in_own_mounts()
    rng = random.Random(args.seed)
    tally = proof.Tally("together", "a panel's visit with up to three other programs beside it, killed at a random moment", args)
    if not (shutil.which("Xvfb") and shutil.which("xdotool")):
        print("skipped: no Xvfb or xdotool here")
        tally.notes.append("no Xvfb or xdotool here, not run")
        return tally.write()
    worst = {}
    here = threading.local()
    seats = []
    with proof.work_folder() as folder:
        bench = scenarios.Bench(folder)

        def one(seed):
            if not hasattr(here, "seat"):
                here.seat = kill.Seat(folder)
                seats.append(here.seat)
            return one_visit(bench, here.seat, seed, worst)

        kill.side_by_side(tally, "visits", LANES, [(one, rng.randrange(1 << 30)) for _ in range(args.count)])
        for seat in seats:
            seat.end()
    tally.notes.append(kill.told_of(worst))
    return tally.write()


if __name__ == "__main__":
    sys.exit(main())
