#!/bin/sh
# Line coverage of each layer, from the tests that last ran in the clang build, against the floors
# of tests/coverage.floors.  A layer without a floor is a failure; so is a floor without a layer.
set -eu
cd "$(dirname "$0")/.."

build=build/clang
table=$build/coverage.csv
gcovr --gcov-executable 'llvm-cov-14 gcov' --root . --filter 'src/' --exclude '.*_test\.c' --exclude '.*/testing\.h' \
  --object-directory "$build" -j "$(nproc)" --csv "$table" "$build/src" "$build/tests"

awk -F, '
  FILENAME ~ /floors$/ {
    split ($0, words, " ")
    if ($0 !~ /^#/ && words[1] != "")
      floor[words[1]] = words[2]
    next
  }
  FNR == 1 {
    for (i = 1; i <= NF; i++)
      column[$i] = i
    next
  }
  {
    split ($column["filename"], parts, "/")
    layer = parts[2]
    all[layer] += $column["line_total"]
    seen[layer] += $column["line_covered"]
  }
  END {
    for (layer in all) {
      share = all[layer] > 0 ? 100 * seen[layer] / all[layer] : 100
      verdict = ""
      if (!(layer in floor))
        verdict = "no floor"
      else if (share < floor[layer])
        verdict = "below its floor"
      bad += verdict != ""
      printf "%-10s %6d lines %6.1f %%  floor %s  %s\n", layer, all[layer], share, floor[layer], verdict | "sort"
    }
    close ("sort")
    for (layer in floor)
      if (!(layer in all)) {
        bad++
        print layer ": has a floor, but no lines"
      }
    exit bad > 0
  }' tests/coverage.floors "$table"
