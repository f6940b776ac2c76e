#!/bin/bash
# The demo where there is no display: it must say so, run, leave a picture and a summary, and name both.
# Usage: tests/headless.sh PROGRAM. Closes with a line of counts.
program=$1
passed=0 failed=0
check() {
    if [ "$1" -eq 0 ]; then passed=$((passed + 1)); else failed=$((failed + 1)); echo "failed: $2"; fi
}
out=$(mktemp -d)
trap 'rm -rf "$out"' EXIT
env -u DISPLAY -u WAYLAND_DISPLAY -u SDL_VIDEODRIVER TMPDIR="$out" UNDERFOOT_DATA="$out/data" \
    timeout 120 "$program" demo >"$out/stdout" 2>"$out/stderr"
check $? "exit code of demo without a display"
grep -qi 'no display' "$out/stderr" "$out/stdout"
check $? "it says that there is no display"
picture=$(grep -ohE '/[^ ]+\.png' "$out/stdout" "$out/stderr" | head -1)
[ -s "$picture" ] && [ "$(head -c 4 "$picture" | tail -c 3)" = PNG ]
check $? "a picture is left and named"
summary=$(grep -ohE '/[^ ]+\.(txt|json)' "$out/stdout" "$out/stderr" | head -1)
[ -s "$summary" ]
check $? "a summary is left and named"
echo "$passed passed, $failed failed"
[ "$failed" -eq 0 ]
