#!/bin/bash
# Runs test programs side by side, prints what each came to, and closes with the slowest and one line of counts.
# Usage: tests/run.sh [--tier WORDS] [--times FILE] PROGRAM...
#
# A Criterion program is counted by its own synthesis line; a plain one (tests/threads) counts as one test by its
# exit code, and 77 means skipped; so does each line that begins with `skipped`. What a program writes is kept whole
# and shown when it failed. Exit code 1 when any failed or when nothing ran.
#
# Side by side: one program more than there are cores (UNDERFOOT_TEST_LANES says otherwise), since those that wait for
# a device leave theirs idle. They share nothing: folders and files are made anew by mkdtemp and mkstemp, the X server
# takes a free display itself, and each program has a /dev/pts of its own, so that no number of a pseudo-terminal that
# one test let go comes back as another's sensor. Where that is refused, those that open pseudo-terminals run one by one.
#
# --tier: printed first and last, with the time.   --times: what each took, kept for the next run, which starts the
# longest first; beside it tier-NAME keeps what the tier took.
PROGRAM_LIMIT_S=600 # none takes a tenth of it: a program that hangs is ended and counts as failed
N_SLOWEST=10
tier= times=/dev/null
while [ "${1:0:2}" = -- ]; do
    case $1 in
    --tier) tier=$2 ;;
    --times) times=$2 ;;
    *) echo "tests/run.sh: no option $1" >&2; exit 2 ;;
    esac
    shift 2
done
export LC_ALL=C # what commands say is compared in English; tests of other languages say so themselves
lanes=${UNDERFOOT_TEST_LANES:-$(($(nproc) + 1))}
here=$(dirname "$(readlink -f "$0")")
export LSAN_OPTIONS="suppressions=$here/lsan.supp:print_suppressions=0" TSAN_OPTIONS="suppressions=$here/tsan.supp"
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
passed=0 failed=0 skipped=0

# A room of its own: a mount namespace with its own /dev/pts. As an ordinary user through a user namespace, whose
# powers are dropped again before the program starts.
mount_pts='mount -t devpts -o newinstance,ptmxmode=0666,mode=0620 devpts /dev/pts && mount --bind /dev/pts/ptmx /dev/ptmx'
if [ "$(id -u)" = 0 ]; then
    room=(unshare --mount --propagation private sh -c "$mount_pts && exec \"\$@\"" sh)
else
    room=(unshare --user --map-current-user --keep-caps --mount --propagation private
        sh -c "$mount_pts && exec setpriv --inh-caps=-all --ambient-caps=-all \"\$@\"" sh)
fi
has_room=yes
"${room[@]}" true 2>/dev/null || { has_room= room=(); }

# Runs program $2 with its output in $1.log; exit code, seconds and busy seconds of user and system go to $1.end.
run() {
    local code guard=() jobs=2 TIMEFORMAT='%R %U %S'
    case $2 in
    */tests/unit/cli/* | */tests/unit/link/* | */tests/chain/* | */tests/firmware/* | */tests/threads/*)
        [ -z "$has_room" ] && guard=(flock "$work/pts") ;;
    esac
    # Those of the chain wait more than they work; the panel's each have an X server that works.
    case $2 in
    */tests/chain/test_panel*) ;;
    */tests/chain/*) jobs=4 ;;
    esac
    {
        # Criterion's arena now and then can't be placed under AddressSanitizer: fixed addresses cure it.
        time "${guard[@]}" "${room[@]}" timeout --kill-after=10 $PROGRAM_LIMIT_S setarch "$(uname -m)" -R "$2" --jobs $jobs \
            >"$1.log" 2>&1 </dev/null
        code=$?
    } 2>"$1.time"
    [ $code -eq 124 ] && echo "ended: it ran for $PROGRAM_LIMIT_S s" >>"$1.log"
    echo "$code $(tail -1 "$1.time")" >"$1.end"
}

# Counts and shows program $2, whose output is $1.log.
tell() {
    local log=$1.log name=${2##*/tests/} code seconds user system line ok=0 bad=0 crash=0
    read -r code seconds user system <"$1.end"
    echo "$seconds $2" >>"$work/times"
    line=$(sed 's/\x1b\[[0-9;]*m//g' "$log" | grep -a 'Synthesis: Tested:' | tail -1)
    grep -a '^skipped' "$log"
    skipped=$((skipped + $(grep -ac '^skipped' "$log")))
    if [ -n "$line" ]; then
        ok=$(sed 's/.*Passing: *\([0-9]*\).*/\1/' <<<"$line")
        bad=$(sed 's/.*Failing: *\([0-9]*\).*/\1/' <<<"$line")
        crash=$(sed 's/.*Crashing: *\([0-9]*\).*/\1/' <<<"$line")
        [ $((bad + crash)) -eq 0 ] && [ "$code" -ne 0 ] && bad=1
    elif [ "$code" -eq 77 ]; then
        skipped=$((skipped + 1))
    elif [ "$code" -eq 0 ]; then
        ok=1
    else
        bad=1
        echo "$name: exit code $code"
    fi
    bad=$((bad + crash)) passed=$((passed + ok)) failed=$((failed + bad))
    awk -v n="$name" -v c="$([ "$code" -eq 77 ] && echo skipped || printf '%4d passed %3d failed' $ok $bad)" \
        -v s="$seconds" -v b="$user $system" 'BEGIN { split(b, x); printf "%-44s %-22s %6.1f s, busy %5.1f s\n", n, c, s, x[1] + x[2] }'
    [ "$bad" -gt 0 ] || return
    cat "$log"
    sed 's/\x1b\[[0-9;]*m//g' "$log" | grep -aE '^\[(FAIL|CRASH)\]|^ended: ' | sed "s|^|failed: $name: |" >>"$work/failed"
    grep -aqF "failed: $name: " "$work/failed" || echo "failed: $name: exit code $code" >>"$work/failed"
}

# Programs, the longest of the last run first; those not yet known before them.
in_order() {
    { cat "$times" 2>/dev/null; printf '%s\n' "$@"; } |
        awk 'NF == 2 { took[$2] = $1; next } { print ($1 in took) ? took[$1] : 1e6, $1 }' |
        sort -k1,1 -rn -s | cut -d' ' -f2
}

[ -n "$tier" ] && echo "== $tier"
[ -n "$has_room" ] || echo "no mount namespace here: programs that open pseudo-terminals run one by one"
began=$EPOCHREALTIME
declare -A program_of
n=0

# Waits for one of them to end.
reap() {
    local pid
    wait -n -p pid
    tell "$work/${program_of[$pid]%% *}" "${program_of[$pid]#* }"
    unset "program_of[$pid]"
}

for program in $(in_order "$@"); do
    [ "${#program_of[@]}" -lt "$lanes" ] || reap
    n=$((n + 1))
    echo "1 0 0 0" >"$work/$n.end" # stands when what runs it is killed
    run "$work/$n" "$program" &
    program_of[$!]="$n $program"
done
while [ "${#program_of[@]}" -gt 0 ]; do reap; done
[ "$n" -gt 0 ] && [ "$times" != /dev/null ] && cp "$work/times" "$times"
if [ "$n" -gt $N_SLOWEST ]; then
    echo "the slowest:"
    sort -rn "$work/times" | head -$N_SLOWEST | while read -r s p; do printf '%9.1f s  %s\n' "$s" "${p##*/tests/}"; done
fi
awk -v w="$tier" -v a="$began" -v b="$EPOCHREALTIME" -v n=$n -v l="$lanes" -v t="$(awk '{ s += $1 } END { print s + 0 }' "$work/times" 2>/dev/null)" \
    'BEGIN { if (w != "") printf "== %s\n", w; printf "%.0f s for %d programs (%.0f s one by one), %d side by side\n", b - a, n, t, l }'
# For `make house`.
if [ -n "$tier" ] && [ "$times" != /dev/null ] && [ "$n" -gt 0 ]; then
    awk -v a="$began" -v b="$EPOCHREALTIME" -v c="$n programs, $passed passed, $failed failed, $skipped skipped, $(date +%F)" \
        'BEGIN { printf "%.1f %s\n", b - a, c }' >"$(dirname "$times")/tier-${tier%% *}"
fi
cat "$work/failed" 2>/dev/null
echo "$passed passed, $failed failed, $skipped skipped"
[ "$failed" -eq 0 ] && [ "$passed" -gt 0 ]
