"""The QEMU machine of tests/usb, and the simulated sensor at its adapter's other end.

Machine: boots the guest, plugs the adapter in and out by QEMU's monitor, and has the guest's shell run commands.
Sensor:  `underfoot mimic` on a pseudo-terminal of this computer and a bridge to the adapter. The bridge passes what
         the adapter takes and drops the rest, as a line without flow control does; nothing is kept while unplugged,
         nor before the guest has said its first byte, as an adapter forgets what came before it was opened.

Nothing here uses a network: all sockets are files in the test's folder. Each process started is ended by its id.
"""
import csv
import json
import os
import queue
import select
import socket
import subprocess
import threading
import time

BOOT_S = 180  # limits only for a machine that fails
ANSWER_S = 60
LINE_BUFFER_LEN = 65536  # patience with an emulation that stalls for a moment, not of a real line


def connect(path, patience_s=20):
    end = time.monotonic() + patience_s
    while True:
        s = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
        try:
            s.connect(path)
            return s
        except OSError:
            s.close()
            if time.monotonic() > end:
                raise
            time.sleep(0.05)


class Monitor:
    """QEMU's machine protocol: one command, one answer; events are passed over."""

    def __init__(self, path):
        self.socket = connect(path)
        self.socket.settimeout(ANSWER_S)
        self.file = self.socket.makefile("rw")
        self.file.readline()
        self.ask("qmp_capabilities")

    def ask(self, command, **arguments):
        self.file.write(json.dumps({"execute": command, "arguments": arguments}) + "\n")
        self.file.flush()
        while True:
            answer = json.loads(self.file.readline())
            if "error" in answer:
                raise RuntimeError(f"{command}: {answer['error']['desc']}")
            if "return" in answer:
                return answer["return"]


class Machine:
    def __init__(self, kernel, initramfs, folder):
        self.folder, self.n_plugged = folder, 0
        monitor, talk = self._fresh("monitor"), self._fresh("talk")
        self.console = os.path.join(folder, "console.log")
        self.lines = queue.Queue()
        self.process = subprocess.Popen(
            ["qemu-system-x86_64", "-nodefaults", "-no-user-config", "-no-reboot", "-display", "none",
             "-accel", "tcg", "-m", "768", "-nic", "none", "-kernel", kernel, "-initrd", initramfs,
             "-append", "console=ttyS0 quiet panic=-1",
             "-serial", f"file:{self.console}",
             "-qmp", f"unix:{monitor},server=on,wait=off",
             "-device", "virtio-serial-pci",
             "-chardev", f"socket,id=talk,path={talk},server=on,wait=off",
             "-device", "virtserialport,chardev=talk,name=talk,nr=1",
             "-device", "qemu-xhci,id=usb"],
            stdin=subprocess.DEVNULL)
        self.monitor = None
        try:
            self.talk = connect(talk)
            self.monitor = Monitor(monitor)
            threading.Thread(target=self._listen, daemon=True).start()
            self.collect(BOOT_S)
        except BaseException:
            self.stop()
            raise

    def _fresh(self, name):
        path = os.path.join(self.folder, name)
        if os.path.exists(path):
            os.unlink(path)
        return path

    def _listen(self):
        with self.talk.makefile("r", errors="replace") as f:
            for line in f:
                self.lines.put((time.monotonic(), line.rstrip("\r\n")))
        self.lines.put((time.monotonic(), None))

    def next_line(self, patience_s=ANSWER_S):
        """(when, line). queue.Empty when nothing came; RuntimeError when the machine has ended."""
        when, line = self.lines.get(timeout=patience_s)
        if line is None:
            raise RuntimeError(f"the machine has ended; see {self.console}")
        return when, line

    def collect(self, patience_s=ANSWER_S):
        """Lines up to the end of the command's answer, and its exit code (None for the boot)."""
        lines = []
        while True:
            when, line = self.next_line(patience_s)
            if line.startswith("=== "):
                word = line[4:]
                return lines, int(word) if word.isdigit() else None
            lines.append((when, line))

    def run(self, command, patience_s=ANSWER_S):
        self.start(command)
        return self.collect(patience_s)

    def start(self, command):
        self.talk.sendall(command.encode() + b"\n")

    def wait_for(self, text, patience_s=ANSWER_S):
        """When a line with text came, and all the lines until then; (None, lines) when none came in time."""
        lines, end = [], time.monotonic() + patience_s
        while time.monotonic() < end:
            try:
                when, line = self.next_line(max(0.0, end - time.monotonic()))
            except queue.Empty:
                break
            lines.append(line)
            if text in line:
                return when, lines
        return None, lines

    def plug(self, sensor):
        """Each plugging has a line of its own, so that no old bytes wait in it. When it was plugged in."""
        self.n_plugged += 1
        name = f"adapter{self.n_plugged}"
        path = self._fresh(name)
        address = {"type": "unix", "data": {"path": path}}
        self.monitor.ask("chardev-add", id=name, backend={
            "type": "socket", "data": {"addr": address, "server": True, "wait": False}})
        sensor.attach(connect(path))
        self.monitor.ask("device_add", driver="usb-serial", id=name + "usb", chardev=name, bus="usb.0")
        return time.monotonic()

    def unplug(self, sensor):
        """When it was unplugged. The line falls silent just before: QEMU 7.2 crashes now and then (a null pointer,
        about once in 20) when a byte comes while it takes the adapter out."""
        line = sensor.detach()
        time.sleep(0.05)
        when = time.monotonic()
        self.monitor.ask("device_del", id=f"adapter{self.n_plugged}usb")
        line.close()
        return when

    def stop(self):
        if self.process.poll() is None:
            try:
                self.monitor.ask("quit")
                self.process.wait(10)
            except (AttributeError, OSError, ValueError, RuntimeError, subprocess.TimeoutExpired):
                self.process.kill()
                self.process.wait()


class Sensor:
    def __init__(self, program, truth_path, *options):
        self.truth_path = truth_path
        self.line, self.lock = None, threading.Lock()
        self.process = subprocess.Popen([program, "mimic", "--truth", truth_path, *options],
                                        stdout=subprocess.PIPE, text=True)
        self.pty = os.open(self.process.stdout.readline().strip(), os.O_RDWR | os.O_NONBLOCK | os.O_NOCTTY)
        self.begun = None  # when the sensor's clock was 0, to some milliseconds
        self.opened = None # when the guest spoke first since the plugging
        self.n_bytes = self.n_dropped = 0
        self.is_stopping = False
        self.thread = threading.Thread(target=self._pass, daemon=True)
        self.thread.start()

    def attach(self, line):
        line.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, LINE_BUFFER_LEN)
        line.setblocking(False)
        with self.lock:
            self.line, self.opened, self.n_bytes, self.n_dropped = line, None, 0, 0

    def detach(self):
        """From now on all is dropped. The line, still open, or None."""
        with self.lock:
            line, self.line = self.line, None
        return line

    def time_s(self, when):
        """The sensor's time at an instant of this computer's clock."""
        return when - self.begun

    def _pass(self):
        while not self.is_stopping:
            with self.lock:
                line = self.line
            ready, _, _ = select.select([self.pty] + ([line] if line else []), [], [], 0.02)
            with self.lock:
                if line is not self.line:
                    continue
                if self.pty in ready:
                    self._to_line(os.read(self.pty, 4096))
                if line in ready:
                    try:
                        heard = line.recv(4096)
                    except OSError:
                        heard = b""
                    if heard:
                        self.opened = self.opened or time.monotonic()
                        os.write(self.pty, heard)
                    else:
                        line.close()
                        self.line = None

    def _to_line(self, data):
        if self.begun is None:
            self.begun = time.monotonic()
        if not self.line or not self.opened:
            return
        try:
            n = self.line.send(data)
        except OSError: # full, or its end is gone
            n = 0
        self.n_bytes += n
        self.n_dropped += len(data) - n

    def truth(self):
        """Ends the sensor. Every true step that ended: (touchdown_s, contact_s), in order."""
        self.stop()
        with open(self.truth_path, newline="") as f:
            return [(float(r["touchdown_s"]), float(r["toe_off_s"]) - float(r["touchdown_s"]))
                    for r in csv.DictReader(f) if r["toe_off_s"]]

    def stop(self):
        line = self.detach()
        if line:
            line.close()
        if self.process.poll() is None:
            self.process.terminate()
            try:
                self.process.wait(10)
            except subprocess.TimeoutExpired:
                self.process.kill()
                self.process.wait()
        self.is_stopping = True
        self.thread.join()
        if self.pty >= 0:
            os.close(self.pty)
        self.pty = -1
