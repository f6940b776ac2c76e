#!/bin/bash
# How the program is built (make hardened), and what cppcheck and clang-tidy find in its sources (make lint, which takes a quarter
# of an hour: from a count of 200 on), as a part of `make reliability`. Counted: the built program, and each source file.
# Usage: hardened.sh [--count N] [--seed S] [--out DIR]
count=10 seed=1 out=.
while [ $# -gt 0 ]; do
    case $1 in
    --count) count=$2 ;;
    --seed) seed=$2 ;;
    --out) out=$2 ;;
    *) echo "hardened.sh: no option $1" >&2; exit 2 ;;
    esac
    shift 2
done
out=$(readlink -f "$out")
cd "$(dirname "$(readlink -f "$0")")/../.." || exit 2
began=$EPOCHSECONDS failed=0 n=1
make --no-print-directory hardened || failed=1
notes="make hardened"
if [ "$count" -ge 200 ]; then
    n_files=$(find src -name '*.c' | wc -l)
    n=$((n + n_files))
    make --no-print-directory lint || failed=$((failed + 1))
    notes+=", make lint: $n_files files, $(grep -rho 'NOLINT[A-Z]*(' src --include='*.c' | grep -cv END) places with a reason of their own"
else
    notes+="; make lint: not run (from a count of 200 on)"
fi
printf '{"part": "hardened", "what": "the built program and its sources, against misuse of a slip", "count": %d, "failed": %d, "seed": %d, "commit": "%s", "seconds": %d, "notes": "%s"}\n' \
    "$n" "$failed" "$seed" "$UNDERFOOT_COMMIT" $((EPOCHSECONDS - began)) "$notes" >"$out/hardened.json"
[ "$failed" -eq 0 ]
