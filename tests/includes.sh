#!/bin/sh
# Checks how the sources hang together:
#   up      an include points to a higher layer, or to another one of the same height
#   circle  modules (a .c and its .h) that include each other, however long the way round
#   loud    a layer that shall be quiet includes what opens files or prints
#   c++     C++ outside src/vision
#   layer   a folder of src, or a public header, that src/layers.txt doesn't name
#   entry   an entry at the top that doesn't belong there
#   long    a source file of more than 600 lines
# src/layers.txt has the layers.  tests/includes.known lists findings that are allowed for now;
# one that has gone must leave that list.
#   tests/includes.sh [ROOT]
set -eu
export LC_ALL=C
cd "${1:-$(dirname "$0")/..}"

most_lines=600
entries="CMakeLists.txt CMakePresets.json DEVELOPERS.md README.md calib docs images include src tests"

work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

# Tracked files where git knows them, so that what builds and editors leave doesn't count.
if [ -e .git ]; then
  git ls-files --cached --others --exclude-standard
else
  find . -type f | sed 's|^\./||'
fi | sort >"$work/all"
while read -r file; do
  [ ! -f "$file" ] || echo "$file"
done <"$work/all" >"$work/files"

cut -d/ -f1 "$work/files" | sort -u | while read -r entry; do
  case " $entries " in
  *" $entry "*) ;;
  *) case $entry in .*) ;; *) echo "entry $entry" ;; esac ;;
  esac
done >"$work/found"

{
  grep -E '\.(cc|cpp|cxx|hh|hpp|hxx)$' "$work/files" | grep -v '^src/vision/' | sed 's/^/c++ /'
  grep -E '\.(c|h|cc|def)$' "$work/files" | while read -r file; do
    [ "$(wc -l <"$file")" -le "$most_lines" ] || echo "long $file"
  done
} >>"$work/found" || true

# "FILE INCLUDED" of the library and the program.  Tests may look at everything.
grep -E '^(src|include)/.*\.(c|h|cc|def)$' "$work/files" |
  grep -vE '(_test\.c|/testing\.h|_for_tests\.h)$' >"$work/sources" || true
while read -r file; do
  echo "file $file"
  sed -nE 's/^ *# *include *[<"]([^>"]+)[>"].*/\1/p' "$file" | sed "s|^|$file |"
done <"$work/sources" >"$work/includes"

awk -v loud='stdio.h glib/gstdio.h fcntl.h unistd.h base/file.h' '
  function layer_of (file,    parts) {
    if (file ~ /^include\/whetsight\//) {
      sub (/^include\/whetsight\//, "", file)
      sub (/\.h$/, "", file)
      return owner[file]
    }
    split (file, parts, "/")
    return parts[2] in height ? parts[2] : ""
  }
  # A public header and the source of its name in its layer are one module.
  function module_of (file,    name) {
    if (file ~ /^include\/whetsight\//) {
      name = file
      sub (/.*\//, "", name)
      sub (/\.h$/, "", name)
      return (owner[name], name) in home ? home[owner[name], name] : "whetsight/" name
    }
    sub (/^src\//, "", file)
    sub (/\.[a-z]+$/, "", file)
    return file
  }
  function reach (from, at,    i) {
    for (i = 1; i <= n_next[at]; i++)
      if (!((from, next_of[at, i]) in reached)) {
        reached[from, next_of[at, i]] = 1
        reach (from, next_of[at, i])
      }
  }
  FILENAME ~ /layers\.txt$/ {
    if ($0 ~ /^#/ || NF < 2)
      next
    height[$2] = $1
    for (i = 3; i <= NF; i++)
      if ($i == "quiet")
        quiet[$2] = 1
      else
        owner[$i] = $2
    next
  }
  $1 == "file" {
    if (layer_of ($2) != "") {
      split ($2, parts, "/")
      name = parts[split ($2, parts, "/")]
      if (parts[1] == "src" && sub (/\.c$/, "", name))
        home[layer_of ($2), name] = module_of ($2)
      files[$2] = 1
    }
    else if ($2 ~ /\//)
      print "layer " $2
    next
  }
  { n_pairs++; from_file[n_pairs] = $1; to_file[n_pairs] = $2 }
  END {
    n_loud = split (loud, words, " ")
    for (i = 1; i <= n_loud; i++)
      is_loud[words[i]] = 1
    for (p = 1; p <= n_pairs; p++) {
      from = layer_of (from_file[p])
      if (from == "")
        continue
      if (from in quiet && to_file[p] in is_loud)
        print "loud " from_file[p] " " to_file[p]
      target = to_file[p] ~ /^whetsight\// ? "include/" to_file[p] : "src/" to_file[p]
      if (!(target in files))
        continue
      to = layer_of (target)
      if (height[to] > height[from] || (height[to] == height[from] && to != from))
        print "up " from_file[p] " " to_file[p]
      a = module_of (from_file[p])
      b = module_of (target)
      if (a != b && !((a, b) in arrow)) {
        arrow[a, b] = 1
        next_of[a, ++n_next[a]] = b
      }
    }
    for (a in n_next)
      reach (a, a)
    # Each circle once, with all modules that reach each other, in the order of their names.
    for (a in n_next)
      if ((a, a) in reached) {
        least = 1
        for (b in n_next)
          if (b < a && ((a, b) in reached) && ((b, a) in reached))
            least = 0
        if (!least)
          continue
        line = ""
        for (b in n_next)
          if (((a, b) in reached) && ((b, a) in reached))
            print "circle " a " " b
      }
  }' src/layers.txt "$work/includes" | sort |
  awk '$1 != "circle" { print; next }
       $2 != first { if (line != "") print line; line = "circle"; first = $2 }
       { line = line " " $3 }
       END { if (line != "") print line }' >>"$work/found"

sort -u "$work/found" -o "$work/found"
grep -vE '^(#|$)' tests/includes.known 2>/dev/null | sort >"$work/known" || true
comm -23 "$work/found" "$work/known" >"$work/new"
comm -13 "$work/found" "$work/known" >"$work/gone"

[ -s "$work/new" ] || [ -s "$work/gone" ] || exit 0
cat "$work/new" >&2
sed 's/$/ (gone: take it off tests\/includes.known)/' "$work/gone" >&2
exit 1
