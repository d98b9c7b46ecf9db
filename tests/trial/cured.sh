#!/bin/sh
# Measures again what was wrong with confidence once, and fails where it still is.
#   tests/trial/cured.sh TRIAL PROGRAM
set -eu
trial=$1 program=$2 failed=0 n=0
list=$(dirname "$0")/cured.txt
while read -r kind view seed _; do
  case $kind in '' | '#'*) continue ;; esac
  n=$((n + 1))
  "$trial" hard --kind "$kind" --view "$view" --seed "$seed" --count 1 "$program" || failed=1
done <"$list"
echo "$n pictures"
[ "$n" -gt 0 ] && [ "$failed" -eq 0 ]
