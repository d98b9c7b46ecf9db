#!/bin/sh
# Installs what is missing, builds, and runs every test:
#   tests/run.sh         optimised build, then with sanitizers, then built by clang
#   tests/run.sh quick   optimised build only
set -eu
cd "$(dirname "$0")/.."

case "${1-all}" in
quick) presets="release" ;;
all) presets="release asan clang" ;;
*)
  echo "usage: tests/run.sh [quick]" >&2
  exit 64
  ;;
esac

case "$presets" in
*clang*) tests/setup.sh clang ;;
*) tests/setup.sh ;;
esac

for preset in $presets; do
  echo "== $preset"
  cmake --preset "$preset" -Wno-dev >/dev/null
  cmake --build --preset "$preset"
done
for preset in $presets; do
  echo "== $preset"
  ctest --preset "$preset" -j "$(nproc)"
done
