#!/bin/sh
# Measures again what was wrong with confidence once, and fails where it still is; with
# WHETSIGHT_FEW_SCENES in the environment every fourth picture.
#   tests/trial/cured.sh TRIAL PROGRAM
set -eu
trial=$1 program=$2 failed=0 n=0
list=$(dirname "$0")/cured.txt
while read -r kind view seed _; do
  case $kind in '' | '#'*) continue ;; esac
  n=$((n + 1))
  [ -z "${WHETSIGHT_FEW_SCENES+set}" ] || [ $((n % 4)) -eq 0 ] || continue
  "$trial" hard --kind "$kind" --view "$view" --seed "$seed" --count 1 "$program" || failed=1
done <"$list"
echo "of $n pictures"
[ "$n" -gt 0 ] && [ "$failed" -eq 0 ]
