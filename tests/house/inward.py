#!/usr/bin/python3
"""inward.py - functions that other folders are shown although only their own folder calls them.

    inward.py BUILD_DIR SRC_DIR [--list]        for instance build/main src

In:   the objects of each folder (nm), and their headers.   Out: with --list a line for each, then a line of counts.
How:  a header is public when a file of another folder includes it; the others are a folder's own. What a public header
      declares should be taken by an object of another folder, and what no other file takes at all should be static. Tests
      do not count: they may look into a folder.
Exit: 0; it counts and judges nothing.
"""
import glob
import os
import re
import subprocess
import sys


def symbols(path):
    """(functions defined, names taken from elsewhere) of one object."""
    defined, taken = set(), set()
    for line in subprocess.check_output(["nm", "-g", path], text=True).splitlines():
        word = line.split()
        if word[-2] == "U":
            taken.add(word[-1])
        elif word[-2] == "T":
            defined.add(word[-1])
    return defined, taken


def public_headers(src):
    """Those that a file of another folder includes."""
    found = set()
    for path in glob.glob(src + "/*/*.[ch]"):
        folder = os.path.basename(os.path.dirname(path))
        for header in re.findall(r'^#include "([\w/]+\.h)"', open(path, encoding="utf-8").read(), flags=re.M):
            if os.path.dirname(header) != folder:
                found.add(header)
    return found


def main():
    build, src = sys.argv[1:3]
    home, takers = {}, {}
    n_public = 0
    for source in sorted(glob.glob(src + "/*/*.c")):
        file = os.path.relpath(source, src)[:-2]
        defined, taken = symbols(f"{build}/{file}.o")
        for name in defined:
            home[name] = file
        for name in taken:
            takers.setdefault(name, set()).add(file)
    shown, alone = [], []
    for header in sorted(public_headers(src)):
        text = re.sub(r"/\*.*?\*/", "", open(os.path.join(src, header), encoding="utf-8").read(), flags=re.S)
        for name in sorted(set(re.findall(r"\b(\w+)\(", text)) & set(home)):
            folder = os.path.dirname(home[name])
            if folder != os.path.dirname(header):
                continue
            n_public += 1
            if not takers.get(name):
                alone.append((header, name))
            elif all(os.path.dirname(f) == folder for f in takers[name]):
                shown.append((header, name))
    if "--list" in sys.argv:
        for header, name in shown:
            print(f"{header}: {name}() is called in its folder alone")
        for header, name in alone:
            print(f"{header}: {name}() is called by no other file")
    print(f"inward: {n_public} functions in public headers, {len(shown)} called in their folder alone, {len(alone)} by no other file")


if __name__ == "__main__":
    main()
