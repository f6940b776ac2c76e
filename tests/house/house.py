#!/usr/bin/python3
"""house.py - the state of the house in one table: sizes, call circles, planted violations, survivors, times of the tiers.

Usage: house.py OBJECTS PROGRAM   the folder of the archives (build/main) and the program; `make house` builds them first

Limits: no folder of src/ above a tenth of all its lines, no file above 500, no circle of calls between the files of a
folder, every planted violation caught, the program hardened (hardened.py), no survivor that stands nowhere, at most 5 %
of the changed lines listed in tests/house/mutants.md, every tier within its budget. Survivors and times are those of the
last runs (`make mutate`; `make check-quick`, `make test`, `.ci/run`), with their date; what never ran here is said and is
no pass: `not run`.
Exit code 1 when a limit is broken.
"""
import glob
import os
import subprocess
import sys
import time

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(os.path.dirname(HERE))
FOLDER_MAX_PCT = 10.0
FILE_MAX_LINES = 500
TOOK = {}
TIERS = [('check-quick', 45), ('test', 240), ('all', None)] # name, seconds on two cores from a built tree


def n_lines(path):
    with open(path, 'rb') as f:
        return f.read().count(b'\n')


def tell_lines():
    """Lines a folder; True when each is within a tenth and no file is too long."""
    src, is_fine = os.path.join(ROOT, 'src'), True
    files = {f: n_lines(f) for f in glob.glob(os.path.join(src, '*', '*.[ch]'))}
    total = sum(files.values())
    folders = {}
    for f, n in files.items():
        folder = os.path.basename(os.path.dirname(f))
        folders.setdefault(folder, []).append(n)
    for folder, n in sorted(folders.items(), key=lambda x: -sum(x[1])):
        pct = 100.0 * sum(n) / total
        broken = pct > FOLDER_MAX_PCT
        is_fine &= not broken
        print('  %-9s %6d lines %5.1f %%  %3d files%s' % (folder, sum(n), pct, len(n), '  ABOVE A TENTH' if broken else ''))
    for f, n in sorted(files.items()):
        if n > FILE_MAX_LINES:
            is_fine = False
            print('  %s: %d lines, ABOVE %d' % (os.path.relpath(f, ROOT), n, FILE_MAX_LINES))
    print('  %-9s %6d lines' % ('all', total))
    return is_fine


def run(script, *words):
    """A check of its own; its output indented; its seconds in TOOK. True when it passed."""
    path = os.path.join(HERE, script)
    if not os.path.exists(path):
        print('  no tests/house/%s' % script)
        return False
    began = time.monotonic()
    done = subprocess.run([sys.executable, path, *words], capture_output=True, text=True, cwd=ROOT)
    TOOK[script] = time.monotonic() - began
    for line in (done.stdout + done.stderr).rstrip().split('\n'):
        print('  ' + line)
    return done.returncode == 0


def tell_tiers(objects):
    """Times of the tiers as tests/run.sh and .ci/run kept them, and what the layer check took just now, which the first
    two hold and tests/run.sh does not time."""
    is_fine, layers_s = True, TOOK.get('layers.py', 0)
    for name, budget_s in TIERS:
        kept = os.path.join(objects, 'tests', 'tier-' + name)
        if not os.path.exists(kept):
            print('  %-12s not run' % name)
            continue
        seconds, said = open(kept, encoding='utf-8').read().strip().split(' ', 1)
        seconds = float(seconds) + (layers_s if budget_s else 0)
        broken = budget_s is not None and seconds > budget_s
        is_fine &= not broken
        print('  %-12s %6.0f s%s  %s%s' % (name, seconds, ' of %d' % budget_s if budget_s else '', said,
                                       '  OVER ITS BUDGET' if broken else ''))
    return is_fine


def main():
    if len(sys.argv) != 3:
        sys.exit(__doc__)
    objects, program = sys.argv[1:]
    parts = [('lines a folder', lambda: tell_lines()),
             ('call circles', lambda: run('circles.py', objects, os.path.join(ROOT, 'src'))),
             ('functions shown to other folders that none of them calls', lambda: run('inward.py', objects, os.path.join(ROOT, 'src'))),
             ('planted violations', lambda: run('layers.py', objects)),
             ('how the program is built', lambda: run('hardened.py', program)),
             ('changed lines that no test noticed (last make mutate)', lambda: run('mutate.py', '--tell')),
             ('times of the tiers (last runs)', lambda: tell_tiers(objects))]
    broken = []
    for name, part in parts:
        print('== ' + name, flush=True)
        if not part():
            broken.append(name)
    print('house: %s' % ('in order' if not broken else 'limits broken: ' + '; '.join(broken)))
    return 1 if broken else 0


if __name__ == '__main__':
    sys.exit(main())
