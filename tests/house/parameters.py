#!/usr/bin/python3
"""parameters.py - functions of more than seven parameters, and prefixes that serve two folders.

    parameters.py SRC_DIR

In:   the sources, by the house's layout: a function's name begins its line in its definition.
Out:  one line for each function above the limit outside ui/ (where shapes are told by their coordinates), one for each
      prefix that modules of two folders share, then a line of counts.
How:  a module is a source or a header; its name is the prefix of what it defines for others. A function belongs to the module
      with the longest name that its own begins with (store_watch_judge() to store_watch, not to store), or, where
      there is none, to its first word. Files of one folder may share a prefix (coach, coach_plan: a family); two folders
      may not, since a reader who meets the name would look in the wrong one.
Exit: 1 when there is any.
"""
import glob
import os
import re
import sys

MOST = 7
FREE = {"ui"}


def bare(text):
    """Without comments and strings; lines stay where they are."""
    def blank(match):
        return re.sub(r"[^\n]", " ", match.group())
    return re.sub(r'/\*.*?\*/|//[^\n]*|"(?:\\.|[^"\\\n])*"', blank, text, flags=re.S)


def functions_of(text):
    """(name, line, parameters, is static) of each function defined there."""
    for at in re.finditer(r"^(\w+)\(", text, flags=re.M):
        depth, n, i = 1, 1, at.end()
        while depth and i < len(text):
            depth += (text[i] in "([") - (text[i] in ")]")
            n += text[i] == "," and depth == 1
            i += 1
        if text[i:].lstrip()[:1] != "{":
            continue
        inside = text[at.end():i - 1].strip()
        start = text.rfind("\n", 0, at.start() - 1) + 1
        is_static = re.match(r"(?:_Noreturn\s+)?static\b", text[start:at.start()]) is not None
        yield at.group(1), text.count("\n", 0, at.start()) + 1, 0 if inside in {"", "void"} else n, is_static


def owner_of(name, modules):
    """The longest module name that the function's begins with; else its first word."""
    words = name.split("_")
    for n in range(len(words), 0, -1):
        if "_".join(words[:n]) in modules:
            return "_".join(words[:n])
    return words[0]


def main():
    src = sys.argv[1]
    n_functions = n_over = n_shared = 0
    modules, public = {}, []
    for path in sorted(glob.glob(src + "/*/*.[ch]")):
        folder, file = path.split(os.sep)[-2:]
        modules.setdefault(file[:-2], set()).add(folder)
        for name, line, n, is_static in functions_of(bare(open(path, encoding="utf-8").read())):
            n_functions += 1
            if n > MOST and folder not in FREE:
                n_over += 1
                print(f"{folder}/{file}:{line}: {name}() takes {n} parameters, {MOST} at most")
            if not is_static and name != "main" and file.endswith(".c"):
                public.append((name, folder, file))
    users = {}
    for name, folder, file in public:
        users.setdefault(owner_of(name, modules), {}).setdefault(folder, []).append(f"{name}() of {folder}/{file}")
    for prefix, folders in sorted(users.items()):
        homes = set(folders) | modules.get(prefix, set())
        if len(homes) > 1:
            n_shared += 1
            where = "; ".join(names[0] + (f" and {len(names) - 1} more" if len(names) > 1 else "")
                              for _, names in sorted(folders.items()))
            print(f"prefix {prefix}_ serves {', '.join(sorted(homes))}: {where}")
    print(f"house: {n_functions} functions, {n_over} above {MOST} parameters outside {', '.join(sorted(FREE))}/; "
          f"{len(users)} prefixes, {n_shared} shared by folders")
    return 1 if n_over or n_shared else 0


if __name__ == "__main__":
    sys.exit(main())
