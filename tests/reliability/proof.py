"""What the proofs against loss share: a data folder with something in it, a simulated sensor, the program run under
`disc`, and what a store holds. Not a part itself.
"""
import argparse
import hashlib
import json
import os
import shutil
import signal
import sqlite3
import subprocess
import tempfile
import threading
import time

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(os.path.dirname(HERE))
# How much may be lost at a kill, and how long after a disturbance all is well again: a second, judged by hand on a computer with
# nothing else to do. A busy one proves its processor, not the disc: there a later moment is taken, and what was lost is told.
LATE_S = float(os.environ.get("UNDERFOOT_LATE_S", "1"))
PROGRAM = os.environ.get("UNDERFOOT_BIN", os.path.join(ROOT, "build/underfoot"))
OBJ = os.environ.get("UNDERFOOT_OBJ", os.path.join(ROOT, "build/main"))
DISC = os.path.join(OBJ, "tests/reliability/disc")
STORE = "underfoot.sqlite"
PACE = 4  # of the simulated sensor, where it is not real time
PATIENCE_S = 60  # a healthy run takes a tenth of it; one that takes longer hangs, and counts as failed


def arguments(part):
    a = argparse.ArgumentParser(prog=part)
    a.add_argument("--count", type=int, default=10)
    a.add_argument("--seed", type=int, default=1)
    a.add_argument("--out", default=".")
    a.add_argument("--only", default="", help="names of scenarios, parted by blanks")
    a.add_argument("--verbose", action="store_true")
    return a.parse_args()


class Tally:
    """Counts, and tells each failure as it comes; at the end the JSON."""

    def __init__(self, part, what, args):
        self.part, self.what, self.args = part, what, args
        self.began = time.monotonic()
        self.count = self.failed = 0
        self.notes = []
        self.told = {}

    def add(self, name, problems):
        self.count += 1
        self.told.setdefault(name, [0, 0])[0] += 1
        if problems:
            self.failed += 1
            self.told[name][1] += 1
            print("  FAILED %s: %s" % (name, "; ".join(problems)), flush=True)
        elif self.args.verbose:
            print("  ok %s" % name, flush=True)

    def write(self):
        per = ", ".join("%s %d" % (name, n) + (" (%d failed)" % bad if bad else "") for name, (n, bad) in self.told.items())
        result = {"part": self.part, "what": self.what, "count": self.count, "failed": self.failed,
                  "seed": self.args.seed, "commit": os.environ.get("UNDERFOOT_COMMIT", "-"),
                  "seconds": round(time.monotonic() - self.began), "notes": "; ".join([per] + self.notes)}
        os.makedirs(self.args.out, exist_ok=True)
        with open(os.path.join(self.args.out, self.part + ".json"), "w", encoding="utf-8") as f:
            json.dump(result, f, indent=1)
        return 1 if self.failed or not self.count else 0


# ------------------------------------------------------------------ running the program

def environment(folder, **more):
    """The program's: its data in the folder, no display, no sound, nothing of the user's."""
    env = {"PATH": os.environ.get("PATH", "/usr/bin:/bin"), "HOME": folder, "UNDERFOOT_DATA": os.path.join(folder, "data"),
           "XDG_DATA_HOME": folder, "XDG_CONFIG_HOME": folder, "XDG_CACHE_HOME": os.path.join(os.path.dirname(folder), "cache"), "XDG_RUNTIME_DIR": folder, "SDL_VIDEODRIVER": "dummy",
           "SDL_AUDIODRIVER": "dummy", "UNDERFOOT_PROFILES": os.path.join(ROOT, "profiles"),
           "LC_ALL": "C.UTF-8"}
    env.update(more)
    return env


class Ran:
    def __init__(self, code, out, err):
        self.code, self.out, self.err = code, out, err


def run(folder, words, before=(), patience_s=PATIENCE_S, **more):
    """One command; code None: it had to be ended."""
    p = subprocess.Popen([*before, PROGRAM, *words], env=environment(folder, **more), cwd=ROOT, stdin=subprocess.DEVNULL,
                         stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, errors="replace", start_new_session=True)
    try:
        out, err = p.communicate(timeout=patience_s)
    except subprocess.TimeoutExpired:
        os.killpg(p.pid, signal.SIGKILL)  # the session that was made for it, and all in it
        out, err = p.communicate()
        return Ran(None, out, err)
    return Ran(p.returncode, out, err)


class Sensor:
    """A simulated board on a pseudo-terminal, four times as fast as a real one; truth is what it really sent."""

    def __init__(self, folder, *more, pace=PACE):
        self.out = open(os.path.join(folder, "mimic.out"), "w+", encoding="utf-8")
        self.p = subprocess.Popen([PROGRAM, "mimic", "--pace", str(pace), *more], env=environment(folder), cwd=ROOT,
                                  stdout=self.out, stderr=subprocess.DEVNULL, stdin=subprocess.DEVNULL)
        end = time.monotonic() + PATIENCE_S
        self.port = ""
        while not self.port and time.monotonic() < end:
            with open(self.out.name, encoding="utf-8") as f:
                line = f.readline()
            self.port = line.strip() if line.endswith("\n") else ""
            time.sleep(0.02)

    def end(self):
        """Asked first, so that its table is written to the end."""
        self.p.send_signal(signal.SIGINT)
        try:
            self.p.wait(5)
        except subprocess.TimeoutExpired:
            self.p.kill()
            self.p.wait()
        self.out.close()


class Waits:
    """How long threads stood ready while the computer had no processor for them: by the kernel's own count (schedstat), looked at
    ten times a second. A busy computer's wait is no loss of the program's."""
    EACH_S, LOOK_BACK_S = 0.1, 2.5

    def __init__(self, program, sensor):
        """program: its pid; of its threads the two that waited longest count, but not the one that draws. sensor: its pid."""
        self.program, self.sensor = program, sensor
        self.seen = [(time.monotonic(), self.look())]
        self.is_over = threading.Event()
        self.thread = threading.Thread(target=self.work)
        self.thread.start()

    def look(self):
        found = {}
        for pid in (self.program, self.sensor):
            place = "/proc/%d/task" % pid
            try:
                for tid in os.listdir(place):
                    if pid == self.sensor or int(tid) != pid:
                        with open("%s/%s/schedstat" % (place, tid), encoding="ascii") as f:
                            found[(pid, tid)] = int(f.read().split()[1]) / 1e9
            except (OSError, ValueError, IndexError):
                pass  # it has ended meanwhile
        return found

    def work(self):
        while not self.is_over.wait(self.EACH_S):
            self.seen.append((time.monotonic(), self.look()))

    def end(self):
        """Seconds of the last two and a half; to be asked just before the kill."""
        self.is_over.set()
        self.thread.join()
        now, last = time.monotonic(), self.look()
        before = [there for at, there in self.seen if at <= now - self.LOOK_BACK_S] or [self.seen[0][1]]
        waited = {who: s - before[-1].get(who, 0.0) for who, s in last.items()}
        own = sorted((s for (pid, _), s in waited.items() if pid == self.program), reverse=True)
        return sum(own[:2]) + sum(s for (pid, _), s in waited.items() if pid == self.sensor)


def live_words(port, seconds, runner="R-014"):
    return ["live", "--headless", "--port", port, "--runner", runner, "--seconds", str(seconds), "--baseline", "1",
            "--speed", "2.8", "--pain", "2"]


# ------------------------------------------------------------------ a data folder with something in it

def make_template(folder):
    """Two runners with a visit each, recordings, notes, and a page of the second's visit where the panel puts it."""
    os.makedirs(folder)
    for words in (["runner", "add", "R-014", "--mass", "74", "--pain-limit", "5"], ["runner", "add", "R-015", "--mass", "61"]):
        expect(run(folder, words), words)
    for runner in ("R-014", "R-015"):
        sensor = Sensor(folder)
        words = live_words(sensor.port, 2, runner)
        result = run(folder, words)
        sensor.end()
        expect(result, words)
    os.makedirs(os.path.join(folder, "data", "pages"))
    for words in (["visits", "add", "1", "--note", "before all", "--pain-after", "1"],
                  ["report", "2", "--out", os.path.join(folder, "data", "pages", "visit-2.pdf")]):
        expect(run(folder, words), words)


def make_old(folder, version=0):
    """A store as an older version left it, with two runners of a visit each."""
    os.makedirs(os.path.join(folder, "data"))
    sql = subprocess.run([os.path.join(OBJ, "tests/reliability/old_store"), str(version)], capture_output=True, text=True,
                         check=True).stdout
    db = sqlite3.connect(os.path.join(folder, "data", STORE))
    db.execute("PRAGMA journal_mode = WAL")
    db.executescript("BEGIN;" + sql + "COMMIT;")
    for r in (1, 2):
        db.execute("INSERT INTO runner (code, created_utc_ms, shoe_note) VALUES (?, 1, 'a shoe')", ("R-OLD%d" % r,))
        db.execute("INSERT INTO visit (runner_id, started_utc_ms, zone_offset_min, software) VALUES (?, ?, 60, 'x')", (r, 5 + r))
        for i in range(30):
            db.execute("INSERT INTO step (visit_id, number, is_settled, flags, touchdown_us, toe_off_us, feedback_shown,"
                       " contact_ms) VALUES (?, ?, 1, 0, ?, ?, 1, ?)", (r, i + 1, i * 400000, i * 400000 + 250000, 250.5 + i))
    db.commit()
    db.close()


def expect(result, words):
    if result.code != 0:
        raise SystemExit("can't begin: %s: exit code %s: %s" % (" ".join(words), result.code, result.err.strip()))


def copy_tree(of, to):
    shutil.copytree(of, to, symlinks=True)
    return to


def work_folder():
    """In memory where there is room: a thousand small stores are made in it."""
    place = "/dev/shm" if os.path.isdir("/dev/shm") and shutil.disk_usage("/dev/shm").free > 1 << 30 else None
    return tempfile.TemporaryDirectory(prefix="underfoot-proof-", dir=place)


# ------------------------------------------------------------------ what a store holds

def look(path):
    """(problem or None, hash of all rows, {table: rows}) of a store, by SQLite; it may mend a log that lies there."""
    try:
        db = sqlite3.connect(path)
        try:
            said = [row[0] for row in db.execute("PRAGMA integrity_check")]
            if said != ["ok"]:
                return "integrity: %s" % said[0], None, None
            if db.execute("PRAGMA foreign_key_check").fetchall():
                return "a row refers to one that is not there", None, None
            return None, *contents(db)
        finally:
            db.close()
    except sqlite3.Error as e:
        return "SQLite: %s" % e, None, None


def contents(db):
    sha, counts = hashlib.sha256(), {}
    tables = [row[0] for row in db.execute("SELECT name FROM sqlite_schema WHERE type = 'table' ORDER BY name")]
    for table in tables:
        n = 0
        sha.update(table.encode())
        for row in db.execute('SELECT * FROM "%s" ORDER BY 1, 2, 3' % table if n_columns(db, table) > 2
                              else 'SELECT * FROM "%s" ORDER BY 1' % table):
            sha.update(repr(row).encode())
            n += 1
        counts[table] = n
    counts["user_version"] = db.execute("PRAGMA user_version").fetchone()[0]
    sha.update(str(counts["user_version"]).encode())
    return sha.hexdigest(), counts


def n_columns(db, table):
    return len(db.execute('PRAGMA table_info("%s")' % table).fetchall())
