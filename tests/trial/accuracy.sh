#!/bin/sh
# Makes the page docs/accuracy.md of the program in BUILD, by default build/release, from COUNT rendered
# pictures a kind.
#   tests/trial/accuracy.sh [COUNT [JOBS [BUILD]]]
set -eu
root=$(cd "$(dirname "$0")/../.." && pwd)
count=${1:-54} jobs=${2:-1} build=${3:-$root/build/release}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
# Its status says whether anything was wrong, which the page tells too.
"$build/tests/trial" hard --count "$count" --jobs "$jobs" --numbers "$work/numbers" \
  "$build/src/whetsight" || [ -s "$work/numbers" ]
"$build/tests/trial" report "$work/numbers" >"$work/accuracy.md"
mv "$work/accuracy.md" "$root/docs/accuracy.md"
