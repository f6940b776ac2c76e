#!/usr/bin/python3
"""panel.py - a visit by the panel whose disc begins to refuse at a random moment: EIO (a failing disc), EROFS (remounted read-only
under it, what was open for writing too), ENOSPC (full). Each for good, and for a spell of some seconds. The panel is told_panel.c,
under disc.c; of its data folder alone every call that changes a file is refused.

    told        the panel says where the visit is kept meanwhile, or that it is not saved and why (the notes: after how long)
    goes on     its pictures go on changing all the while
    not saved   "The visit is saved." is never said before the store has the visit's end
    for good    the panel says at the end where the visit is kept; at the next start (`visits`), on a disc that is well again, it
                is taken in
    a spell     it comes home by itself, the panel says that it is saved, and the copy of the day has it
    whole       integrity is good; the visit is finished, its steps have no hole, and all that the last picture shows as kept
                (keys.py), how many steps too, is in the store

COUNT: visits of all kinds together, in turn; each kind once at least from 6 on. Below 50 three of them, a kind of disc each. Only what was started here is ended, by id.
"""
import errno
import glob
import os
import random
import re
import shutil
import signal
import sqlite3
import statistics
import subprocess
import sys
import threading
import time
from concurrent.futures import ThreadPoolExecutor

import keys
import kill
import proof
import scenarios

LANES = 3
KINDS = [("EIO", errno.EIO, "owstrum"), ("EROFS", errno.EROFS, "owstrum"), ("ENOSPC", errno.ENOSPC, "owtrm")]
TELLS = re.compile(r"is kept in|is not saved|not being saved|can't be saved|no other takes it")


class Visit(keys.Panel):
    def __init__(self, bench, seat, number, letters):
        self.gate = os.path.join(bench.folder, "refuse-%d-%d" % (os.getpid(), threading.get_ident()))
        self.disc = [proof.DISC, "--with", str(number), "--kinds", letters, "--while", self.gate, "--under"]
        super().__init__(bench, seat)

    def before(self):
        return [*self.disc, os.path.join(self.folder, "data"), "--"]

    def is_told(self, pattern, until_s, found):
        """Waits for it; notes pictures that stand still, and a "saved" that is none."""
        end, last, seen = time.monotonic() + until_s, time.monotonic(), self.n_pictures()
        while time.monotonic() < end:
            text = "\n".join(self.texts())
            if self.n_pictures() != seen:
                last, seen = time.monotonic(), self.n_pictures()
            if "The visit is saved." in text and not self.has_end():
                found.append("it says saved, and the store has no end of the visit")
            if pattern.search(text):
                return True
            time.sleep(0.02)
        if time.monotonic() - last > proof.LATE_S + 1:
            found.append("its pictures stand still")
        return False

    def has_end(self):
        try:
            db = sqlite3.connect("file:%s?mode=ro" % os.path.join(self.folder, "data", proof.STORE), uri=True)
            n = db.execute("SELECT count(*) FROM visit WHERE id = ? AND state = 'finished'", (keys.VISIT,)).fetchone()[0]
            db.close()
            return n == 1
        except sqlite3.Error:
            return False

    def leave(self):
        """As a person who closes the window does."""
        self.p.send_signal(signal.SIGTERM)
        try:
            self.p.wait(proof.PATIENCE_S)
            return []
        except subprocess.TimeoutExpired:
            return ["it does not end"]


def problems_at_end(visit, claims, ran):
    store = os.path.join(visit.folder, "data", proof.STORE)
    found = keys.problems_of(claims, visit.folder, True)
    db = sqlite3.connect(store)
    state = db.execute("SELECT state FROM visit WHERE id = ?", (keys.VISIT,)).fetchone()
    numbers = [row[0] for row in db.execute("SELECT number FROM step WHERE visit_id = ? ORDER BY number", (keys.VISIT,))]
    db.close()
    if state != ("finished",):
        found.append("the visit is not finished in the store: %s; %s" % (state, ran))
    if numbers != list(range(numbers[0], numbers[0] + len(numbers))) if numbers else True:
        found.append("its steps have a hole, or there are none")
    return found


def problems_of_copy(visit):
    """The program's own copy of the day: of a visit that is in its store."""
    names = glob.glob(os.path.join(visit.folder, "data", proof.STORE + ".kept-*"))
    if len(names) != 1:
        return ["%d copies of the day" % len(names)]
    problem, _, counts = proof.look(names[0])
    return [problem] if problem else [] if counts["visit"] == keys.VISIT else ["the copy of the day lacks the visit"]


def one_visit(bench, seat, kind, is_spell, seed, worst):
    rng = random.Random(seed)
    name, number, letters = kind
    visit = Visit(bench, seat, number, letters)
    found = []
    for k in range(keys.BEGUN + 1):
        found = found or visit.step(k)
    if not found and not seat.stands_at("Live"):
        found.append("the run did not begin")
    time.sleep(rng.uniform(0.5, 2.5))
    with open(visit.gate, "wb"):
        pass
    began = time.monotonic()
    if not found and not visit.is_told(TELLS, proof.PATIENCE_S, found):
        found.append("nothing is told of it: %s" % visit.texts()[-12:])
    worst.append(time.monotonic() - began)
    seat.do("key", "m")
    if is_spell:
        time.sleep(rng.uniform(0.5, 2))
        os.unlink(visit.gate)
        time.sleep(1.5)
    for pattern, key in [step for step in keys.WALK if step[0] in ("Live,.stop", "Summary,.number")] if not found else []:
        if pattern == "Live,.stop":
            seat.do("key", "Escape")
        if not seat.stands_at(pattern):
            found.append("it never stood at %s" % pattern)
            break
        seat.do("key", key)
    if not found and not seat.stands_at("Summary,.ready"):
        found.append("it never came to the summary")
    seat.do("key", "Return")
    wanted = re.compile("The visit is saved") if is_spell else re.compile("The visit is kept in")
    if not found and not visit.is_told(wanted, proof.PATIENCE_S / 2, found):
        found.append("it does not say '%s'" % wanted.pattern)
    claims = keys.claims_of(visit.texts(), 1)
    found += visit.leave()
    if not is_spell:
        os.unlink(visit.gate)
    ran = proof.run(visit.folder, ["visits"])
    found += [] if ran.code == 0 else ["`visits` at the next start: %s" % ran.err.strip()[-200:]]
    found += problems_at_end(visit, claims, ran.err.strip()[-200:])
    found += problems_of_copy(visit) if is_spell else []
    visit.end()
    return ["%s: %s" % (name, f) for f in found]


def main():
    args = proof.arguments("panel")
    rng = random.Random(args.seed)
    tally = proof.Tally("panel", "a panel's visit whose disc refuses (EIO, read-only remount, full), for good and for a spell", args)
    if not (shutil.which("Xvfb") and shutil.which("xdotool")):
        print("skipped: no Xvfb or xdotool here")
        tally.notes.append("no Xvfb or xdotool here, not run")
        return tally.write()
    count = args.count if args.count >= 50 else min(args.count, len(KINDS))
    kinds = [(kind, is_spell) for is_spell in (False, True) for kind in KINDS]
    with proof.work_folder() as folder:
        bench = scenarios.Bench(folder)
        here, seats, worst = threading.local(), [], []

        def one(kind, is_spell, seed):
            if not hasattr(here, "seat"):
                here.seat = kill.Seat(folder)
                seats.append(here.seat)
            return one_visit(bench, here.seat, kind, is_spell, seed, worst)

        some = kinds if count > len(KINDS) else [kinds[0], kinds[4], kinds[2]]  # both endings
        jobs = [(*some[i % len(some)], rng.randrange(1 << 30)) for i in range(count)]
        with ThreadPoolExecutor(LANES) as pool:
            for job, problems in zip(jobs, pool.map(lambda job: kill.guarded(one, *job), jobs)):
                tally.add("%s %s" % (job[0][0], "for a spell" if job[1] else "for good"), problems)
        for seat in seats:
            seat.end()
        tally.notes.append("told after %.1f s in the middle, %.1f s at most" % (statistics.median(worst), max(worst)))
    return tally.write()


if __name__ == "__main__":
    sys.exit(main())
