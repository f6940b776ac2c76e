#!/bin/bash
# The fuzz targets as a part of `make reliability`: COUNT times 60 inputs each, from a count of 200 on a minute each
# (tests/fuzz/run.sh).
# Usage: fuzz.sh [--count N] [--seed S] [--out DIR]
count=10 seed=1 out=.
while [ $# -gt 0 ]; do
    case $1 in
    --count) count=$2 ;;
    --seed) seed=$2 ;;
    --out) out=$2 ;;
    *) echo "fuzz.sh: no option $1" >&2; exit 2 ;;
    esac
    shift 2
done
cd "$(dirname "$(readlink -f "$0")")/../.." || exit 2
how="RUNS=$((count * 60))"
[ "$count" -ge 200 ] && how="SECONDS=60"
make --no-print-directory fuzz "$how" ARGS="--seed $seed --out $(readlink -f "$out")/fuzz.json"
