#!/usr/bin/python3
"""style.py - a few plain rules of layout, in place of a formatter: tables keep the columns that a person gave them.

    style.py [FILE...]      without files: all C of the tree, then the rules on planted violations

Rules, each by its name:
    tab        no tab: four blanks a level
    blank      no blank at a line's end
    long       no line over LONGEST characters
    end        a file ends with one newline, and with no empty line
    empty      no two empty lines in a row
    return     a function's definition has its type on a line of its own, its name at the line's start
    brace      a function's { stands alone at the line's start; that of if, for, while, switch, do and struct at the line's end
    else       } and else are on one line
    star       char *p, not char* p
    keyword    one blank between if, for, while, switch and their (
And: every file of src that makes a thread stands in DEVELOPERS.md with what it owns.
Exit code 1 when anything is wrong or a planted violation is not caught.
"""
import glob
import re
import sys

LONGEST = 160
FOLDERS = ("src", "tests", "hardware")
NAME = r"[a-z_][a-z0-9_]*"
ONE_LINE = re.compile(rf"^(?:static |inline |extern |const )*(?:struct |enum |unsigned )?{NAME}[ *]+{NAME}\(.*\)$")
CONTROL = re.compile(r"^\s+(?:\} else )?(?:if|for|while|switch) ?\(")
PLANTED = {
    "tab": "int x;\n\tint y;\n", "blank": "int x; \n", "long": "/* " + "x" * LONGEST + " */\n", "end": "int x;\n\n",
    "empty": "int x;\n\n\nint y;\n", "return": "static int f(void)\n{\n}\n", "brace": "int\nf(void) {\n}\n",
    "else": "int\nf(void)\n{\n    if (x) {\n    }\n    else\n        y();\n}\n", "star": "int f(char* p);\n",
    "keyword": "int\nf(void)\n{\n    if(x)\n        y();\n}\n",
}


def bare(text):
    """The text with what stands in comments, strings and character constants made blank, lines kept."""
    def blank(m):
        return re.sub(r"[^\n]", " " if m[0][0] == "/" else "s", m[0])
    return re.sub(r'/\*.*?\*/|//[^\n]*|"(?:\\.|[^"\\\n])*"|\'(?:\\.|[^\'\\\n])*\'', blank, text, flags=re.S)


def wrong_lines(text):
    """(line number, rule) of every violation in one file's text."""
    whole, code = text.split("\n"), bare(text).split("\n")
    if not text.endswith("\n") or text.endswith("\n\n"):
        yield len(whole), "end"
    for i, (line, c) in enumerate(zip(whole, code)):
        after = code[i + 1] if i + 1 < len(code) else ""
        if "\t" in line:
            yield i + 1, "tab"
        if line != line.rstrip():
            yield i + 1, "blank"
        if len(line) > LONGEST:
            yield i + 1, "long"
        if i > 0 and not line and not whole[i - 1] and i + 1 < len(whole):
            yield i + 1, "empty"
        if ONE_LINE.match(c) and after == "{":
            yield i + 1, "return"
        if re.match(rf"^{NAME}\(.*\) ?\{{$", c) or (CONTROL.match(c) and c.endswith(")") and after.strip() == "{"):
            yield i + 1, "brace"
        if c.strip() == "}" and re.match(r"\s*else\b", after):
            yield i + 2, "else"
        if re.search(r"\b(?:char|int|double|void|float|bool|FILE)\* ", c):
            yield i + 1, "star"
        if re.search(r"(?:^|\s)(?:if|for|while|switch)(?:\(|  +\()", c):
            yield i + 1, "keyword"


def main():
    files = sys.argv[1:] or sorted(p for d in FOLDERS for p in glob.glob(d + "/**/*.[ch]", recursive=True))
    n_wrong = n_caught = 0
    for path in files:
        with open(path, encoding="utf-8") as f:
            for line, rule in wrong_lines(f.read()):
                print(f"{path}:{line}: {rule}")
                n_wrong += 1
    with open("DEVELOPERS.md", encoding="utf-8") as f:
        told = f.read()
    for path in glob.glob("src/**/*.c", recursive=True):
        with open(path, encoding="utf-8") as f:
            if "pthread_create(" in bare(f.read()) and f"| `{path[4:]}` |" not in told:
                print(f"{path}: makes a thread that DEVELOPERS.md does not list")
                n_wrong += 1
    for rule, text in PLANTED.items():
        caught = rule in [r for _, r in wrong_lines(text)]
        n_caught += caught
        if not caught:
            print(f"planted violation not caught: {rule}")
    print(f"style: {len(files)} files, {n_wrong} wrong; planted {len(PLANTED)}, caught {n_caught}")
    return 1 if n_wrong or n_caught < len(PLANTED) or not files else 0


if __name__ == "__main__":
    sys.exit(main())
