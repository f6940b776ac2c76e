#!/usr/bin/python3
"""aside.py - COUNT visits by `live` whose store refuses or goes at a random moment, of each kind:

    full        the store's disc is full, and stays so until the visit has ended (a small disc in memory, in a mount
                namespace of this process alone)
    reserve     likewise, but a disc that is large enough for a reserve (store/reserve.h): that is given up first, so that the
                visit stays in its store and is saved there, and a runner can still be forgotten on the full disc
    deleted     the folder of the store is deleted
    moved       it is moved away, and is back before the next start
    log         the log is deleted under the program

After it, and after the next start (`visits`), each step that could be known a second before the end of the visit (kill.py) is in the
store, or in the folder that the program named, and so is the recording where its folder went; integrity is good there. Only what was started here is ended, by id.
"""
import glob
import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import time

import kill
import proof
import scenarios

KINDS = ["full", "reserve", "deleted", "moved", "log"]
LANES = 4
RESERVE = proof.STORE + ".reserve"
SMALL_DISC = {"full": "24m", "reserve": "96m"}  # there is a reserve from 64 MiB of room on


def in_own_mounts():
    """This proof once more, where it may mount; without that the full disc is left out, and the notes say so."""
    if os.environ.get("UNDERFOOT_OWN_MOUNTS"):
        # Pseudo-terminals of its own, too: a number that another program still waits for is not given out anew.
        if subprocess.run(["mount", "-t", "devpts", "-o", "newinstance,ptmxmode=0666", "devpts", "/dev/pts"],
                          stderr=subprocess.DEVNULL).returncode == 0:
            subprocess.run(["mount", "--bind", "/dev/pts/ptmx", "/dev/ptmx"], stderr=subprocess.DEVNULL)
        return True
    unshare = ["unshare", "--map-root-user", "--mount"]
    can = shutil.which("unshare") and subprocess.run([*unshare, "true"], stderr=subprocess.DEVNULL).returncode == 0
    if not can:
        return False
    os.environ["UNDERFOOT_OWN_MOUNTS"] = "yes"
    os.execvp("unshare", [*unshare, sys.executable, "-B", *sys.argv])


def fill_disc(place):
    """Leaves no block of it free."""
    with open(os.path.join(place, "filler"), "wb", buffering=0) as f:
        try:
            while f.write(b"x" * 65536):
                pass
        except OSError:
            pass
        try:
            while f.write(b"x" * 512):
                pass
        except OSError:
            pass


def mount_small(data, size):
    kept = data + "-kept"
    os.rename(data, kept)
    os.mkdir(data, 0o700)
    subprocess.run(["mount", "-t", "tmpfs", "-o", "size=" + size, "tmpfs", data], check=True)
    shutil.copytree(kept, data, dirs_exist_ok=True)
    shutil.rmtree(kept)


def break_it(kind, folder):
    data = os.path.join(folder, "data")
    if kind in SMALL_DISC:
        fill_disc(data)
    elif kind == "deleted":
        shutil.rmtree(data)
    elif kind == "moved":
        os.rename(data, data + "-away")
    else:
        os.unlink(os.path.join(data, proof.STORE + "-wal"))


def mend(kind, folder):
    data = os.path.join(folder, "data")
    if kind in SMALL_DISC:
        os.unlink(os.path.join(data, "filler"))
    elif kind == "moved":
        os.rename(data + "-away", data)


def stores_of(folder):
    """The store, and the fresh places there are."""
    return [os.path.join(folder, "data", proof.STORE)] + glob.glob(
        os.path.join(folder, ".local", "state", "underfoot", "spill-*", proof.STORE))


def wait_for_steps(data, visit):
    """Until the visit has some in the store."""
    end = time.monotonic() + proof.PATIENCE_S
    while time.monotonic() < end:
        try:
            db = sqlite3.connect("file:%s?mode=ro" % os.path.join(data, proof.STORE), uri=True)
            n = db.execute("SELECT count(*) FROM step WHERE visit_id = ?", (visit,)).fetchone()[0]
            db.close()
        except sqlite3.Error:
            n = 0
        if n > 0:
            return True
        time.sleep(0.1)
    return False


def problems_of_reserve(folder, had_reserve, code, said):
    """The disc is still full."""
    data, found = os.path.join(folder, "data"), []
    if not had_reserve:
        found.append("no reserve was set aside")
    if os.path.exists(os.path.join(data, RESERVE)):
        found.append("the reserve was not given up")
    if code != 0 or len(stores_of(folder)) > 1:
        found.append("the visit did not stay in its store: exit code %s: %s" % (code, said.strip()[-300:]))
    ran = proof.run(folder, ["runner", "forget", "R-015", "--yes", "R-015"])
    left = proof.look(os.path.join(data, proof.STORE))[2]
    if ran.code != 0 or not left or left["runner"] != 1:
        found.append("a runner can't be forgotten on it: exit code %s: %s" % (ran.code, ran.err.strip()[-300:]))
    return found


def problems_of_recording(folder, truth, limit_s):
    """It went to the fresh place, or came home from there."""
    names = glob.glob(os.path.join(folder, "**", "recordings", "visit-3-*.rec"), recursive=True) + \
        glob.glob(os.path.join(folder, ".local", "**", "recordings", "visit-3-*.rec"), recursive=True)
    if not names:
        return ["there is no recording of it"]
    steps = kill.steps_of_recording(folder, max(names, key=os.path.getsize))
    problem, lost_s = kill.lost_of(steps, truth)
    return ["the recording: %s" % (problem or "%.1f s are lost" % lost_s)] if problem or lost_s > limit_s else []


def one_visit(bench, kind, seed):
    rng = random.Random(seed)
    folder = bench.fresh(scenarios.Scenario("aside", scenarios.FULL, []))
    data = os.path.join(folder, "data")
    if kind in SMALL_DISC:
        mount_small(data, SMALL_DISC[kind])
    sensor = kill.TruthSensor(folder)
    p = subprocess.Popen([proof.PROGRAM, *proof.live_words(sensor.port, 600)], env=proof.environment(folder), cwd=proof.ROOT,
                         stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True, errors="replace")
    has_begun = wait_for_steps(data, 3)
    waits = proof.Waits(p.pid, sensor.p.pid)
    time.sleep(rng.uniform(0.5, 2.5))
    had_reserve = os.path.exists(os.path.join(data, RESERVE))
    break_it(kind, folder)
    time.sleep(rng.uniform(1.5, 3))
    limit_s = kill.LOST_MAX_S + waits.end()
    p.send_signal(signal.SIGINT)
    sensor.ask_to_end()  # in the same moment: what it sends later belongs to no visit
    try:
        _, said = p.communicate(timeout=proof.PATIENCE_S)
    except subprocess.TimeoutExpired:
        p.kill()
        _, said = p.communicate()
    truth = sensor.end_and_read()
    found = [] if p.returncode in (0, 1) else ["exit code %s: %s" % (p.returncode, said.strip()[-300:])]
    found += [] if has_begun else ["the visit did not begin"]
    found += problems_of_reserve(folder, had_reserve, p.returncode, said) if kind == "reserve" else []
    mend(kind, folder)
    ran = proof.run(folder, ["visits"])
    if p.returncode == 0 and kind in ("deleted", "log"):
        found.append("it ended as if all were saved")
    best = None
    for path in stores_of(folder):
        if not os.path.exists(path):
            continue
        problem, _, counts = proof.look(path)
        if problem:
            found.append("%s: %s" % (os.path.relpath(path, folder), problem))
        elif counts.get("visit", 0):
            steps, holes = kill.steps_in_store(path, 3)
            problem, lost_s = kill.lost_of(steps, truth)
            if problem or holes:
                found.append("%s: %s" % (os.path.relpath(path, folder), problem or "step numbers with a hole"))
            best = lost_s if best is None else min(best, lost_s)
    if best is None or best > limit_s:
        found.append("%s s of steps are lost; it said: %s; then: %s" % (best, said.strip()[-300:], ran.err.strip()[-200:]))
    if kind in ("deleted", "moved"):
        found += problems_of_recording(folder, truth, limit_s)
    if kind in ("full", "reserve", "moved"):
        steps, _ = kill.steps_in_store(os.path.join(data, proof.STORE), 3)
        _, lost_s = kill.lost_of(steps, truth)
        if lost_s > limit_s:
            found.append("it did not come home: %.1f s are missing in the store; %s" % (lost_s, ran.err.strip()[-300:]))
    if kind in SMALL_DISC:
        subprocess.run(["umount", data], check=False)
    shutil.rmtree(folder, ignore_errors=True)
    return found


def main():
    args = proof.arguments("aside")
    can_mount = in_own_mounts()
    rng = random.Random(args.seed)
    tally = proof.Tally("aside", "visits whose store's disc fills (with and without a reserve), or whose store is deleted or moved, at a random moment", args)
    if not can_mount:
        tally.notes.append("full, reserve: no mount namespace here, not run")
    with proof.work_folder() as folder:
        bench = scenarios.Bench(folder)
        wanted = args.only.split() or KINDS
        jobs = [(kind, rng.randrange(1 << 30)) for kind in KINDS for _ in range(args.count)]
        for kind in KINDS:
            if kind in wanted and (can_mount or kind not in SMALL_DISC):
                kill.side_by_side(tally, kind, LANES, [(one_visit, bench, kind, seed) for k, seed in jobs if k == kind])
    return tally.write()


if __name__ == "__main__":
    sys.exit(main())
