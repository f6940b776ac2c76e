#!/bin/bash
# The fuzz targets as a part of `make reliability`: COUNT times 60 inputs each (tests/fuzz/run.sh).
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
make --no-print-directory fuzz RUNS=$((count * 60)) ARGS="--seed $seed --out $(readlink -f "$out")/fuzz.json"
