#!/bin/sh
# Makes the page docs/accuracy.md of the program in BUILD, by default build/release: of every kind of the
# campaign COUNT pictures, and eight times as many of those that nothing spoils.
#   tests/trial/accuracy.sh [COUNT [JOBS [BUILD]]]
set -eu
root=$(cd "$(dirname "$0")/../.." && pwd)
count=${1:-7} jobs=${2:-1} build=${3:-$root/build/release}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

# Its status says whether anything was wrong, which the page tells too.
shoot () {
  numbers=$1
  shift
  "$build/tests/trial" hard --jobs "$jobs" --numbers "$numbers" "$@" "$build/src/whetsight" ||
    [ -s "$numbers" ]
}
shoot "$work/plain" --kind plain --seed 1000 --count $((8 * count))
seed=1
while [ "$seed" -le "$count" ]; do
  shoot "$work/$(printf %04d "$seed")" --seed "$seed" --count 1
  seed=$((seed + 1))
done
"$build/tests/trial" report "$work"/* >"$work/page.md"
mv "$work/page.md" "$root/docs/accuracy.md"
