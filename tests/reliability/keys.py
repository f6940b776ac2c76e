#!/usr/bin/python3
"""keys.py - a whole visit by the panel, key by key: what the screen shows as kept is on disc, whenever the program is killed.

The panel (told_panel.c: the program's own objects, which tell each picture's texts) is driven by keys under Xvfb: pain before,
start, marks, speed, pain in mid-run, end, pain after, effort, notes, save. Two ways:

    held      One visit. After each key the first pictures that say anything new hold the program before they are seen (SIGSTOP);
              its store is copied as it lies there. Every write so far is in it and none that was still to come, which is what a
              kill in that moment leaves.
    killed    A visit to a key drawn by chance, the program then killed (SIGKILL) as soon as the panel says anything new.

Of the copy, and of the store after the kill: integrity is good, and all that the picture shows as kept is there, by the rows and by
`underfoot visits show`: pain before, worst and after, effort, each note, the number of marks, that the visit is saved.
The eyes are tried first on a store that lacks what a picture shows.

COUNT: visits that are killed, at most one for each key; from 200 on, one for each. Only what was started here is ended, by id.
"""
import glob
import mmap
import os
import random
import re
import shutil
import signal
import sqlite3
import struct
import subprocess
import sys
import time

import kill
import proof
import scenarios

EVERY, VISIT = 200, 3
TOLD_BYTES, HEAD = 61440 + 12, struct.Struct("=iii")
PICTURES_MAX, NEWS_S, QUIET_S = 4, 1.0, 0.12  # looked at of a key; until the first is there; without one more
TOLD_PANEL = os.path.join(proof.OBJ, "tests/reliability/told_panel")
BEGUN = 5  # the key that begins the visit: what stands there before is of an earlier one
NOTE = ["c", "a", "l", "v", "e", "s"]
# What the title says before the key, and the key.
WALK = [("Runners,.ready", "Return"), ("Visit,.ready", "Return"), ("Visit,.sensor", "Return"), ("Visit,.cautions", "Return"),
        ("Visit,.number", "1"), ("Visit,.number", "Return"),
        ("Live", "m"), ("Live", "plus"), ("Live", "m"), ("Live", "p"), ("Live,.number", "3"), ("Live,.number", "Return"),
        ("Live", "m"), ("Live", "Escape"), ("Live,.stop", "y"),
        ("Summary,.number", "2"), ("Summary,.number", "Return"), ("Summary,.number", "6"), ("Summary,.number", "Return"),
        ("Summary,.ready", "n"), *[("Summary,.note", key) for key in NOTE], ("Summary,.note", "Return"),
        ("Summary,.ready", "n"), ("Summary,.note", "o"), ("Summary,.note", "k"), ("Summary,.note", "Return"),
        ("Summary,.ready", "Return")]


class Panel:
    """The program at its first page, its display, and the sensor."""

    def __init__(self, bench, seat):
        self.folder, self.seat = bench.fresh(scenarios.Scenario("keys", scenarios.FULL, [])), seat
        self.sensor = proof.Sensor(self.folder)
        told = os.path.join(self.folder, "told")
        with open(told, "wb") as f:
            f.truncate(TOLD_BYTES)
        with open(told, "r+b") as f:
            self.told = mmap.mmap(f.fileno(), TOLD_BYTES)
        self.p = subprocess.Popen([*self.before(), TOLD_PANEL, "--port", self.sensor.port],
                                  env=proof.environment(self.folder, UNDERFOOT_TOLD=told, **seat.env), cwd=proof.ROOT,
                                  stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)

    def before(self):
        """Words before the program's."""
        return []

    def arm(self, is_armed):
        self.told[0:4] = struct.pack("=i", int(is_armed))

    def n_pictures(self):
        return HEAD.unpack(self.told[0:12])[1]

    def texts(self):
        """Of a program that is held, or gone."""
        return self.told[12:12 + HEAD.unpack(self.told[0:12])[2]].decode("utf-8", "replace").splitlines()

    def is_held(self, until_s):
        """Waits for its next picture."""
        end = time.monotonic() + until_s
        while True:
            if os.waitid(os.P_PID, self.p.pid, os.WSTOPPED | os.WNOHANG):
                return True
            if time.monotonic() > end:
                return False
            time.sleep(0.002)

    def go_on(self):
        self.p.send_signal(signal.SIGCONT)

    def step(self, k):
        """Up to the state that the k-th key is for, then that key; what hindered it."""
        pattern, key = WALK[k]
        if not self.seat.stands_at(pattern):
            return ["it never stood at %s, for key %d, %s" % (pattern, k, key)]
        return [] if self.seat.do("key", key) else ["key %d, %s, could not be pressed" % (k, key)]

    def end(self):
        self.p.kill()
        self.p.wait()
        self.sensor.end()
        self.told.close()
        shutil.rmtree(self.folder, ignore_errors=True)


# ------------------------------------------------------------------ what the picture says, and what is there

def value(text):
    return None if text == "\u2013" else float(text)


def claims_of(texts, n_marks):
    """What the picture shows as kept; n_marks: so many it has said to be kept in words."""
    found = {"before": None, "worst": None, "after": None, "effort": None, "marks": n_marks, "notes": [], "saved": False, "steps": 0}
    for i, line in enumerate(texts):
        under = texts[i - 1] if i else ""
        pain = re.fullmatch(r"(\S+) before, (\S+) worst, (\S+) after", line)
        if under == "pain" and pain:
            found["before"], found["worst"], found["after"] = [value(text) for text in pain.groups()]
        if under == "effort" and line.endswith(" of 10"):
            found["effort"] = value(line.split(" ")[0])
        run = re.fullmatch(r"\S+ min, (\S+) steps", line)
        if under == "run" and run:
            found["steps"] = int(run.group(1))
        if under == "marks" and line.isdigit():
            found["marks"] = max(found["marks"], int(line))
        if line.startswith("Marks at "):
            found["marks"] = max(found["marks"], line.count(":"))
        if line == "Notes" and "P" in texts[i:]:
            found["notes"] = [text for text in texts[i + 1:i + texts[i:].index("P")] if text != "None."]
        found["saved"] = found["saved"] or line == "The visit is saved."
    return found


def kept_in(path):
    """The same by the rows; None and why, where the store is not sound."""
    problem, _, counts = proof.look(path)
    if problem:
        return None, problem
    found = {"before": None, "worst": None, "after": None, "effort": None, "marks": 0, "notes": [], "saved": False}
    db = sqlite3.connect(path)
    for asked, pain, effort in db.execute("SELECT asked, pain, effort FROM pain WHERE visit_id = ? ORDER BY id", (VISIT,)):
        if pain is not None:
            found["worst" if asked == "during" else asked] = pain
        found["effort"] = found["effort"] if effort is None else effort
    texts = [row[0] for row in db.execute("SELECT text FROM note WHERE visit_id = ? ORDER BY id", (VISIT,))]
    found["marks"], found["notes"] = texts.count("mark"), [text for text in texts if text != "mark"]
    found["saved"] = db.execute("SELECT count(*) FROM visit WHERE id = ? AND state = 'finished'", (VISIT,)).fetchone()[0] == 1
    found["steps"] = db.execute("SELECT count(*) FROM step WHERE visit_id = ?", (VISIT,)).fetchone()[0]
    db.close()
    return found, None


def told_by_show(folder):
    """The same by `visits show`, but for marks; None: there is no such visit."""
    ran = proof.run(folder, ["visits", "show", str(VISIT)])
    if ran.code != 0:
        return None, ran.err.strip()
    found = {"before": None, "worst": None, "after": None, "effort": None, "marks": None, "notes": [], "saved": False}
    lines = ran.out.splitlines()
    for i, line in enumerate(lines):
        for word in re.findall(r"(before|worst|after|effort) ([0-9.]+)", line) if line.startswith("pain 0-10") else ():
            found[word[0]] = float(word[1])
        found["saved"] = found["saved"] or bool(re.fullmatch(r"visit +%d, finished" % VISIT, line))
        if line.startswith("notes "):
            rest = [line[len("notes "):]] + lines[i + 1:]
            found["notes"] = [text.strip() for text in rest[:rest.index("") if "" in rest else len(rest)]]
    return found, None


def lacking(claims, kept, whose):
    found = ["%s %g is shown, %s %s" % (what, claims[what], whose, "has none" if kept[what] is None else "has %g" % kept[what])
             for what in ("before", "worst", "after", "effort") if claims[what] is not None and kept[what] != claims[what]]
    found += ["the note '%s' is shown, %s lacks it" % (note, whose) for note in claims["notes"] if note not in kept["notes"]]
    if kept["marks"] is not None and kept["marks"] < claims["marks"]:
        found.append("%d marks are shown, %s has %d" % (claims["marks"], whose, kept["marks"]))
    if kept.get("steps", claims["steps"]) < claims["steps"]:
        found.append("%d steps are shown, %s has %d" % (claims["steps"], whose, kept["steps"]))
    if claims["saved"] and not kept["saved"]:
        found.append("it says saved, %s has no end of the visit" % whose)
    return found


def is_anything(claims):
    return claims["saved"] or claims["notes"] or claims["marks"] or any(claims[w] is not None for w in ("before", "worst", "after", "effort"))


def problems_of(claims, folder, is_asking_program):
    """Of what lies in this folder."""
    kept, why = kept_in(os.path.join(folder, "data", proof.STORE))
    if why:
        return [why]
    found = lacking(claims, kept, "the store")
    if is_asking_program and is_anything(claims):
        kept, why = told_by_show(folder)
        found += ["`visits show`: %s" % why] if why else lacking(claims, kept, "`visits show`")
    return found


def planted_is_found():
    """Each thing that a picture can show, with a store that has another."""
    shown = ["run", "0.7 min, 108 steps", "pain", "1 before, 3 worst, 2 after", "effort", "6 of 10", "Marks at 0:06, 0:15", "Notes", "calves", "P", "The visit is saved."]
    claims = claims_of(shown, 0)
    none = {"before": None, "worst": None, "after": None, "effort": None, "marks": 0, "notes": [], "saved": False, "steps": 0}
    return len(lacking(claims, none, "it")) == 8 and lacking(claims, claims, "it") == [] and not is_anything(none)


# ------------------------------------------------------------------ the two ways

def copy_of_store(panel, n):
    to = os.path.join(panel.folder, "as-killed-%d" % n)
    os.makedirs(os.path.join(to, "data"))
    for path in glob.glob(os.path.join(panel.folder, "data", proof.STORE + "*")):
        if not path.endswith("-shm"):  # an index of the log, made anew by whoever opens it first
            shutil.copy(path, os.path.join(to, "data"))
    return to


def look_at_key(panel, k, n_marks):
    """Holds the first new pictures after the k-th key: (problems, how many pictures, what the last one showed)."""
    found, n, claims, was_waiting = [], 0, None, False
    while n < PICTURES_MAX and panel.is_held(NEWS_S if n == 0 else QUIET_S):
        texts = panel.texts()
        is_marked = "Marked." in texts and was_waiting
        was_waiting = was_waiting or "The mark is being kept." in texts
        claims = claims_of(texts if k >= BEGUN else [], n_marks + (WALK[k][1] == "m" and is_marked))
        place = copy_of_store(panel, n)
        panel.go_on()
        found += ["key %d (%s), picture %d: %s" % (k, WALK[k][1], n, p) for p in problems_of(claims, place, False)]
        shutil.rmtree(place)
        n += 1
    panel.arm(False)
    panel.go_on()
    return found, n, claims


def waits_for_mark(panel):
    """Until the panel says that the mark is kept: a busy computer's disc takes its time. False: it never said so."""
    end = time.monotonic() + proof.PATIENCE_S
    while "Marked." not in panel.texts() and time.monotonic() < end:
        time.sleep(0.02)
    return "Marked." in panel.texts()


def walk_held(tally, bench, seat):
    panel = Panel(bench, seat)
    n_pictures = n_marks = 0
    for k in range(len(WALK)):
        found = [] if seat.stands_at(WALK[k][0]) else ["it never stood at %s" % WALK[k][0]]
        panel.arm(True)
        if not found and not seat.do("key", WALK[k][1]):
            found = ["the key could not be pressed"]
        more, n, _ = look_at_key(panel, k, n_marks)
        if WALK[k][1] == "m" and not found:
            n_marks += waits_for_mark(panel)
        n_pictures += n
        tally.add("held", found + more)
        if found:
            break
    claims = claims_of(panel.texts(), n_marks)
    end = time.monotonic() + proof.PATIENCE_S  # the last word comes from the worker
    while not claims["saved"] and time.monotonic() < end:
        time.sleep(0.05)
        claims = claims_of(panel.texts(), n_marks)
    panel.p.kill()
    panel.p.wait()
    whole = {"before": 1, "worst": 3, "after": 2, "effort": 6, "marks": n_marks, "notes": ["".join(NOTE), "ok"], "saved": True,
             "steps": claims["steps"]}
    found = problems_of(claims, panel.folder, True)
    found += [] if claims == whole else ["the last picture shows %s" % claims]
    tally.add("end", found)
    panel.end()
    tally.notes.append("%d pictures looked at, %d keys" % (n_pictures, len(WALK)))


def kill_at(bench, seat, k):
    panel = Panel(bench, seat)
    found = []
    for i in range(k + 1):
        before = panel.n_pictures()
        found = found or panel.step(i)
    end = time.monotonic() + NEWS_S
    while panel.n_pictures() == before and time.monotonic() < end:
        time.sleep(0.001)
    panel.p.kill()
    panel.p.wait()
    n_marks = sum(1 for _, key in WALK[:k] if key == "m" and k > 0)
    claims = claims_of(panel.texts() if k >= BEGUN else [], 0)
    if "Marked." in panel.texts():
        claims["marks"] = max(claims["marks"], n_marks)
    if not found:
        found = ["killed after key %d (%s): %s" % (k, WALK[k][1], p) for p in problems_of(claims, panel.folder, True)]
    panel.end()
    return found


def main():
    args = proof.arguments("keys")
    rng = random.Random(args.seed)
    tally = proof.Tally("keys", "a panel's visit key by key: what is shown as kept is there, whenever it is killed", args)
    if not (shutil.which("Xvfb") and shutil.which("xdotool")):
        print("skipped: no Xvfb or xdotool here")
        tally.notes.append("no Xvfb or xdotool here, not run")
        return tally.write()
    n_killed = len(WALK) if args.count >= EVERY else min(len(WALK), max(1, args.count // 10))
    with proof.work_folder() as folder:
        bench = scenarios.Bench(folder)
        if not planted_is_found():
            tally.add("planted", ["what is shown and not kept is not noticed"])
        seat = kill.Seat(folder)
        walk_held(tally, bench, seat)
        for k in sorted(rng.sample(range(len(WALK)), n_killed)):
            tally.add("killed", kill.guarded(kill_at, bench, seat, k))
        seat.end()
    return tally.write()


if __name__ == "__main__":
    sys.exit(main())
