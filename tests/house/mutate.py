#!/usr/bin/python3
"""mutate.py - changes lines of wire to store one by one and asks the tests whether they notice.

Usage: make mutate [ARGS="--folder wire --n 40 --again"]
    --n N          changed lines over all folders, spread by their size (default 320)
    --folder NAME  that folder alone (may be repeated)
    --file PART    files whose path holds PART alone
    --again        runs the survivors again that stand nowhere, after tests were sharpened
    --from-kept    what never ran here counts as tests/house/mutants.tsv keeps it: a fresh clone goes on where that stands
    --seed S       another choice of lines (default 12)
    --budget S     stops after S seconds of tests a line (default 30); with --again and more, survivors get the rest
    --as-copied    goes on with the copy of the tree that is there, whatever changed since
    --tell         runs nothing: tells what came out here; where less than MIN_CHANGED were ever run, what tests/house/mutants.tsv
                   keeps of the last runs elsewhere, with their commit; fails as well when that is less, or broke a limit
    --keep         runs nothing: writes what came out here to tests/house/mutants.tsv

A changed line is one of: a comparison, a sign, the edge of a number, && and ||, a negation, true and false, a deleted
statement, a word of SQL. One change a line, in .c files; asserts, prototypes, and free() alone are left out. All is
done in a copy of the tree under build/mutate: one object is compiled, one library linked, and those test programs are
run that pass that line (known from a run with gcov), the nearest first, until one fails. What came out is kept in
build/mutate/results.json, by file, function and text of the line, so that a run that was broken off goes on, and other
people's changes cost nothing. A line that no test passes survives at once.

A survivor is to be killed by a test, or stands in tests/house/mutants.md with why it changes nothing.
Exit code 1 when a survivor stands nowhere, or more than 5 % are listed.
"""
import argparse
import concurrent.futures
import hashlib
import json
import os
import re
import resource
import shlex
import shutil
import signal
import subprocess
import sys
import time

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(os.path.dirname(HERE))
FOLDERS = ['wire', 'link', 'sense', 'gait', 'coach', 'live', 'setup', 'store']
# Test programs that are built: the folders' own, those to the right that call them, and the chain tests that are quick.
TEST_FOLDERS = FOLDERS + ['base', 'report', 'visit', 'cli']
TEST_CHAIN = ['test_recorded', 'test_simulated_frames', 'test_bad_input', 'test_port', 'test_check']
LISTED = os.path.join(HERE, 'mutants.md')
KEPT = os.path.join(HERE, 'mutants.tsv')
LISTED_MAX_PCT = 5
MIN_CHANGED = 300 # lines, of which `make house` wants to know
WALL_LIMIT_S = 90 # a shared computer may be slow; what loops is ended by its own processor time
DROPPED = ('-MMD', '-MP', '-Werror', '-g', '-O2', '-O1')

# ---------------------------------------------------------------- the lines

DECLARATION = re.compile(r'\s*(const|static|extern|struct|enum|union|unsigned|signed|int|char|double|float|bool|size_t|long|short|void|'
                         r'u?int\d+_t|ssize_t|FILE|sqlite3\w*|va_list|typedef)\b')
SQL = re.compile(r'\b(SELECT|WHERE|ORDER BY|INSERT|UPDATE|DELETE|FROM|JOIN|AND|VALUES|CREATE|LIMIT)\b')
SQL_WORDS = [(r'(?<!BETWEEN .) AND ', ' OR '), (r'(?<=BETWEEN \d AND )\d+', '9'), (r'\bDESC\b', 'ASC'), (r'\bASC\b', 'DESC'), (r'\bmin\(', 'max('), (r'\bmax\(', 'min('),
             (r'IS NOT NULL', 'IS NULL'), (r'IS NULL', 'IS NOT NULL'), (r'NOT IN', 'IN'), (r'DISTINCT ', ''),
             (r'LEFT JOIN', 'JOIN'), (r'LIMIT 1\b', 'LIMIT 2'), (r' ON DELETE CASCADE', ''), (r'(?<=[\w?)]) ?= ?(?=[\w?])', '<>'),
             (r'(?<=[\w?)]) ?<= ?(?=[\w?])', '<'), (r'(?<=[\w?)]) ?>= ?(?=[\w?])', '>'), (r'(?<=[\w?)]) ?< ?(?=[\w?])', '<='),
             (r'(?<=[\w?)]) ?> ?(?=[\w?])', '>='), (r'\+', '-'), (r' DESC\b', ''), (r'\bsum\(', 'max('), (r'count\(\*\)', '(count(*)+1)')]
COMPARE = {'<': '<=', '<=': '<', '>': '>=', '>=': '>', '==': '!=', '!=': '=='}


def masked(text):
    """The text with strings, characters and comments blanked, every letter in its place."""
    out, i, n = list(text), 0, len(text)
    while i < n:
        if text.startswith('/*', i):
            end = text.find('*/', i + 2) + 2
        elif text.startswith('//', i):
            end = text.find('\n', i)
        elif text[i] in '"\'':
            end = i + 1
            while text[end] != text[i]:
                end += 2 if text[end] == '\\' else 1
            end += 1
        else:
            i += 1
            continue
        for k in range(i, end if end > i else n):
            if out[k] != '\n':
                out[k] = ' ' if text[i] == '/' else '"'
        i = end if end > i else n
    return ''.join(out)


def pick(seed, *words):
    """A number that only depends on the seed and the words."""
    return int(hashlib.sha256('\0'.join(map(str, (seed,) + words)).encode()).hexdigest()[:15], 16)


def changes_of_code(line, mask, before):
    """[(kind, from, to, new text)] for a line of C. before: the masked line of code above it."""
    found = []
    if DECLARATION.match(mask) and '=' not in mask and '(' not in mask:
        return found # how large a buffer is, no test can tell within reason

    def put(kind, m, group, to):
        a, b = m.span(group)
        found.append((kind, line[a:b], to, line[:a] + to + line[b:]))
    for m in re.finditer(r'(?<= )(<=|>=|==|!=|<|>)(?= )', mask):
        put('comparison', m, 1, COMPARE[m.group(1)])
    for m in re.finditer(r'&&|\|\|', mask):
        put('logic', m, 0, '||' if m.group(0) == '&&' else '&&')
    for m in re.finditer(r'(?<=[\w)\]]) ([-+*/]) (?=[\w(!-])', mask):
        if not (m.group(1) == '*' and re.search(r'\b(struct \w+|char|int|double|void|FILE|const) $', mask[:m.start(1)])):
            put('sign', m, 1, {'+': '-', '-': '+', '*': '/', '/': '*'}[m.group(1)])
    for m in re.finditer(r' (\+=|-=) ', mask):
        put('sign', m, 1, '-=' if m.group(1) == '+=' else '+=')
    for m in re.finditer(r'!(?=[\w(])', mask):
        put('negation', m, 0, '')
    for m in re.finditer(r'\b(true|false)\b', mask):
        put('flag', m, 1, 'false' if m.group(1) == 'true' else 'true')
    for m in re.finditer(r'(?<![\w.\[])(\d+)(?![\w.\]]|\s*\])', mask):
        step = 1 if m.group(1) == '0' or pick(line, m.start()) % 2 else -1
        put('edge', m, 1, str(int(m.group(1)) + step))
    for m in re.finditer(r'(?<![\w.])(\d+\.\d+(?:e[-+]?\d+)?)', mask):
        put('edge', m, 1, repr(float(m.group(1)) * 1.1 if float(m.group(1)) else 0.1))
    text = mask.strip()
    ends_whole = before == '' or before[-1] in ';{}:' or re.match(r'(if|for|while|\} else if) ?\(.*\)$|else$|\} else$|do$', before)
    if re.match(r'[\w*(+-].*;$', text) and text.count('(') == text.count(')') and ends_whole and \
            not DECLARATION.match(mask) and not re.match(r'(return|free|goto|case|default|\w+:)\b', text) and \
            not re.match(r'\w+(_\w+)* \*?\w+( = .*)?;$', text):
        indent = line[:len(line) - len(line.lstrip())]
        found.append(('statement', line.strip(), ';', indent + ';'))
    return found


def changes_of_sql(line, mask):
    found = []
    for m in re.finditer(r'"((?:[^"\\]|\\.)*)"', line):
        a, b = m.span(1)
        if '"' * (b - a) != mask[a:b]:
            continue
        for pattern, to in SQL_WORDS:
            for w in re.finditer(pattern, m.group(1)):
                if to == '<>' and not re.search(r'\b(WHERE|AND|ON|OR|WHEN)\b[^=]*$', m.group(1)[:w.start()]):
                    continue # SET a = b compares nothing
                new = line[:a + w.start()] + to + line[a + w.end():]
                found.append(('SQL', w.group(0), to, new))
    return found


def candidates(file, text, seed):
    """One change for each line that can be changed: [{...}]. Names stay the same while the line's function does."""
    mask_lines, found, function, seen, before, is_sql = masked(text).split('\n'), [], '', {}, '', False
    depth = 0
    for i, line in enumerate(text.split('\n')):
        mask = mask_lines[i]
        m = re.match(r'([a-z_]\w*)\(', mask)
        if m and depth == 0:
            function = m.group(1)
        elif depth == 0 and re.match(r'#define |static .*=', mask):
            function = '' # a table or a name stands outside of functions
        is_code = depth > 0 or re.match(r'#define \w+ ', mask)
        depth += mask.count('{') - mask.count('}')
        if mask.strip() == '' or (mask.startswith('#') and not is_code) or 'assert(' in mask:
            continue
        is_sql = bool(SQL.search(line)) and '"' in line and file.startswith('store/') or \
            (is_sql and line.lstrip().startswith('"'))
        found_here = changes_of_sql(line, mask) if is_sql else []
        found_here += changes_of_code(line, mask, before) if is_code else []
        before = mask.strip()
        if not found_here:
            continue
        same = (function, line.strip())
        seen[same] = seen.get(same, 0) + 1
        kinds = sorted({c[0] for c in found_here})
        kind = 'SQL' if 'SQL' in kinds else kinds[pick(seed, file, *same, 'kind') % len(kinds)]
        of_kind = [c for c in found_here if c[0] == kind]
        kind, a, b, new = of_kind[pick(seed, file, *same, 'which') % len(of_kind)]
        found.append({'file': file, 'line': i + 1, 'function': function, 'text': line.strip(), 'new': new.strip(),
                      'new_line': new, 'kind': kind, 'from': a, 'to': b,
                      'key': '%s|%s|%s|%s|%d' % (file, function, line.strip(), new.strip(), seen[same])})
    return found


def turn(seed, change):
    """When a change's turn comes: by chance, rare kinds sooner, deleted statements later, since every file is full of them."""
    weight = {'statement': 0.4, 'SQL': 4}.get(change['kind'], 1)
    return 1 - (pick(seed, change['key']) / 16.0 ** 15) ** (1 / weight)


def choose(tree, seed, n, folders, part):
    """n changes over all FOLDERS, spread by their lines that can be changed; those of the wanted folders."""
    by_folder = {}
    for folder in FOLDERS:
        by_folder[folder] = []
        for name in sorted(os.listdir(os.path.join(tree, 'src', folder))):
            if name.endswith('.c'):
                file = folder + '/' + name
                by_folder[folder] += candidates(file, open(os.path.join(tree, 'src', file), encoding='utf-8').read(), seed)
    total = sum(len(c) for c in by_folder.values())
    chosen = []
    for folder, found in by_folder.items():
        quota = -(-n * len(found) // total) # rounded up
        found.sort(key=lambda c: turn(seed, c))
        chosen += [c for c in found[:quota] if folder in folders and part in c['file']]
    return chosen, {f: len(c) for f, c in by_folder.items()}


# ---------------------------------------------------------------- the copy of the tree and its programs

class Works:
    """The copy under build/mutate: objects, the library of those that are changed, the test programs."""

    def __init__(self, at):
        self.at, self.tree = at, os.path.join(at, 'tree')
        self.compile = [w for w in shlex.split(os.environ['MUTATE_COMPILE']) if w not in DROPPED] + ['-O1', '-fPIC', '-w']
        self.libs = shlex.split(os.environ['MUTATE_LIBS'])
        self.home = os.path.join(at, 'home')
        os.makedirs(self.home, exist_ok=True)
        os.chmod(self.home, 0o777)

    def copy(self):
        listed = subprocess.run(['git', '-C', ROOT, 'ls-files', '-co', '--exclude-standard', '-z'], capture_output=True, check=True)
        files = {f for f in listed.stdout.decode().split('\0') if f and os.path.isfile(os.path.join(ROOT, f))}
        for f in files:
            a, b = os.path.join(ROOT, f), os.path.join(self.tree, f)
            if not os.path.exists(b) or open(a, 'rb').read() != open(b, 'rb').read():
                os.makedirs(os.path.dirname(b), exist_ok=True)
                shutil.copy(a, b)
        for at, _, names in os.walk(self.tree):
            for name in names:
                if os.path.relpath(os.path.join(at, name), self.tree) not in files:
                    os.remove(os.path.join(at, name))

        with open(os.path.join(self.at, 'commit'), 'w') as f:
            f.write(git('rev-parse', '--short=12', 'HEAD'))

    def run(self, command):
        done = subprocess.run(command, cwd=self.tree, capture_output=True, text=True)
        return done.returncode == 0, done.stderr

    def must(self, command):
        ok, said = self.run(command)
        if not ok:
            sys.exit('mutate.py: the tree as it is does not build: %s\n%s' % (' '.join(command[-3:]), said))

    def is_old(self, out, depfile):
        if not os.path.exists(out) or not os.path.exists(depfile):
            return True
        made = os.path.getmtime(out)
        for f in open(depfile, encoding='utf-8').read().replace('\\\n', ' ').split(':', 1)[1].split():
            f = os.path.join(self.tree, f)
            if not os.path.exists(f) or os.path.getmtime(f) > made:
                return True
        return False

    def object(self, file, extra=(), kind='plain'):
        """Compiles src/file if it is older than what it includes; returns the object."""
        out = os.path.join(self.at, kind, file[:-2] + '.o')
        if not self.is_old(out, out + '.d'):
            return out
        os.makedirs(os.path.dirname(out), exist_ok=True)
        self.must(self.compile + [*extra, '-MMD', '-MF', out + '.d', '-c', '-o', out, 'src/' + file])
        return out

    def build(self, wanted):
        self.files = sorted(os.path.join(f, n) for f in os.listdir(os.path.join(self.tree, 'src'))
                            for n in os.listdir(os.path.join(self.tree, 'src', f)) if n.endswith('.c'))
        self.files.remove('cli/main.c')
        with concurrent.futures.ThreadPoolExecutor(2) as pool:
            self.objects = dict(zip(self.files, pool.map(self.object, self.files)))
            ours = [f for f in self.files if f.split('/')[0] in FOLDERS]
            measured = dict(zip(ours, pool.map(lambda f: self.object(f, ['--coverage'], 'cov'), ours)))
        # Two libraries, so that a test of the folders to change loads no SDL: every Criterion test is a process of its own.
        self.left = [f for f in self.files if f.split('/')[0] in FOLDERS + ['base', 'sim']]
        self.lib = os.path.join(self.at, 'plain', 'libleft.so')
        self.cov_lib = os.path.join(self.at, 'cov', 'libleft.so')
        self.right = os.path.join(self.at, 'right', 'libright.so')
        os.makedirs(os.path.dirname(self.right), exist_ok=True)
        self.must(self.link(self.lib, [self.objects[f] for f in self.left]))
        self.must(self.link(self.cov_lib, [measured.get(f, self.objects[f]) for f in self.left]) + ['--coverage'])
        self.must(self.link(self.right, [o for f, o in self.objects.items() if f not in self.left]))
        main = self.object('cli/main.c')
        self.underfoot = os.path.join(self.at, 'underfoot')
        self.must(['gcc', '-o', self.underfoot, main, self.right, self.lib, *self.libs])
        self.build_tests(wanted)

    def link(self, out, objects):
        return ['gcc', '-shared', '-o', out, '-Wl,-soname,' + os.path.basename(out), '-Wl,--as-needed', *objects, *self.libs]

    def build_tests(self, wanted):
        aid = []
        for name in sorted(os.listdir(os.path.join(self.tree, 'tests/aid'))):
            if name.endswith('.c'):
                aid.append(os.path.join(self.at, 'aid-' + name[:-2] + '.o'))
                self.must(self.compile + ['-Itests', '-c', '-o', aid[-1], 'tests/aid/' + name])
        library = os.path.join(self.at, 'libaid.a')
        os.path.exists(library) and os.remove(library)
        self.must(['ar', 'rcs', library, *aid])
        self.tests, commands = {}, []
        left = FOLDERS[:min(FOLDERS.index(f) for f in wanted)] # their tests link nothing of what is changed
        for folder in ['unit/' + f for f in TEST_FOLDERS if f not in left] + ['chain']:
            at = os.path.join(self.tree, 'tests', folder)
            for name in sorted(os.listdir(at)) if os.path.isdir(at) else []:
                if not (name.startswith('test_') and name.endswith('.c')) or (folder == 'chain' and name[:-2] not in TEST_CHAIN):
                    continue
                test = folder + '/' + name[:-2]
                out = os.path.join(self.at, 'tests', test)
                self.tests[test] = out
                if not self.is_old(out, out + '.d'):
                    continue
                os.makedirs(os.path.dirname(out), exist_ok=True)
                commands.append(self.compile + ['-O0', '-Itests', '-MMD', '-MF', out + '.d', '-o', out, 'tests/%s.c' % test,
                                                library, '-lcriterion', '-Wl,--as-needed', self.right, self.lib, *self.libs])
        with concurrent.futures.ThreadPoolExecutor(2) as pool:
            list(pool.map(self.must, commands))

    def run_test(self, test, lib, cpu_s, more=None):
        """Exit code and seconds. Runs as nobody where it can: a changed program may write where it should not."""
        env = {'PATH': os.environ['PATH'], 'HOME': self.home, 'LD_LIBRARY_PATH': os.path.dirname(lib) + ':' + os.path.dirname(self.right), 'LC_ALL': 'C.UTF-8',
               'SDL_VIDEODRIVER': 'dummy', 'SDL_AUDIODRIVER': 'dummy', 'UNDERFOOT_BIN': self.underfoot, **(more or {})}
        as_nobody = ['setpriv', '--reuid=65534', '--regid=65534', '--clear-groups'] if os.geteuid() == 0 else []
        began = time.monotonic()

        def limit():
            resource.setrlimit(resource.RLIMIT_CPU, (cpu_s, cpu_s + 1))
            resource.setrlimit(resource.RLIMIT_FSIZE, (1 << 28, 1 << 28))
            resource.setrlimit(resource.RLIMIT_AS, (4 << 30, 4 << 30))
            resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        process = subprocess.Popen([*as_nobody, self.tests[test], '--jobs', '2', '--fail-fast'], cwd=self.tree, env=env,
                                   stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
                                   start_new_session=True, preexec_fn=limit)
        try:
            code = process.wait(timeout=WALL_LIMIT_S)
        except subprocess.TimeoutExpired:
            code = -1
        try:
            os.killpg(process.pid, signal.SIGKILL) # what it left behind: its own group only
        except ProcessLookupError:
            pass
        process.wait()
        return code, time.monotonic() - began


# ---------------------------------------------------------------- which test passes which line

def lines_of(works, test, scratch):
    """file -> the lines that the test passes."""
    found, gcda = {}, []
    for at, _, names in os.walk(scratch):
        for name in names:
            if name.endswith('.gcda'):
                path = os.path.join(at, name)
                note = os.path.join('/', os.path.relpath(path, scratch))[:-5] + '.gcno'
                os.path.exists(path[:-5] + '.gcno') or os.symlink(note, path[:-5] + '.gcno')
                gcda.append(path)
    if not gcda:
        return found
    out = subprocess.run(['gcov', '--stdout', '--json-format', *gcda], cwd=works.tree, capture_output=True, text=True).stdout
    for piece in out.split('\n'):
        if not piece.startswith('{'):
            continue
        for f in json.loads(piece)['files']:
            if f['file'].startswith('src/'):
                file = f['file'][4:]
                lines = found.setdefault(file, {})
                for l in f['lines']:
                    lines[l['line_number']] = lines.get(l['line_number'], False) or l['count'] > 0
    return found


def measure(works):
    """test -> {seconds, lines: file -> line -> passed}. Kept while neither the test nor the files that it passes change."""
    kept = os.path.join(works.at, 'coverage.json')
    old = json.load(open(kept)) if os.path.exists(kept) else {}
    sums = {f: hashlib.sha256(open(os.path.join(works.tree, 'src', f), 'rb').read()).hexdigest() for f in works.files}
    found = {}
    for i, test in enumerate(works.tests):
        made, o = os.path.getmtime(works.tests[test]), old.get(test)
        if o and o['made'] == made and all(sums.get(f) == s for f, s in o['sums'].items()):
            found[test] = o
            continue
        scratch = os.path.join(works.at, 'gcda', test)
        shutil.rmtree(scratch, ignore_errors=True)
        os.makedirs(scratch)
        os.chmod(scratch, 0o777)
        code, _ = works.run_test(test, works.cov_lib, 200, {'GCOV_PREFIX': scratch})
        clean, seconds = works.run_test(test, works.lib, 200)
        if code != 0 or clean != 0:
            print('left out, as it fails on the tree as it is: %s (%d, %d)' % (test, code, clean), flush=True)
            continue
        lines = {f: l for f, l in lines_of(works, test, scratch).items() if any(l.values())}
        found[test] = {'made': made, 'seconds': seconds, 'sums': {f: sums.get(f) for f in lines}, 'lines': lines}
        shutil.rmtree(scratch, ignore_errors=True)
        print('%4d/%d %5.1f s %s' % (i + 1, len(works.tests), seconds, test), flush=True)
    json.dump({**old, **found}, open(kept, 'w'))
    return found


def tests_for(change, measured, is_anywhere=False):
    """The tests that pass the line, the nearest and quickest first; is_anywhere: any line of its file."""
    file, module = change['file'], os.path.basename(change['file'])[:-2]
    hits = []
    is_table = not any(file in m['lines'] for m in measured.values()) # no line of code, so gcov knows nothing of it
    for test, m in measured.items():
        if is_table and test.startswith('unit/' + file.split('/')[0]):
            hits.append((not module.startswith(os.path.basename(test)[5:]), False, m['seconds'], test))
        lines = {int(k): v for k, v in m['lines'].get(file, {}).items()}
        if not any(lines.values()):
            continue
        known = [l for l in lines if l <= change['line']]
        is_inside = change['function'] and change['line'] >= min(lines)
        if is_anywhere or not is_inside or lines[max(known)]: # outside of functions: all that pass the file
            name = os.path.basename(test)[5:]
            hits.append((name != module, not test.startswith('unit/' + file.split('/')[0]), m['seconds'], test))
    return [h[3] for h in sorted(hits)]


# ---------------------------------------------------------------- one change

def try_change(works, change, measured, budget_s):
    path = os.path.join(works.tree, 'src', change['file'])
    text = open(path, encoding='utf-8').read()
    lines = text.split('\n')
    lines[change['line'] - 1] = change['new_line']
    began, result = time.monotonic(), {'status': 'survived', 'by': ''}
    # Of a line whose test the compiler joined with that of the line before, gcov says that nobody passes it.
    tests = tests_for(change, measured) or tests_for(change, measured, True)
    if not tests:
        return {'status': 'survived', 'by': 'no test passes it', 'seconds': 0}
    changed_at = os.path.join(works.at, 'changed')
    os.makedirs(changed_at, exist_ok=True)
    changed = os.path.join(changed_at, 'changed.o')
    lib = os.path.join(changed_at, 'libleft.so')
    try:
        with open(path, 'w', encoding='utf-8') as f:
            f.write('\n'.join(lines))
        ok, _ = works.run(works.compile + ['-c', '-o', changed, 'src/' + change['file']])
    finally:
        with open(path, 'w', encoding='utf-8') as f:
            f.write(text)
        before = os.path.getmtime(works.objects[change['file']]) - 1
        os.utime(path, (before, before)) # the file is as it was: its objects stand
    if not ok:
        return {'status': 'does not compile', 'by': '', 'seconds': 0}
    if open(changed, 'rb').read() == open(works.objects[change['file']], 'rb').read():
        return {'status': 'same object', 'by': '', 'seconds': 0} # the compiler sees no difference
    works.must(works.link(lib, [changed if f == change['file'] else works.objects[f] for f in works.left]))
    n_run, spent_s = 0, 0
    for test in tests:
        if n_run > 0 and spent_s + measured[test]['seconds'] > budget_s:
            continue
        n_run, spent_s = n_run + 1, spent_s + measured[test]['seconds']
        code, _ = works.run_test(test, lib, int(4 + 5 * measured[test]['seconds']))
        if code != 0:
            result = {'status': 'killed', 'by': test}
            break
    result['seconds'] = round(time.monotonic() - began, 1)
    result['n_run'], result['n_tests'] = n_run, len(tests)
    return result


# ---------------------------------------------------------------- what is kept

def listed_changes():
    """(file, line, changed line) of each row of mutants.md."""
    rows = set()
    for line in open(LISTED, encoding='utf-8') if os.path.exists(LISTED) else []:
        m = re.match(r'\| `([^`]+)` \| `` (.*) `` \| `` (.*) `` \| .+ \|$', line.rstrip())
        if m:
            rows.add((m.group(1), m.group(2), m.group(3)))
    return rows


def mark(change):
    """What a row of mutants.tsv knows its line by."""
    return hashlib.sha256(change['key'].encode()).hexdigest()[:12]


def git(*words):
    done = subprocess.run(['git', '-C', ROOT, *words], capture_output=True, text=True)
    return done.stdout.strip() if done.returncode == 0 else ''


def keep(chosen, results, seed, commit):
    """Writes mutants.tsv: what every line that was drawn, now or before, and still stands came to when it was last run."""
    listed, rows = listed_changes(), []
    for c in chosen:
        status = results.get(c['key'], {}).get('status')
        if status in ('killed', 'survived'):
            is_listed = status == 'survived' and (c['file'], c['text'], c['new']) in listed
            change = '%s -> %s' % (c['text'], c['new']) if status == 'survived' else '%s -> %s' % (c['from'], c['to'])
            rows.append('\t'.join(['listed' if is_listed else status, c['file'], c['function'] or '-', c['kind'],
                                   change.replace('\t', ' '), mark(c)]))
    with open(KEPT, 'w', encoding='utf-8') as f:
        f.write('# Lines of wire to store that were changed one by one, and whether a test noticed: the last runs of `make mutate`,\n'
                '# written by `make mutate ARGS=--keep`. A killed line is not run again while its function and text stay.\n'
                '# seed %d\n# commit %s\n# date %s\n' % (seed, commit, time.strftime('%Y-%m-%d')))
        f.write('\n'.join(sorted(rows)) + '\n')
    print('%d lines kept in tests/house/mutants.tsv' % len(rows))


def tell_kept(chosen):
    """Prints what mutants.tsv keeps; True when it breaks no limit."""
    head, rows = {}, []
    for line in open(KEPT, encoding='utf-8') if os.path.exists(KEPT) else []:
        words = line.rstrip('\n').split('\t')
        if line.startswith('# ') and len(line.split()) == 3:
            head[line.split()[1]] = line.split()[2]
        elif len(words) == 6:
            rows.append(words)
    commit = head.get('commit', '?')
    since = git('rev-list', '--count', commit + '..HEAD', '--', 'src', 'tests')
    marks = {r[5] for r in rows}
    print('kept, not run here: measured at commit %s of %s, seed %s; %s; %d of the %d lines that are drawn today are among them' % (
        commit, head.get('date', '?'), head.get('seed', '?'),
        since + ' commits to src and tests since' if since else 'how many commits came since is not known (no such commit here)',
        sum(mark(c) in marks for c in chosen), len(chosen)))
    for r in rows:
        if r[0] == 'survived':
            print('survived  src/%s  %s: %s   [kept]' % (r[1], r[3], r[4]))
    n = {status: sum(r[0] == status for r in rows) for status in ('killed', 'listed', 'survived')}
    for folder in FOLDERS:
        here = [r[0] for r in rows if r[1].startswith(folder + '/')]
        print('%-6s %4d changed, %4d killed, %3d listed, %3d survive   (kept)' % (
            folder, len(here), here.count('killed'), here.count('listed'), here.count('survived')))
    pct = 100.0 * n['listed'] / max(1, len(rows))
    print('%d changed, %d killed, %d listed (%.1f %%), %d survive   (kept)' % (len(rows), n['killed'], n['listed'], pct, n['survived']))
    return len(rows) >= MIN_CHANGED and n['survived'] == 0 and pct <= LISTED_MAX_PCT


def results_of_kept(chosen):
    """key -> what mutants.tsv keeps of the lines that are drawn today."""
    rows = {}
    for line in open(KEPT, encoding='utf-8') if os.path.exists(KEPT) else []:
        words = line.rstrip('\n').split('\t')
        if len(words) == 6:
            rows[words[5]] = 'killed' if words[0] == 'killed' else 'survived'
    return {c['key']: {'status': rows[mark(c)], 'by': 'kept', 'file': c['file']} for c in chosen if mark(c) in rows}


def tell(chosen, results):
    """Prints what came out; True when nothing is left to do."""
    listed = listed_changes()
    done = [c for c in chosen if c['key'] in results]
    status = {c['key']: results[c['key']]['status'] for c in done}
    counted = [c for c in done if status[c['key']] in ('killed', 'survived')]
    survivors = [c for c in counted if status[c['key']] == 'survived']
    is_listed = [c for c in survivors if (c['file'], c['text'], c['new']) in listed]
    open_ones = [c for c in survivors if c not in is_listed]
    for c in open_ones:
        print('survived  src/%s:%d  %s: %s  ->  %s   [%s]' % (c['file'], c['line'], c['kind'], c['text'], c['new'],
                                                           results[c['key']]['by'] or '%d of %d tests ran' % (results[c['key']]['n_run'], results[c['key']]['n_tests'])))
    for folder in FOLDERS:
        here = [c for c in counted if c['file'].startswith(folder + '/')]
        if here:
            print('%-6s %4d changed, %4d killed, %3d listed, %3d survive' % (
                folder, len(here), sum(status[c['key']] == 'killed' for c in here),
                sum(c in is_listed for c in here), sum(c in open_ones for c in here)))
    pct = 100.0 * len(is_listed) / max(1, len(counted))
    print('%d changed, %d killed, %d listed (%.1f %%), %d survive, %d not yet run, %d that compile to the same or not at all' % (
        len(counted), len(counted) - len(survivors), len(is_listed), pct, len(open_ones), len(chosen) - len(done),
        len(done) - len(counted)))
    return not open_ones and pct <= LISTED_MAX_PCT


def main():
    a = argparse.ArgumentParser(usage=__doc__)
    a.add_argument('--n', type=int, default=320)
    a.add_argument('--folder', action='append', choices=FOLDERS)
    a.add_argument('--file', default='')
    a.add_argument('--seed', type=int, default=12)
    a.add_argument('--again', action='store_true')
    a.add_argument('--from-kept', action='store_true')
    a.add_argument('--budget', type=float, default=30)
    a.add_argument('--tell', action='store_true')
    a.add_argument('--as-copied', action='store_true')
    a.add_argument('--keep', action='store_true')
    a = a.parse_args()
    at = os.path.abspath(os.environ.get('MUTATE_DIR', os.path.join(ROOT, 'build', 'mutate')))
    os.makedirs(at, exist_ok=True)
    kept = os.path.join(at, 'results.json')
    results = json.load(open(kept)) if os.path.exists(kept) else {}
    folders = a.folder or FOLDERS
    if a.tell or a.keep:
        chosen = choose(ROOT, a.seed, a.n, folders, a.file)[0]
        n_run = len(results) if a.keep else sum(c['key'] in results for c in chosen)
        is_all = a.n >= MIN_CHANGED and not a.folder and not a.file
        if is_all and n_run < MIN_CHANGED:
            print('%d of at least %d have been run here: `make mutate`' % (n_run, MIN_CHANGED))
            return 1 if a.keep or not tell_kept(chosen) else 0
        if a.keep:
            every = choose(ROOT, a.seed, 10 ** 6, FOLDERS, '')[0] # a quota as large as that draws all
            copied = os.path.join(at, 'commit') # what was run is the copy, not what lies here
            commit = open(copied).read() if os.path.exists(copied) else git('rev-parse', '--short=12', 'HEAD')
            return keep([c for c in every if c['key'] in results], results, a.seed, commit)
        return 0 if tell(chosen, results) else 1
    works = Works(at)
    if not a.as_copied:
        works.copy()
    works.build(folders)
    print('measuring which test passes which line', flush=True)
    measured = measure(works)
    chosen, sizes = choose(works.tree, a.seed, a.n, folders, a.file)
    print('%d lines to change of %s' % (len(chosen), ', '.join('%s %d' % s for s in sizes.items())), flush=True)
    if a.from_kept:
        results = {**results_of_kept(chosen), **results}
    listed = listed_changes()
    for i, change in enumerate(chosen):
        old = results.get(change['key'])
        is_listed = (change['file'], change['text'], change['new']) in listed
        if old and not (a.again and old['status'] == 'survived' and not is_listed):
            continue
        results[change['key']] = {**try_change(works, change, measured, a.budget), 'file': change['file']}
        r = results[change['key']]
        print('%4d/%d %-8s src/%s:%d %s %s' % (i + 1, len(chosen), r['status'], change['file'], change['line'], change['kind'],
                                           r['by']), flush=True)
        with open(kept + '.new', 'w') as f:
            json.dump(results, f, indent=0)
        os.replace(kept + '.new', kept)
    return 0 if tell(chosen, results) else 1


if __name__ == '__main__':
    sys.exit(main())
