#!/bin/bash
# Makes tests/fuzz/corpus anew: of the seeds, of what is kept and of what was found, the least that reaches as much.
# Usage: keep.sh OBJECTS SEEDS   after `make fuzz SECONDS=...`, whose new inputs lie in OBJECTS/fuzz/corpus
# A target keeps the smallest first, as long as all of them have room in KEEP_BYTES; what is cut off is told.
KEEP_BYTES=40000
objects=$1 seeds=$2
here=$(dirname "$(readlink -f "$0")") root=$(readlink -f "$(dirname "$0")/../..")
work=$(mktemp -d -p "$([ -w /dev/shm ] && echo /dev/shm || echo "${TMPDIR:-/tmp}")")
trap 'rm -rf "$work"' EXIT
export TMPDIR=$work UNDERFOOT_PROFILES=$root/profiles UNDERFOOT_ASSETS=$root/assets ASAN_OPTIONS=detect_leaks=0
mkdir -p "$work/seeds"
(cd "$root" && "$(readlink -f "$seeds")" "$work/seeds") || exit 1
for source in "$here"/*.c; do
    target=$(basename "$source" .c)
    merged=$work/merged/$target kept=$here/corpus/$target
    mkdir -p "$merged" "$kept" "$objects/fuzz/corpus/$target" "$work/seeds/$target"
    "$objects/tests/fuzz/$target" -close_fd_mask=3 -merge=1 -max_len=16384 "$merged" "$work/seeds/$target" "$kept" \
        "$objects/fuzz/corpus/$target" >"$work/log" 2>&1 || { echo "$target: can't be merged"; tail -5 "$work/log"; exit 1; }
    rm -f "$kept"/*
    bytes=0 n=0 n_left=0
    while read -r size name; do
        if [ $((bytes + size)) -le $KEEP_BYTES ]; then
            cp "$merged/$name" "$kept/"
            bytes=$((bytes + size)) n=$((n + 1))
        else
            n_left=$((n_left + 1))
        fi
    done < <(cd "$merged" && stat -c '%s %n' -- * 2>/dev/null | sort -n)
    echo "$target: $n inputs, $bytes bytes kept; $n_left larger ones left out"
done
