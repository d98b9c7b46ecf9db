#!/bin/sh
# Writes manual pages and completions for shells from what the program's --help says:
#   pages.sh PROGRAM FOLDER
# makes whetsight.1, whetsight-VERB.1, whetsight.bash, whetsight.zsh and whetsight.fish in FOLDER.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
program=$1 out=$2
# Help holds characters beyond ASCII.
export LC_ALL=C.UTF-8 LANGUAGE=C

# The names in a list of help, under "Verbs:", "Methods:" or "Commands:".
names() {
  awk '/^(Verbs|Methods|Commands):$/ { inside = 1; next }
       /^$/ { inside = 0 }
       inside { print $1 }'
}

work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

# Everything that help says, each text under a line "@ VERB METHOD", and the views behind "@@".
{
  echo "@"
  "$program" --help
  for verb in $("$program" --help | names); do
    "$program" "$verb" --help >"$work/verb"
    echo "@ $verb"
    cat "$work/verb"
    for method in $(names <"$work/verb"); do
      echo "@ $verb $method"
      "$program" "$verb" "$method" --help
    done
  done
  echo "@@"
  "$program" views
} >"$work/help"

version=$("$program" --version)
mkdir -p "$out"
rm -f "$out"/whetsight*.1
awk -v out="$out" -v version="$version" -f "$here/help.awk" -f "$here/man.awk" "$work/help"
for shell in bash zsh fish; do
  awk -f "$here/help.awk" -f "$here/$shell.awk" "$work/help" >"$out/whetsight.$shell"
done
