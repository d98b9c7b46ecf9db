#!/bin/sh
# Runs what images/README.md tells a newcomer to type, word for word, in a folder with the pictures
# that it names, and what README.md says of a picture of one's own with one of them in its place.
#   tests/docs/first_verdict.sh WHETSIGHT
set -eu
program=$1
root=$(cd "$(dirname "$0")/../.." && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
mkdir "$work/bin" "$work/first" "$work/own"
ln -s "$(realpath "$program")" "$work/bin/whetsight"
PATH=$work/bin:$PATH
XDG_CONFIG_HOME=$work
export PATH XDG_CONFIG_HOME

# The lines that begin with the program's name, less what is a comment there.
commands ()
{
  sed -n 's/  *#.*//; /^whetsight /p' "$1"
}

cd "$work/first"
cp "$root"/images/*.png .
commands "$root/images/README.md" >run.sh
[ "$(wc -l <run.sh)" -ge 2 ]
sh -eux run.sh
[ -s results/good-118.annotated.png ]
[ -s results/good-118.record.json ]

cd "$work/own"
cp "$root/images/good-118.png" photo.jpg # the content tells the format
sed '/^## Your own tool/,/^## /!d' "$root/README.md" | sed '1n; /^## /,$d' >section
commands section >run.sh
[ "$(wc -l <run.sh)" -ge 2 ]
sh -eux run.sh
[ -s results/photo.annotated.png ]
