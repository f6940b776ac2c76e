#!/usr/bin/python3
"""hardened.py - is the program built so that a slip in reading foreign bytes is hard to use? Asked of the ELF file itself.

Usage: hardened.py PROGRAM   then checks itself: a small program built without each of these must be refused for just that

    fixed address    the file is position independent (DYN with the flag PIE)
    relro            the tables of calls are read-only once filled (GNU_RELRO), and all are filled at start (BIND_NOW)
    stack            no page of the stack can be run (GNU_STACK without E)
    canary           functions with arrays check their frame (__stack_chk_fail is called)
    checked copies   copies and prints into known room are checked (__memcpy_chk and its like are called)
    every file       -fstack-protector-strong and -fstack-clash-protection stand in the record of every file of ours (the
                     compiler keeps its switches in the debug information), and no file was compiled without optimising,
                     which drops the checked copies
Needs readelf, which comes with the compiler. Exit code 1 when something is missing or the check lets a planted one pass.
"""
import os
import re
import subprocess
import sys
import tempfile

SWITCHES = ['-fstack-protector-strong', '-fstack-clash-protection']
PLANTED = r'''
#include <stdio.h>
#include <string.h>
int main(int n, char **words)
{
    char a[64], b[64];
    if (fgets(a, sizeof a, stdin) == NULL) return 1;
    memcpy(b, a, (unsigned) n); /* the compiler can't tell whether it fits */
    snprintf(a, sizeof a, "%s%s", words[0], b);
    return puts(a) < 0;
}
'''
WHOLE_CC = ['-std=c11', '-g', '-O2', '-U_FORTIFY_SOURCE', '-D_FORTIFY_SOURCE=3', '-fPIE'] + SWITCHES
WHOLE_LD = ['-pie', '-Wl,-z,relro,-z,now,-z,noexecstack']
# What is put behind the whole set of flags, and the word under which the check must then refuse.
VIOLATIONS = [('fixed address', ['-fno-pie', '-no-pie']), ('relro', ['-Wl,-z,norelro']), ('relro', ['-Wl,-z,lazy']),
              ('stack', ['-Wl,-z,execstack']), ('canary', ['-fno-stack-protector']),
              ('checked copies', ['-U_FORTIFY_SOURCE']), ('every file', ['-fno-stack-clash-protection']),
              ('every file', ['-O0'])]


def readelf(*words):
    done = subprocess.run(['readelf', '--wide', *words], capture_output=True, text=True, check=True)
    return done.stdout


def files_without(path):
    """Files of ours whose record lacks a switch, as (name, switch); and how many have a record at all."""
    lacking, n = [], 0
    units = readelf('--debug-dump=info', '--dwarf-depth=1', path).split('Compilation Unit @')[1:]
    for unit in units:
        producer = re.search(r'DW_AT_producer\s*: (?:\([^)]*\): )?(.*)', unit)
        name = re.search(r'DW_AT_name\s*: (?:\([^)]*\): )?(.*)', unit)
        if not producer or not name or 'GNU AS' in producer.group(1):
            continue
        n += 1
        words = producer.group(1).split()
        for switch in SWITCHES:
            off = '-fno-' + switch[2:]
            last = [w for w in words if w in (switch, off) or w == '-fno-stack-protector' and 'protector' in switch]
            if not last or last[-1] != switch:
                lacking.append((name.group(1).strip(), switch))
        levels = [w for w in words if re.fullmatch(r'-O\w*', w)]
        if not levels or levels[-1] == '-O0':
            lacking.append((name.group(1).strip(), 'optimising'))
    return lacking, n


def missing(path):
    """What the program lacks: a list of (word, sentence)."""
    head, parts, dynamic = readelf('-h', path), readelf('-l', path), readelf('-d', path)
    calls = readelf('--dyn-syms', path)
    out = []
    if not re.search(r'Type:\s+DYN', head) or not re.search(r'FLAGS_1.*\bPIE\b', dynamic):
        out.append(('fixed address', 'it is loaded at a fixed address'))
    if 'GNU_RELRO' not in parts:
        out.append(('relro', 'no part becomes read-only after loading'))
    if not re.search(r'BIND_NOW|FLAGS_1.*\bNOW\b', dynamic):
        out.append(('relro', 'calls are looked up late, so that their table stays writable'))
    stack = re.search(r'GNU_STACK\s+(?:0x\w+\s+){5}(\w[\w ]*)', parts)
    if not stack or 'E' in stack.group(1).split()[0]:
        out.append(('stack', 'its stack can be run'))
    if '__stack_chk_fail' not in calls:
        out.append(('canary', 'no function checks its frame'))
    if not re.search(r'__\w+_chk(?:@|\s|$)', calls.replace('__stack_chk_fail', '')):
        out.append(('checked copies', 'no copy is checked'))
    lacking, n = files_without(path)
    if n == 0:
        out.append(('every file', 'no record of the switches it was compiled with (-g)'))
    for name, switch in lacking[:5]:
        out.append(('every file', '%s was compiled without %s' % (name, switch)))
    if len(lacking) > 5:
        out.append(('every file', 'and %d more' % (len(lacking) - 5)))
    return out, n


def planted(cc):
    """Builds a small program whole and then without each; the number of those that the check judged wrongly."""
    wrong = 0
    with tempfile.TemporaryDirectory() as folder:
        source, program = os.path.join(folder, 'small.c'), os.path.join(folder, 'small')
        with open(source, 'w', encoding='utf-8') as f:
            f.write(PLANTED)
        for word, off in [(None, [])] + VIOLATIONS:
            subprocess.run([*cc, *WHOLE_CC, *WHOLE_LD, *off, '-o', program, source], check=True, capture_output=True)
            said = {w for w, _ in missing(program)[0]}
            if word is None and said or word is not None and word not in said:
                print('hardened: a program built with %s was judged %s' % (' '.join(off) or 'all', sorted(said) or 'whole'))
                wrong += 1
    return wrong


def main():
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    lacking, n = missing(sys.argv[1])
    for word, sentence in lacking:
        print('%s: %s: %s' % (sys.argv[1], word, sentence))
    wrong = planted(os.environ.get('CC', 'gcc').split())
    if not lacking and not wrong:
        print('hardened: %d files of the program, whole; %d planted programs told apart' % (n, len(VIOLATIONS) + 1))
    return 1 if lacking or wrong else 0


if __name__ == '__main__':
    sys.exit(main())
