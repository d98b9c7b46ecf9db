#!/bin/sh
# A program that was built without libcurl says so where it would send, and does the rest:
# tests/archive/without_curl.sh PROGRAM
set -eu
program=$(realpath "$1")
images=$(cd "$(dirname "$0")/../../images" && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$work"

measure() {
  "$program" measure --archive shop --tool "$images/QT-D-0118.tool" --scale 0.01423 "$@" \
    "$images/good-118.png" >out 2>err
}

# says COMMAND...: it ends with status 64 and names what is missing, in one line.
says() {
  status=0
  "$program" "$@" >out 2>err || status=$?
  if [ "$status" -ne 64 ] || ! grep -q 'built without libcurl' err || [ "$(wc -l <err)" -ne 1 ]; then
    echo "$*: status $status" >&2
    cat out err >&2
    exit 1
  fi
}

measure
printf '[feed]\narchive = shop\n[agent]\nurl = http://127.0.0.1:9\n' >agent.feed
says feed agent.feed

printf '[feed]\narchive = shop\n[drop]\nfolder = drops\n' >drop.feed
mkdir drops
"$program" feed drop.feed >out
grep -q '1 files sent' out

printf '[default]\naws_access_key_id = A\naws_secret_access_key = B\n' >keys
chmod 600 keys
printf '[pictures]\nstore = https://store.local/pictures\nkeys = %s/keys\n' "$work" >store.conf
says archive pictures shop --move-to store.conf
[ ! -e shop/pictures.conf ]
