#!/usr/bin/python3
"""circles.py - circles of calls between the files of one folder, and the callbacks that could hide one.

    circles.py BUILD_DIR SRC_DIR [--callbacks]        for instance build/main src

In:   the objects of each folder (nm: what each defines, what it takes from another), and their sources.
Out:  one line a circle, with the calls that close it; with --callbacks one line for each function that a file hands to
      another file of its folder, and what that makes the other file call unseen; then a line of counts.
How:  a circle is a strongly connected part of the graph of files. A function's address counts as a call of it: nm tells
      no difference. What nm can't see is a function of one's own that is handed to another file: the other file then
      calls back. Those are read from the sources, by the house's layout (a function's name begins its line).
Exit: 1 when there is a circle. Callbacks are listed, not judged: a walk that calls its caller's function for each
      item is one too.
"""
import glob
import os
import re
import subprocess
import sys


def symbols(path):
    """(defined, taken from elsewhere) of one object."""
    defined, taken = set(), set()
    for line in subprocess.check_output(["nm", "-g", path], text=True).splitlines():
        word = line.split()
        (taken if word[-2] == "U" else defined).add(word[-1])
    return defined, taken


def calls_of(folder, sources):
    """{file: {other file: names}} of one folder of objects; those whose source went are left out."""
    files = [os.path.basename(c)[:-2] for c in sorted(glob.glob(sources + "/*.c"))]
    of = {f: symbols(f"{folder}/{f}.o") for f in files}
    owner = {name: file for file, (defined, _) in of.items() for name in defined}
    calls = {file: {} for file in of}
    for file, (_, taken) in of.items():
        for name in sorted(taken):
            if owner.get(name, file) != file:
                calls[file].setdefault(owner[name], []).append(name)
    return calls


def circles_of(calls):
    """Strongly connected parts of more than one file (Tarjan 1972)."""
    index, low, stack, found = {}, {}, [], []

    def visit(v):
        index[v] = low[v] = len(index)
        stack.append(v)
        for w in calls[v]:
            if w not in index:
                visit(w)
            if w in stack:
                low[v] = min(low[v], low[w])
        if low[v] == index[v]:
            part = stack[stack.index(v):]
            del stack[stack.index(v):]
            if len(part) > 1:
                found.append(sorted(part))

    for v in calls:
        if v not in index:
            visit(v)
    return found


def bare(text):
    """A source without comments, strings and includes; lines stay where they are."""
    def blank(match):
        return re.sub(r"[^\n]", " ", match.group())
    return re.sub(r'/\*.*?\*/|//[^\n]*|"(?:\\.|[^"\\\n])*"|^#[^\n]*', blank, text, flags=re.S | re.M)


def callee_at(text, at):
    """Name of the innermost call that the place stands in; None outside one."""
    depth = 0
    for i in range(at - 1, -1, -1):
        if text[i] in ";{}":
            return None
        depth += text[i] == ")"
        depth -= text[i] == "("
        if depth < 0:
            name = re.search(r"(\w+)\s*$", text[:i])
            return name.group(1) if name else None
    return None


def callbacks_of(folder):
    """[(file, line, function handed, its file, to whom or None, whose file or None)] of one folder of sources."""
    text = {os.path.basename(c)[:-2]: bare(open(c, encoding="utf-8").read()) for c in sorted(glob.glob(folder + "/*.c"))}
    own = {f: set(re.findall(r"^(\w+)\(", t, flags=re.M)) for f, t in text.items()}
    public = {name: f for f in text for name in own[f]
              if not re.search(r"^static[^\n;]*\n" + name + r"\(", text[f], flags=re.M)}
    found = []
    for file, t in text.items():
        known = own[file] | set(public)
        for use in re.finditer(r"(?<![\w.>])(\w+)\b(?!\s*\()", t):
            name = use.group(1)
            if name not in known or t[use.end():].lstrip()[:1] not in {",", ")", ";", "}"}:
                continue
            before = t[:use.start()].rstrip()
            if before[-1:] not in {",", "(", "=", "{", "?", ":", "&"}:
                continue
            home = file if name in own[file] else public[name]
            to = callee_at(t, use.start())
            whose = public.get(to) if to not in own[file] else file
            found.append((file, t.count("\n", 0, use.start()) + 1, name, home, to, whose))
    return found


def main():
    build, src = sys.argv[1:3]
    n_circles = n_callbacks = n_back = n_files = 0
    for folder in sorted(os.listdir(src)):
        calls = calls_of(os.path.join(build, folder), os.path.join(src, folder))
        n_files += len(calls)
        for part in circles_of(calls):
            n_circles += 1
            print(f"{folder}: circle of {' '.join(part)}")
            for a in part:
                for b in part:
                    if b in calls[a]:
                        print(f"    {a} calls {b}: {' '.join(calls[a][b])}")
        for file, line, name, home, to, whose in callbacks_of(os.path.join(src, folder)):
            if whose == file or (to is not None and whose is None):
                continue  # handed within the file, or to another folder
            n_callbacks += 1
            n_back += whose is not None
            what = f"to {to}() of {whose}.c, which so calls {home}.c" if whose else "in a table or a field"
            if "--callbacks" in sys.argv:
                print(f"{folder}/{file}.c:{line}: {name}() is handed {what}")
    print(f"circles: {n_files} files, {n_circles} circles; {n_callbacks} functions handed on, {n_back} of them to another file "
          "of the folder")
    return 1 if n_circles else 0


if __name__ == "__main__":
    sys.exit(main())
