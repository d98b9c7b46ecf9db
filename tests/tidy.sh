#!/bin/sh
# clang-tidy over sources that changed: since the branch left main, else in the commits of the
# last 24 hours, else in the last commit; the newest first, and not more than take a few minutes.
# Headers are seen through the sources that include them.  Needs the configured preset tidy.
#   tests/tidy.sh [FILE...]
set -eu
cd "$(dirname "$0")/.."

most=100

changed() {
  base=$(git merge-base HEAD origin/main 2>/dev/null || true)
  if [ -n "$base" ] && [ "$base" != "$(git rev-parse HEAD)" ]; then
    git log --format= --name-only "$base..HEAD"
  elif [ -n "$(git log -1 --since=24.hours --format=%h)" ]; then
    git log --since=24.hours --format= --name-only
  else
    git log -1 --format= --name-only
  fi
}

if [ $# -eq 0 ]; then
  # Names have no spaces.  Fuzz targets aren't in its build.
  # shellcheck disable=SC2046
  set -- $(changed | grep -E '^(src|tests)/.*\.c$' | grep -v '^tests/fuzz/' | awk '!seen[$0]++' |
    while read -r file; do
      [ ! -f "$file" ] || echo "$file"
    done | head -n "$most")
fi
[ $# -gt 0 ] || exit 0

printf '%s\n' "$@" | xargs -n 1 -P "$(nproc)" clang-tidy-14 --quiet --warnings-as-errors='*' \
  -p build/tidy 2>/dev/null
echo "$# files"
