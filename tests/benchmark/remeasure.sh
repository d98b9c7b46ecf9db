#!/bin/sh
# How much faster two slots of Slurm measure an archive again than one, and whether both leave the same results.
# Twenty rendered drills, each N/20 times.  Run by hand, on a computer that does nothing else:
#   tests/benchmark/remeasure.sh PROGRAM SCENE [N]      N pictures, 2000 by default
set -eu
program=$(realpath "$1")
scene=$(realpath "$2")
n=${3:-2000}
cd "$(dirname "$0")/../.."
work=$(mktemp -d)
chmod 755 "$work"
# shellcheck source=tests/plant/slurm.inc.sh
. tests/plant/slurm.inc.sh
trap 'stop_slurm; rm -rf "$work"' EXIT
trap 'exit 1' INT TERM
start_slurm

mkdir "$work/cards" "$work/bin" "$work/pictures"
ln -s "$program" "$work/bin/whetsight"
cp images/QT-D-0118.tool "$work/cards"
awk '/^#!\/bin\/sh/ && fenced { inside = 1 } /^```/ { fenced = 1; if (inside) exit } inside' docs/plant.md \
  >"$work/remeasure.sbatch"
seq 20 | xargs -P 2 -I '{}' "$scene" random --mode good --seed '{}' --out "$work/pictures/{}.png" >"$work/truth" 2>&1
set --
for i in $(seq "$n"); do set -- "$@" "$work/pictures/$((i % 20 + 1)).png"; done
"$program" measure --json --tool images/QT-D-0118.tool --scale 0.0142302632 --archive "$work/shop" "$@" \
  >/dev/null 2>"$work/measured.log" || true
tail -n 1 "$work/measured.log"

cd "$work"
for slots in 1 2; do
  begun=$(date +%s.%N)
  job=$(PATH=$work/bin:$PATH ARCHIVE=$work/shop CARDS=$work/cards REASON="with $slots" \
    sbatch --parsable --array="1-16%$slots" remeasure.sbatch)
  while [ -n "$(squeue -h -j "$job" 2>/dev/null)" ]; do sleep 0.2; done
  ended=$(date +%s.%N)
  done=$("$program" archive compare shop --json --reason "with $slots" |
    sed -E 's/.*"measured_again":([0-9]+).*/\1/')
  echo "$slots $begun $ended $done" |
    awk '{ s = $3 - $2; printf "%d at a time: %d pictures in %.1f s, %.1f a second\n", $1, $4, s, $4 / s }'
  eval "took_$slots=\$(echo $begun $ended | awk '{ print \$2 - \$1 }')"
done
# shellcheck disable=SC2154
echo "$took_1 $took_2" | awk '{ printf "two slots are %.2f times as fast as one\n", $1 / $2 }'
for slots in 1 2; do
  "$program" archive list shop --json | grep -F "\"text\": \"with $slots\"" |
    sed -E 's/^.*"about": "([^"]*)".*"result": (\{.*\})\}$/\1 \2/; s/"id":"[^"]*","time":"[^"]*",//' | sort >"results-$slots"
done
cmp results-1 results-2 && echo "the same results, byte by byte: $(wc -l <results-1)"
uptime
