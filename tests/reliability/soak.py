#!/usr/bin/python3
"""soak.py - hours of running: is memory flat, are descriptors flat, do counters wrap unseen, is every step kept?

Usage: soak.py [--count MINUTES] [--seed S] [--out DIR] [--minutes REAL]

Two runs. In virtual time, COUNT simulated minutes (480, the eight hours, from a count of 200 on): soak_run.c says what must
hold. In real time, REAL minutes (30 from a count of 200 on, else none): `underfoot mimic` at a pseudo-terminal, its clock
5 s before its wrap, and `underfoot live` with the runner's screen on a display of its own (Xvfb) where there is one. Once a
second the resident pages and the descriptors of `live` are looked at: from the end of the first minute on at most
1024 KiB more, and as many descriptors. Then the visit's steps are held against the simulator's truth: each running step
that lies inside the visit is in the store, once, within 10 ms; none besides; and the visit is as long as the run. The two
clocks begin at different moments, and a runner's steps are so alike that many offsets put each step near another one: the
right one is the one that leaves the least, by far. The comparison is tried on planted faults first.

Counted: simulated and real minutes. Failed: minutes of a run in which something does not hold.
"""
import argparse
import bisect
import csv
import itertools
import json
import os
import random
import shutil
import signal
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
BIN = os.environ.get("UNDERFOOT_BIN", os.path.join(ROOT, "build", "underfoot"))
OBJ = os.environ.get("UNDERFOOT_OBJ", os.path.join(ROOT, "build", "main"))
EIGHT_HOURS_MIN, HALF_HOUR_MIN, FULL_COUNT = 480, 30, 200
GROWTH_KIB, NEAR_S, SKIP_S = 1024, 0.010, 10.0
UNHEARD_S = 30.0  # of the run, at most: until the program is up, and as it ends
N_STARTS, N_LOOKED_AT = 120, 400  # true steps that the 21st stored one may be; stored ones that judge an offset
CLEARLY = 3.0  # the next best offset leaves so many times as much; measured: 17 times, at a step time's spread of 1.3 %


def own_terminals():
    """Goes on in a room with a /dev/pts of its own, as tests/run.sh does: the number of a pseudo-terminal that one program
    let go does not come back as another's sensor. Where that is refused, goes on as it is."""
    if os.environ.get("UNDERFOOT_OWN_TERMINALS"):
        return
    mount = "mount -t devpts -o newinstance,ptmxmode=0666,mode=0620 devpts /dev/pts && mount --bind /dev/pts/ptmx /dev/ptmx"
    room = ["unshare", "--mount", "--propagation", "private", "sh", "-c", mount + ' && exec "$@"', "sh"] if os.geteuid() == 0 else \
        ["unshare", "--user", "--map-current-user", "--keep-caps", "--mount", "--propagation", "private", "sh", "-c",
         mount + ' && exec setpriv --inh-caps=-all --ambient-caps=-all "$@"', "sh"]
    os.environ["UNDERFOOT_OWN_TERMINALS"] = "yes"
    if shutil.which("unshare") and subprocess.run(room + ["true"], stderr=subprocess.DEVNULL).returncode == 0:
        os.execvp(room[0], room + [sys.executable, "-B"] + sys.argv)


def virtual(folder, minutes, seed):
    """What soak_run said, as a dictionary; with `holds`."""
    done = subprocess.run([os.path.join(OBJ, "tests", "reliability", "soak_run"), folder, str(minutes), str(seed)],
                          stdout=subprocess.PIPE, text=True)
    try:
        said = json.loads("{%s}" % done.stdout)
    except ValueError:
        said = {}
    said["holds"] = done.returncode == 0 and bool(said)
    return said


def held(pid):
    """Resident KiB and number of descriptors; None when it has ended."""
    try:
        with open("/proc/%d/statm" % pid) as f:
            pages = int(f.read().split()[1])
        return pages * os.sysconf("SC_PAGESIZE") // 1024, len(os.listdir("/proc/%d/fd" % pid))
    except (OSError, IndexError):
        return None


def start_display(folder):
    """An X server of its own: (process, name), or (None, None) where there is none."""
    if not shutil.which("Xvfb"):
        return None, None
    reads, writes = os.pipe()
    server = subprocess.Popen(["Xvfb", "-displayfd", str(writes), "-screen", "0", "1280x720x24", "-noreset", "-nolisten", "tcp"],
                              pass_fds=[writes], stderr=subprocess.DEVNULL)
    os.close(writes)
    with open(reads, encoding="ascii") as f:
        number = f.readline().strip() # to its newline, which comes by a second write: a server that can't write it ends
    return (server, ":" + number) if number else (None, None)


def end(process):
    if process and process.poll() is None:
        process.send_signal(signal.SIGTERM)
        try:
            process.wait(20)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


def nearest(sorted_s, at_s):
    i = bisect.bisect(sorted_s, at_s)
    return min(sorted_s[max(0, i - 1):i + 1], key=lambda x: abs(x - at_s))


def fit(stored, truth, offset_s):
    """(what is left between the steps in the middle, the offset that leaves it) near this offset of the clocks."""
    some = [s + offset_s for s in stored[::len(stored) // N_LOOKED_AT + 1]]
    left = [s - nearest(truth, s) for s in some]
    middle = statistics.median(left) # one step's own error is not the clocks'
    return statistics.median(abs(x - middle) for x in left), offset_s - middle


def clocks_apart(stored, truth):
    """Seconds that the truth's clock is ahead of the store's; None when that can't be told."""
    fits = sorted(fit(stored, truth, t - stored[20]) for t in truth[:N_STARTS])
    others = [left for left, offset in fits if abs(offset - fits[0][1]) > 0.1]
    return fits[0][1] if others and others[0] > CLEARLY * fits[0][0] else None


def pair(stored, truth):
    """One to one, in order of time: missing, extra, and the widest difference of a pair in ms, inside the visit."""
    low, high = max(stored[0], truth[0]) + SKIP_S, min(stored[-1], truth[-1]) - SKIP_S
    i = k = missing = extra = 0
    widest = 0.0
    while i < len(truth) or k < len(stored):
        t = truth[i] if i < len(truth) else float("inf")
        s = stored[k] if k < len(stored) else float("inf")
        counts = low < min(t, s) < high
        is_pair = abs(t - s) <= NEAR_S
        widest = max(widest, 1000 * abs(t - s)) if is_pair and counts else widest
        missing += counts and not is_pair and t < s
        extra += counts and not is_pair and s < t
        i += is_pair or t < s
        k += is_pair or s < t
    return missing, extra, widest


def compare(stored, truth):
    """What pair() says; all missing when there is too little to compare."""
    ahead_s = clocks_apart(stored, truth) if len(stored) >= 100 and len(truth) >= 100 else None
    return pair(stored, [t - ahead_s for t in truth]) if ahead_s is not None else (len(truth), 0, float("nan"))


def try_comparison():
    """It finds what is planted, and nothing else; a run of steps 0.38 s long with a spread of 2 %, heard from the 8th on."""
    dice = random.Random(1)
    truth = list(itertools.accumulate(dice.gauss(0.38, 0.0076) for _ in range(600)))
    whole = [t - truth[7] + dice.gauss(0, 0.0005) for t in truth[7:]]
    planted = {"none": (whole, (0, 0)), "one lost": (whole[:300] + whole[301:], (1, 0)),
               "one twice": (whole[:300] + [whole[300] - 0.001] + whole[300:], (0, 1)),
               "one 20 ms late": (whole[:300] + [whole[300] + 0.020] + whole[301:], (1, 1)),
               "another runner's": (list(itertools.accumulate(dice.gauss(0.38, 0.0076) for _ in range(600))), (600, 0))}
    for name, (stored, expected) in planted.items():
        found = compare(stored, truth)[:2]
        if found != expected:
            raise SystemExit("soak: the comparison found (missing, extra) %s where %s was planted: %s" % (found, name, expected))


def read_both(store, truth_path):
    db = sqlite3.connect("file:%s?mode=ro" % store, uri=True)
    stored = [r[0] / 1e6 for r in db.execute("SELECT touchdown_us FROM step ORDER BY touchdown_us")]
    lost = db.execute("SELECT n_lost_packets FROM visit").fetchone()[0]
    db.close()
    with open(truth_path, newline="", encoding="utf-8") as f:
        truth = [float(r["down_s"]) for r in csv.DictReader(f) if r["gait"] == "running"]
    return stored, truth, lost


def real(folder, minutes, seed):
    seconds = minutes * 60
    server, display = start_display(folder)
    env = dict(os.environ, UNDERFOOT_DATA=os.path.join(folder, "real"), SDL_AUDIODRIVER="dummy")
    env.pop("SDL_VIDEODRIVER", None)
    if display:
        env["DISPLAY"] = display
    truth = os.path.join(folder, "truth.csv")
    mimic = subprocess.Popen([BIN, "mimic", "--seed", str(seed), "--clock", "4290", "--truth", truth], stdout=subprocess.PIPE,
                             text=True, env=env)
    live = None
    first = most = fds_first = fds_most = None
    try:
        port = mimic.stdout.readline().split()[-1]
        words = [BIN, "live", "--port", port, "--seconds", str(seconds), "--speed", "3"]
        live = subprocess.Popen(words + (["--window"] if display else ["--headless"]), env=env, stdout=subprocess.DEVNULL)
        began = time.monotonic()
        while live.poll() is None and time.monotonic() - began < seconds + 120:
            now = held(live.pid)
            at = time.monotonic() - began
            if now and 60 <= at < seconds - 2:
                first, fds_first = (first or now[0]), (fds_first or now[1])
                most, fds_most = max(most or 0, now[0]), max(fds_most or 0, now[1])
            time.sleep(1)
        code = live.wait(30)
    finally:
        for process in (live, mimic, server):
            end(process)
    if not os.path.exists(os.path.join(folder, "real", "underfoot.sqlite")):
        return {"holds": False, "minutes": minutes, "screen": bool(display), "code": code}
    stored, true, lost = read_both(os.path.join(folder, "real", "underfoot.sqlite"), truth)
    missing, extra, widest = compare(stored, true)
    holds = code == 0 and first is not None and most - first <= GROWTH_KIB and fds_most == fds_first and \
        missing == 0 and extra == 0 and bool(stored) and stored[-1] - stored[0] >= seconds - UNHEARD_S
    return {"holds": holds, "minutes": minutes, "steps": len(stored), "truth": len(true), "missing": missing, "extra": extra,
            "widest_ms": widest, "lost_packets": lost, "rss_first_kib": first, "rss_most_kib": most,
            "descriptors_first": fds_first, "descriptors_most": fds_most, "screen": bool(display), "code": code}


def told(name, said):
    if not said:
        return name + ": left no figures"
    text = "%s: %g min, %s steps, %s missing, %s extra, %s packets lost, resident %s to %s KiB, descriptors %s to %s" % (
        name, said.get("minutes", 0), said.get("steps"), said.get("missing"), said.get("extra"), said.get("lost_packets"), said.get("rss_first_kib"),
        said.get("rss_most_kib"), said.get("descriptors_first"), said.get("descriptors_most"))
    if "widest_ms" in said:
        text += ", the rest within %.1f ms" % said["widest_ms"]
    if "clock_wraps" in said:
        text += ", %g wraps of the clock, %d packets" % (said["clock_wraps"], said["packets"])
    return text + ("" if said["holds"] else " DOES NOT HOLD")


def main():
    args = argparse.ArgumentParser()
    args.add_argument("--count", type=int, default=10)
    args.add_argument("--seed", type=int, default=1)
    args.add_argument("--out", default=".")
    args.add_argument("--minutes", type=int)
    args = args.parse_args()
    if args.minutes is None:
        args.minutes = HALF_HOUR_MIN if args.count >= FULL_COUNT else 0
    simulated = EIGHT_HOURS_MIN if args.count >= FULL_COUNT else args.count
    began = time.monotonic()
    try_comparison()
    notes, failed = [], 0
    with tempfile.TemporaryDirectory() as folder:
        if simulated > 0:
            said = virtual(folder, simulated, args.seed)
            failed += 0 if said["holds"] else simulated
            notes.append(told("virtual", said))
        if args.minutes > 1:
            said = real(folder, args.minutes, args.seed)
            failed += 0 if said["holds"] else args.minutes
            notes.append(told("real, with a screen" if said["screen"] else "real, without a screen", said))
        else:
            notes.append("real: not run (--minutes 30)")
    result = {"part": "soak", "what": "minutes of running: memory within 1 MiB, descriptors flat, wraps, steps as the simulator's",
              "count": simulated + max(0, args.minutes), "failed": failed, "seed": args.seed,
              "commit": os.environ.get("UNDERFOOT_COMMIT", ""), "seconds": round(time.monotonic() - began), "notes": "; ".join(notes)}
    os.makedirs(args.out, exist_ok=True)
    with open(os.path.join(args.out, "soak.json"), "w", encoding="utf-8") as f:
        json.dump(result, f, indent=1)
    print("\n".join(notes))
    return 1 if failed else 0


if __name__ == "__main__":
    own_terminals()
    sys.exit(main())
