#!/usr/bin/python3
"""load.py - too much, nonsense, a disc that hangs, a screen that stands still: bounded, counted, told, over within 1 s.

Usage: load.py [--count N] [--seed S] [--out DIR]

N runs, of the four kinds in turn. Each is a real `underfoot live` at a pseudo-terminal that this program feeds with the
bytes of a simulated board (`underfoot mimic`), at their own pace but for one phase in the middle:

    fast      packets at 100 times their pace for 3 s. What the line can't take is dropped whole, as a serial line drops it
    garbage   random bytes at the pace of a serial line of 500,000 Bd for 3 s, in place of what the board says
    disc      each write and sync of a file waits for 10 s (stall.c)
    screen    the X server is stopped for 2 s (needs Xvfb)

What must hold, by the store and by what the program says:

    bounded   resident memory, from before the phase to the end: at most 2 MiB more
    counted   fast: the packets that were dropped here are those that the visit counts as lost, but for those between the
              last drop and the end; garbage: those that were replaced, likewise; disc and screen: none is lost
    told      garbage: the state is told in the summary's lost packets; disc: a line says that the visit is not being
              saved, and a later one that it is; screen: nothing
    over      the first step after the phase is in the store, its touchdown within 1 s (of the sensor's clock) after the end
              of it, and for the disc and the screen every step of the phase as well: no gap longer than 1 s; the picture
              moves again within 1 s of the X server's; the note that the visit is saved again comes within 1 s
"""
import argparse
import json
import mmap
import os
import random
import re
import select
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import termios
import time
import tty

from soak import BIN, OBJ, end, held, own_terminals

KINDS = ["fast", "garbage", "disc", "screen"]
RATE_HZ, BEFORE_S, AFTER_S = 500, 6.0, 5.0
PHASE_S = {"fast": 3.0, "garbage": 3.0, "disc": 10.0, "screen": 2.0}
FASTER, GARBAGE_BYTES_S = 100, 50000
GROWTH_KIB, OVER_S, SLACK_PACKETS = 2048, float(os.environ.get("UNDERFOOT_LATE_S", "1")), 3


def board_packets(folder, seconds, seed):
    """Hello and data packets of a board that runs for so long, each whole, in order."""
    mimic = subprocess.Popen([BIN, "mimic", "--kind", "switches", "--rate", str(RATE_HZ), "--seed", str(seed), "--pace", "max",
                              "--seconds", str(seconds)], stdout=subprocess.PIPE, text=True)
    fd = os.open(mimic.stdout.readline().split()[-1], os.O_RDWR | os.O_NOCTTY)
    tty.setraw(fd)
    data, quiet = b"", 0
    while quiet < 20:
        ready, _, _ = select.select([fd], [], [], 0.1)
        try:
            chunk = os.read(fd, 65536) if ready else b""
        except OSError:
            break
        data += chunk
        quiet = 0 if chunk else quiet + 1 if mimic.poll() is not None or data else 0
    os.close(fd)
    end(mimic)
    return [p + b"\0" for p in data.split(b"\0") if p]


class Feed:
    """The board's end of a pseudo-terminal."""
    def __init__(self, packets):
        self.master, slave = os.openpty()
        tty.setraw(slave)
        self.path = os.ttyname(slave)
        self.slave = slave # held open: the program may come and go
        os.set_blocking(self.master, False)
        self.packets, self.at, self.n_dropped, self.rest = packets, 0, 0, b""

    def put(self, chunk):
        """False when the line is full: nothing of it went."""
        if self.rest:
            try:
                self.rest = self.rest[os.write(self.master, self.rest):]
            except BlockingIOError:
                return False
            if self.rest:
                return False
        try:
            n = os.write(self.master, chunk)
        except BlockingIOError:
            return False
        self.rest = chunk[n:]
        return True

    def hear(self):
        try:
            os.read(self.master, 4096) # what the program asks: this board says hello by itself
        except BlockingIOError:
            pass

    def pace(self, seconds, faster=1, instead=None, also=None):
        """Sends for so long; instead(seconds) gives other bytes, the packets of that time are then lost."""
        began, sent = time.monotonic(), 0
        while True:
            at = time.monotonic() - began
            due = int(min(at, seconds) * RATE_HZ * faster)
            self.hear()
            if instead is not None:
                self.put(instead())
            for packet in self.packets[self.at + sent:self.at + due]:
                if instead is not None or not self.put(packet):
                    self.n_dropped += 1
            sent = max(sent, due)
            if also is not None:
                also(at)
            if at >= seconds:
                break
            time.sleep(0.005)
        self.at += sent

    def close(self):
        os.close(self.master)
        os.close(self.slave)


class Screen:
    """An X server whose picture is a file, so that one sees whether it moves."""
    def __init__(self, folder):
        reads, writes = os.pipe()
        self.server = subprocess.Popen(["Xvfb", "-displayfd", str(writes), "-screen", "0", "640x360x24", "-fbdir", folder,
                                        "-noreset", "-nolisten", "tcp"], pass_fds=[writes], stderr=subprocess.DEVNULL)
        os.close(writes)
        with open(reads, encoding="ascii") as f: # to its newline: a server that can't write it ends
            self.name = ":" + f.readline().strip()
        self.path = os.path.join(folder, "Xvfb_screen0")
        until = time.monotonic() + 10
        while not os.path.exists(self.path) and time.monotonic() < until:  # it may come after the name
            time.sleep(0.02)

    def picture(self):
        with open(self.path, "rb") as f, mmap.mmap(f.fileno(), 0, access=mmap.ACCESS_READ) as m:
            return hash(m[:])

    def moves_within(self, feed, seconds):
        """Seconds until the picture is another one while the feed goes on; None: it is not."""
        was, moved, began = self.picture(), [], time.monotonic()

        def look(_):
            if not moved and self.picture() != was:
                moved.append(time.monotonic() - began)
        feed.pace(seconds, also=look)
        return moved[0] if moved else None


class Run:
    def __init__(self, kind, folder, packets, seed):
        self.kind, self.folder, self.random = kind, folder, random.Random(seed)
        self.feed, self.wrong, self.figures = Feed(packets), [], {}
        self.stall = os.path.join(folder, "stall")
        self.log = os.path.join(folder, "log")

    def must(self, holds, text):
        if not holds:
            self.wrong.append(text)

    def start(self):
        self.screen = Screen(self.folder) if self.kind == "screen" else None
        env = dict(os.environ, UNDERFOOT_DATA=os.path.join(self.folder, "data"), SDL_AUDIODRIVER="dummy")
        env.pop("SDL_VIDEODRIVER", None)
        if self.kind == "disc":
            env.update(LD_PRELOAD=os.path.join(OBJ, "tests", "reliability", "stall.so"), UNDERFOOT_STALL=self.stall)
        if self.screen:
            env["DISPLAY"] = self.screen.name
        self.err = open(self.log, "w", encoding="utf-8")
        self.live = subprocess.Popen([BIN, "live", "--port", self.feed.path, "--speed", "2.8", "--baseline", "0"] +
                                     (["--window", "--size", "640x360"] if self.screen else ["--headless"]),
                                     env=env, stdout=self.err, stderr=self.err)

    def said(self):
        with open(self.log, encoding="utf-8", errors="replace") as f:
            return f.read()

    def phase(self):
        seconds, feed = PHASE_S[self.kind], self.feed
        if self.kind == "fast":
            feed.pace(seconds, faster=FASTER)
        elif self.kind == "garbage":
            feed.pace(seconds, instead=lambda: self.random.randbytes(int(GARBAGE_BYTES_S * 0.005)))
            feed.put(b"\0") # what was half said ends here
        elif self.kind == "disc":
            open(self.stall, "w").close()
            feed.pace(seconds)
            self.must(re.search(r"not being saved|not saved|hangs", self.said()), "told: nobody said that the visit is not being saved")
            n_said = len(self.said())
            os.unlink(self.stall)
            self.wait_said(n_said)
        else:
            self.screen.server.send_signal(signal.SIGSTOP)
            feed.pace(seconds)
            self.screen.server.send_signal(signal.SIGCONT)
            took = self.screen.moves_within(feed, OVER_S * 2)
            self.figures["picture_s"] = took
            self.must(took is not None and took <= OVER_S, "over: the picture moves after %s s" % took)

    def wait_said(self, n_said):
        heard, began = [], time.monotonic()

        def look(_):
            if not heard and re.search(r"saved again|is being saved|being kept", self.said()[n_said:]):
                heard.append(time.monotonic() - began)
        self.feed.pace(2 * OVER_S, also=look)
        self.figures["saved_again_s"] = heard[0] if heard else None
        self.must(heard and heard[0] <= OVER_S, "over: that it is saved again was said after %s s" % (heard[0] if heard else None))

    def judge(self, before_packets, after_packets, n_dropped):
        db = sqlite3.connect("file:%s?mode=ro" % os.path.join(self.folder, "data", "underfoot.sqlite"), uri=True)
        touchdowns = [r[0] / 1e6 for r in db.execute("SELECT touchdown_us FROM step ORDER BY touchdown_us")]
        lost, unkept, good = db.execute("SELECT n_lost_packets, n_dropped, (SELECT quick_check FROM pragma_quick_check) FROM visit").fetchone()
        db.close()
        from_s, to_s = before_packets / RATE_HZ, after_packets / RATE_HZ
        after = [t for t in touchdowns if t >= to_s]
        first_s = after[0] - to_s if after else None
        self.figures.update(steps=len(touchdowns), lost=lost, dropped_here=n_dropped, first_step_s=first_s)
        self.must(good == "ok", "the store is damaged: %s" % good)
        self.must(unkept == 0, "%s records lost to the store" % unkept)
        self.must(first_s is not None and first_s <= OVER_S, "over: the first step comes %s s after the phase" % first_s)
        self.must(any(t < from_s for t in touchdowns), "no step before the phase")
        self.must(abs(lost - n_dropped) <= SLACK_PACKETS + 0.001 * n_dropped, "counted: %d packets went, %d are counted" % (n_dropped, lost))
        if self.kind in ("disc", "screen"):
            gaps = [b - a for a, b in zip(touchdowns, touchdowns[1:])]
            self.must(max(gaps, default=9) <= OVER_S, "a gap of %.2f s in the steps" % max(gaps, default=9))

    def go(self):
        self.start()
        try:
            self.feed.pace(BEFORE_S)
            was = held(self.live.pid)
            self.must(was is not None, "the program ended before the phase: " + self.said()[-200:])
            before, n_before = self.feed.at, self.feed.n_dropped
            self.phase()
            after, n_dropped = before + int(PHASE_S[self.kind] * RATE_HZ * (FASTER if self.kind == "fast" else 1)), self.feed.n_dropped - n_before
            self.feed.pace(AFTER_S)
            now = held(self.live.pid)
            self.must(self.live.poll() is None, "the program ended: " + self.said()[-200:])
            if was and now:
                self.figures["grew_kib"] = now[0] - was[0]
                self.must(now[0] - was[0] <= GROWTH_KIB, "bounded: %d KiB more" % (now[0] - was[0]))
            self.live.send_signal(signal.SIGINT)
            self.feed.pace(0.5)
            self.must(self.live.wait(30) == 0, "exit code %s: %s" % (self.live.returncode, self.said()[-200:]))
            self.judge(before, after, self.feed.n_dropped)
        except (OSError, sqlite3.Error, subprocess.TimeoutExpired, TypeError) as problem:
            self.wrong.append("%s: %s" % (type(problem).__name__, problem))
        finally:
            if os.path.exists(self.stall):
                os.unlink(self.stall)
            end(self.live)
            if self.screen:
                self.screen.server.send_signal(signal.SIGCONT)
                end(self.screen.server)
            self.err.close()
            self.feed.close()
        return self.wrong


def main():
    args = argparse.ArgumentParser()
    args.add_argument("--count", type=int, default=4)
    args.add_argument("--seed", type=int, default=1)
    args.add_argument("--out", default=".")
    args.add_argument("--kinds", default="", help="only these")
    args = args.parse_args()
    began = time.monotonic()
    kinds = args.kinds.split() or (KINDS if shutil.which("Xvfb") else KINDS[:3])
    failed, figures = 0, {k: [] for k in kinds}
    with tempfile.TemporaryDirectory() as folder:
        packets = board_packets(folder, int(BEFORE_S + AFTER_S + 20 + PHASE_S["fast"] * FASTER), args.seed)
        for i in range(args.count):
            kind = kinds[i % len(kinds)]
            place = os.path.join(folder, str(i))
            os.mkdir(place)
            run = Run(kind, place, packets, args.seed + i)
            wrong = run.go()
            figures[kind].append(run.figures)
            print("%3d %-8s %s %s" % (i, kind, "; ".join(wrong) or "holds", json.dumps(run.figures)), flush=True)
            failed += bool(wrong)
            shutil.rmtree(place, ignore_errors=True)

    def most(kind, name):
        return max((f[name] for f in figures[kind] if f.get(name) is not None), default=None)
    notes = "; ".join("%s %d: first step at most %s s after, %s packets lost and counted, %s KiB more" % (
        k, len(figures[k]), "%.2f" % most(k, "first_step_s") if most(k, "first_step_s") is not None else None, most(k, "lost"), most(k, "grew_kib")) for k in kinds if figures[k])
    for kind, name, words in (("disc", "saved_again_s", "said to be saved again after"), ("screen", "picture_s", "the picture moves after")):
        if kind in kinds and most(kind, name) is not None:
            notes += "; %s at most %.2f s" % (words, most(kind, name))
    if "screen" not in kinds:
        notes += "; screen: not run, no Xvfb"
    result = {"part": "load", "what": "packets at 100 times their rate, garbage, a hanging disc, a stopped screen", "count": args.count,
              "failed": failed, "seed": args.seed, "commit": os.environ.get("UNDERFOOT_COMMIT", ""),
              "seconds": round(time.monotonic() - began), "notes": notes}
    os.makedirs(args.out, exist_ok=True)
    with open(os.path.join(args.out, "load.json"), "w", encoding="utf-8") as f:
        json.dump(result, f, indent=1)
    return 1 if failed else 0


if __name__ == "__main__":
    own_terminals()
    sys.exit(main())
