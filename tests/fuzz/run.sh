#!/bin/bash
# Runs the fuzz targets: first every input that once broke something, then new ones from the kept corpus on.
# Usage: run.sh OBJECTS [--seconds N | --runs N] [--seed S] [--out FILE] [TARGET...]
#
# --seconds: each target for that long.   --runs: each with so many inputs, the same ones whenever seed and corpus are the
# same, so that a run in CI stays as it is; a target whose inputs take longer gets a share of N. What breaks a target is left in OBJECTS/fuzz/TARGET and is to be kept in
# tests/fuzz/found/TARGET with the mending. An input that takes longer than 10 s, or more than 2 GB, is a finding, too.
# New inputs that reach something new go to OBJECTS/fuzz/corpus and not into the tree: `make fuzz-seeds` takes them.
# --out: counts as JSON. Closes with 'N passed, N failed', one each target; exit code 1 when one was broken.
objects=$1
shift
here=$(dirname "$(readlink -f "$0")") root=$(readlink -f "$(dirname "$0")/../..")
seconds= runs=2000 seed=1 out= targets=()
while [ $# -gt 0 ]; do
    case $1 in
    --seconds) seconds=$2; shift 2 ;;
    --runs) runs=$2; shift 2 ;;
    --seed) seed=$2; shift 2 ;;
    --out) out=$2; shift 2 ;;
    -*) echo "run.sh: no option $1" >&2; exit 2 ;;
    *) targets+=("$1"); shift ;;
    esac
done
if [ ${#targets[@]} -eq 0 ]; then
    for source in "$here"/*.c; do targets+=("$(basename "$source" .c)"); done
fi
work=$(mktemp -d -p "$([ -w /dev/shm ] && echo /dev/shm || echo "${TMPDIR:-/tmp}")")
trap 'rm -rf "$work"' EXIT
export TMPDIR=$work UNDERFOOT_PROFILES=$root/profiles UNDERFOOT_ASSETS=$root/assets
export ASAN_OPTIONS=detect_leaks=1:allocator_may_return_null=1 UBSAN_OPTIONS=print_stacktrace=1
passed=0 failed=0 total=0 began=$EPOCHSECONDS names=
for target in "${targets[@]}"; do
    program=$objects/tests/fuzz/$target
    left=$objects/fuzz/$target corpus=$objects/fuzz/corpus/$target
    mkdir -p "$left" "$corpus"
    limits=(-close_fd_mask=3 -timeout=10 -rss_limit_mb=2048 -print_final_stats=1 "-artifact_prefix=$left/" -max_len=16384)
    n_found=0 broken=
    for input in "$here/found/$target"/*; do
        [ -f "$input" ] || continue
        n_found=$((n_found + 1))
        "$program" "${limits[@]}" "$input" >"$work/log" 2>&1 || { broken=yes; echo "$target: broken again by ${input#"$root"/}"; grep -aE 'ERROR|runtime error|fuzz:|#[0-5] ' "$work/log" | head -12; }
    done
    if [ -n "$seconds" ]; then
        "$program" "${limits[@]}" -seed="$seed" -max_total_time="$seconds" "$corpus" "$here/corpus/$target" >"$work/log" 2>&1
    else
        case $target in
        store | recording) n=$((runs / 30 + 1)) ;;
        gait | trace | wire_*) n=$((runs / 6 + 1)) ;;
        *) n=$runs ;;
        esac
        mkdir -p "$work/new-$target" # without what earlier runs found: the same each time
        "$program" "${limits[@]}" -seed="$seed" -runs="$n" -reload=0 "$work/new-$target" "$here/corpus/$target" >"$work/log" 2>&1
    fi
    code=$?
    executed=$(sed -n 's/.*number_of_executed_units: *//p' "$work/log" | tail -1)
    reached=$(grep -aoE 'cov: [0-9]+' "$work/log" | tail -1)
    if [ $code -ne 0 ] || [ "${executed:-0}" -eq 0 ]; then
        broken=yes
        grep -aE 'ERROR|runtime error|fuzz:|SUMMARY|Test unit written|#[0-9] |No such file' "$work/log" | head -16
    fi
    if [ -n "$broken" ]; then failed=$((failed + 1)); else passed=$((passed + 1)); fi
    total=$((total + ${executed:-0}))
    names+="$target ${executed:-0}, "
    printf '%-12s %9d inputs, %s, %d kept findings: %s\n' "$target" "${executed:-0}" "${reached:-cov: 0}" "$n_found" "${broken:+BROKEN}${broken:-whole}" | sed 's/BROKENyes/BROKEN/'
done
if [ -n "$out" ]; then
    mkdir -p "$(dirname "$out")"
    printf '{"part": "fuzz", "what": "inputs to the readers of all that comes from outside", "count": %d, "failed": %d, "seed": %d, "commit": "%s", "seconds": %d, "notes": "%s"}\n' \
        "$total" "$failed" "$seed" "${UNDERFOOT_COMMIT:-$(git -C "$root" rev-parse --short=10 HEAD 2>/dev/null)}" $((EPOCHSECONDS - began)) "${names%, }" >"$out"
fi
echo "$passed passed, $failed failed"
[ "$failed" -eq 0 ] && [ "$passed" -gt 0 ]
