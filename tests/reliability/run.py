"""Runs the proofs of tests/reliability and puts their counts into tests/RELIABILITY.md.

A part is an executable tests/reliability/PART.sh or PART.py that takes --count N --seed S --out DIR, writes DIR/PART.json
    {"part", "what", "count", "failed", "seed", "commit", "seconds", "notes"}
and exits 1 when something failed. count is what was really run, not what was asked for. A part finds the program in
UNDERFOOT_BIN, the folder of built objects in UNDERFOOT_OBJ, and the commit to write down in UNDERFOOT_COMMIT.

Resumable by part: one whose JSON is of this commit, of at least so many and without a failure is not run again. The
commit is the last that changed the program or a proof; "+" behind it: the files differ from it, and nothing is skipped.

tests/RELIABILITY.md: the tables between their marks are made anew. A part that was not run in this folder keeps its row. The second
table is items.txt with what came of it: an item is met when each test that it names is there, each part that it names was run
without a failure, and nothing is written down as left.

Usage: run.py --dir DIR [--count N] [--seed S] [--parts "kill cut"] [--page FILE]
Closes with 'N passed, N failed': one for each single run of each part.
"""
import argparse
import json
import os
import re
import subprocess
import sys
import time

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(os.path.dirname(HERE))
WHAT_COUNTS = ["src", "assets", "profiles", "Makefile", "tests/reliability", "tests/aid"]
FIELDS = ["part", "what", "count", "failed", "seed", "commit", "seconds", "notes"]
BEGIN, END = "<!-- the table: make reliability -->", "<!-- end of the table -->"
ITEMS_BEGIN, ITEMS_END = "<!-- the items: make reliability -->", "<!-- end of the items -->"


def git(*words):
    return subprocess.run(["git", "-C", ROOT, *words], capture_output=True, text=True).stdout.strip()


def commit_of_tree():
    """The last commit that changed what is proven; with a + where the files here differ from it."""
    commit = git("log", "-1", "--format=%h", "--abbrev=10", "--", *WHAT_COUNTS) or "none"
    return commit + ("+" if git("status", "--porcelain", "--", *WHAT_COUNTS) else "")


def all_parts():
    found = {}
    for name in sorted(os.listdir(HERE)):
        stem, dot, kind = name.rpartition(".")
        if dot and kind in ("sh", "py") and os.access(os.path.join(HERE, name), os.X_OK):
            found[stem] = os.path.join(HERE, name)
    return found


def result_of(directory, part):
    try:
        with open(os.path.join(directory, part + ".json"), encoding="utf-8") as f:
            result = json.load(f)
    except (OSError, ValueError):
        return None
    return result if all(field in result for field in FIELDS) else None


def is_done(result, commit, count):
    return result and result["commit"] == commit and not commit.endswith("+") and result["failed"] == 0 \
        and result.get("asked", result["count"]) >= count


def room():
    """Words before a part that give it pseudo-terminals of its own (as in tests/run.sh): a number that one program let go
    must not come back as another's sensor. Nothing where that is refused."""
    mount = "mount -t devpts -o newinstance,ptmxmode=0666,mode=0620 devpts /dev/pts && mount --bind /dev/pts/ptmx /dev/ptmx"
    if os.getuid() == 0:
        words = ["unshare", "--mount", "--propagation", "private", "sh", "-c", mount + ' && exec "$@"', "sh"]
    else:
        words = ["unshare", "--user", "--map-current-user", "--keep-caps", "--mount", "--propagation", "private", "sh", "-c",
                 mount + ' && exec setpriv --inh-caps=-all --ambient-caps=-all "$@"', "sh"]
    try:
        return words if subprocess.run(words + ["true"], capture_output=True).returncode == 0 else []
    except OSError:
        return []


def run_part(part, path, args, commit):
    """Runs one part; its result, which says itself so when the part left none."""
    json_path = os.path.join(args.dir, part + ".json")
    if os.path.exists(json_path):
        os.remove(json_path)
    began = time.monotonic()
    env = dict(os.environ, UNDERFOOT_COMMIT=commit)
    code = subprocess.run([*room(), path, "--count", str(args.count), "--seed", str(args.seed), "--out", args.dir], cwd=ROOT,
                          env=env).returncode
    result = result_of(args.dir, part)
    if result is None:
        result = dict(zip(FIELDS, [part, "left no result", 0, 1, args.seed, commit,
                                   round(time.monotonic() - began), "exit code %d" % code]))
    if code != 0 and result["failed"] == 0:
        result["failed"] = 1
        result["notes"] += "; exit code %d" % code
    result["commit"] = commit
    result["asked"] = args.count
    with open(json_path, "w", encoding="utf-8") as f:
        json.dump(result, f, indent=1)
    return result


def row_of(result):
    cells = [str(result[field]).replace("|", "/").replace("\n", " ") for field in FIELDS]
    return "| " + " | ".join(cells) + " |"


# ------------------------------------------------------------------ what was asked for

def all_tests():
    """{suite: its tests}, of the C tests."""
    found = {}
    for folder, _, names in os.walk(os.path.join(ROOT, "tests")):
        for name in names:
            if name.endswith(".c"):
                with open(os.path.join(folder, name), encoding="utf-8") as f:
                    for suite, test in re.findall(r"^Test\((\w+), (\w+)", f.read(), re.M):
                        found.setdefault(suite, []).append(test)
    return found


def items():
    with open(os.path.join(HERE, "items.txt"), encoding="utf-8") as f:
        for line in f:
            if line.strip() and not line.startswith("#"):
                name, what, proofs, left = [cell.strip() for cell in line.rstrip("\n").split("|")]
                yield name, what, proofs.split(), left


def judge_proof(proof, tests, rows):
    """(how it is told, what is wrong with it or None, its figure or None, how many tests)."""
    _, is_named, name = proof.partition("=")
    if is_named:
        cells = rows.get(name)
        if not cells:
            return name, "%s was never run" % name, None, 0
        count, failed = int(cells[2]), int(cells[3])
        figure = "%s %d" % (name, count) + (", %d failed" % failed if failed else "")
        return name, figure if failed or not count else None, figure, 0
    suite, _, test = proof.partition(".")
    n = len(tests.get(suite, [])) if test == "*" else tests.get(suite, []).count(test)
    return ("%s (%d)" % (suite, n) if test == "*" else proof), (None if n else "there is no test %s" % proof), None, n


def items_table(rows):
    tests = all_tests()
    lines = ["| item | what | met | figures | tests |", "|---|---|---|---|---|"]
    for name, what, proofs, left in items():
        told = [judge_proof(proof, tests, rows) for proof in proofs]
        wrong = [t[1] for t in told if t[1]] + ([left] if left else [])
        figures = [t[2] for t in told if t[2]]
        n_tests = sum(t[3] for t in told)
        if n_tests:
            figures.append("%d tests" % n_tests)
        lines.append("| %s | %s | %s | %s | %s |" % (name, what, "not: " + "; ".join(wrong) if wrong else "met", ", ".join(figures) or "\u2013",
                                                    ", ".join(t[0] for t in told if t[3]) or "\u2013"))
    return "\n".join(lines)


def make_page(page, directory, parts):
    """Puts the rows of this folder's results into the page; all else of it stays as it is."""
    with open(page, encoding="utf-8") as f:
        text = f.read()
    before, rest = text.split(BEGIN)
    table, after = rest.split(END)
    rows = {}
    for line in table.splitlines():
        cells = line.split(" | ")
        if line.startswith("| ") and cells[0][2:] not in ("part", "---"):
            rows[cells[0][2:]] = line
    for part in parts:
        result = result_of(directory, part)
        if result:
            rows[part] = row_of(result)
    head = "| " + " | ".join(FIELDS) + " |\n" + "|---" * len(FIELDS) + "|"
    body = "\n".join([head] + [rows[part] for part in sorted(rows)])
    cells = {part: [cell.strip() for cell in rows[part].strip("| ").split(" | ")] for part in rows}
    before_items, rest = after.split(ITEMS_BEGIN)
    after_items = rest.split(ITEMS_END)[1]
    with open(page, "w", encoding="utf-8") as f:
        f.write(before + BEGIN + "\n" + body + "\n" + END + before_items + ITEMS_BEGIN + "\n" + items_table(cells) + "\n" + ITEMS_END +
                after_items)


def main():
    args = argparse.ArgumentParser()
    args.add_argument("--dir", required=True)
    args.add_argument("--count", type=int, default=200)
    args.add_argument("--seed", type=int, default=1)
    args.add_argument("--parts", default="")
    args.add_argument("--page")
    args = args.parse_args()
    args.dir = os.path.abspath(args.dir)
    os.makedirs(args.dir, exist_ok=True)
    parts = all_parts()
    wanted = args.parts.split() or list(parts)
    unknown = [part for part in wanted if part not in parts]
    if unknown:
        sys.exit("no part %s in tests/reliability; there are: %s" % (" ".join(unknown), " ".join(parts)))
    commit = commit_of_tree()
    passed = failed = 0
    for part in wanted:
        result = result_of(args.dir, part)
        if is_done(result, commit, args.count):
            print("%-10s done at %s already: %d" % (part, commit, result["count"]))
        else:
            print("%-10s ..." % part, flush=True)
            result = run_part(part, parts[part], args, commit)
            if args.page:
                make_page(args.page, args.dir, parts)
        print("%-10s %d, %d failed, %s s: %s; %s" % (part, result["count"], result["failed"], result["seconds"],
                                                    result["what"], result["notes"]), flush=True)
        passed += max(0, result["count"] - result["failed"])
        failed += result["failed"]
    if args.page:
        make_page(args.page, args.dir, parts)
    print("%d passed, %d failed" % (passed, failed))
    sys.exit(1 if failed else 0)


if __name__ == "__main__":
    main()
