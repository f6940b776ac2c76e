#!/usr/bin/python3
"""cut.py - power cuts, which no kill tests: a killed program's writes are all still there, a cut's are not.

Each command that writes, and a short visit, runs once under disc.c, which logs each call that changes a file. Then the
disc is built as a cut before call k may have left it: what was synced stands; of what was not, a part, drawn by chance:

    dropped     nothing of it
    whole       all of it
    reordered   any part of the writes, each whole
    torn        any part of them, each any part of its sectors of 512 bytes

Names (made, linked, renamed, removed) are data of their folder: until that is synced any first part of its changes
stands, in order. That is less than the usual file systems promise, so that it holds on all of them.

Asked of each such disc: the store opens with good integrity; its rows are those after some commit, no earlier one than
the last that was synced before the cut; each other file that the command makes is as before, whole, or not there; and after the
program has ended well, and so said that all is done, all of it is there. One state in twenty is opened by the program too,
and a recording is read by it. Planted: without its syncs, the same command must be found to lose what it said was done.
COUNT: how many cuts of each command, and every call where there are no more. From FULL on those just before and after each sync
are among them, however many they are. Each is tried in all four ways.
"""
import os
import random
import shutil
import sys
from concurrent.futures import ProcessPoolExecutor

import proof
import scenarios

WAYS = ["dropped", "whole", "reordered", "torn"]
SECTOR = 512
LANES = 2
FULL = 50
PROGRAM_LOOKS_EACH = 20
PLANTED = "note"
PASSING = (".aside-", "sqlite.new-", "/opened-", "-shm", ".running")  # half-made, locks: nobody takes them for something


class Call:
    def __init__(self, line, data):
        w = line.rstrip("\n").split("\t")
        self.kind, self.path, self.other = w[2], w[3], w[4]
        self.offset, self.inode, self.error = int(w[5]), int(w[9]), int(w[8])
        self.data = data[int(w[7]):int(w[7]) + int(w[6])]


def read_log(path):
    with open(path + ".data", "rb") as f:
        data = f.read()
    with open(path, encoding="utf-8", errors="surrogateescape") as f:
        return [Call(line, data) for line in f]


class File:
    """What is synced, and what was asked since: ("write", offset, bytes) or ("size", n)."""

    def __init__(self, durable=b""):
        self.durable, self.pending = bytearray(durable), []

    def image(self, way, rng):
        out = bytearray(self.durable)
        for change in self.pending:
            if way == "dropped" or (way in ("reordered", "torn") and rng.random() < 0.5):
                continue
            if change[0] == "size":
                n = change[1]
                out = out[:n] if n < len(out) else out + bytes(n - len(out))
                continue
            _, at, data = change
            if way == "torn":
                put_sectors(out, at, data, rng)
            else:
                put(out, at, data)
        return out

    def sync(self):
        self.durable, self.pending = self.image("whole", None), []


def put(out, at, data):
    if len(out) < at + len(data):
        out.extend(bytes(at + len(data) - len(out)))
    out[at:at + len(data)] = data


def put_sectors(out, at, data, rng):
    end = at + len(data)
    for sector in range(at // SECTOR, (end - 1) // SECTOR + 1 if data else 0):
        if rng.random() < 0.5:
            continue
        a, b = max(at, sector * SECTOR), min(end, (sector + 1) * SECTOR)
        put(out, a, data[a - at:b - at])


class Folder:
    """Names to files: synced, and the changes since, each {name: File or None} that stands whole or not at all."""

    def __init__(self):
        self.durable, self.pending = {}, []

    def names(self, n_changes=None):
        out = dict(self.durable)
        for change in self.pending[:n_changes]:
            for name, what in change.items():
                if what is None:
                    out.pop(name, None)
                else:
                    out[name] = what
        return out

    def sync(self):
        self.durable, self.pending = self.names(), []


class Disc:
    def __init__(self, root):
        self.root, self.folders, self.by_inode = root, {}, {}
        for folder, _, names in os.walk(root):
            here = self.folders.setdefault(folder, Folder())
            for name in names:
                path = os.path.join(folder, name)
                with open(path, "rb") as f:
                    here.durable[name] = File(f.read())
        self.made_folders = {folder: True for folder in self.folders}  # a folder's own name: durable or not

    def folder_of(self, path):
        return self.folders.get(os.path.dirname(path))

    def find(self, path, inode=0):
        here = self.folder_of(path)
        f = here.names().get(os.path.basename(path)) if here else None
        if f is None and inode:
            f = self.by_inode.get(inode)
        if f is not None and inode:
            self.by_inode[inode] = f
        return f

    def change_name(self, path, what):
        here = self.folder_of(path)
        if here is not None:
            here.pending.append({os.path.basename(path): what})

    def apply(self, call):
        if call.error or not (call.path.startswith(self.root) or call.other.startswith(self.root)):
            return
        path = call.path.removesuffix(" (deleted)")
        f = self.find(path, call.inode)
        if call.kind == "mkdir":
            if path not in self.folders:
                self.folders[path] = Folder()
                self.made_folders[path] = False
        elif call.kind == "create":
            if f is None:
                self.change_name(path, File())
        elif call.kind == "write" and f is not None:
            f.pending.append(("write", call.offset, call.data))
        elif call.kind == "truncate" and f is not None:
            f.pending.append(("size", call.offset))
        elif call.kind == "allocate" and f is not None:
            size = len(f.image("whole", None))
            f.pending.append(("size", max(size, call.offset)))
        elif call.kind == "sync":
            self.sync(path, f)
        elif call.kind in ("link", "rename") and f is not None:
            self.give_name(call.kind, path, call.other, f)
        elif call.kind == "unlink" and f is not None:
            self.change_name(path, None)

    def give_name(self, kind, path, other, f):
        here, there = self.folder_of(path), self.folder_of(other)
        if kind == "link":
            if os.path.basename(other) not in there.names():
                self.change_name(other, f)
        elif here is there:
            here.pending.append({os.path.basename(other): f, os.path.basename(path): None})
        else:
            self.change_name(other, f)
            self.change_name(path, None)

    def sync(self, path, f):
        if path in self.folders:
            self.folders[path].sync()
            for made in self.made_folders:
                if os.path.dirname(made) == path:
                    self.made_folders[made] = True
        elif f is not None:
            f.sync()

    def image(self, way, rng):
        """{path: bytes} of what the cut leaves. A folder whose own name was not synced may be gone with all in it."""
        out = {}
        for folder, here in self.folders.items():
            if not self.made_folders[folder] and way != "whole" and (way == "dropped" or rng.random() < 0.5):
                continue
            n = 0 if way == "dropped" else len(here.pending) if way == "whole" else rng.randint(0, len(here.pending))
            for name, f in here.names(n).items():
                out[os.path.join(folder, name)] = f.image(way, rng)
        return out


# ------------------------------------------------------------------ asking

def lay_out(image, root, to, is_store_only=False):
    """The image as files; a lock's shared memory is gone with the computer's."""
    for path, data in image.items():
        if path.endswith("-shm") or (is_store_only and proof.STORE not in os.path.basename(path)):
            continue
        there = to + path[len(root):]
        os.makedirs(os.path.dirname(there), exist_ok=True)
        with open(there, "wb") as f:
            f.write(data)


class Proof:
    """One command's log, and what its store held after each call."""

    def __init__(self, scenario, folder, calls, snapshot, work):
        self.scenario, self.root, self.calls, self.snapshot, self.work = scenario, folder, calls, snapshot, work
        self.hashes, self.n = {}, 0
        self.old_files = self.others(Disc(snapshot).image("whole", None), snapshot)
        self.new_files = self.others(self.disc_after(len(calls)).image("whole", None), folder)
        self.given = self.contents_given()

    def disc_after(self, k):
        """The disc as the first k calls have it, with nothing lost."""
        d = self.begin()
        for call in self.calls[:k]:
            d.apply(call)
        return d

    def contents_given(self):
        """What was ever put in a name's place by a rename, whole: a command may do so more than once."""
        d, out = self.begin(), set()
        for call in self.calls:
            if call.kind == "rename" and not call.error:
                f = d.find(call.path)
                if f is not None:
                    out.add((call.other[len(self.root):], bytes(f.image("whole", None))))
            d.apply(call)
        return out

    def begin(self):
        d = Disc(self.snapshot)
        move = lambda path: self.root + path[len(self.snapshot):]
        d.root = self.root
        d.folders = {move(path): folder for path, folder in d.folders.items()}
        d.made_folders = {move(path): True for path in d.made_folders}
        return d

    def others(self, image, root):
        return {path[len(root):]: bytes(data) for path, data in image.items()
                if proof.STORE + "-" not in path and not path.endswith("/" + proof.STORE) and not any(p in path for p in PASSING)}

    def scratch(self):
        self.n += 1
        return os.path.join(self.work, "cut-%s-%d-%d" % (self.scenario.name, os.getpid(), self.n))

    def hash_of(self, image):
        to = self.scratch()
        os.makedirs(os.path.join(to, "data"), exist_ok=True)
        lay_out(image, self.root, to, is_store_only=True)
        problem, sha, _ = scenarios.state_of(to)
        shutil.rmtree(to, ignore_errors=True)
        return problem, sha

    def whole_hash(self, k):
        """Of all rows after call k, as the program itself sees them."""
        if k not in self.hashes:
            self.hashes[k] = self.hash_of(self.disc_after(k).image("whole", None))
        return self.hashes[k]

    def last_sync(self, k):
        """The last call before k that made something of the store durable. A commit by a rollback journal is on the disc once the
        journal's name is gone from it for good: until its folder is synced after the removal, the journal may be back with the
        power and take the commit with it, whatever of the store's file was synced since."""
        last, is_journal_leaving = 0, False
        for i, call in enumerate(self.calls[:k], 1):
            name = os.path.basename(call.path)
            if call.kind == "unlink" and name == proof.STORE + "-journal":
                is_journal_leaving = True
            elif call.kind == "sync" and call.path == os.path.join(self.root, "data"):
                last, is_journal_leaving = (i, False) if is_journal_leaving else (last, False)
            elif call.kind == "sync" and proof.STORE in name and "-shm" not in name and not is_journal_leaving:
                last = i
        return last

    def problems(self, disc, k, way, rng, is_looked_at):
        image = disc.image(way, rng)
        problem, sha = self.hash_of(image)
        if problem:
            return ["the store: " + problem]
        found = []
        first = len(self.calls) if k == len(self.calls) else self.last_sync(k)
        near = [first, k] + list(range(first + 1, k))
        if not any(self.whole_hash(j) == (None, sha) for j in near):
            found.append("rows of a commit that was on the disc are gone, or a commit is there in part")
        found += self.problems_of_files(self.others(image, self.root), k)
        if is_looked_at:
            found += self.looked_at(image)
        return found

    def problems_of_files(self, files, k):
        found, is_end = [], k == len(self.calls)
        for path in set(files) | set(self.old_files) | set(self.new_files):
            here, old, new = files.get(path), self.old_files.get(path), self.new_files.get(path)
            if path.endswith(".rec"):
                if here is None and is_end and new is not None:
                    found.append("the recording is gone though the visit had ended")
                elif is_end and here != new:
                    found.append("the recording is not whole though the visit had ended")
            elif is_end and here != new:
                found.append("%s is not on the disc though the program had ended" % path)
            elif here not in (old, new) and (path, here) not in self.given:
                if not (path.startswith("/data/underfoot.sqlite.") and here is not None):
                    found.append("%s is neither as before nor whole (%s bytes)" % (path, None if here is None else len(here)))
        return found

    def looked_at(self, image):
        to = self.scratch()
        os.makedirs(os.path.join(to, "data"), exist_ok=True)
        lay_out(image, self.root, to)
        found = []
        ran = proof.run(to, ["visits"])
        if ran.code != 0:
            found.append("`visits` after it: exit code %s: %s" % (ran.code, ran.err.strip()))
        place = os.path.join(to, "data", "recordings")
        for name in sorted(os.listdir(place)) if os.path.isdir(place) else []:
            if name.startswith("visit-3-") and os.path.getsize(os.path.join(place, name)) > 0:
                ran = proof.run(to, ["replay", os.path.join(place, name), "--steps"])
                if ran.code not in (0, 1) or not ran.out.startswith("step,") and "cut short" not in ran.err:
                    found.append("the recording can't be read: exit code %s: %s" % (ran.code, ran.err.strip()[:200]))
        shutil.rmtree(to, ignore_errors=True)
        return found


def chosen(calls, count, rng):
    """The cuts: the end, those just before and after a sync, and as many others by chance as are asked for."""
    n = len(calls)
    if n <= count:
        return list(range(n + 1))
    sure = {0, n} | {i + 1 for i, call in enumerate(calls) if call.kind == "sync"} | \
        {i for i, call in enumerate(calls) if call.kind == "sync"}
    if count < FULL:
        some = min(len(sure), count // 2 + 1)
        return sorted({0, n} | set(rng.sample(sorted(sure), some)) | set(rng.sample(range(n), count // 2)))
    rest = [i for i in range(n) if i not in sure]
    return sorted(sure | set(rng.sample(rest, max(0, min(len(rest), count - len(sure))))))


def cut_scenario(name, snapshot, folder, log, work, count, seed):
    """All cuts of one command: (how many states, [(cut, way, problems)])."""
    scenario = next(s for s in scenarios.all_scenarios() if s.name == name)
    calls = [call for call in read_log(log) if call.kind != "say"]
    rng = random.Random("%d %s" % (seed, name))
    p = Proof(scenario, folder, calls, snapshot, work)
    disc, wrong, n_states, at = p.begin(), [], 0, 0
    for k in chosen(calls, count, rng):
        for call in calls[at:k]:
            disc.apply(call)
        at = k
        for way in WAYS:
            n_states += 1
            problems = p.problems(disc, k, way, rng, n_states % PROGRAM_LOOKS_EACH == 0 or k == len(calls))
            if problems:
                before = "%s %s" % (calls[k].kind, calls[k].path[len(folder):]) if k < len(calls) else "the end"
                wrong.append((k, "%s, before %s" % (way, before), problems))
    return n_states, len(calls), wrong


def planted_is_found(snapshot, folder, log, work):
    """The command's end with every sync left out: nothing of it may be on the disc, and that has to be noticed."""
    scenario = next(s for s in scenarios.all_scenarios() if s.name == PLANTED)
    p = Proof(scenario, folder, [call for call in read_log(log) if call.kind != "say"], snapshot, work)
    disc = p.begin()
    for call in p.calls:
        if call.kind != "sync":
            disc.apply(call)
    return bool(p.problems(disc, len(p.calls), "dropped", random.Random(1), False))


def record(bench, scenario):
    folder = bench.fresh(scenario)
    snapshot = proof.copy_tree(folder, folder + "-before")
    log = folder + ".log"
    result, _, _ = scenarios.run_under_disc(scenario, folder, ["--log", log])
    if result.code != 0:
        raise SystemExit("%s does not run: exit code %s: %s" % (scenario.name, result.code, result.err))
    return snapshot, folder, log


def main():
    args = proof.arguments("cut")
    tally = proof.Tally("cut", "power cuts: the disc as it may be left, opened again (states)", args)
    wanted = args.only.split()
    with proof.work_folder() as work, ProcessPoolExecutor(LANES) as pool:
        bench = scenarios.Bench(work)
        jobs = []
        for s in scenarios.all_scenarios():
            if not wanted or s.name in wanted:
                snapshot, folder, log = record(bench, s)
                if s.name == PLANTED and not planted_is_found(snapshot, folder, log, work):
                    tally.add("planted", ["a command without its syncs passes"])
                jobs.append((s.name, pool.submit(cut_scenario, s.name, snapshot, folder, log, work, args.count, args.seed)))
        for name, job in jobs:
            n_states, n_calls, wrong = job.result()
            for k, how, problems in wrong[:6]:
                tally.add(name, ["call %d of %d, %s: %s" % (k, n_calls, how, "; ".join(problems))])
            for _ in wrong[6:]:
                tally.failed += 1
                tally.count += 1
                tally.told[name][0] += 1
                tally.told[name][1] += 1
            for _ in range(n_states - len(wrong)):
                tally.add(name, [])
    return tally.write()


if __name__ == "__main__":
    sys.exit(main())
