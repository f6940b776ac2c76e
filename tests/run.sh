#!/bin/bash
# Runs test programs one after the other, prints each one's failures, and closes with one line of counts.
# Usage: tests/run.sh PROGRAM...   A Criterion program is counted by its own synthesis line; a plain one
# (tests/threads) counts as one test by its exit code, and 77 means skipped. Exit code 1 when any failed
# or when nothing ran.
passed=0 failed=0 skipped=0
export LSAN_OPTIONS="suppressions=$(dirname "$(readlink -f "$0")")/lsan.supp:print_suppressions=0"
log=$(mktemp)
trap 'rm -f "$log"' EXIT
for program in "$@"; do
    # Criterion's arena now and then can't be placed under AddressSanitizer: fixed addresses cure it.
    setarch "$(uname -m)" -R "$program" --jobs 2 >"$log" 2>&1
    code=$?
    line=$(sed 's/\x1b\[[0-9;]*m//g' "$log" | grep -a 'Synthesis: Tested:' | tail -1)
    grep -a '^skipped' "$log"
    skipped=$((skipped + $(grep -ac '^skipped' "$log")))
    if [ -n "$line" ]; then
        ok=$(sed 's/.*Passing: *\([0-9]*\).*/\1/' <<<"$line")
        bad=$(sed 's/.*Failing: *\([0-9]*\).*/\1/' <<<"$line")
        crash=$(sed 's/.*Crashing: *\([0-9]*\).*/\1/' <<<"$line")
        [ $((bad + crash)) -eq 0 ] && [ $code -ne 0 ] && bad=1
        passed=$((passed + ok)) failed=$((failed + bad + crash))
        printf '%-52s %4d passed %3d failed\n' "${program##*/tests/}" "$ok" "$((bad + crash))"
        [ $((bad + crash)) -gt 0 ] && cat "$log"
    elif [ $code -eq 77 ]; then
        skipped=$((skipped + 1))
        printf '%-52s skipped\n' "${program##*/tests/}"
    elif [ $code -eq 0 ]; then
        passed=$((passed + 1))
        printf '%-52s %4d passed %3d failed\n' "${program##*/tests/}" 1 0
    else
        failed=$((failed + 1))
        printf '%-52s failed, exit code %d\n' "${program##*/tests/}" "$code"
        cat "$log"
    fi
done
echo "$passed passed, $failed failed, $skipped skipped"
[ "$failed" -eq 0 ] && [ "$passed" -gt 0 ]
