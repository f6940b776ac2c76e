#!/usr/bin/python3
"""layers.py - who includes whom, and who takes what from the system, against the table layers.txt.

Usage: layers.py OBJECTS   the folder that holds the archives lib<folder>.a (build/main)

Checks every #include of src/ and hardware/firmware, and every symbol that an object takes: of ours only what a header
that the folder may include declares; of a library only where the table names it; in a pure folder only what stands
under [pure calls]. Then it tests itself: it adds one forbidden line at a time to a copy of the tree (PLANTED) and
counts how many it catches. A permission that nothing needs is an error as well. Exit code 1 when anything is wrong.
"""
import fnmatch
import os
import re
import shlex
import shutil
import subprocess
import sys
import tempfile

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(os.path.dirname(HERE))
TABLE = os.path.join(HERE, 'layers.txt')

# Where a line is planted, the line, and a part of the complaint that must name it. 'include' is caught in the text;
# 'call' only in the object, as its line declares what it calls itself.
CALL = 'extern int {0}(int); int planted(int d); int planted(int d) {{ return {0}(d); }}'
PLANTED = [
    ('include', 'base/str.c', '#include "wire/packet.h"', 'wire/packet.h'),
    ('include', 'base/ring.h', '#include <pthread.h>', 'pthread'),
    ('include', 'base/options.c', '#include "base/message_words.h"', 'base/message_words.h'),
    ('call', 'base/stats.c', CALL.format('malloc'), 'malloc'),
    ('include', 'wire/wire.h', '#include "sense/frame.h"', 'sense/frame.h'),
    ('include', 'wire/wire_encode.c', '#include "base/log.h"', 'base/log.h'),
    ('call', 'wire/crc16.c', CALL.format('write'), 'write'),
    ('include', 'link/fdsource.c', '#include <libserialport.h>', 'libserialport'),
    ('include', 'link/source.c', '#include "sense/sense.h"', 'sense/sense.h'),
    ('include', 'sense/cells.c', '#include "wire/wire.h"', 'wire/wire.h'),
    ('call', 'sense/devclock.c', CALL.format('clock_gettime'), 'clock_gettime'),
    ('include', 'gait/contact.c', '#include "sense/sense.h"', 'sense/sense.h'),
    ('include', 'gait/engine.h', '#  include   <time.h> /* what time is it */', 'time'),
    ('call', 'gait/rolling.c', CALL.format('calloc'), 'calloc'),
    ('include', 'coach/cue.c', '#include "gait/engine.h"', 'gait/engine.h'),
    ('call', 'coach/tally.c', 'extern int puts(const char *); int planted(void); int planted(void) { return puts(""); }',
     'puts'),
    ('include', 'live/pipeline.c', '#include "store/store.h"', 'store/store.h'),
    ('call', 'live/pipeline.c', CALL.format('time'), 'time'),
    ('include', 'setup/check.c', '#include <sqlite3.h>', 'sqlite3'),
    ('call', 'setup/calib.c', CALL.format('recorder_put'), 'recorder_put'),
    ('include', 'setup/calib_file.c', '#include "base/message_words.h"', 'base/message_words.h'),
    ('include', 'store/names.c', '#include "report/summary.h"', 'report/summary.h'),
    ('include', 'store/store_step.c', '#include <pthread.h>', 'pthread'),
    ('include', 'report/page.h', '#include "visit/app.h"', 'visit/app.h'),
    ('include', 'store/names.c', '#include <zstd.h>', 'zstd'),
    ('include', 'care/restore.c', '#include "report/course.h"', 'report/course.h'),
    ('include', 'paper/phrase.c', '#include "store/store.h"', 'store/store.h'),
    ('include', 'paper/phrase.h', '#include <pango/pangocairo.h>', 'pango'),
    ('call', 'report/csv.c', CALL.format('sqlite3_close'), 'sqlite3_close'),
    ('include', 'ui/theme.h', '#include "coach/verdict.h"', 'coach/verdict.h'),
    ('include', 'runner/screen.c', '#include <SDL.h>', 'SDL'),
    ('include', 'runner/show.c', '#include "gait/engine.h"', 'gait/engine.h'),
    ('include', 'visit/reader.c', '#include "panel/panel.h"', 'panel/panel.h'),
    ('include', 'panel/panel.c', '#include "visit/app.h"', 'visit/app.h'),
    ('include', 'pages/panel_draw.c', '#include "desk/desk.h"', 'desk/desk.h'),
    ('include', 'desk/desk.c', '#include "cli/commands.h"', 'cli/commands.h'),
    ('include', 'sim/board.c', '#include "../wire/wire.h"', '../wire/wire.h'),
    ('call', 'sim/random.c', CALL.format('pthread_create'), 'pthread_create'),
    ('include', 'cli/cmd_live.c', '#include "desk/desk.h"', 'desk/desk.h'),
    ('include', 'firmware/station.c', '#include "base/units.h"', 'base/units.h'),
]
# What the table permits must pass: a check that refuses everything catches every planted line too.
ALLOWED = [
    ('include', 'link/source.c', '#include "wire/packet.h"'),
    ('include', 'desk/desk.c', '#include "visit/reader.h"'),
    ('call', 'gait/rolling.c', 'extern double tan(double); double planted(double d); double planted(double d) { return tan(d); }'),
]


class Table:
    """layers.txt, and which of its permissions were needed."""

    def __init__(self, path):
        self.library_headers, self.library_symbols = {}, {}
        self.order, self.pure, self.pure_files, self.pure_calls = [], set(), set(), []
        self.named_only = set() # headers that no folder's name grants
        self.rows = {}     # folder or file without its ending -> [(permission, line number, is it temporary)]
        self.needed = set()
        section = ''
        for number, line in enumerate(open(path, encoding='utf-8'), 1):
            line = line.split('#')[0].rstrip() if line.startswith('#') else line.rstrip()
            fields = [f.strip() for f in line.split('|')]
            if not line:
                continue
            if line.startswith('['):
                section = line.strip('[]')
            elif section == 'libraries':
                self.library_headers[fields[0]] = fields[1].split()
                self.library_symbols[fields[0]] = fields[2].split()
            elif section == 'folders':
                self.order.append(fields[0])
                if fields[1] == 'pure':
                    self.pure.add(fields[0])
                self.add(fields[0], fields[2], fields[3], fields[4], number)
            elif section == 'files':
                self.add(fields[0], fields[1], fields[2], fields[3], number)
            elif section == 'named only':
                self.named_only.add(fields[0])
            elif section == 'pure calls':
                self.pure_calls += line.split()
            elif section == 'pure files':
                self.pure_files |= set(line.split())
            else:
                sys.exit('%s:%d: no such section: %s' % (path, number, section))

    def add(self, name, ours, libraries, why, number):
        if not why:
            sys.exit('%s:%d: %s has no reason' % (TABLE, number, name))
        row = self.rows.setdefault(name, [])
        for p in (ours + ' ' + libraries).split():
            if p == '-':
                continue
            is_ours = p.endswith('.h') or p in ('base', 'wire') or p not in self.library_headers
            if is_ours and p.split('/')[0] not in HOUSE:
                sys.exit('%s:%d: no such folder or library: %s' % (TABLE, number, p))
            row.append((p, number, why.startswith('until')))

    def permissions(self, module):
        """What a file may use: its own rows' and its folder's."""
        return self.rows.get(module, []) + self.rows.get(module.split('/')[0], [])

    def is_pure(self, module):
        return module.split('/')[0] in self.pure or module in self.pure_files

    def unneeded(self):
        return ['layers.txt:%d: nothing of %s needs %s: take it out' % (number, name, p)
                for name, row in self.rows.items() for p, number, is_temporary in row
                if (p, number) not in self.needed and not is_temporary and p != 'c']


def folder_of_file(path):
    return path.split('/')[0]


def sources(src, firmware):
    """path as it is included (gait/contact.c) -> where it lies."""
    found = {}
    for base, prefix in ((src, ''), (firmware, 'firmware/')):
        for at, folders, files in os.walk(base):
            folders.sort()
            for f in sorted(files):
                if f.endswith(('.c', '.h')):
                    found[prefix + os.path.relpath(os.path.join(at, f), base)] = os.path.join(at, f)
    return found


def includes(path):
    """(line, 'ours' or 'system' or 'odd', name) of each #include, comments taken out."""
    text = open(path, encoding='utf-8').read()
    text = re.sub(r'/\*.*?\*/|//[^\n]*', lambda m: re.sub(r'[^\n]', ' ', m.group(0)), text, flags=re.S)
    for number, line in enumerate(text.replace('\\\n', '  ').split('\n'), 1):
        m = re.match(r'\s*(?:#|%:|\?\?=)\s*(?:include|include_next|import|embed)\b\s*(.*)', line)
        if not m:
            continue
        what = m.group(1).strip()
        if re.fullmatch(r'"[^"]+"', what):
            yield number, 'ours', what[1:-1]
        elif re.fullmatch(r'<[^>]+>', what):
            yield number, 'system', what[1:-1]
        else:
            yield number, 'odd', what


def check_include(table, file, where, kind, name, files):
    """None, or why this file may not include that."""
    module = file[:-2]
    if kind == 'ours':
        if name.startswith('base/messages') and name.endswith('.inc'):  # the lists of base/message.h
            return None if file.startswith('base/message') else '%s: %s is for base/message.h alone' % (where, name)
        if name not in files or not name.endswith('.h'):
            return '%s: %s is no header of src: write folder/name.h' % (where, name)
        to = folder_of_file(name)
        if name[:-2] == module or (to == folder_of_file(file) and name not in table.named_only):
            return None
        for p, number, _ in table.permissions(module):
            if p == name or (p == to and name not in table.named_only):
                table.needed.add((p, number))
                return None
        mine, theirs = (table.order.index(f) for f in (folder_of_file(file), to))
        return '%s: %s %s' % (where, name, 'points rightwards' if theirs > mine else
                              'is not for this file (tests/house/layers.txt)')
    if kind == 'system' and name.endswith('.h'):
        owners = [l for l, patterns in table.library_headers.items()
                  if any(fnmatch.fnmatchcase(name[:-2], p) for p in patterns)]
        for p, number, _ in table.permissions(module):
            if p in owners:
                table.needed.add((p, number))
                return None
        return '%s: <%s> %s' % (where, name, 'is of %s, which is not for this file (tests/house/layers.txt)'
                                % owners[0] if owners else 'is of no library in tests/house/layers.txt')
    return '%s: an include must name a header, not %s' % (where, name)


def check_includes(table, files, only=None):
    wrong = []
    for file, path in files.items():
        if only and file != only:
            continue
        if folder_of_file(file) not in table.rows:
            wrong.append('%s: its folder stands in no line of tests/house/layers.txt' % file)
            continue
        for number, kind, name in includes(path):
            no = check_include(table, file, '%s:%d' % (file, number), kind, name, files)
            if no:
                wrong.append(no)
    return wrong


def symbols(nm_flags, path):
    """object's name -> its symbols."""
    out = subprocess.run(['nm', *nm_flags, path], capture_output=True, text=True)
    if out.returncode:
        sys.exit('layers.py: nm %s: %s' % (path, out.stderr.strip()))
    found, object_name = {}, os.path.basename(path)[:-2]
    for line in out.stdout.split('\n'):
        if line.endswith('.o:'):
            object_name = os.path.basename(line)[:-3]
        elif line.strip():
            found.setdefault(object_name, set()).add(line.split()[-1].split('@')[0])
        found.setdefault(object_name, set())
    return found


def objects(table, built):
    """module (gait/contact) -> what it takes; symbol -> the module that defines it."""
    takes, owner = {}, {}
    for folder in table.order:
        archive = os.path.join(built, 'lib%s.a' % folder)
        if folder == 'firmware':
            continue
        if not os.path.exists(archive):
            if os.path.isdir(os.path.join(ROOT, 'src', folder)):
                sys.exit('layers.py: no %s: build first (make layers does)' % archive)
            continue
        for name, found in symbols(['-g', '--defined-only'], archive).items():
            for s in found:
                owner[s] = folder + '/' + name
        for name, found in symbols(['-u'], archive).items():
            takes[folder + '/' + name] = found
    return takes, owner


def words_of(path, cache={}):
    if path not in cache:
        cache[path] = set(re.findall(r'[A-Za-z_]\w*', open(path, encoding='utf-8').read()))
    return cache[path]


def check_ours(table, module, symbol, to, files):
    """May this object take a symbol of ours? Only when a header that it may include declares it."""
    folder, is_named_only = to.split('/')[0], to + '.h' in table.named_only
    if to == module or (folder == module.split('/')[0] and not is_named_only):
        return None
    for p, number, _ in table.permissions(module):
        if (p == folder and not is_named_only) or (p.endswith('.h') and folder_of_file(p) == folder and p in files
                           and symbol in words_of(files[p])):
            table.needed.add((p, number))
            return None
    return '%s.o takes %s of %s, which no header that it may include declares' % (module, symbol, to)


def check_object(table, module, taken, owner, files):
    wrong = []
    for symbol in sorted(taken):
        if symbol in owner:
            no = check_ours(table, module, symbol, owner[symbol], files)
            if no:
                wrong.append(no)
            continue
        libraries = [l for l, patterns in table.library_symbols.items()
                     if any(fnmatch.fnmatchcase(symbol, p) for p in patterns)]
        granted = [(p, number) for p, number, _ in table.permissions(module) if p in libraries]
        table.needed |= set(granted)
        if libraries and not granted:
            wrong.append('%s.o takes %s of %s, which is not for this file' % (module, symbol, libraries[0]))
        elif not granted and table.is_pure(module) and \
                not any(fnmatch.fnmatchcase(symbol, p) for p in table.pure_calls):
            wrong.append('%s.o is pure and takes %s' % (module, symbol))
    return wrong


def compile_one(path, src, out):
    command = shlex.split(os.environ.get('CC', 'gcc')) + ['-std=c11', '-O1', '-D_POSIX_C_SOURCE=200809L', '-I' + src,
                                                         '-fno-builtin', '-w', '-c', '-o', out, path]
    done = subprocess.run(command, capture_output=True, text=True)
    if done.returncode:
        sys.exit('layers.py: a planted line does not compile, so it tests nothing: %s' % done.stderr.strip())
    return symbols(['-u'], out)[os.path.basename(out)[:-2]]


def plant(table, kind, file, line, owner, src, files):
    """The complaints about one file of the copy with one line more; the copy is whole again afterwards."""
    path = files[file]
    before = open(path, encoding='utf-8').read()
    with open(path, 'w', encoding='utf-8') as f:
        f.write(before + '\n' + line + '\n' if kind == 'call' else line + '\n' + before)
    wrong = check_includes(table, files, only=file)
    if kind == 'call':
        taken = compile_one(path, src, path[:-2] + '.o')
        wrong += check_object(table, file[:-2], taken, owner, files)
    with open(path, 'w', encoding='utf-8') as f:
        f.write(before)
    return wrong


def test_itself(table, owner):
    """Plants every line of PLANTED; returns how many were caught and what went wrong."""
    caught, wrong = 0, []
    with tempfile.TemporaryDirectory(prefix='layers-') as tree:
        shutil.copytree(os.path.join(ROOT, 'src'), os.path.join(tree, 'src'))
        shutil.copytree(os.path.join(ROOT, 'hardware', 'firmware'), os.path.join(tree, 'firmware'))
        src = os.path.join(tree, 'src')
        files = sources(src, os.path.join(tree, 'firmware'))
        for kind, file, line, named in PLANTED:
            found = plant(table, kind, file, line, owner, src, files)
            if len(found) == 1 and named in found[0]:
                caught += 1
            else:
                wrong.append('planted in %s and not caught: %s (said: %s)' % (file, line, found or 'nothing'))
        for kind, file, line in ALLOWED:
            for no in plant(table, kind, file, line, owner, src, files):
                wrong.append('allowed, yet refused: %s' % no)
    empty = [f for f in table.order if f in HOUSE and not any(p[1].startswith(f + '/') for p in PLANTED)]
    wrong += ['no violation is planted in %s' % f for f in empty]
    return caught, wrong


def main():
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    table = Table(TABLE)
    files = sources(os.path.join(ROOT, 'src'), os.path.join(ROOT, 'hardware', 'firmware'))
    takes, owner = objects(table, sys.argv[1])
    wrong = check_includes(table, files)
    for module, taken in takes.items():
        wrong += check_object(table, module, taken, owner, files)
    wrong += table.unneeded()
    for no in wrong:
        print(no, flush=True)
    caught, misses = test_itself(table, owner)
    for no in misses:
        print(no)
    print('layers: %d files, %d objects, %d wrong' % (len(files), len(takes), len(wrong)))
    print('planted %d, caught %d' % (len(PLANTED), caught))
    return 1 if wrong or misses or caught != len(PLANTED) else 0


HOUSE = sorted(os.listdir(os.path.join(ROOT, 'src'))) + ['firmware']

if __name__ == '__main__':
    sys.exit(main())
