#!/bin/sh
# Holds the records that several builds of the program make of the demo's pictures against each
# other: byte for byte, id and time aside, whatever the compiler, with sanitizers or without, and
# with one job or several.
#   tests/same_record.sh PROGRAM…      one program: 1 job against 3
set -eu
export LC_ALL=C
root=$(cd "$(dirname "$0")/.." && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

# The demo's list as a plan.
awk -F, 'BEGIN { OFS = "," } NR == 1 { print "picture,card,view,scale,scale_u"; next }
  { print $1, $2, $3, $4, $5 }' "$root/images/shots.csv" >"$work/plan.csv"
for file in "$root"/images/*; do
  [ ! -f "$file" ] || ln -s "$file" "$work/"
done

# records PROGRAM JOBS: what differs from run to run taken out.
records() {
  status=0
  "$1" measure --json --jobs "$2" --plan "$work/plan.csv" 2>"$work/log" >"$work/all" || status=$?
  if [ "$status" -gt 3 ]; then
    cat "$work/log" >&2
    exit "$status"
  fi
  sed -E 's/"(id|time)":"[0-9]{8}T[^"]*"/"\1":""/g; s/"time":"[^"]*"/"time":""/g' "$work/all"
}

records "$1" 1 >"$work/first"
[ "$(wc -l <"$work/first")" -ge 10 ] || { echo "too few records" >&2; exit 1; }
failed=0
for program in "$@"; do
  records "$program" 3 >"$work/other"
  if cmp -s "$work/first" "$work/other"; then
    echo "ok: $program"
    continue
  fi
  failed=1
  echo "other records: $program; the first that differs, in parts:" >&2
  for file in first other; do
    tr ',{' '\n\n' <"$work/$file" >"$work/$file.parts"
  done
  diff "$work/first.parts" "$work/other.parts" | head -n 8 >&2 || true
done
exit "$failed"
