#!/bin/sh
# Fuzzes one target from its kept corpus, tests/fuzz/corpus/TARGET/, and says how far it reached.
# Words that its parser knows stand in tests/fuzz/TARGET.dict.  A find is a failure and stays in
# build/fuzz/finds/TARGET/.  Needs the fuzz build.
#   tests/fuzz.sh TARGET [SECONDS]     60 seconds unless told
#   tests/fuzz.sh --merge TARGET DIR…  takes from DIR what reaches further into the kept corpus,
#                                      and drops from it what no longer adds anything
set -eu
cd "$(dirname "$0")/.."

most_bytes=15000

if [ "$1" = --merge ]; then
  target=$2
  shift 2
  kept=tests/fuzz/corpus/$target
  fresh=$(mktemp -d)
  trap 'rm -rf "$fresh"' EXIT
  # Edges alone, not how often each is met, so that what is kept stays small.
  build/fuzz/tests/"$target" -set_cover_merge=1 -use_counters=0 -max_len="$most_bytes" "$fresh" \
    "$kept" "$@"
  rm -rf "$kept"
  mkdir -p "$kept"
  cp "$fresh"/* "$kept"/
  exit
fi

target=$1 seconds=${2:-60}
finds=build/fuzz/finds/$target
corpus=build/fuzz/corpus/$target
log=build/fuzz/$target.log
mkdir -p "$finds" "$corpus"
# Folders that targets make are in memory where that can be had.
scratch=$(mktemp -d -p /dev/shm 2>/dev/null || mktemp -d)
trap 'rm -rf "$scratch"' EXIT
export TMPDIR="$scratch"
words=
if [ -f "tests/fuzz/$target.dict" ]; then
  words=-dict=tests/fuzz/$target.dict
fi

# What it writes goes to a folder of the build; the kept corpus only seeds.  Two jobs wouldn't
# share what they find before they end, so it is one.
status=0
# Empty when there is no dictionary.
# shellcheck disable=SC2086
build/fuzz/tests/"$target" -max_total_time="$seconds" -max_len="$most_bytes" -timeout=20 $words \
  -rss_limit_mb=2048 -print_final_stats=1 -artifact_prefix="$finds/" \
  "$corpus" "tests/fuzz/corpus/$target" >"$log" 2>&1 || status=$?
if [ "$status" -ne 0 ]; then
  tail -n 60 "$log" >&2
  exit "$status"
fi
awk -v target="$target" '
  /INITED/ { for (i = 1; i < NF; i++) if ($i == "cov:") from = $(i + 1) }
  / cov: / { for (i = 1; i < NF; i++) if ($i == "cov:") to = $(i + 1) }
  /stat::number_of_executed_units/ { runs = $2 }
  END { printf "%s: %d runs, %d edges from the kept corpus, %d in the end\n", target, runs, from, to }
' "$log"
