#!/bin/sh
# Installs what is missing, builds, and runs every test:
#   tests/run.sh           all parts, cheap ones first
#   tests/run.sh quick     optimised build and its tests only
#   tests/run.sh PART...   some of: format includes cppcheck tidy release clang asan fuzz package
# "package" makes a bare system to install into, so it runs only when asked for.
# "clang" is another compiler's build, with sanitizers, that tells the coverage; "asan", gcc's with
# sanitizers, runs only when asked for.  In both, tests that render scenes take fewer of them.
# The last line counts tests over all parts; a check is one test.
set -u
cd "$(dirname "$0")/.."

case "${1-all}" in
quick) set -- release ;;
all) set -- format includes cppcheck release tidy clang fuzz ;;
esac

# What each part needs beyond building: at once, or only when something was built.
first='' later=''
for part in "$@"; do
  case $part in
  includes) ;;
  format | cppcheck) first="$first $part" ;;
  tidy) later="$later build-tests tidy" ;;
  release) first="$first build-tests" later="$later tests browser" ;;
  asan) first="$first build-tests" later="$later tests" ;;
  fuzz) later="$later fuzz" ;;
  package) later="$later package" ;;
  clang) later="$later build-tests tests clang coverage" ;;
  *)
    echo "usage: tests/run.sh [quick | PART...]; parts are listed at its head" >&2
    exit 64
    ;;
  esac
done

# Installs what is needed later while the first parts run; who can't install without being asked gets all
# of it told in one list.
installing=
install() {
  # The words are meant to be split.
  # shellcheck disable=SC2086
  if [ "$(id -u)" -eq 0 ]; then
    tests/setup.sh $first && { tests/setup.sh $later & } && installing=$!
  else
    tests/setup.sh $first $later
  fi
}

# To be called before what is needed later is.
installed() {
  if [ -n "$installing" ] && ! wait "$installing"; then
    echo "tests/run.sh: what tests need couldn't be installed" >&2
    exit 1
  fi
  installing=
}
install || exit

passed=0 failed=0 skipped=0
# What failed, a line each, told again at the end, where a cut log still has it.
failures=

# fail WHAT: one test that failed.
fail() {
  failed=$((failed + 1))
  failures="${failures}failed: $*
"
  echo "failed: $*"
}

# Adds up what ctest wrote of a run.
count_tests() {
  counts=$(sed -n '/<testsuite /,/>/p' "$1" | tr '\n' ' ' | awk '
    function value (name) {
      return match ($0, name "=\"[0-9]+\"") ? \
        substr ($0, RSTART + length (name) + 2, RLENGTH - length (name) - 3) : 0
    }
    { print value("tests"), value("failures"), value("skipped") + value("disabled") }')
  # Three numbers.
  # shellcheck disable=SC2086
  set -- $counts
  passed=$((passed + $1 - $2 - $3)) failed=$((failed + $2)) skipped=$((skipped + $3))
}

# tell_failed PART RESULTS: names the failed tests of a run of ctest.
tell_failed() {
  names=$(sed -n 's/.*<testcase name="\([^"]*\)".* status="fail".*/failed: '"$1"' \1/p' "$2")
  if [ -n "$names" ]; then
    failures="$failures$names
"
  fi
}

# check COMMAND...: one test.  Status 77 is "can't run here".
check() {
  status=0
  "$@" || status=$?
  case $status in
  0) passed=$((passed + 1)) ;;
  77) skipped=$((skipped + 1)) ;;
  *)
    fail "$@"
    ;;
  esac
}

# ended NAME PROCESS: the status of what was begun in the background.
ended() {
  wait "$2"
}

# Compiling again what another run compiled is left to ccache where there is one; it doesn't know
# headers that were read in advance.
launcher=
if command -v ccache >/dev/null; then
  launcher="-DCMAKE_C_COMPILER_LAUNCHER=ccache -DCMAKE_CXX_COMPILER_LAUNCHER=ccache -DWS_PCH=OFF"
fi

configure() {
  # shellcheck disable=SC2086
  cmake --preset "$1" -Wno-dev $launcher >/dev/null
}

# build PRESET [OPTION...]
build() {
  preset=$1
  shift
  configure "$preset" && cmake --build --preset "$preset" "$@"
}

# build_and_test PRESET
build_and_test() {
  results=$PWD/build/$1/results.xml
  rm -f "$results"
  if ! build "$1"; then
    fail "build of $1"
    return
  fi
  installed
  # One more at once than there are processors: some wait for cameras and for time.  With
  # instruments accuracy against references isn't asked again.
  case $1 in
  asan | clang) ctest --preset "$1" -j $(($(nproc) + 1)) -E '-references$' --output-junit "$results" ;;
  *) ctest --preset "$1" -j $(($(nproc) + 1)) --output-junit "$results" ;;
  esac || true
  if [ -s "$results" ]; then
    count_tests "$results"
    tell_failed "$1" "$results"
  else
    fail "ctest of $1"
  fi
}

# Seconds of processor time, user and system, of all that ran so far.  A pipe would be a shell of
# its own, with nothing run in it.
spent() {
  times >"$clock"
  sed -n 2p "$clock" | tr 'ms' '  ' | awk '{ printf "%.0f\n", 60 * $1 + $2 + 60 * $3 + $4 }'
}

run_part() {
  case $1 in
  format | includes | cppcheck | release | asan) ;;
  *) installed ;;
  esac
  case $1 in
  format) check tests/format.sh ;;
  includes) check tests/includes.sh ;;
  cppcheck) check tests/cppcheck.sh ;;
  tidy)
    configure tidy
    check tests/tidy.sh
    ;;
  release) build_and_test release ;;
  clang)
    # Counts of another state of the sources would be added to.
    if [ -d build/clang ]; then
      find build/clang -name '*.gcda' -delete
    fi
    build_and_test clang
    check tests/coverage.sh
    ;;
  asan) build_and_test asan ;;
  fuzz)
    if build fuzz --target fuzz_targets; then
      # Two and a half minutes for all of them, two at a time, so that everything takes less than
      # thirty.
      set -- tests/fuzz/*.c
      seconds=$((150 / $#))
      while [ $# -gt 0 ]; do
        first=$(basename "$1" .c) second=$(basename "${2:-}" .c)
        tests/fuzz.sh "$first" $seconds &
        running=$!
        if [ -n "$second" ]; then
          check tests/fuzz.sh "$second" $seconds
          shift
        fi
        check ended "$first" $running
        shift
      done
    else
      fail "build of fuzz"
    fi
    ;;
  package) check tests/package.sh ;;
  esac
}

clock=$(mktemp)
trap 'rm -f "$clock" "$clock.before" "$clock.after"' EXIT
table=
parts=$*
for part in "$@"; do
  echo "== $part"
  case $part in
  asan | clang) export WHETSIGHT_FEW_SCENES=1 ;;
  *) unset WHETSIGHT_FEW_SCENES ;;
  esac
  wall=$(date +%s)
  spent >"$clock.before"
  run_part "$part"
  spent >"$clock.after"
  table="$table$(printf '%-10s %5d s, processor %5d s' "$part" $(($(date +%s) - wall)) \
    $(($(cat "$clock.after") - $(cat "$clock.before"))))
"
done

# Builds by other compilers, and with sanitizers, measure the same.
set --
for part in $parts; do
  case $part in
  release | clang | asan) set -- "$@" "build/$part/src/whetsight" ;;
  esac
done
if [ $# -gt 1 ]; then
  check tests/same_record.sh "$@"
fi

printf '%s' "$failures" "$table"
echo "$passed passed, $failed failed, $skipped skipped"
[ "$failed" -eq 0 ]
