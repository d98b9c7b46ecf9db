#!/bin/sh
# What each constant of constants.txt does to the results when it is a fifth less and a fifth more:
# changes it in a copy of the tree, builds library and program, measures scenes with known truth
# and says what differs.  Writes the tables of docs/methods/constants.md to standard output.
#
#   tests/sensitivity/run.sh [NAME...]        all constants, or those of these names or files
#   tests/sensitivity/run.sh --check          only holds list, code and the page's values together
#
# FOLDER (default build/sensitivity) keeps copy, scenes and rows: what is there isn't done again.
set -eu
cd "$(dirname "$0")/../.."
list=$PWD/tests/sensitivity/constants.txt
folder=${FOLDER:-$PWD/build/sensitivity}
tree=$folder/tree
scenes=$folder/scenes
bin=$tree/build/release
trial=$bin/tests/benchmark-sensitivity

# The tree as it is, without what was built; built once.
prepare () {
  mkdir -p "$scenes" "$folder/rows"
  [ -d "$tree" ] || { mkdir "$tree" && git ls-files -z | xargs -0 cp --parents -t "$tree"; }
  (cd "$tree" && cmake --preset release -Wno-dev >/dev/null &&
    cmake --build --preset release --target whetsight-program benchmark-sensitivity) >&2
}

# Measures set $1 with the program as it is.
measure () {
  WHETSIGHT=$bin/src/whetsight "$trial" measure "$scenes" "$1"
}

# Scenes of set $1, and the results before anything is changed.
render () {
  [ -s "$scenes/$1.base" ] && return
  "$trial" render "$scenes" "$1"
  measure "$1" >"$scenes/$1.base"
}

# Line and value of constant $2 in file $1: "LINE VALUE".
find_constant () {
  awk -v what="$2" '
    BEGIN {
      open = index (what, "{"); shut = index (what, "}")
      before = substr (what, 1, open - 1); after = substr (what, shut + 1)
      number = substr (what, open + 1, shut - open - 1)
    }
    open == 0 && $1 == "#define" && $2 == what { print NR, $3; n++ }
    open > 0 && index ($0, before number after) { print NR, number; n++ }
    END { exit n == 1 ? 0 : 1 }' "$1" || { echo "$1 doesn't hold $2 once" >&2; exit 1; }
}

# $1 times $2, whole or broken as $1 is.
scaled () {
  awk -v x="$1" -v f="$2" 'BEGIN {
    y = x * f
    if (x ~ /[.e]/) { s = sprintf ("%.10g", y); print s ~ /[.e]/ ? s : s ".0" }
    else printf "%d\n", y + (y < 0 ? -0.5 : 0.5) }'
}

# Puts $4 for $3, the number of constant $5, on line $2 of file $1.
replace () {
  awk -v line="$2" -v old="$3" -v new="$4" -v what="$5" '
    NR != line { print; next }
    {
      open = index (what, "{")
      before = open > 0 ? substr (what, 1, open - 1) : "#define " what
      at = index ($0, before) + length (before)
      rest = substr ($0, at); i = index (rest, old)
      print substr ($0, 1, at - 1) substr (rest, 1, i - 1) new substr (rest, i + length (old))
    }' "$1" >"$1.new" && mv "$1.new" "$1"
}

build () {
  (cd "$tree" && cmake --build --preset release --target whetsight-program) >"$folder/build.log" 2>&1
}

# What the sets $1 say of the program as it is now.
differences () {
  text=
  for set in $1; do
    measure "$set" >"$scenes/$set.changed"
    one=$("$trial" compare "$scenes/$set.base" "$scenes/$set.changed")
    [ "$one" = "no change" ] || text="$text${text:+; }*$set* $one"
  done
  echo "${text:-no change}"
}

# The row of constant $2 in file $1: unit $3, sets $4, meaning $5, set from $6.
row () {
  at=$(find_constant "$tree/$1" "$2")
  line=${at% *} value=${at#* }
  [ "$3" = 1 ] && unit_= || unit_=" $3"
  printf '| `%s` | %s%s | %s | %s |' "$(printf '%s' "$2" | tr -d '{}')" "$value" "$unit_" "$5" "$6"
  cp -p "$tree/$1" "$folder/kept.c"
  for factor in 0.8 1.2; do
    new=$(scaled "$value" "$factor")
    replace "$tree/$1" "$line" "$value" "$new" "$2"
    if build; then printf ' %s: %s |' "$new" "$(differences "$4")"; else printf ' does not build |'; fi
    cp "$folder/kept.c" "$tree/$1"
  done
  echo
}

# Is constant $2 of file $1 among the names that follow, or are there none?
wanted () {
  [ $# = 2 ] && return
  file_=$1 name_=$2
  shift 2
  for one in "$@"; do
    [ "$one" = "$file_" ] || [ "$one" = "$name_" ] && return
  done
  return 1
}

# Is the constant there, with the value that the page has?
check () {
  at=$(find_constant "$1" "$2") || return 1
  row_="| \`$(printf '%s' "$2" | tr -d '{}')\` | ${at#* }"
  grep -qF -- "$row_" docs/methods/constants.md || { echo "constants.md: no $row_, as in $1"; return 1; }
}

if [ "${1-}" = --check ]; then
  wrong=0
  while IFS='|' read -r file name unit sets meaning from; do
    case $file in '' | '#'*) continue ;; esac
    check "$file" "$name" || wrong=1
  done <"$list"
  exit $wrong
fi

prepare
for set in side turned lit near graded trap distance plan blade form face end tip relief; do
  render "$set"
done
last=
while IFS='|' read -r file name unit sets meaning from; do
  case $file in '') continue ;; '# '*) last=; echo; echo "## ${file#\# }"; continue ;; '#'*) continue ;; esac
  wanted "$file" "$name" "$@" || continue
  kept=$folder/rows/$(printf '%s' "$file.$name" | tr -c 'A-Za-z0-9' _)
  if [ ! -s "$kept" ]; then
    row "$file" "$name" "$unit" "$sets" "$meaning" "$from" >"$kept.new" </dev/null
    mv "$kept.new" "$kept"
  fi
  if [ "$file" != "$last" ]; then
    printf '\n`%s`\n\n' "$file"
    echo '| constant | value | what it is | set from | a fifth less | a fifth more |'
    echo '| --- | --- | --- | --- | --- | --- |'
    last=$file
  fi
  cat "$kept"
done <"$list"
