#!/bin/sh
# Whether this build is slower than the last release: builds that one apart, and runs both in turns
# (benchmark-compare).  Ends with 1 above 1.10 times its processor time.  By hand, on a machine that
# does nothing else; not among the tests of every change.
#   tests/benchmark/compare.sh [REVISION]     REVISION: the last tag by default
set -eu
cd "$(dirname "$0")/../.."

before=${1:-$(git describe --tags --abbrev=0 2>/dev/null || true)}
if [ -z "$before" ]; then
  echo "SKIP: no release is tagged; name a revision" >&2
  exit 77
fi
commit=$(git rev-parse --verify "$before^{commit}")
there=$PWD/build/compare/$commit

cmake --preset release >/dev/null
cmake --build --preset release --target whetsight-program benchmark-compare >/dev/null
if [ ! -x "$there/build/src/whetsight" ]; then
  rm -rf "$there"
  mkdir -p "$there/source"
  git archive "$commit" | tar -x -C "$there/source"
  cmake -S "$there/source" -B "$there/build" -G Ninja -DCMAKE_BUILD_TYPE=Release -DWS_TESTS=OFF \
    >/dev/null
  cmake --build "$there/build" --target whetsight-program >/dev/null
fi
echo "before: $before"
build/release/tests/benchmark-compare "$there/build/src/whetsight" build/release/src/whetsight
