"""What is checked in the machine of tests/usb (run.sh starts this). Closes with 'N passed, N failed, N skipped'.

Usage: scenarios.py KERNEL INITRAMFS UNDERFOOT DIR

Each scenario plugs a sensor in, has the guest do its work, and compares with what the simulated sensor knows to be
true of its steps. The steps are those of the guest's store.
"""
import base64
import os
import queue
import signal
import sqlite3
import sys
import time

from machine import Machine, Sensor

PORT = "/dev/ttyUSB0"
BAUD = 921600
SAID_S = 0.5  # an unplugged sensor is said so within
BACK_S = 2.0  # a sensor that is back is taken up within
TOUCH_S = 0.015  # a step's touchdown and contact against the truth; what the metrics themselves hold is tested elsewhere
EDGE_S = 1.0  # steps this near to a plugging are not counted as lost: cut ones are nobody's
TRIES = 3  # QEMU itself may crash (machine.py)

FLAG_FIRST, FLAG_LAST, FLAG_GAP, FLAG_CUT = 1 << 0, 1 << 1, 1 << 2, 1 << 10  # gait/step.h

MAT = ["--kind", "mat", "--wire", "binary", "--rate", "250"]
SWITCHES = ["--kind", "switches", "--wire", "text", "--rate", "500"]
CELLS = ["--kind", "cells", "--wire", "binary", "--rate", "1000"]


class Tally:
    def __init__(self):
        self.n_passed = self.n_failed = 0

    def check(self, is_so, sentence, seen=""):
        self.n_passed += bool(is_so)
        self.n_failed += not is_so
        print(f"  {'ok    ' if is_so else 'FAILED'} {sentence}{f' ({seen})' if seen != '' else ''}", flush=True)
        return is_so


class Rig:
    """One machine, and what the scenarios of it share."""

    def __init__(self, machine, program, folder, tally):
        self.machine, self.program, self.folder, self.tally = machine, program, folder, tally
        self.check = tally.check
        self.n_sensors = self.n_stores = 0
        self.sensors = []

    def sensor(self, *options):
        self.n_sensors += 1
        s = Sensor(self.program, os.path.join(self.folder, f"truth{self.n_sensors}.csv"), "--seed",
                   str(self.n_sensors), *options)
        self.sensors.append(s)
        return s

    def wait_for_port(self):
        self.machine.run(f"until [ -e {PORT} ]; do usleep 20000; done")

    def start_live(self, port=PORT):
        """Runs in the guest until stop_live(); its words come as lines."""
        self.n_stores += 1
        self.store = f"/store/{self.n_stores}"
        self.machine.run(f"mkdir -p {self.store}")
        self.machine.run(f"underfoot live --headless --port {port} --baud {BAUD} --store {self.store} "
                         "--target cadence_spm=160:190 >/tmp/summary & live=$!")

    def stop_live(self):
        """The exit code, the last lines, the visit's row and its steps in order of touchdown."""
        lines, code = self.machine.run("kill -INT $live; wait $live")
        path = os.path.join(self.folder, f"store{self.n_stores}.sqlite")
        text, _ = self.machine.run(f"base64 {self.store}/underfoot.sqlite")
        with open(path, "wb") as f:
            f.write(base64.b64decode("".join(line for _, line in text)))
        db = sqlite3.connect(path)
        visit = db.execute("SELECT state, n_lost_packets, n_dropped FROM visit").fetchall()
        steps = db.execute("SELECT touchdown_us / 1e6, (toe_off_us - touchdown_us) / 1e6, flags, "
                           "ifnull(step_time_s, 0) FROM step ORDER BY touchdown_us").fetchall()
        db.close()
        return code, [line for _, line in lines], visit[0], steps

    def stop(self):
        for s in self.sensors:
            s.stop()


def align(steps, truth, about_s, within_s):
    """What to add to the visit's times, which begin with its first frame, to have the sensor's own. The visit's
    first steps decide, within_s around what the clocks say."""
    some = steps[1:12]
    candidates = [t - s[0] for s in some for t, _ in truth if abs(t - s[0] - about_s) <= within_s]

    def misfit(shift_s):
        return sum(min([TOUCH_S] + [abs(s[0] + shift_s - t) for t, _ in truth]) for s in some)
    return min(candidates, key=misfit, default=about_s)


def shifted(steps, shift_s):
    return [(at + shift_s, *rest) for at, *rest in steps]


def compare(rig, what, steps, truth, first_s, last_s):
    """Every true step of a span is there once and as sent, and every step that is there is a true one."""
    worst, n_missing, n_made_up, n_true = 0.0, 0, 0, 0
    for at, contact in truth:
        if not first_s <= at <= last_s:
            continue
        near = [s for s in steps if abs(s[0] - at) <= TOUCH_S and abs(s[1] - contact) <= TOUCH_S]
        n_true += 1
        n_missing += len(near) != 1
        worst = max([worst] + [abs(s[0] - at) for s in near])
    for at, *_ in steps:
        if first_s <= at <= last_s:
            n_made_up += not any(abs(at - t) <= TOUCH_S for t, _ in truth)
    rig.check(n_true > 5 and n_missing == 0 and n_made_up == 0, f"{what}: the steps come out as sent",
              f"{n_true} sent, {n_missing} not as sent, {n_made_up} made up, touchdown within {worst * 1000:.1f} ms")


# ---------------------------------------------------------------- what the driver gives

def driver_facts(rig):
    """What src/link/port.c relies on, asked of the driver itself."""
    m = rig.machine
    s = rig.sensor(*SWITCHES)
    m.plug(s)
    rig.wait_for_port()
    m.start(f"line_facts facts {PORT} {BAUD}")
    m.wait_for("open")
    time.sleep(1)
    gone = m.unplug(s)
    lines, code = m.collect()
    here = [line for _, line in lines if line.startswith("here")]
    last = [(when, line) for when, line in lines if line.startswith("gone")]
    rig.check(code == 0 and here and all("waiting=E" not in line and "poll=h" not in line for line in here),
              "while plugged in, sp_input_waiting() is never below 0")
    rig.check(any("sp_read=0" in line and "waiting=0" in line for line in here),
              "while plugged in, a read of 0 is mere silence")
    rig.check(last and "waiting=EIO" in last[0][1], "unplugged, sp_input_waiting() is below 0",
              last[0][1] if last else "no hang-up seen")
    rig.check(last and "sp_read=0" in last[0][1], "unplugged, libserialport's read is 0, no error")
    rig.check(last and last[0][0] - gone < SAID_S, "the hang-up wakes who waits",
              f"{(last[0][0] - gone) * 1000:.0f} ms" if last else "")
    for is_silent in (False, True):
        m.plug(s)
        rig.wait_for_port()
        m.start(f"line_facts port {PORT} {BAUD}")
        m.wait_for("bytes")
        line = s.detach() if is_silent else None
        time.sleep(1.5 if is_silent else 0.3)
        if is_silent:
            s.attach(line)  # and nothing more is sent: the guest does not speak again
        gone = m.unplug(s)
        lines, code = m.collect()
        rig.check(code == 0 and lines and "is gone" in lines[-1][1] and lines[-1][0] - gone < SAID_S,
                  f"port_read() tells of unplugging on a {'silent' if is_silent else 'busy'} line",
                  f"{(lines[-1][0] - gone) * 1000:.0f} ms: {lines[-1][1]}" if lines else "nothing said")
    s.stop()


# ---------------------------------------------------------------- listing and full rate

def ports_are_listed(rig):
    m = rig.machine
    s = rig.sensor(*MAT)
    m.plug(s)
    rig.wait_for_port()
    lines, code = m.run(f"underfoot ports --baud {BAUD} --wait 2")
    rows = {line.split("\t")[0]: line.split("\t")[1:] for _, line in lines if line.startswith("/dev/")}
    rig.check(code == 0 and PORT in rows and rows[PORT][0].startswith("mat 128 x 32, 250 Hz"),
              f"`underfoot ports` lists {PORT} and what it is", " ".join(rows.get(PORT, ["not listed"])))
    rig.check("/dev/ttyS0" not in rows or "console" in rows["/dev/ttyS0"][0], "the system's console is not asked")
    m.unplug(s)
    s.stop()


def full_rate(rig):
    m = rig.machine
    for name, options in (("mat, binary, 250 Hz", MAT), ("load cells, binary, 1000 Hz", CELLS),
                          ("foot switches, text, 500 Hz", SWITCHES)):
        s = rig.sensor(*options)
        m.plug(s)
        rig.wait_for_port()
        rig.start_live()
        time.sleep(10)
        first_s, last_s, n_bytes, n_dropped = s.time_s(s.opened), s.time_s(time.monotonic()), s.n_bytes, s.n_dropped
        code, lines, visit, steps = rig.stop_live()
        m.unplug(s)
        rig.check(code == 0 and visit[0] == "finished" and visit[1] == 0 and n_dropped == 0,
                  f"{name}: every packet arrives",
                  f"{n_bytes / (last_s - first_s) / 1000:.1f} kB/s, {visit[1]} lost, {n_dropped} bytes not taken")
        truth = s.truth()
        compare(rig, name, shifted(steps, align(steps, truth, first_s, 1)), truth, first_s + EDGE_S, last_s - EDGE_S)


# ---------------------------------------------------------------- unplugged in mid-run

def unplugged(rig, what, port, options, away_s, is_powered_by_usb, name_is_held=False):
    """away_s 0: back at once. is_powered_by_usb: the board restarts. name_is_held: the port's name is still taken
    by another program when it is back, so the kernel gives it a new one."""
    m, check = rig.machine, rig.check
    old = rig.sensor(*options)
    m.plug(old)
    rig.wait_for_port()
    if name_is_held:
        m.run(f"sleep 600 <>{PORT} & holder=$!")
    rig.start_live(port)
    time.sleep(7)
    opened_s = old.time_s(old.opened or time.monotonic())
    gone = m.unplug(old)
    gone_s = old.time_s(gone)
    before, new = None, old
    if is_powered_by_usb:
        before = old.truth()
        new = rig.sensor(*options)
    said = None
    if away_s > 0:
        said, _ = m.wait_for("is gone", 5)
        time.sleep(max(0.0, away_s - (time.monotonic() - gone)))
    back = m.plug(new)
    if away_s == 0:
        said, _ = m.wait_for("is gone", 5)
    check(said is not None and said - gone < SAID_S, f"{what}: said within {SAID_S} s",
          f"{(said - gone) * 1000:.0f} ms" if said else "not said")
    taken, lines = m.wait_for("is back", 8)
    check(taken is not None and taken - back < BACK_S, f"{what}: taken up within {BACK_S:g} s of return",
          f"{(taken - back) * 1000:.0f} ms" if taken else "; ".join(lines) or "not taken up")
    time.sleep(7)
    back_s, ended_s = new.time_s(back), new.time_s(time.monotonic())
    code, lines, visit, steps = rig.stop_live()
    if name_is_held:
        m.run("kill $holder; wait $holder")
    m.unplug(new)
    truth = new.truth()
    check(code == 0 and visit[0] == "finished", f"{what}: the visit ends well", f"exit code {code}")
    if not before and taken:
        before, lost_s = truth, visit[1] / float(options[-1])
        check(abs(lost_s - (taken - gone)) < 0.25, f"{what}: what was lost is counted in the visit",
              f"{visit[1]} packets, {lost_s:.2f} s")
    before = before or truth
    shift_s = align(steps, before, opened_s, 1)
    compare(rig, f"{what}: before", shifted(steps, shift_s), before, opened_s + EDGE_S, gone_s - EDGE_S)
    last = [s for s in shifted(steps, shift_s) if s[0] < gone_s]
    if is_powered_by_usb:  # the time line goes on: what went by is known to the guest's clock alone
        about_s = back_s - (gone_s - shift_s + back - gone)
        shift_s = align(steps[len(last):], truth, about_s, 1)
        check(abs(shift_s - about_s) < 0.3, f"{what}: the time line goes on by the clock",
              f"{(shift_s - about_s) * 1000:.0f} ms off")
    rest = shifted(steps[len(last):], shift_s)
    compare(rig, f"{what}: after", rest, truth, back_s + BACK_S, ended_s - EDGE_S)
    check_gap(rig, what, last, rest, gone_s, back_s, before, truth)


def check_gap(rig, what, last, rest, gone_s, back_s, before, after):
    """last: the steps before, in the sensor's time; rest: those after, in the time of the sensor that came back."""
    away_s = back_s - gone_s if before is after else float("nan")
    across = [s for s in last if s[0] + max(s[1], s[3]) > gone_s + TOUCH_S]
    early = [s for s in rest if s[0] < back_s]
    rig.check(not across and not early, f"{what}: no step while it was away, and none across",
              f"{len(across)} across, {len(early)} while away" + ("" if away_s != away_s else f", {away_s:.2f} s"))
    made_up = [s for s, true in [(s, before) for s in last] + [(s, after) for s in rest]
               if not any(abs(s[0] - t) <= TOUCH_S for t, _ in true)]
    unmarked = [s for s in made_up if not s[2] & (FLAG_FIRST | FLAG_LAST | FLAG_CUT | FLAG_GAP)]
    rig.check(not unmarked, f"{what}: no step is made up", f"{len(made_up)} cut ones, marked so" if not unmarked else
              ", ".join(f"{s[0]:.3f} s, flags {s[2]}" for s in unmarked))
    # A contact that the gap cuts is not kept: then the last step is whole, and only the next begins anew.
    rig.check(rest and rest[0][2] & (FLAG_FIRST | FLAG_CUT | FLAG_GAP), f"{what}: the gap is marked in the steps",
              f"flags {[s[2] for s in last[-1:] + rest[:1]]}")


def unplugged_all(rig):
    unplugged(rig, "unplugged, the board goes on", PORT, MAT, 4, False)
    unplugged(rig, "unplugged, the board restarts", "auto", SWITCHES, 3, True)
    unplugged(rig, "a loose plug", "auto", CELLS, 0, False)
    unplugged(rig, "back under another name", "auto", SWITCHES, 2, True, name_is_held=True)


SCENARIOS = (driver_facts, ports_are_listed, full_rate, unplugged_all)


def run(kernel, initramfs, program, folder, scenarios):
    tally = Tally()
    machine = Machine(kernel, initramfs, folder)
    rig = Rig(machine, program, folder, tally)
    try:
        for scenario in scenarios:
            print(f"{scenario.__name__.replace('_', ' ')}:", flush=True)
            scenario(rig)
    except (OSError, ValueError, RuntimeError, queue.Empty) as trouble:
        time.sleep(0.5)
        if (machine.process.poll() or 0) < 0:  # a crash of QEMU's own
            return None
        tally.check(False, "the machine answers", repr(trouble))
    finally:
        rig.stop()
        machine.stop()
    return tally


def main():
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(1))  # by way of `finally`: nothing is left running
    kernel, initramfs, program, folder = sys.argv[1:5]
    wanted = [s for s in SCENARIOS if len(sys.argv) == 5 or s.__name__ in sys.argv[5:]]
    for _ in range(TRIES):
        tally = run(kernel, initramfs, program, folder, wanted)
        if tally:
            break
        print("QEMU itself crashed: all again")
    if not tally:
        print("skipped: QEMU crashes here")
        print("0 passed, 0 failed, 1 skipped")
        return 77
    print(f"{tally.n_passed} passed, {tally.n_failed} failed, 0 skipped")
    return 1 if tally.n_failed else 0


if __name__ == "__main__":
    sys.exit(main())
