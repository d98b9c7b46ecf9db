#!/bin/sh
# A program that was built without the bench page's libraries says so, makes nothing, and does the
# rest: tests/bench/without.sh PROGRAM
set -eu
program=$(realpath "$1")
images=$(cd "$(dirname "$0")/../../images" && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$work"

# says OPTION...: `serve` with them ends with status 64 and names what is missing.
says() {
  status=0
  "$program" serve "$@" >out 2>err || status=$?
  if [ "$status" -ne 64 ] || ! grep -q 'built without libmicrohttpd' err || [ -s out ]; then
    echo "serve $*: status $status" >&2
    cat out err >&2
    exit 1
  fi
}

says --demo --demo-pictures "$images"
says --archive shop --cards cards
says --archive shop --cards cards --lan
if [ -e shop ] || [ -e cards ]; then
  echo "folders were made" >&2
  exit 1
fi
"$program" measure --tool "$images/QT-D-0118.tool" --scale 0.01423 "$images/good-118.png" >out
grep -q 'point angle\|Point angle' out
