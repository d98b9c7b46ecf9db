#!/bin/sh
# Checks that what README, DEVELOPERS and docs point to is there: files of the tree that the text
# names, links to files and to their headings, and the pages that comments cite.
#   tests/docs/paths.sh [ROOT]
set -eu
export LC_ALL=C.UTF-8
cd "${1:-$(dirname "$0")/../..}"

work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
find README.md DEVELOPERS.md docs images -name '*.md' | sort >"$work/pages"

# Paths as "PAGE PATH"; those with NAME or the like stand for any.
while read -r page; do
  grep -oE '(^|[^A-Za-z0-9_./-])(src|tests|include|images|calib|docs)/[A-Za-z0-9_./*-]+' "$page" |
    sed -E 's/^[^a-z]//; s/[.,:]+$//' | grep -vE 'NAME|LAYER|MODULE|PRESET|TARGET|TOOL|^images/out' |
    sort -u | sed "s|^|$page |" || true
done <"$work/pages" >"$work/paths"
grep -rhoE 'docs/[a-z/-]+\.md' src include tests --include='*.[ch]' --include='*.cc' |
  sort -u | sed 's|^|comments |' >>"$work/paths"
while read -r page path; do
  # shellcheck disable=SC2086 # paths may be patterns
  ls -d $path >/dev/null 2>&1 || echo "$page: no $path"
done <"$work/paths" >"$work/wrong"

# Headings as links name them: small letters, no punctuation but - and _, spaces to -.
headings () {
  grep -E '^#+ ' "$1" | sed -E 's/^#+ //; s/`//g' | tr 'A-Z' 'a-z' |
    sed -E "s/[^[:alnum:] _-]//g; s/ /-/g"
}
while read -r page; do
  # A link may stand on two lines.
  tr '\n' ' ' <"$page" | grep -oE '\]\([^) ]+\)' | sed -E 's/^\]\(//; s/\)$//' |
    grep -vE '^[a-z]+:' | sort -u | while read -r link; do
    file=$page
    case $link in '#'*) ;; *) file=$(dirname "$page")/${link%%#*} ;; esac
    [ -e "$file" ] || { echo "$page: no $link"; continue; }
    case $link in *'#'*) headings "$file" | grep -qxF -- "${link#*#}" || echo "$page: no heading $link" ;; esac
  done
done <"$work/pages" >>"$work/wrong"

cat "$work/wrong"
[ ! -s "$work/wrong" ]
