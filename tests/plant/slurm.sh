#!/bin/sh
# Measures an archive again as a Slurm job array, by the script of docs/plant.md: two shards at a time, one
# killed while it runs and queued again.  Each result is there once, and as measure gave it.
#   tests/plant/slurm.sh PROGRAM
set -eu
program=$(realpath "$1")
cd "$(dirname "$0")/../.."
root=$PWD
work=$(mktemp -d)
chmod 755 "$work"
# shellcheck source=tests/plant/slurm.inc.sh
. tests/plant/slurm.inc.sh
trap 'stop_slurm; rm -rf "$work"' EXIT
trap 'exit 1' INT TERM

n=20

fail() {
  echo "slurm.sh: $*" >&2
  tail -n 5 "$work"/*.log >&2 2>/dev/null || true
  exit 1
}

# The script as the page has it.
script_of() {
  awk '/^#!\/bin\/sh/ && fenced { inside = 1 } /^```/ { fenced = 1; if (inside) exit } inside' "$1"
}

# Results beside inspections, however far it is.
results() {
  "$program" archive list "$work/shop" --json 2>/dev/null | grep -c measured-again || true
}

# wait_until WORDS COMMAND…: until the command succeeds, 30 s at least.
wait_until() {
  what=$1
  shift
  for _ in $(seq 300); do
    if "$@"; then return 0; fi
    sleep 0.1
  done
  fail "never: $what"
}

two_run() { [ "$(squeue -h -t RUNNING -j "$job" 2>/dev/null | wc -l)" = 2 ]; }
some_are_there() { [ "$(results)" -ge 3 ]; }
none_is_left() { [ -z "$(squeue -h -j "$job" 2>/dev/null)" ]; }

# Inspection and result, a line each, without what tells one run from another.
same_records() {
  "$program" archive list "$work/shop" --json |
    sed -E 's/^.*"result": (\{.*\})\}$/\1/; s/"id":"[^"]*","time":"[^"]*",//' | sort | uniq -c
}

status=0
start_slurm || status=$?
[ $status = 0 ] || exit $status

mkdir "$work/cards" "$work/bin"
cp images/QT-D-0118.tool "$work/cards"
ln -s "$program" "$work/bin/whetsight"
script_of docs/plant.md >"$work/remeasure.sbatch"
[ -s "$work/remeasure.sbatch" ] || fail "docs/plant.md has no script"

set --
for _ in $(seq $n); do set -- "$@" "$root/images/good-118.png"; done
"$program" measure --json --tool images/QT-D-0118.tool --scale 0.0142302632 --archive "$work/shop" "$@" \
  >"$work/measured.log" 2>&1 || fail "the pictures can't be measured"

cd "$work"
job=$(PATH=$work/bin:$PATH ARCHIVE=$work/shop CARDS=$work/cards REASON="by Slurm" \
  sbatch --parsable --array=1-2 remeasure.sbatch)
wait_until "two shards at a time" two_run
wait_until "three results" some_are_there
scontrol requeue "${job}_1" || fail "shard 1 can't be queued again"
# Else Slurm waits for as long as a proof of who somebody is holds.
scontrol update "JobId=${job}_1" StartTime=now 2>/dev/null || true
wait_until "an end" none_is_left

scontrol show job "${job}_1" | grep -q 'Restarts=1' || fail "shard 1 wasn't queued again"
grep -E '^[1-9][0-9]* measured again, [0-9]+ were already' remeasure-1.log >/dev/null ||
  fail "shard 1 didn't go on where it was"
# Queued again it is still one of two.
own=$(sed -nE 's/^([0-9]+) measured again, ([0-9]+) were already.*/\1 \2/p' remeasure-1.log | tail -n 1)
[ $((${own% *} + ${own#* })) -lt $n ] || fail "shard 1 took all for its own: $own"
[ "$(results)" = $n ] || fail "$(results) results of $n"
[ "$(same_records | wc -l)" = 1 ] || fail "results aren't what measure gave"
"$program" archive verify shop >/dev/null || fail "the archive isn't whole"
"$program" archive compare shop --reason "by Slurm" >/dev/null || fail "verdicts changed"
echo "two shards at a time, one queued again: $n results"
