#!/bin/sh
# Every text that is marked in the sources is in every catalogue of src/po.
set -eu
cd "$(dirname "$0")/../.."
texts=$(mktemp)
trap 'rm -f "$texts"' EXIT
find src -name '*.c' ! -name '*_test.c' -exec \
  xgettext --from-code=UTF-8 --keyword=_ --keyword=N_ --no-location -o "$texts" {} +
[ "$(grep -c '^msgid' "$texts")" -gt 150 ]
status=0
for catalogue in src/po/*.po; do
  missing=$(msgcmp "$catalogue" "$texts" 2>&1 | grep 'but not defined\|fatal' || true)
  [ -z "$missing" ] && continue
  printf '%s: %s\n' "$catalogue" "$missing"
  status=1
done
exit $status
