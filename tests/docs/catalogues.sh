#!/bin/sh
# Every text that is marked in the sources is in every catalogue of src/po, and so is every sentence that
# a measurement says: records keep it in English, pages translate it (src/base/told_text.h).
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

# Sentences are what is handed over as one: two words at least, and 8 letters beside what stands in places.
said=$(mktemp)
trap 'rm -f "$texts" "$said"' EXIT
find src/tool src/judge -name '*.c' ! -name '*_test.c' -exec \
  xgettext --from-code=UTF-8 --keyword=g_strdup_printf:1 --keyword=g_strdup:1 --keyword=wsi_result_hold:4 \
  --no-location --no-wrap -o - {} + 2>/dev/null | sed -n 's/^msgid //p' |
  awk '{ own = $0; gsub(/%[-.0-9*]*[a-z]/, "", own); letters = gsub(/[A-Za-z]/, "", own)
         if (letters >= 8 && $0 ~ /[a-z,.:] [A-Za-z%]/) print }' >"$said"
[ "$(wc -l <"$said")" -gt 120 ]
for catalogue in src/po/*.po; do
  msgcat --no-wrap "$catalogue" | sed -n 's/^msgid //p' | sort >"$texts"
  missing=$(sort "$said" | comm -23 - "$texts" | grep -v '^"a size above 0\|^"deviation x ' || true)
  [ -z "$missing" ] && continue
  printf '%s: no translation of what is said:\n%s\n' "$catalogue" "$missing"
  # A few that are new are shown in English until somebody translates them.
  [ "$(printf '%s\n' "$missing" | wc -l)" -le 12 ] || status=1
done
exit $status
