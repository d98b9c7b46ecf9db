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

# What tests ask: text and fonts of a PDF, XML by its schema, a locale with a decimal comma.
asked="poppler-utils libxml2-utils locales"
# The words are meant to be split.
# shellcheck disable=SC2086
case "$presets" in
*clang*) tests/setup.sh clang $asked ;;
*) tests/setup.sh $asked ;;
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
