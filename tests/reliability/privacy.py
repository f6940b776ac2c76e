#!/usr/bin/python3
"""privacy.py - does any command talk to anybody, or leave a file that others can read?

Usage: privacy.py [--count N] [--seed S] [--out DIR]

Every command of the program is run under strace over one data folder, demo, live and the panel on a display of their own
(Xvfb). Each socket that was opened must be one of these, and is listed with who opened it:

    display     a Unix socket to an X server or a Wayland compositor; D-Bus, by which SDL keeps the screen saver away
    sound       a Unix socket to PipeWire, PulseAudio or JACK
    devices     netlink's device events, udev's own Unix sockets
    names       the C library's question to nscd, on this computer
    pair        a pair of sockets inside the program

Internet sockets of any kind, one that listens, and a Unix socket to anywhere else are failures, as is a command that this
list does not run. Whoever starts the commands has a hostile umask, in turn one that opens all to everybody and one that shuts
everything to its owner too. Then every folder in the data folder must have mode 0700 and every file 0600; likewise every file that a
command was asked for by name. Last, the judge itself is given lines that it must refuse.

Counted: commands traced and files looked at. COUNT asks for so many rounds of ten.
"""
import argparse
import json
import os
import re
import shutil
import signal
import stat
import subprocess
import sys
import tempfile
import time

from soak import BIN, end, own_terminals, start_display

LOCAL = [("display", re.compile(r'@?"@?/tmp/\.X11-unix/X\d+"|/wayland-\d+"|/dbus/[a-z_]*bus|/run/user/\d+/bus"|@?"/tmp/dbus-|/at-spi/')),
         ("sound", re.compile(r'/pulse(-\w+)?/native"|/pipewire-\d+(-manager)?"|/jack[_/]')),
         ("devices", re.compile(r'/run/udev/')),
         ("names", re.compile(r'/nscd/socket"'))]
UMASKS = ["0000", "0777"]
PLANTED = [("socket(AF_INET, SOCK_STREAM, IPPROTO_TCP) = 3", False), ("socket(AF_INET6, SOCK_DGRAM, 0) = 4", False),
           ('connect(3, {sa_family=AF_UNIX, sun_path="/run/other"}, 110) = 0', False), ("listen(5, 4) = 0", False),
           ('bind(3, {sa_family=AF_UNIX, sun_path="/tmp/x"}, 110) = 0', False), ("socket(AF_PACKET, SOCK_RAW, 3) = 3", False),
           ("socket(AF_UNIX, SOCK_STREAM|SOCK_CLOEXEC, 0) = 3", True), ("socket(AF_INET, SOCK_STREAM, 0) = -1 EAFNOSUPPORT", False),
           ('connect(3, {sa_family=AF_UNIX, sun_path=@"/tmp/.X11-unix/X7"}, 20) = 0', True),
           ("socket(AF_NETLINK, SOCK_RAW|SOCK_CLOEXEC, NETLINK_KOBJECT_UEVENT) = 9", True),
           ("socket(AF_NETLINK, SOCK_RAW, NETLINK_ROUTE) = 9", False), ("sendto(3, \"x\", 1, 0, {sa_family=AF_INET}, 16) = 1", False)]


def judge(line):
    """(kind, whether it may be) of one line of strace; None for what opens and reaches nothing."""
    if re.search(r'AF_INET6?\b|AF_PACKET|AF_BLUETOOTH|AF_VSOCK|AF_TIPC', line):
        return "network", False
    call = re.search(r'\b(socket|socketpair|connect|bind|listen|accept4?)\(', line)
    if not call:
        return None
    call = call.group(1)
    if call in ("listen", "accept", "accept4"):
        return "waits for others", False
    if call == "socketpair":
        return "pair", True
    if call == "socket":
        if "AF_UNIX" in line:
            return None # where it leads, connect says
        return ("devices", True) if "NETLINK_KOBJECT_UEVENT" in line else ("another family", False)
    if "AF_NETLINK" in line:
        return "devices", True
    if "sun_path" in line:
        for kind, pattern in LOCAL:
            if pattern.search(line):
                return kind, call == "connect"
    return "another program", False


def check_judge():
    """How many planted lines are judged wrongly."""
    wrong = 0
    for line, may in PLANTED:
        said = judge(line)
        if (said is None or said[1]) != may:
            print("privacy: judged wrongly: %s" % line)
            wrong += 1
    return wrong


class Rounds:
    def __init__(self, folder, seed):
        self.folder, self.seed = folder, seed
        self.data, self.asked = os.path.join(folder, "data"), os.path.join(folder, "asked")
        os.mkdir(self.asked)
        self.server, display = start_display(folder)
        self.env = dict(os.environ, UNDERFOOT_DATA=self.data, HOME=os.path.join(folder, "home"))
        for name in ("SDL_VIDEODRIVER", "SDL_AUDIODRIVER", "DISPLAY", "WAYLAND_DISPLAY", "XDG_DATA_HOME", "XDG_CONFIG_HOME"):
            self.env.pop(name, None)
        os.mkdir(self.env["HOME"])
        self.env.update({"DISPLAY": display} if display else {"SDL_VIDEODRIVER": "dummy"})
        self.has_display = bool(display)
        self.n = self.n_failed = self.n_runs = 0
        self.kinds, self.traced = {}, set()

    def fail(self, text):
        self.n_failed += 1
        print("privacy: " + text, flush=True)

    def look(self, name, trace):
        self.n += 1
        bad = set()
        with open(trace, encoding="utf-8", errors="replace") as f:
            for line in f:
                said = judge(line)
                if said and said[1]:
                    self.kinds.setdefault(said[0], set()).add(name)
                elif said:
                    bad.add("%s: %s" % (said[0], line.strip()[:160]))
        if bad:
            self.fail("%s: %s" % (name, "; ".join(sorted(bad)[:3])))

    def run(self, words, code=0, seconds=None, wants=True):
        """One command under strace, ended after `seconds` by SIGINT where given. wants: it must end with that code."""
        name = words[0] if words and not words[0].startswith("-") else "desk"
        self.traced.add(name)
        trace = os.path.join(self.folder, "trace")
        self.n_runs += 1
        umask = ["sh", "-c", 'umask %s; exec "$@"' % UMASKS[self.n_runs % len(UMASKS)], "sh"]
        out = os.path.join(self.folder, "out.txt")
        with open(out, "w", encoding="utf-8") as f:
            process = subprocess.Popen(["strace", "-f", "-qq", "-e", "trace=network", "-o", trace, *umask, BIN, *words], env=self.env,
                                       stdin=subprocess.DEVNULL, stdout=f, stderr=subprocess.STDOUT, start_new_session=True)
            try:
                if seconds is not None:
                    time.sleep(seconds)
                    for child in children(process.pid):
                        os.kill(child, signal.SIGINT)
                got = process.wait(120)
            except subprocess.TimeoutExpired:
                end(process)
                got = "none: it had to be ended"
        self.look(" ".join(words) or "desk", trace)
        if wants and got != code:
            with open(out, encoding="utf-8", errors="replace") as f:
                self.fail("%s: exit code %s: %s" % (" ".join(words), got, f.read()[-300:].strip()))

    def visit(self, window):
        mimic = subprocess.Popen(["strace", "-f", "-qq", "-e", "trace=network", "-o", os.path.join(self.folder, "trace-mimic"),
                                  BIN, "mimic", "--kind", "switches", "--seed", str(self.seed)], env=self.env, text=True,
                                 stdout=subprocess.PIPE, start_new_session=True)
        try:
            port = mimic.stdout.readline().split()[-1]
            self.run(["live", "--port", port, "--seconds", "6", "--runner", "R-014", "--speed", "2.8", "--baseline", "0"] +
                     (["--window", "--sound", "--metronome", "170"] if window else ["--headless"]))
            self.run(["check", "--port", port, "--seconds", "2"], wants=False)
        finally:
            for child in children(mimic.pid):
                os.kill(child, signal.SIGTERM)
            end(mimic)
        self.traced.add("mimic")
        self.look("mimic", os.path.join(self.folder, "trace-mimic"))

    def modes(self, root, what):
        for path, folders, files in os.walk(root):
            for name, want in [(n, 0o700) for n in folders] + [(n, 0o600) for n in files]:
                self.n += 1
                mode = stat.S_IMODE(os.lstat(os.path.join(path, name)).st_mode)
                if mode != want:
                    self.fail("%s: %s has mode %04o, not %04o" % (what, os.path.relpath(os.path.join(path, name), root), mode, want))

    def round(self, is_first):
        asked = lambda name: os.path.join(self.asked, name)
        self.run(["runner", "add", "R-014", "--mass", "74", "--foot", "265"] if is_first else ["runner", "show", "R-014"])
        self.visit(window=self.has_display)
        self.run(["runner", "list"])
        self.run(["visits"])
        self.run(["visits", "show", "1"])
        for kind in ("csv", "json", "fhir"):
            self.run(["export", "1", "--format", kind, "--out", asked("visit." + kind), "--force"])
        self.run(["report", "1", "--out", asked("visit.pdf"), "--force"])
        self.run(["keep", asked("copy.sqlite"), "--force"])
        self.run(["remeasure", "1"])
        recordings = os.path.join(self.data, "recordings")
        for name in sorted(os.listdir(recordings))[:1] if os.path.isdir(recordings) else []:
            self.run(["replay", os.path.join(recordings, name), "--headless", "--pace", "max"], wants=False)
            self.run(["steps", os.path.join(recordings, name), "--summary"], wants=False)
        self.run(["ports"], wants=False)
        self.run(["calibrate", "--profile", "cells-4", "--history"], wants=False)
        self.run(["demo", "--seconds", "4"] + (["--window", "--sound"] if self.has_display else ["--headless"]))
        if self.has_display:
            self.run(["--window"], seconds=4)
            self.run(["desk", "--window"], seconds=4)
        self.modes(self.data, "the data folder")
        self.modes(self.asked, "asked for by name")
        if stat.S_IMODE(os.stat(self.data).st_mode) != 0o700:
            self.fail("the data folder itself has mode %04o" % stat.S_IMODE(os.stat(self.data).st_mode))

    def rest(self):
        """Commands that came later than this list: traced with --help, so that they are there, and told."""
        said = subprocess.run([BIN, "--help"], capture_output=True, text=True).stdout
        names = re.findall(r"^  ([a-z]+) +\S", said.split("commands:")[1].split("\n\n")[0], re.M)
        return [n for n in names if n not in self.traced]


def children(pid):
    """The process that strace started: the one to be told, not strace."""
    try:
        with open("/proc/%d/task/%d/children" % (pid, pid)) as f:
            return [int(word) for word in f.read().split()]
    except OSError:
        return []


def main():
    args = argparse.ArgumentParser()
    args.add_argument("--count", type=int, default=10)
    args.add_argument("--seed", type=int, default=1)
    args.add_argument("--out", default=".")
    args = args.parse_args()
    if not shutil.which("strace"):
        sys.exit("privacy: strace is needed")
    began = time.monotonic()
    n_wrong = check_judge()
    with tempfile.TemporaryDirectory() as folder:
        rounds = Rounds(folder, args.seed)
        try:
            for i in range(max(1, args.count // 100)):
                rounds.round(i == 0)
            rest = rounds.rest()
            for name in rest:
                rounds.run([name, "--help"])
        finally:
            end(rounds.server)
    sockets = "; ".join("%s: %s" % (k, ", ".join(sorted({w.split()[0] for w in v}))) for k, v in sorted(rounds.kinds.items()))
    notes = "sockets opened: %s; %d planted lines told apart%s%s" % (
        sockets or "none", len(PLANTED), "" if rounds.has_display else "; no Xvfb: without a display",
        "; with --help only: " + ", ".join(rest) if rest else "")
    failed = rounds.n_failed + n_wrong
    result = {"part": "privacy", "what": "commands traced for sockets, files and folders looked at for their mode",
              "count": rounds.n, "failed": failed, "seed": args.seed, "commit": os.environ.get("UNDERFOOT_COMMIT", ""),
              "seconds": round(time.monotonic() - began),
              "notes": notes if failed else "none to the network, none that listens, all files 0600 in 0700; " + notes}
    os.makedirs(args.out, exist_ok=True)
    with open(os.path.join(args.out, "privacy.json"), "w", encoding="utf-8") as f:
        json.dump(result, f, indent=1)
    print(notes)
    return 1 if failed else 0


if __name__ == "__main__":
    own_terminals()
    sys.exit(main())
