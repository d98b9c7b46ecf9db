#!/bin/sh
# The plant on PostgreSQL, with a server of its own in a temporary folder on a socket:
#
#   tests/benchmark/plant.sh benches [BENCHES [SECONDS [PAUSE_MS]]]   40 benches write at once, 60 s, 1000 ms
#   tests/benchmark/plant.sh week [ROWS]                              a bench sends 100000 inspections
#   tests/benchmark/plant.sh queries [ROWS]                           how long 10000000 inspections take to ask
#
# PROGRAM and BENCHMARK name the builds, those of build/release by default; WHETSIGHT_PLANT a folder on the
# disk that is meant.
set -eu
cd "$(dirname "$0")/../.."
program=${PROGRAM:-$PWD/build/release/src/whetsight}
benchmark=${BENCHMARK:-$PWD/build/release/tests/benchmark-plant}
bin=/usr/lib/postgresql/15/bin
work=$(mktemp -d "${WHETSIGHT_PLANT:-/tmp}/whetsight-plant-XXXXXX")
server=

finish() {
  [ -z "$server" ] || kill -QUIT "$server" 2>/dev/null || true
  [ -z "$server" ] || wait "$server" || true
  rm -rf "$work"
}
trap finish EXIT
trap 'exit 1' INT TERM

# The server refuses to run as root.
as_other() {
  if [ "$(id -u)" = 0 ]; then
    setpriv --reuid=postgres --clear-groups "$@"
  else
    "$@"
  fi
}

[ "$(id -u)" != 0 ] || chown postgres "$work"
as_other "$bin/initdb" --auth=trust --username=plant --encoding=UTF8 --locale=C -D "$work/data" >"$work/log"
setpriv_call=
[ "$(id -u)" != 0 ] || setpriv_call="setpriv --reuid=postgres --clear-groups"
# shellcheck disable=SC2086
$setpriv_call "$bin/postgres" -D "$work/data" -k "$work" -c listen_addresses= -c max_connections=200 \
  -c shared_buffers=1GB -c max_wal_size=8GB ${SETTINGS:-} >>"$work/log" 2>&1 &
server=$!
address="postgresql://plant@/postgres?host=$work"
until "$bin/pg_isready" -q -d "$address"; do sleep 0.1; done
"$program" archive make "$address" --pictures "$work/pictures"

ask() {
  "$bin/psql" -XAtq -v ON_ERROR_STOP=1 "$address" "$@"
}

what=${1:-}
[ $# = 0 ] || shift
case $what in
  benches) "$benchmark" benches "$address" "${1:-40}" "${2:-60}" "${3:-1000}" ;;
  week) "$benchmark" week "$address" "$server" "$program" "${1:-100000}" ;;
  queries) . tests/benchmark/plant_queries.sh ;;
  *)
    sed -n '2,9s/^# \{0,1\}//p' "$0" >&2
    exit 64
    ;;
esac
