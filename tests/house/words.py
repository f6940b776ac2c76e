#!/usr/bin/env python3
"""words.py - the words of every language: finds what the code says to people, and how far each language has it.

    words.py           puts what is new in src/ into assets/languages/*.po (untranslated), drops what went, and tells
    words.py --new xx  begins a language's file, by its two letters
    words.py --pseudo FILE.mo  a language that nobody speaks: every letter accented, all texts 40 % longer; what a test then finds
                       in plain letters has no home among the words, and what it finds cut has no room for another language
    words.py --check   changes nothing; exits 1 when a file lags behind src/, or has something untranslated, uncertain
                       ("fuzzy"), with other places to fill in than the English, or left in English without being listed

A text is found where it stands in a call of KEYWORDS, or in a mark of base/mark.h.
"""
import argparse
import glob
import os
import re
import subprocess
import sys
import tempfile

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
LANGUAGES = os.path.join(ROOT, "assets", "languages")
KEYWORDS = ["panel_text:6", "panel_wrap:7", "panel_word:2", "panel_button:5", "panel_heading:5", "panel_pair:5",
            "PANEL_FILL:3", "panel_words_fill:4", "panel_words_of:2", "N_", "NC_:1c,2", "NP_:1,2",
            "phrase:2", "phrase_in:2c,3", "PHRASE:3", "MESSAGE:4", "MESSAGE_COUNT:4,5"]
# Texts that a language may leave as they are: names, signs of units, and single signs.
SAME = re.compile(r"^(Underfoot|[^A-Za-z]*|BW(/s| s)?|ms|mm|m|s|kN/m|cm|Hz|m/s|km/h|kg|/min|MB|GB|.)$")
TOLD = 25  # faults of one language that are told in full
SAME_LISTED = os.path.join(LANGUAGES, "same.txt")


def run(*command, **kw):
    r = subprocess.run(command, capture_output=True, text=True, **kw)
    if r.returncode != 0:
        sys.exit(f"words: {command[0]}: {r.stderr.strip()}")
    return r


def extract(folder):
    """The template of all texts in src/."""
    pot = os.path.join(folder, "underfoot.pot")
    files = sorted(os.path.relpath(p, ROOT) for p in glob.glob(os.path.join(ROOT, "src", "*", "*.[ch]")) + glob.glob(os.path.join(ROOT, "src", "base", "messages_*.inc")))
    r = run("xgettext", "--from-code=UTF-8", "--language=C", "--add-location=file", "--sort-by-file", "-o", pot, "-k",
        *["-k" + k for k in KEYWORDS], *files, cwd=ROOT)
    if r.stderr:  # an empty text, say, which would take the place of the head
        sys.exit(f"words: {r.stderr.strip()}")
    with open(pot, encoding="utf-8") as f:
        text = f.read()
    with open(pot, "w", encoding="utf-8") as f:  # {1} and a lone % are no C formats
        text = re.sub(r"^#, c-format\n", "", text, flags=re.M)
        f.write(re.sub(r'^"(POT-Creation-Date|Report-Msgid-Bugs-To):.*\n', "", text, flags=re.M))
    return pot


PLAIN = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
ACCENTED = "áƀçďéƒğĥíĵķľɱñóþɋŕšťúṽŵẋýžÁƁÇĎÉƑĞĤÍĴĶĽṀÑÓÞɊŔŠŤÚṼŴẊÝŽ"


def pseudo(pot, out):
    """The catalogue of all texts in accented letters, their places left alone, each longer by some."""
    def long(m):
        text = "".join(p if re.fullmatch(r"\{\d\}|%s|\\\\.", p) else p.translate(str.maketrans(PLAIN, ACCENTED))
                       for p in re.split(r"(\{\d\}|%s|\\\\.)", m.group(2)))
        n = round(0.4 * len(m.group(2))) if re.search("[A-Za-z]{3}", m.group(2)) else 0
        return m.group(1) + '"' + text + (" " + "óň " * (n // 3) if n > 2 else "").rstrip() + '"'
    po = out + ".po"
    run("msgen", "--no-wrap", "-o", po, pot)
    with open(po, encoding="utf-8") as f:
        head, rest = f.read().split("\n\n", 1)
    head = head.replace('"Language: \\n"', '"Language: qq\\n"').replace("nplurals=INTEGER; plural=EXPRESSION", "nplurals=2; plural=n != 1")
    with open(po, "w", encoding="utf-8") as f:
        f.write(head + "\n\n" + re.sub(r'^(msgstr(?:\[\d\])? )"(.+)"$', long, rest, flags=re.M))
    run("msgfmt", "-o", out, po)
    os.remove(po)


def entries(path):
    """(context, id, words, is_fuzzy) of each text; the head left out."""
    text = run("msgcat", "--no-wrap", "--no-location", path).stdout
    for block in text.split("\n\n"):
        if re.search(r"^#~", block, flags=re.M):
            continue
        fields, last = {}, None
        for line in block.split("\n"):
            m = re.match(r'(msgctxt|msgid_plural|msgid|msgstr(?:\[\d\])?) "(.*)"$', line)
            if m:
                last = m.group(1)
                fields[last] = m.group(2)
            elif line.startswith('"') and last:
                fields[last] += line[1:-1]
        if fields.get("msgid"):
            words = [v for k, v in fields.items() if k.startswith("msgstr")]
            yield fields.get("msgctxt"), fields["msgid"], words, "fuzzy" in (re.findall(r"^#,(.*)$", block, flags=re.M) or [""])[0]


def places(text):
    return sorted(re.findall(r"\{\d\}|%s", text))


def judge(path, wanted, same):
    """What is wrong in a language's file, a sentence each; and counts."""
    name = os.path.basename(path)
    wrong, have = [], set()
    count = {"texts": 0, "untranslated": 0, "fuzzy": 0, "plain": 0}
    for context, english, words, is_fuzzy in entries(path):
        have.add((context, english))
        count["texts"] += 1
        if is_fuzzy:
            count["fuzzy"] += 1
            wrong.append(f"{name}: uncertain (fuzzy): {english}")
        if not all(words):
            count["untranslated"] += 1
            wrong.append(f"{name}: no words for: {english}")
            continue
        if english in words and not SAME.match(english) and (name[:2], english) not in same:
            count["plain"] += 1
            wrong.append(f"{name}: left in English, and not in same.txt: {english}")
        for w in words:
            if places(w) != places(english) and len(words) == 1:
                wrong.append(f"{name}: other places to fill in than in \"{english}\": {w}")
    for context, english in sorted(wanted - have, key=str):
        wrong.append(f"{name}: lags behind src/: {english} (make words)")
    for context, english in sorted(have - wanted, key=str):
        wrong.append(f"{name}: no longer in src/: {english} (make words)")
    return wrong, count


def planted():
    """A check that can't fail is none: each of these must be found."""
    head = 'msgid ""\nmsgstr ""\n"Content-Type: text/plain; charset=UTF-8\\n"\n\n'
    rows = ['msgid "A thing"\nmsgstr ""\n', '#, fuzzy\nmsgid "A thing"\nmsgstr "Ein Ding"\n',
            'msgid "{1} of {2}"\nmsgstr "{1} von"\n', 'msgid "A thing"\nmsgstr "A thing"\n',
            'msgid "Another"\nmsgstr "Anderes"\n', '']
    wanted = {(None, "A thing")}
    n = 0
    with tempfile.TemporaryDirectory() as folder:
        for i, row in enumerate(rows):
            path = os.path.join(folder, "xx.po")
            with open(path, "w", encoding="utf-8") as f:
                f.write(head + row)
            w = {(None, "{1} of {2}")} if i == 2 else wanted
            n += bool(judge(path, w, set())[0])
    return n, len(rows)


def main():
    a = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    a.add_argument("--check", action="store_true")
    a.add_argument("--new", metavar="xx")
    a.add_argument("--pseudo", metavar="FILE.mo")
    args = a.parse_args()
    is_check = args.check
    with open(SAME_LISTED, encoding="utf-8") as f:
        same = {tuple(line.rstrip("\n").split(" ", 1)) for line in f if line.strip() and line[0] != "#"}
    n_wrong = 0
    with tempfile.TemporaryDirectory() as folder:
        pot = extract(folder)
        if args.pseudo:
            pseudo(pot, args.pseudo)
            return 0
        if args.new:
            run("msginit", "--no-translator", "-l", args.new, "-i", pot, "-o", os.path.join(LANGUAGES, args.new + ".po"))
        wanted = {(c, e) for c, e, _, _ in entries(pot)}
        for path in sorted(glob.glob(os.path.join(LANGUAGES, "*.po"))):
            if not is_check:
                run("msgmerge", "--quiet", "--update", "--backup=none", "--no-fuzzy-matching", "--sort-by-file",
                    "--add-location=file", "--width=120", path, pot)
                run("msgattrib", "--no-obsolete", "--width=120", "-o", path, path)
            wrong, count = judge(path, wanted, same)
            for w in wrong[:TOLD]:
                print(f"words: {w}", file=sys.stderr)
            if len(wrong) > TOLD:
                print(f"words: {os.path.basename(path)}: and {len(wrong) - TOLD} more", file=sys.stderr)
            n_wrong += len(wrong)
            print(f"words: {os.path.basename(path)[:2]}: {count['texts']} sentences, {count['untranslated']} untranslated, "
                  f"{count['fuzzy']} fuzzy, {count['plain']} left in English")
    caught, n_planted = planted()
    print(f"words: planted {n_planted}, caught {caught}")
    return 1 if n_wrong or caught != n_planted else 0


if __name__ == "__main__":
    sys.exit(main())
