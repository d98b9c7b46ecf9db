#!/bin/sh
# Would the tests notice?  Makes small changes to the sources, one at a time, builds the library
# with each and runs the tests that are affected until one fails:
#   killed     a test failed, or ran out of time
#   survived   no test noticed
#   invalid    it doesn't compile
#   same       the object code is the same: no change at all
# The kinds of change are plain: relations, signs, factors, constants, conditions, returns,
# statements left out.  Which ones are drawn follows from the seed alone; each file has its share by
# size.
#
#   tests/mutate.sh [--only GLOB] [--count N] [--seed S] [--jobs N] [--work DIR]
#                   [--again FILE] [--quick]
#
#   --only    files under src, as for case, for example 'tool/drill/*'; the default is all layers
#             between what reads pictures and what the program does with results
#   --count   how many changes (260)
#   --jobs    how many at once (1); each has a tree and a build of its own
#   --work    where trees, builds and results go; kept, and what has been tried isn't tried again
#   --quick   leaves it at few scenes
#   --again   tries the changes in FILE, a list of survivors, instead of drawing some
#
# DIR/survivors has a line each: file, line, column, length, replacement, kind, the line as it was.
set -eu
export LC_ALL=C
top=$(cd "$(dirname "$0")/.." && pwd)

layers='edge|tool|optics|judge|report|maths|contour|result|job'
only='*'
count=260 seed=1 jobs=1 work='' again='' quick=''
while [ $# -gt 0 ]; do
  case $1 in
  --quick)
    quick=yes
    shift
    continue
    ;;
  esac
  [ $# -gt 1 ] || break
  case $1 in
  --only) only=$2 layers='[a-z]*' ;;
  --count) count=$2 ;;
  --seed) seed=$2 ;;
  --jobs) jobs=$2 ;;
  --work) work=$2 ;;
  --again) again=$(cd "$(dirname "$2")" && pwd)/$(basename "$2") ;;
  *) break ;;
  esac
  shift 2
done
if [ $# -ne 0 ]; then
  sed -n 's/^# \{0,1\}//; 2,/^set/p' "$0" | grep -v '^set' >&2
  exit 64
fi

# Tests by the files they judge: the first line whose pattern fits counts.  Before them come the
# file's own test and those of its folder.  Tests of whole jobs see few scenes first, then all.
tests_of () {
  awk -v file="$1" '
    $1 == "" || $1 ~ /^#/ { next }
    { pattern = $1; gsub (/\./, "\\.", pattern); gsub (/\*/, ".*", pattern)
      if (file ~ "^" pattern "$") { for (i = 2; i <= NF; i++) print $i; exit } }' <<MAP
tool/drill/end/*     reference-budget_lines_test main_job-tip_test main_job-front_lit_test
tool/drill/relief/*  reference-budget_lines_test main_job-relief_test
tool/drill/side/*    reference-drill_budget_test main_job-drill_side_test main_job-near_camera_test
tool/drill/*         reference-drill_budget_test main_job-drill_side_test main_job-near_camera_test
tool/blade/*         reference-blade_budget_test main_job-blade_settings_test main_job-blade_test
tool/form/*          reference-budget_lines_test main_job-form_test
tool/face/*          main_job-front_lit_test
tool/flank/*         reference-budget_lines_test main_job-front_lit_test main_job-tip_test main_job-burn_outline_test main_job-front_lit_calibration_test
tool/*               cli-program_test main_job-drill_side_test main_job-blade_test main_job-lit_outline_test
edge/find/*          main_job-drill_side_test main_job-blade_test main_job-lit_outline_test main_job-front_lit_test
edge/chain*          main_job-form_test
edge/circle*         main_job-blade_test main_job-form_test
edge/mirror*         reference-drill_budget_test main_job-drill_side_test
edge/*               reference-drill_budget_test main_job-blade_test main_job-drill_side_test main_job-form_test
optics/calibrate/target*   main_job-calibrate_target_test main_job-flat_calibration_test
optics/calibrate/*   main_job-calibrate_pin_test main_job-calibrate_target_test
optics/*             cli-verify_test cli-program_test main_job-flat_calibration_test main_job-front_lit_calibration_test main_job-near_camera_test
judge/*              cli-program_test main_job-drill_side_test
result/*             reference-uncertainty_test reference-drill_budget_test cli-program_test main_job-drill_side_test
maths/*              reference-uncertainty_test cli-program_test edge-line_test edge-mirror_test main_job-drill_side_test
contour/*            main_job-form_test
report/calibration*  main_job-calibrate_pin_test main_job-calibrate_target_test
report/chart/*       cli-verify_test
report/*             cli-program_test archive-program_test
*                    cli-program_test main_job-drill_side_test
MAP
}

if [ -z "$work" ]; then
  work=$(mktemp -d "${TMPDIR:-/tmp}/whetsight-mutate-XXXXXX")
fi
mkdir -p "$work"
work=$(cd "$work" && pwd)

# ---- What to change -----------------------------------------------------------------------

# Sites of a file: line, column, length, replacement, kind; tabs between.
sites () {
  awk '
    # Comments and what stands in quotes become blanks of the same length.
    function masked (s,    out, i, c, n) {
      out = ""
      n = length (s)
      for (i = 1; i <= n; i++) {
        c = substr (s, i, 1)
        if (comment) {
          if (substr (s, i, 2) == "*/") { comment = 0; out = out "  "; i++ }
          else out = out " "
        }
        else if (quote != "") {
          if (c == "\\") { out = out "  "; i++ }
          else { if (c == quote) quote = ""; out = out " " }
        }
        else if (substr (s, i, 2) == "/*") { comment = 1; out = out "  "; i++ }
        else if (substr (s, i, 2) == "//") { while (i++ <= n) out = out " " }
        else if (c == "\"" || c == "\047") { quote = c; out = out " " }
        else out = out c
      }
      quote = ""
      return substr (out, 1, n)
    }
    function site (col, len, to, kind) {
      printf "%d\t%d\t%d\t%s\t%s\n", NR, col, len, to, kind
    }
    function every (what, to, kind,    at, from) {
      from = 1
      while ((at = index (substr (code, from), what)) > 0) {
        site (from + at - 1, length (what), to, kind)
        from += at - 1 + length (what)
      }
    }
    # A number, unless it counts elements, names something or is part of a name.
    function constants (    from, rest, number, before, after, to) {
      from = 1
      while (match (rest = substr (code, from), /[0-9]+(\.[0-9]*)?([eE][-+]?[0-9]+)?/)) {
        number = substr (rest, RSTART, RLENGTH)
        before = from + RSTART > 2 ? substr (code, from + RSTART - 2, 1) : " "
        after = substr (code, from + RSTART + RLENGTH - 1, 1)
        if (before !~ /[A-Za-z0-9_.\[]/ && after !~ /[A-Za-z0-9_.]/) {
          to = number ~ /[.eE]/ ? sprintf ("(1.1 * %s)", number) : sprintf ("(%s + 1)", number)
          if (number !~ /^[0.]+$/ || number !~ /\./)
            site (from + RSTART - 1, RLENGTH, to, "constant")
        }
        from += RSTART + RLENGTH - 1
      }
    }
    # The condition of an if that ends on its line.
    function conditions (    start, depth, i, c) {
      if (!match (code, /^ *(\} )?(else )?if \(/))
        return
      start = RSTART + RLENGTH
      depth = 1
      for (i = start; i <= length (code) && depth > 0; i++) {
        c = substr (code, i, 1)
        depth += c == "(" ? 1 : c == ")" ? -1 : 0
      }
      if (depth == 0)
        site (start, i - 1 - start, "!(" substr ($0, start, i - 1 - start) ")", "condition")
    }
    {
      code = masked ($0)
      if (code ~ /^#/) {
        # A limit or factor with a name.
        if (code ~ /^#define [A-Z0-9_]+ .*[0-9]/) constants ()
        previous = code
        next
      }
      if (code ~ /^[A-Za-z].*[^;,)=]$/ && code !~ /[({]/) type = code
      if (code ~ /^\{/ && inside == 0) {
        inside = 1
        if (type ~ /(^| )void *$/) site (length ($0) + 1, 0, " return;", "early return")
        else if (type ~ /(^| )(double|float|int|guint|gsize|gssize|gint64|guint64|gboolean) *$/ ||
                 type ~ /\*$/)
          site (length ($0) + 1, 0, " return 0;", "early return")
      }
      if (code ~ /^\}/) inside = 0
      if (inside || code ~ /^static const|^  *\{/) {
        every (" < ", " <= ", "relation")
        every (" <= ", " < ", "relation")
        every (" > ", " >= ", "relation")
        every (" >= ", " > ", "relation")
        every (" == ", " != ", "relation")
        every (" != ", " == ", "relation")
        every (" < ", " >= ", "condition")
        every (" <= ", " > ", "condition")
        every (" > ", " <= ", "condition")
        every (" >= ", " < ", "condition")
        every (" + ", " - ", "sign")
        every (" - ", " + ", "sign")
        every (" += ", " -= ", "sign")
        every (" -= ", " += ", "sign")
        every (" * ", " / ", "factor")
        every (" / ", " * ", "factor")
        every (" && ", " || ", "logic")
        every (" || ", " && ", "logic")
        constants ()
        conditions ()
        # A whole statement: a call or an assignment.
        if (previous ~ /[;{})]$/ && code ~ /^  +[a-z_][A-Za-z0-9_>.\[\]\-]* ([-+*\/|&]?= .*|\(.*\));$/ &&
            code !~ /^ *(return|g_auto|if|for|while)/)
          site (match (code, /[^ ]/), length (code) - match (code, /[^ ]/) + 1, ";", "left out")
      }
      if (code !~ /^ *$/) previous = code
    }' "$1"
}

# All sites of all files, then each file's share of them.
draw () {
  (cd "$top/src" && find . -name '*.c' ! -name '*_test.c') | sed 's|^\./||' |
    grep -E "^($layers)/" | sort | while read -r file; do
      # The pattern is meant as one.
      # shellcheck disable=SC2254
      case $file in $only) ;; *) continue ;; esac
      sites "$top/src/$file" | sed "s|^|$file	|"
    done >"$work/sites"
  awk -F '\t' -v count="$count" -v seed="$seed" '
    # Park and Miller, CACM 31 (1988) 1192: the same numbers by every awk.
    function random () { state = (16807 * state) % 2147483647; return state / 2147483647 }
    { if (!($1 in n)) files[++n_files] = $1; line[$1, ++n[$1]] = $0 }
    END {
      state = seed % 2147483646 + 1
      for (i = 0; i < 20; i++) random ()
      before = 0
      for (f = 1; f <= n_files; f++) {
        name = files[f]
        # Shares add up to the count: what has been rounded off is carried on.
        due += count * n[name] / NR
        share = int (due + 0.5) - before
        before += share
        for (i = 1; i <= share && i <= n[name]; i++) {
          k = i + int (random () * (n[name] - i + 1))
          print line[name, k]
          line[name, k] = line[name, i]
        }
      }
    }' "$work/sites" |
    while IFS='	' read -r file at column length to kind; do
      printf '%s\t%s\t%s\t%s\t%s\t%s\t%s\n' "$file" "$at" "$column" "$length" "$to" "$kind" \
        "$(sed -n "${at}p" "$top/src/$file")"
    done
}

# ---- Trees and builds ---------------------------------------------------------------------

# The library is built to be shared, so that tests needn't be linked again.
make_tree () {
  tree=$work/tree-$1
  if [ ! -d "$tree" ]; then
    mkdir -p "$tree"
    (cd "$top" && git ls-files -z --cached --others --exclude-standard |
      xargs -0 tar cf - 2>/dev/null) | tar xf - -C "$tree"
  fi
  if [ ! -e "$tree/built" ]; then
    linker=
    ! command -v ld.lld >/dev/null || linker=-fuse-ld=lld
    CCACHE_DISABLE=1 cmake -S "$tree" -B "$tree/build" -G Ninja -Wno-dev -DCMAKE_BUILD_TYPE=Release \
      "-DCMAKE_C_FLAGS_RELEASE=-O1 -w" "-DCMAKE_CXX_FLAGS_RELEASE=-O1 -w" -DWS_WERROR=OFF \
      "-DCMAKE_EXE_LINKER_FLAGS=$linker" "-DCMAKE_SHARED_LINKER_FLAGS=$linker" \
      -DWS_LIBRARY=SHARED >"$work/configure-$1.log" 2>&1
    cmake --build "$tree/build" >"$work/build-$1.log" 2>&1
    touch "$tree/built"
  fi
}

build () {
  CCACHE_DISABLE=1 cmake --build "$tree/build" --target whetsight >"$tree/log" 2>&1
}

# Where the object of a source lies.
object_of () {
  find "$tree/build/src" -path "*/$1.o" | head -1
}

# $2: seconds allowed.
run_test () {
  WHETSIGHT=$tree/build/src/whetsight WHETSIGHT_FAULT=$(find "$tree/build" -name 'libfault.so') \
    LOCPATH=$tree/build/tests/locale timeout "$2" "$tree/build/tests/$1" </dev/null >"$tree/test.log" 2>&1
}

# The file's own test, those of its folder, then those of the map.
ordered_tests () {
  folder=$(dirname "$1" | tr / -)
  own=$folder-$(basename "$1" .c)_test
  {
    echo "$own"
    # A folder may have none.
    (cd "$tree/build/tests" && ls -d "$folder"-*_test 2>/dev/null) |
      grep -E "^$folder-[a-z0-9_]*_test$" || true
    tests_of "$1"
  } | awk '!seen[$0]++' | while read -r test; do
    [ ! -x "$tree/build/tests/$test" ] || echo "$test"
  done
}

passes () {
  status=0
  if [ "$3" = few ]; then
    WHETSIGHT_FEW_SCENES=1 run_test "$1" "$2" || status=$?
  else
    run_test "$1" "$2" || status=$?
  fi
  [ "$status" -eq 0 ] || [ "$status" -eq 77 ]
}

# How long a test takes while nothing is changed; one that fails then is no judge.  $2: few or all
# scenes.
base_time () {
  [ ! -e "$work/base/$2-$1" ] || return 0
  mkdir -p "$work/base"
  from=$(date +%s)
  if passes "$1" 1200 "$2"; then
    echo $((5 * ($(date +%s) - from) + 20)) >"$work/base/$2-$1"
  else
    echo 0 >"$work/base/$2-$1"
    echo "no judge, it fails as things are: $1, $2" >&2
  fi
}

# ---- One change ---------------------------------------------------------------------------

# Puts the change into $tree; fails when its line isn't there any more.
apply () {
  # Not by -v, in which awk takes backslashes for its own.
  TO=$5 WAS=$7 awk -v at="$2" -v column="$3" -v length_="$4" '
    BEGIN { was = ENVIRON["WAS"]; replacement = ENVIRON["TO"] }
    { line[NR] = $0 }
    END {
      best = 0
      for (i = 1; i <= NR; i++)
        if (line[i] == was && (best == 0 || (i - at) ^ 2 < (best - at) ^ 2))
          best = i
      if (best == 0)
        exit 1
      for (i = 1; i <= NR; i++)
        if (i != best) print line[i]
        else print substr (line[i], 1, column - 1) replacement substr (line[i], column + length_)
    }' "$top/src/$1" >"$tree/changed" && cp "$tree/changed" "$tree/src/$1"
}

# Of the tests on standard input, by few or all scenes.
first_to_fail () {
  while read -r test; do
    limit=$(cat "$work/base/$1-$test")
    if [ "$limit" -gt 0 ] && ! passes "$test" "$limit" "$1"; then
      echo "$test"
      break
    fi
  done
}

judge () {
  apply "$@" || { echo gone; return; }
  verdict=survived
  if ! build; then
    verdict=invalid
  elif cmp -s "$(object_of "$1")" "$tree/object"; then
    verdict=same
  else
    killer=$(ordered_tests "$1" | first_to_fail few)
    [ -n "$killer$quick" ] || killer=$(ordered_tests "$1" | grep '^main_job-' | first_to_fail all)
    [ -z "$killer" ] || verdict="killed $killer"
  fi
  echo "$verdict"
}

restore () {
  cp "$top/src/$1" "$tree/src/$1"
}

# Every jobs-th change from the worker's own number on.
worker () {
  make_tree "$1"
  awk -v me="$1" -v of="$jobs" '(NR - 1) % of == me' "$work/mutants" >"$work/mutants-$1"
  : >>"$work/results-$1"
  last=
  while IFS='	' read -r file at column length to kind was; do
    key=$(printf '%s\t%s\t%s\t%s\t%s\t%s\t%s' "$file" "$at" "$column" "$length" "$to" "$kind" "$was")
    ! grep -qF -- "$key" "$work/results-$1" || continue
    if [ "$file" != "$last" ]; then
      build
      cp "$(object_of "$file")" "$tree/object"
      for test in $(ordered_tests "$file"); do
        base_time "$test" few
        case $test$quick in main_job-*yes) ;; main_job-*) base_time "$test" all ;; esac
      done
      last=$file
    fi
    verdict=$(judge "$file" "$at" "$column" "$length" "$to" "$kind" "$was")
    restore "$file"
    printf '%s\t%s\n' "$verdict" "$key" >>"$work/results-$1"
    echo "$verdict: src/$file:$at: $kind: $(echo "$was" | sed 's/^ *//') -> $to"
  done <"$work/mutants-$1"
}

if [ -n "$again" ]; then
  cp "$again" "$work/mutants"
elif [ ! -s "$work/mutants" ]; then
  draw >"$work/mutants"
fi
workers=
k=0
while [ "$k" -lt "$jobs" ]; do
  worker "$k" &
  workers="$workers $!"
  k=$((k + 1))
done
failed=0
for id in $workers; do
  wait "$id" || failed=1
done

cat "$work"/results-* | awk -F '\t' '$1 == "survived"' | cut -f2- >"$work/survivors"
cat "$work"/results-* | awk -F '\t' -v list="$work/survivors" '
  { split ($1, word, " "); n[word[1]]++ }
  END {
    told = n["killed"] + n["survived"]
    printf "%d changes: %d killed, %d survived, %d invalid, %d the same; killed %.1f %%; %s\n", NR,
           n["killed"], n["survived"], n["invalid"] + n["gone"], n["same"],
           (told > 0 ? 100 * n["killed"] / told : 0), list
  }'
exit "$failed"
