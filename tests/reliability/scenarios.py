"""The commands that write, and a short visit: what the proofs of faults, kills and power cuts are run on. Not a part itself."""
import os
import shutil
import subprocess
import threading

import proof

FULL, OLD, EMPTY = "full", "old", "empty"


class Scenario:
    """words: of the command; {out} is a folder outside the data, {port} a simulated sensor. files: what it leaves there."""

    def __init__(self, name, template, words, files=(), sensor=(), is_visit=False):
        self.name, self.template, self.words, self.files, self.is_visit = name, template, words, files, is_visit
        self.sensor = sensor
        self.needs_sensor = any("{port}" in word for word in words)


def all_scenarios():
    visit = ["live", "--headless", "--port", "{port}", "--runner", "R-014", "--seconds", "2", "--baseline", "1",
             "--speed", "2.8", "--pain", "2"]
    found = [
        Scenario("first", EMPTY, ["runner", "add", "R-001", "--mass", "70"]),
        Scenario("add", FULL, ["runner", "add", "R-020", "--mass", "70", "--shoe", "red"]),
        Scenario("edit", FULL, ["runner", "edit", "R-014", "--shoe", "blue", "--show-as", "theme=light"]),
        Scenario("note", FULL, ["visits", "add", "1", "--note", "a note", "--pain-after", "3", "--effort", "6"]),
        Scenario("forget", FULL, ["runner", "forget", "R-015", "--yes", "R-015"]),
        Scenario("keep", FULL, ["keep", "{out}/kept.sqlite"], ["kept.sqlite"]),
        Scenario("csv", FULL, ["export", "1", "--out", "{out}/visit.csv"], ["visit.csv"]),
        Scenario("json", FULL, ["export", "1", "--format", "json", "--steps", "--out", "{out}/visit.json"], ["visit.json"]),
        Scenario("report", FULL, ["report", "1", "--out", "{out}/visit.pdf"], ["visit.pdf"]),
        Scenario("remeasure", FULL, ["remeasure", "1", "--keep"]),
        Scenario("calibrate", FULL, ["calibrate", "zero", "--empty", "--seconds", "0.5", "--port", "{port}", "--profile", "mat-128x32"],
                 sensor=["--scenario", "empty", "--vibration", "0", "--seam", "0"]),
        Scenario("migrate", OLD, ["visits"]),
        Scenario("visit", FULL, visit, is_visit=True),
    ]
    says = proof_help()
    if "\n  restore " in says:
        found.append(Scenario("restore", FULL, ["restore", "{out}/earlier.sqlite", "--yes"]))
    if "\n  repair " in says:
        found.append(Scenario("repair", FULL, ["repair"]))
    return found


def proof_help():
    return subprocess.run([proof.PROGRAM, "--help"], capture_output=True, text=True).stdout


class Bench:
    """The templates, made once; a fresh copy for each run. earlier.sqlite, to restore from, is a copy without the notes."""

    def __init__(self, folder):
        self.folder, self.n, self.lock = folder, 0, threading.Lock()
        self.full = os.path.join(folder, "t-full")
        proof.make_template(self.full)
        words = ["keep", os.path.join(folder, "earlier.sqlite")]
        proof.expect(proof.run(self.full, words), words)
        words = ["visits", "add", "2", "--note", "after the copy"]
        proof.expect(proof.run(self.full, words), words)
        self.old = os.path.join(folder, "t-old")
        proof.make_old(self.old)
        self.empty = os.path.join(folder, "t-empty")
        os.makedirs(self.empty)

    def fresh(self, scenario):
        with self.lock:
            self.n += 1
            to = os.path.join(self.folder, "run-%d" % self.n)
        proof.copy_tree(getattr(self, scenario.template), to)
        os.makedirs(os.path.join(to, "out"))
        shutil.copy(os.path.join(self.folder, "earlier.sqlite"), os.path.join(to, "out"))
        return to


def words_of(scenario, folder, port=""):
    return [word.replace("{out}", os.path.join(folder, "out")).replace("{port}", port) for word in scenario.words]


def run_under_disc(scenario, folder, options):
    """Runs it in the folder, watched; the result, calls counted, calls failed."""
    tally = os.path.join(folder, "tally")
    sensor = proof.Sensor(folder, *scenario.sensor) if scenario.needs_sensor else None
    before = [proof.DISC, "--under", folder, "--tally", tally,
              *options, "--"]
    result = proof.run(folder, words_of(scenario, folder, sensor.port if sensor else ""), before)
    if sensor:
        sensor.end()
    try:
        with open(tally, encoding="utf-8") as f:
            counted, failed = [int(word) for word in f.read().split()]
    except (OSError, ValueError):
        counted = failed = 0
    return result, counted, failed


def state_of(folder):
    """(problem, hash, counts) of the store. One that is not there, or has no table yet, is (None, "none", {})."""
    path = os.path.join(folder, "data", proof.STORE)
    if not os.path.exists(path) or (os.path.getsize(path) == 0 and not os.path.exists(path + "-wal")):
        return None, "none", {}
    problem, sha, counts = proof.look(path)
    return (None, "none", {}) if not problem and list(counts) == ["user_version"] else (problem, sha, counts)


def files_of(scenario, folder):
    """What lies at the places that the command writes to; sizes say enough where a time stands in the file."""
    found = {}
    for name in scenario.files:
        path = os.path.join(folder, "out", name)
        found[name] = is_whole(path) if os.path.exists(path) else None
    return found


def is_whole(path):
    """A file that the program made, read to its end: True, or what is wrong."""
    with open(path, "rb") as f:
        data = f.read()
    if path.endswith(".pdf"):
        return data.startswith(b"%PDF") and data.rstrip().endswith(b"%%EOF") or "a page that breaks off"
    if path.endswith(".sqlite"):
        problem, _, counts = proof.look(path)
        return problem or (counts.get("visit", 0) > 0 or "a copy without its visits")
    if path.endswith(".json"):
        import json
        try:
            json.loads(data)
            return True
        except ValueError as e:
            return "JSON that breaks off: %s" % e
    return data.endswith(b"\n") and data.count(b"\n") > 3 or "a table that breaks off"


class Measure:
    """A healthy run: what it was before, what it comes to, how many calls it makes."""

    def __init__(self, bench, scenario, options=()):
        folder = bench.fresh(scenario)
        self.before = state_of(folder)
        self.folder = folder
        self.result, self.n_calls, _ = run_under_disc(scenario, folder, options)
        if self.result.code != 0:
            raise SystemExit("%s does not run: exit code %s: %s" % (scenario.name, self.result.code, self.result.err))
        self.after = state_of(folder)
        files = files_of(scenario, folder)
        bad = [str(state) for state in files.values() if state is not True]
        if self.after[0] or bad:
            raise SystemExit("%s leaves no good state: %s %s" % (scenario.name, self.after[0], bad))


def is_new(scenario, measure, state):
    """The command's whole effect is there. A visit's steps and blocks differ from run to run."""
    counts = state[2]
    if scenario.is_visit:
        return counts.get("visit") == measure.after[2]["visit"]
    return counts == measure.after[2] and (state[1] != measure.before[1] or measure.before[1] == measure.after[1])


def problems_of_state(scenario, measure, folder, is_done=None):
    """What is wrong after a command that was disturbed. is_done: what its exit code said, None where it could say nothing."""
    state, found = state_of(folder), []
    if state[0]:
        return ["the store: " + state[0]]
    is_old = state[1] == measure.before[1] or (scenario.template == EMPTY and state[2].get("runner", 0) == 0)
    new = is_new(scenario, measure, state)
    if scenario.is_visit:
        for table in ("visit", "step", "note", "runner"):
            if state[2].get(table, 0) < measure.before[2].get(table, 0):
                found.append("rows of %s are gone" % table)
    elif not is_old and not new:
        found.append("the store is neither as before nor as after")
    if is_done and not new:
        found.append("it said done, and it is not")
    for name, whole in files_of(scenario, folder).items():
        if whole is not None and whole is not True:
            found.append("%s: %s" % (name, whole))
        if whole is None and is_done:
            found.append("it said done, and %s is not there" % name)
    if scenario.template == FULL or new:
        again = proof.run(folder, ["visits"])
        if again.code != 0:
            found.append("`visits` after it: exit code %s: %s" % (again.code, again.err.strip()))
    return found
