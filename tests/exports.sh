#!/bin/sh
# Holds src/whetsight.exports, what the shared library shows, against the public headers: every
# listed symbol is declared there, every declared one is listed.  With a shared library also
# against what it really shows; with the static one, that what is private is marked as such: wsi_.
#   tests/exports.sh [LIBRARY.so [LIBRARY.a]]
set -eu
export LC_ALL=C
cd "$(dirname "$0")/.."

work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

grep -v '^#' src/whetsight.exports >"$work/listed"
sort -cu "$work/listed"
# A declaration has a blank before its bracket; what comments say of functions hasn't.
grep -hoE '\bws_[a-z0-9_]+ \(' include/whetsight/*.h | sed 's/ (//' | sort -u >"$work/declared"
# Any other global name that a header declares.
grep -hE '^extern ' include/whetsight/*.h | grep -oE '\bws_[a-z0-9_]+' >>"$work/declared" || true
sort -u "$work/declared" -o "$work/declared"

status=0
compare ()
{
  comm -23 "$work/listed" "$2" | sed "s|^|listed in src/whetsight.exports, not $1: |" >"$work/out"
  comm -13 "$work/listed" "$2" | sed "s|^|$1, not listed in src/whetsight.exports: |" >>"$work/out"
  cat "$work/out" >&2
  [ ! -s "$work/out" ] || status=1
}

compare "declared in include/whetsight" "$work/declared"
if [ $# -gt 0 ]; then
  nm -D --defined-only "$1" | awk '{ print $3 }' | sort -u >"$work/shown"
  compare "shown by the library" "$work/shown"
fi
if [ $# -gt 1 ]; then
  nm -g --defined-only "$2" 2>/dev/null | awk 'NF == 3 { print $3 }' | grep '^ws' | sort -u |
    comm -23 - "$work/listed" | grep -v '^wsi_' |
    sed 's/^/private, but not marked by wsi_: /' >"$work/out" || true
  cat "$work/out" >&2
  [ ! -s "$work/out" ] || status=1
fi
exit $status
