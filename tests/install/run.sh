#!/bin/sh
# Installs a build into a folder of its own and compiles, links and runs the example against what is
# installed there: by pkg-config and by CMake's find_package(), shared and static.  Each must calibrate
# and measure as the program does.
#   tests/install/run.sh BUILD [INSTRUMENTED]
set -eu
export LC_ALL=C
here=$(cd "$(dirname "$0")" && pwd)
root=$(cd "$here/../.." && pwd)
build=$1

if [ -n "${2:-}" ]; then
  echo "SKIP: a build for tests ($2) isn't for others to link against"
  exit 77
fi

work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cmake --install "$build" --prefix "$work/prefix" >"$work/log" || { cat "$work/log" >&2; exit 1; }
pc=$(find "$work/prefix" -name whetsight.pc)
export PKG_CONFIG_PATH="${pc%/*}"
libraries=$(pkg-config --variable=libdir whetsight)
flags=$(pkg-config --cflags whetsight)

# One picture of the demo with its card and its scale.
line=$(grep '^good-118.png,' "$root/images/shots.csv")
card=$(echo "$line" | cut -d, -f2)
scale=$(echo "$line" | cut -d, -f4)
"$work/prefix/bin/whetsight" measure --json --tool "$root/images/$card" --scale "$scale" \
  "$root/images/good-118.png" >"$work/record" || [ $? -le 2 ]
sed -nE 's/.*"point_angle_deg":\{"value":([0-9.]+),"U":([0-9.]+).*/\1 \2/p' "$work/record" |
  { read -r value U && printf 'point angle %.3f U %.3f\n' "$value" "$U"; } >"$work/expected"
"$work/prefix/bin/whetsight" calibrate pin --json --shots "$root/calib/pins.csv" \
  --out "$work/program.calib" >"$work/summary"
sed -nE 's/.*"mm_per_px":([0-9.]+),"U_mm_per_px":([0-9.e-]+).*/\1 \2/p' "$work/summary" |
  { read -r value U && printf 'scale %.7f U %.7f\n' "$value" "$U"; } >>"$work/expected"
echo "version $("$work/prefix/bin/whetsight" --version | cut -d' ' -f2)" >>"$work/expected"
echo "archive open" >>"$work/expected"
sort "$work/expected" -o "$work/expected"

# try NAME PROGRAM: runs it and holds what it says against what the program says.
try() {
  "$2" "$root/calib/pins.csv" "$work/$1.calib" "$root/images/$card" "$scale" \
    "$root/images/good-118.png" "$work/$1.archive" 2>"$work/steps" | sort >"$work/said"
  diff "$work/expected" "$work/said" >&2 || { echo "$1 says something else" >&2; exit 1; }
  [ "$(wc -l <"$work/steps")" -eq 6 ] || { cat "$work/steps" >&2; exit 1; }
  echo "ok: $1"
}

cc=${CC:-cc}
# shellcheck disable=SC2046,SC2086
$cc -std=c11 -Wall -Wextra -Werror "$here/example.c" -o "$work/shared" $flags \
  $(pkg-config --libs whetsight) -Wl,-rpath,"$libraries"
try "pkg-config, shared" "$work/shared"
# The static library by its name, since the linker would take the shared one.
# shellcheck disable=SC2046,SC2086
$cc -std=c11 -Wall -Wextra -Werror "$here/example.c" -o "$work/static" $flags \
  $(pkg-config --static --libs whetsight | sed 's/-lwhetsight/-l:libwhetsight.a/')
if ldd "$work/static" | grep -q libwhetsight; then
  echo "the static example needs the shared library" >&2
  exit 1
fi
try "pkg-config, static" "$work/static"

cmake -S "$here" -B "$work/cmake" -DCMAKE_PREFIX_PATH="$work/prefix" -DCMAKE_C_COMPILER="$cc" \
  >"$work/log" 2>&1 && cmake --build "$work/cmake" >>"$work/log" 2>&1 ||
  { cat "$work/log" >&2; exit 1; }
try "CMake, shared" "$work/cmake/example-shared"
try "CMake, static" "$work/cmake/example-static"

# A module that is missing is told; nothing ends without a word.
# without MODULE ARGUMENT…: runs the program without that module.
without() {
  mkdir "$work/hidden"
  mv "$libraries/libwhetsight-$1".* "$work/hidden"
  status=0
  module=$1
  shift
  timeout 60 "$work/prefix/bin/whetsight" "$@" >"$work/out" 2>&1 || status=$?
  mv "$work/hidden"/* "$libraries"
  rmdir "$work/hidden"
  if [ "$status" -ne 70 ] || ! grep -q "can't open libwhetsight-$module.so.*install Whetsight again" "$work/out"
  then
    cat "$work/out" >&2
    echo "without the module $module: status $status" >&2
    exit 1
  fi
  echo "ok: without $module"
}

archive=$work/kept
"$work/prefix/bin/whetsight" measure --tool "$root/images/$card" --scale "$scale" --archive "$archive" \
  "$root/images/good-118.png" >"$work/log" || [ $? -le 2 ]
without cairo measure --tool "$root/images/$card" --out "$work/drawn" "$root/images/good-118.png"
without sqlite archive list "$archive"
without xml archive export "$archive" --format qif
without xml archive export "$archive" --format mtconnect
