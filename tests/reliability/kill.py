#!/usr/bin/python3
"""kill.py - SIGKILL at random moments, COUNT of each: of a visit by `live`, of one by the panel, of each command that
changes the store. After it the store opens with good integrity, and:

    a visit     every step of it that could be known a second before the kill is in the store and in the recording, by what the
                simulated sensor says that it sent; numbers without a hole; what was marked by a key stands there. The second is
                longer by what the program's threads and the sensor had to wait for a processor in that time (proof.Waits)
    a command   the store is as before it or as after it, whole; a file that it makes is whole or not there

A visit is killed at a moment of the clock, a command before one of its calls that change a file (disc.c), drawn evenly:
by the clock most kills of a command would fall into its loading of libraries. Only what was started here is ended, by id.
"""
import csv
import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import threading
import time
from concurrent.futures import ThreadPoolExecutor

import proof
import scenarios

COMMANDS = ["keep", "restore", "repair", "forget", "migrate", "note", "remeasure"]
LANES, PANEL_LANES = 3, 2  # more would starve the program, and measure that
LOST_MAX_S = proof.LATE_S
MATCH_S = 0.05
BEGINS_S = 2.0  # of a visit: the sensor's first steps
SURE_AFTER_S = 0.1  # a step is known once the next landing is sure: the engine's delay behind it


# ------------------------------------------------------------------ what the sensor sent, and what is there

def read_truth(path):
    with open(path, encoding="utf-8", newline="") as f:
        rows = list(csv.DictReader(f))
    return [(float(r["touchdown_s"]), float(r["next_touchdown_s"])) for r in rows if r["next_touchdown_s"]]


def lost_of(touchdowns_s, truth):
    """(problem, seconds lost): how long before the end the first step that is missing could be known; 0: none is. Steps
    have the times of the board's clock, as the truth has; the engine's touchdown is the truth's to MATCH_S."""
    if not touchdowns_s:
        return None, max(0.0, truth[-1][1] - (truth[0][1] + SURE_AFTER_S))
    known = [t for t in touchdowns_s if any(abs(t - down) < MATCH_S for down, _ in truth)]
    if len(known) < 0.8 * len(touchdowns_s):
        return "only %d of its %d steps are some that the sensor sent" % (len(known), len(touchdowns_s)), 0
    last = max(touchdowns_s)
    missing = [next_down for down, next_down in truth if down > last + MATCH_S]
    return None, max(0.0, truth[-1][1] - (missing[0] + SURE_AFTER_S)) if missing else 0


def steps_in_store(path, visit):
    """(touchdowns in seconds, whether a number is missing that should not be). The panel has its sensor before the run: of
    the steps before it only those come that settle after it, so that in the run's first moments there is a gap between
    these, all settled, and the run's own, of which none is settled yet."""
    db = sqlite3.connect(path)
    rows = db.execute("SELECT number, touchdown_us, is_settled FROM step WHERE visit_id = ? ORDER BY number", (visit,)).fetchall()
    db.close()
    gaps = [i for i in range(1, len(rows)) if rows[i][0] != rows[i - 1][0] + 1]
    is_before = len(gaps) == 1 and all(r[2] for r in rows[:gaps[0]]) and not any(r[2] for r in rows[gaps[0]:])
    return [r[1] / 1e6 for r in rows], bool(gaps) and not is_before


def steps_in_recording(folder, visit):
    place = os.path.join(folder, "data", "recordings")
    names = [n for n in os.listdir(place) if n.startswith("visit-%d-" % visit)] if os.path.isdir(place) else []
    return steps_of_recording(folder, os.path.join(place, names[0])) if names else None


def steps_of_recording(folder, path):
    ran = proof.run(folder, ["replay", path, "--steps"])
    found = {}
    for row in csv.DictReader(ran.out.splitlines()):
        found.setdefault(int(row["step"]), int(row["touchdown_us"]) / 1e6)
    return [found[n] for n in sorted(found)]


def ran_s(path, visit, killed_utc_s):
    """How long the visit had run: no more of it can be lost. The board sends from the moment that its port is opened."""
    db = sqlite3.connect(path)
    started = db.execute("SELECT started_utc_ms FROM visit WHERE id = ?", (visit,)).fetchone()[0]
    db.close()
    return killed_utc_s - started / 1000


def problems_of_visit(folder, visit, truth, worst, killed_utc_s, waited_s):
    path = os.path.join(folder, "data", proof.STORE)
    ran = proof.run(folder, ["visits"])
    found = [] if ran.code == 0 else ["`visits`: exit code %s: %s" % (ran.code, ran.err.strip())]
    problem, _, counts = proof.look(path)
    if problem:
        return found + [problem]
    if counts.get("visit", 0) < visit:
        return found  # killed before it began: nothing was shown yet
    if not truth:  # of a sensor that was heard for less than a step; later, the proof has nothing to hold on to
        return found if ran_s(path, visit, killed_utc_s) < BEGINS_S + waited_s else found + ["the sensor left no table"]
    in_store, holes = steps_in_store(path, visit)
    if holes:
        found.append("step numbers with a hole")
    in_recording = steps_in_recording(folder, visit)
    for what, steps in (("steps", in_store), ("recording", in_recording)):
        if steps is None:
            continue
        problem, lost_s = lost_of(steps, truth)
        lost_s = min(lost_s, ran_s(path, visit, killed_utc_s))
        worst[what] = max(worst.get(what, 0), lost_s)
        worst["own " + what] = max(worst.get("own " + what, 0), lost_s - waited_s)
        if problem:
            found.append("%s: %s" % (what, problem))
        elif lost_s > LOST_MAX_S + waited_s:
            found.append("%s: the last %.2f s are lost, and %.2f s it waited for a processor" % (what, lost_s, waited_s))
    return found


def told_of(worst):
    return "at most %.2f s of steps and %.2f s of recording lost, %.2f and %.2f s beyond waiting for a processor (limit %.0f s)" % (
        worst.get("steps", 0), worst.get("recording", 0), worst.get("own steps", 0), worst.get("own recording", 0), LOST_MAX_S)


# ------------------------------------------------------------------ visits

class TruthSensor(proof.Sensor):
    """In real time, and with what it sent as a table, written when it ends."""

    def __init__(self, folder):
        self.truth_path, self.is_asked_to_end = os.path.join(folder, "truth.csv"), False
        super().__init__(folder, "--truth", self.truth_path, pace=1)

    def ask_to_end(self):
        """Once: a second time would end it before its table is written."""
        if not self.is_asked_to_end:
            self.is_asked_to_end = True
            self.p.send_signal(signal.SIGINT)

    def end_and_read(self):
        self.ask_to_end()
        try:
            self.p.wait(proof.PATIENCE_S)
        except subprocess.TimeoutExpired:
            self.end()
        self.out.close()
        return read_truth(self.truth_path) if os.path.exists(self.truth_path) else []


def end_both(p, sensor):
    """In one moment: a sensor that went on would count as lost what nobody could have read."""
    sensor.ask_to_end()
    p.kill()
    p.wait()


def kill_live(bench, rng_moment, worst):
    folder = bench.fresh(scenarios.Scenario("live", scenarios.FULL, []))
    sensor = TruthSensor(folder)
    words = proof.live_words(sensor.port, 600)
    p = subprocess.Popen([proof.PROGRAM, *words], env=proof.environment(folder), cwd=proof.ROOT, stdin=subprocess.DEVNULL,
                         stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    waits = proof.Waits(p.pid, sensor.p.pid)
    time.sleep(rng_moment)
    waited_s, killed_utc_s = waits.end(), time.time()
    end_both(p, sensor)
    found = problems_of_visit(folder, 3, sensor.end_and_read(), worst, killed_utc_s, waited_s)
    shutil.rmtree(folder, ignore_errors=True)
    return found


class Seat:
    """A display of its own, and hands at it."""

    def __init__(self, folder):
        r, w = os.pipe()
        self.p = subprocess.Popen(["Xvfb", "-displayfd", str(w), "-noreset", "-screen", "0", "800x600x24"], pass_fds=[w],
                                  stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, cwd=folder)
        os.close(w)
        with os.fdopen(r) as f:
            self.env = {"DISPLAY": ":" + f.readline().strip(), "SDL_VIDEODRIVER": "x11"}

    def do(self, *words):
        return subprocess.run(["xdotool", *words], env=dict(os.environ, **self.env), stdout=subprocess.DEVNULL,
                              stderr=subprocess.DEVNULL).returncode == 0

    def stands_at(self, pattern):
        end = time.monotonic() + proof.PATIENCE_S
        while time.monotonic() < end:
            if self.do("search", "--name", pattern):
                return True
            time.sleep(0.1)
        return False

    def end(self):
        self.p.terminate()
        self.p.wait()


WAY_TO_RUN = [("Runners,.ready", "Return"), ("Visit,.ready", "Return"), ("Visit,.sensor", "Return"),
              ("Visit,.cautions", "Return"), ("Visit,.number", "1")]


def begin_run(folder, sensor, seat):
    """The panel, from its start to its live page; and what hindered that."""
    p = subprocess.Popen([proof.PROGRAM, "--port", sensor.port], env=proof.environment(folder, **seat.env), cwd=proof.ROOT,
                         stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    found = []
    for pattern, key in WAY_TO_RUN:
        if not seat.stands_at(pattern):
            found.append("never stood at %s" % pattern)
            break
        seat.do("key", key)
    seat.do("key", "Return")
    if not found and not seat.stands_at("Live"):
        found.append("the run did not begin")
    return p, found


def mark_until(seat, end):
    """Marks all half seconds; when each was made."""
    marked = []
    while time.monotonic() < end:
        if seat.do("key", "m"):
            marked.append(time.monotonic())
        time.sleep(min(0.5, max(0.0, end - time.monotonic())))
    return marked


def kill_panel(bench, seat, moment_s, worst):
    folder = bench.fresh(scenarios.Scenario("panel", scenarios.FULL, []))
    sensor = TruthSensor(folder)
    p, found = begin_run(folder, sensor, seat)
    waits = proof.Waits(p.pid, sensor.p.pid)
    marked = [] if found else mark_until(seat, time.monotonic() + moment_s)
    waited_s, killed, killed_utc_s = waits.end(), time.monotonic(), time.time()
    end_both(p, sensor)
    found += problems_of_visit(folder, 3, sensor.end_and_read(), worst, killed_utc_s, waited_s)
    found += marks_lost(folder, [t for t in marked if t < killed - LOST_MAX_S - waited_s])
    shutil.rmtree(folder, ignore_errors=True)
    return found


def marks_lost(folder, marked):
    try:
        db = sqlite3.connect(os.path.join(folder, "data", proof.STORE))
        n = db.execute("SELECT count(*) FROM note WHERE visit_id = 3").fetchone()[0]
        db.close()
    except sqlite3.Error as e:
        return ["the notes: %s" % e]
    return [] if n >= len(marked) else ["%d marks were set more than a second before, %d are there" % (len(marked), n)]


# ------------------------------------------------------------------ commands

def kill_command(bench, scenario, measure, at):
    folder = bench.fresh(scenario)
    result, counted, _ = scenarios.run_under_disc(scenario, folder, ["--kill", str(at)])
    found = scenarios.problems_of_state(scenario, measure, folder)
    if result.code != 128 + signal.SIGKILL and counted >= at:
        found.append("it was not killed: exit code %s" % result.code)
    shutil.rmtree(folder, ignore_errors=True)
    return found


def side_by_side(tally, name, lanes, jobs):
    with ThreadPoolExecutor(lanes) as pool:
        for problems in pool.map(lambda job: guarded(*job), jobs):
            tally.add(name, problems)


def guarded(function, *words):
    try:
        return function(*words)
    except (OSError, ValueError, sqlite3.Error, subprocess.SubprocessError) as e:
        return ["the proof itself: %r" % e]


def kill_panels(tally, bench, rng, n, worst):
    if not (shutil.which("Xvfb") and shutil.which("xdotool")):
        tally.notes.append("panel: no Xvfb or xdotool here, not run")
        return
    here = threading.local()
    seats = []

    def one(moment_s):
        if not hasattr(here, "seat"):
            here.seat = Seat(bench.folder)
            seats.append(here.seat)
        return kill_panel(bench, here.seat, moment_s, worst)

    side_by_side(tally, "panel", PANEL_LANES, [(one, rng.uniform(0.5, 6)) for _ in range(n)])
    for seat in seats:
        seat.end()


def planted_is_found():
    """Forty steps of which the last thirty are missing: more than any limit; and none missing."""
    truth = [(0.4 * i, 0.4 * (i + 1)) for i in range(40)]
    downs = [down for down, _ in truth]
    return lost_of(downs[:10], truth)[1] > LOST_MAX_S and lost_of(downs, truth) == (None, 0) and \
        lost_of([t + 0.2 for t in downs], truth)[0] is not None


def main():
    args = proof.arguments("kill")
    rng = random.Random(args.seed)
    tally = proof.Tally("kill", "SIGKILL at random moments: visits by live and panel, commands that change the store", args)
    wanted = args.only.split()
    if not planted_is_found():
        tally.add("planted", ["lost steps are not noticed"])
    with proof.work_folder() as folder:
        bench = scenarios.Bench(folder)
        for scenario in scenarios.all_scenarios():
            if scenario.name not in COMMANDS or (wanted and scenario.name not in wanted):
                continue
            measure = scenarios.Measure(bench, scenario)
            moments = [rng.randint(1, measure.n_calls) for _ in range(args.count)]
            side_by_side(tally, scenario.name, LANES, [(kill_command, bench, scenario, measure, at) for at in moments])
        worst = {}
        if not wanted or "live" in wanted:
            side_by_side(tally, "live", LANES, [(kill_live, bench, rng.uniform(0.3, 7), worst) for _ in range(args.count)])
            tally.notes.append("live: " + told_of(worst))
        worst = {}
        if not wanted or "panel" in wanted:
            kill_panels(tally, bench, rng, args.count, worst)
            tally.notes.append("panel: " + told_of(worst))
    return tally.write()


if __name__ == "__main__":
    sys.exit(main())
