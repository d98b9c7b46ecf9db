#!/bin/sh
# Makes the page docs/accuracy.md of the program in BUILD, by default build/release: of every kind of the
# campaign SEEDS pictures, and eight times as many more of those that nothing spoils.  90 seeds are more
# than 5,000 pictures, for a night; they take an hour or less on one processor.
#   tests/trial/accuracy.sh [SEEDS [JOBS [BUILD]]]
# What was measured stays in BUILD/accuracy, by the program's and its libraries' checksum: begun again, it goes on where it
# ended, and with SEEDS 0 it makes the page of what is there.
set -eu
root=$(cd "$(dirname "$0")/../.." && pwd)
seeds=${1:-90} jobs=${2:-1} build=${3:-$root/build/release}
work=$build/accuracy/$(cat "$build/src/whetsight" "$build"/src/libwhetsight*.so | sha256sum | cut -c 1-16)
mkdir -p "$work"

# A file of numbers.  The status says whether anything was wrong, which the page tells too.
shoot () {
  numbers=$work/$1
  shift
  [ -s "$numbers" ] && return
  "$build/tests/trial" hard --jobs "$jobs" --numbers "$numbers.new" "$@" "$build/src/whetsight" ||
    [ -s "$numbers.new" ]
  mv "$numbers.new" "$numbers"
}
seed=1
while [ "$seed" -le "$seeds" ]; do
  shoot "$(printf 'kinds-%04d' "$seed")" --seed "$seed" --count 1
  shoot "$(printf 'plain-%04d' "$seed")" --kind plain --seed $((992 + 8 * seed)) --count 8
  seed=$((seed + 1))
done
"$build/tests/trial" report "$work"/*[0-9] >"$work/page.md"
mv "$work/page.md" "$root/docs/accuracy.md"
