#!/bin/sh
# Renders the pictures beside this script anew and writes shots.csv; the truth of each goes
# to images/out/truth.jsonl.  The same program always gives the same pictures.
set -eu
cd "$(dirname "$0")/.."

scene=${SCENE:-build/release/tests/scene}
if [ -z "${SCENE:-}" ]; then
  tests/setup.sh build-tests tests
  cmake --preset release -Wno-dev >/dev/null
  cmake --build --preset release --target scene scene-roll scene-shop
fi
mkdir -p images/out
truth=images/out/truth.jsonl
: >"$truth"
echo 'file,card,view,mm_per_px,u_mm_per_px,what' >images/shots.csv

# list LINE FILE CARD VIEW WHAT: adds a picture to the list, by what was printed of it.  The scale's
# standard uncertainty, 2 parts in 10 000, is what a shop's stage micrometer gives.
list() {
  scale=$(echo "$1" | sed -nE 's/.*"mm_per_px": ([0-9.e-]+).*/\1/p')
  u=$(awk "BEGIN { printf \"%.3g\", 0.0002 * $scale }")
  printf '%s,%s,%s,%s,%s,%s\n' "$2" "$3" "$4" "$scale" "$u" "$5" >>images/shots.csv
}

# take SCENE VIEW FILE CARD WHAT OPTION...: renders one and adds it to the list.
take() {
  kind=$1 view=$2 file=$3 card=$4 what=$5
  shift 5
  line=$("$scene" "$kind" --out "images/$file" "$@")
  echo "$line" >>"$truth"
  list "$line" "$file" "$card" "$view" "$what"
}

# shot, plan, side, form: a drill, a blade from above, a blade from the side, a form tool.
shot() { take drill drill-side "$@"; }
plan() { take blade-plan blade-plan "$@"; }
side() { take blade-side blade-side "$@"; }

# face, end: in front light, a blade's flank and a drill's point; all follows from the seed.
face() { take random-face blade-face "$@"; }
end() { take random-end drill-end "$@"; }
form() { take fitting form-plan "$@"; }

# New drills measure a little under their nominal size.
shot good-118.png QT-D-0118.tool 'good drill of 6.5 mm' \
  --seed 1 --diameter 6.489 --helix 30 --web 0.98 --half-a 59.1 --half-b 58.95 --cone 3 \
  --width 1600 --height-px 1200 --share 0.38 --roll 4 --blur 0.9 \
  --back 0.68 --front 0.03 --light-x 0.06 --light-y -0.05 --vignette 0.1 \
  --shot 0.004 --read 0.0008 --dust 22

shot lips-unequal.png QT-D-0127.tool 'one lip ground steeper than the other' \
  --seed 2 --diameter 12.686 --helix 28 --web 1.8 --half-a 60.7 --half-b 57.6 --cone 2.5 \
  --width 1280 --height-px 960 --share 0.42 --roll -9 --blur 1.1 \
  --back 0.62 --front 0.04 --light-x -0.1 --light-y 0.05 \
  --shot 0.006 --read 0.001 --dust 14

shot point-offset.jpg QT-D-0100.tool 'point off the axis; one lip longer' \
  --seed 3 --diameter 9.989 --helix 33 --web 1.5 --offset 0.19 --cone 3.5 \
  --width 1600 --height-px 1200 --share 0.36 --roll 86 --blur 1.2 --quality 93 \
  --back 0.7 --front 0.03 --vignette 0.15 --shot 0.008 --read 0.001 --dust 30 \
  --colour --red 1.02 --blue 0.94

shot lip-chipped.png QT-D-0100.tool 'lip a chipped' \
  --seed 4 --diameter 9.989 --helix 30 --web 1.5 --half-b 59.15 --cone 2.2 \
  --chip-a 0.21 --chip-a-width 0.75 --chip-a-place 0.62 \
  --width 1280 --height-px 1024 --share 0.42 --roll 2 --blur 0.9 \
  --back 0.66 --front 0.03 --light-x 0.05 --shot 0.005 --read 0.001 --dust 10 --dust-body 4

shot corner-worn.png QT-D-0080.tool 'outer corner of lip b worn round' \
  --seed 5 --diameter 7.989 --helix 26 --web 1.2 --half-a 58.9 --half-b 59.05 --cone 2.6 \
  --corner-b 0.62 --width 1280 --height-px 960 --share 0.4 --roll 178 --blur 1 \
  --back 0.64 --front 0.035 --light-y 0.08 --shot 0.005 --read 0.001 --dust 12

shot spot-90.png QT-S-0060.tool 'good spot drill of 90 degrees' \
  --seed 6 --diameter 6 --point 90 --helix 20 --web 0.9 --land 96 --relief 10 --cone 3 \
  --half-a 45.05 --half-b 44.98 --width 1280 --height-px 960 --share 0.4 --roll -88 --blur 0.8 \
  --back 0.7 --front 0.03 --shot 0.004 --read 0.001 --dust 8 --linear

shot small-135.png QT-D-0025.tool 'good drill of 2.5 mm with a blunt point' \
  --seed 7 --diameter 2.493 --point 135 --helix 34 --web 0.4 --relief 10 --cone 3 \
  --half-a 67.55 --half-b 67.45 --width 1280 --height-px 1024 --share 0.34 --roll 12 --blur 1.4 \
  --back 0.58 --front 0.05 --vignette 0.12 --shot 0.008 --read 0.0015 --dust 16

shot left-hand.png QT-D-0080L.tool 'left-hand drill; lip a high' \
  --seed 8 --diameter 7.989 --left-hand --helix 30 --web 1.25 --height 0.16 --half-a 59.2 --cone 2.8 \
  --width 1280 --height-px 960 --share 0.4 --roll 141 --blur 1 \
  --back 0.66 --front 0.03 --light-x -0.06 --shot 0.005 --read 0.001 --dust 12 --tagged

shot dark-field.png QT-D-0118.tool 'good drill lit from the front on black' \
  --seed 9 --diameter 6.489 --helix 30 --web 0.98 --half-a 58.9 --half-b 59 --cone 3 \
  --width 1280 --height-px 960 --share 0.38 --roll -3 --blur 1.1 \
  --back 0.02 --front 0.55 --shot 0.006 --read 0.001 --dust 6

shot trap-out-of-focus.png QT-D-0118.tool 'must be refused: out of focus' \
  --seed 10 --diameter 6.489 --web 0.98 --width 1280 --height-px 960 --share 0.38 --roll 5 \
  --defocus 15 --back 0.66 --front 0.03 --shot 0.005 --read 0.001 --dust 8

shot trap-lips-turned.png QT-D-0118.tool 'must be refused: lips turned out of the picture' \
  --seed 11 --diameter 6.489 --web 0.98 --width 1280 --height-px 960 --share 0.38 --roll -4 \
  --turn 28 --blur 1 --back 0.66 --front 0.03 --shot 0.005 --read 0.001 --dust 8

plan blade-good.png QT-B-0030.tool 'good cutoff blade for parts with a hole' \
  --seed 21 --blade-width 3.02 --rake 7.05 --clear-left 1.4 --clear-right 1.7 \
  --width 1280 --height-px 960 --share 0.42 --roll 3 --blur 1 \
  --back 0.66 --front 0.03 --light-x 0.05 --light-y -0.04 --shot 0.005 --read 0.001 --dust 12

plan blade-rake.png QT-B-0024.tool 'ground the other way; too little side rake for parts without a hole' \
  --seed 22 --blade-width 2.41 --rake -6.9 --clear-left 1.2 --clear-right 1.5 \
  --width 1280 --height-px 960 --share 0.45 --roll -88 --blur 0.9 \
  --back 0.7 --front 0.03 --vignette 0.1 --shot 0.004 --read 0.001 --dust 16

plan blade-chipped.png QT-B-0030.tool 'edge chipped' \
  --seed 23 --blade-width 3.01 --rake 7.2 --clear-left 1.6 --clear-right 1.6 \
  --chip 0.11 --chip-width 0.36 --chip-place 0.62 \
  --width 1280 --height-px 1024 --share 0.4 --roll 176 --blur 1.1 \
  --back 0.62 --front 0.04 --light-y 0.07 --shot 0.006 --read 0.001 --dust 10

plan blade-worn.jpg QT-B-0024.tool 'corners worn round' \
  --seed 24 --blade-width 2.4 --rake 11.1 --clear-left 1.3 --clear-right 1.1 \
  --round-left 0.08 --round-right 0.19 \
  --width 1600 --height-px 1200 --share 0.4 --roll 92 --blur 1.3 --quality 93 \
  --back 0.68 --front 0.03 --vignette 0.12 --shot 0.007 --read 0.001 --dust 20

side blade-side.png QT-B-0030.tool 'good cutoff blade from the side' \
  --seed 25 --blade-height 20 --front-relief 10.2 --top-rake 3 \
  --width 1280 --height-px 960 --share 0.5 --roll -4 --blur 1 \
  --back 0.66 --front 0.03 --light-x -0.05 --shot 0.005 --read 0.001 --dust 14

side blade-heel.png QT-B-0024.tool 'too little relief: the heel rubs' \
  --seed 26 --blade-height 16 --front-relief 5.4 --top-rake 2 --mirrored \
  --width 1280 --height-px 960 --share 0.48 --roll 6 --blur 1.2 \
  --back 0.64 --front 0.035 --light-y 0.06 --shot 0.006 --read 0.001 --dust 8

form form-good.png QT-F-0114.tool 'good form tool for a brass hose fitting' \
  --seed 31 --nominal images/QT-F-0114.dxf \
  --width 1600 --height-px 1200 --share 0.85 --roll 2 --blur 1 \
  --back 0.68 --front 0.03 --light-x 0.05 --shot 0.005 --read 0.001 --dust 14

form form-proud.png QT-F-0114.tool 'one barb stands proud' \
  --seed 32 --segment 6 --error 0.03 \
  --width 1280 --height-px 960 --share 0.9 --roll -91 --blur 1.1 \
  --back 0.66 --front 0.03 --light-y -0.06 --shot 0.006 --read 0.001 --dust 10

face blade-burnt.jpg QT-B-0042.tool 'edge burnt in front light' --seed 306
face blade-land.jpg QT-B-0025.tool 'wear land in front light' --seed 309
end drill-end.jpg QT-D-0048.tool 'good point seen from the end' --seed 301
end drill-end-burnt.jpg QT-D-0127.tool 'lips burnt seen from the end' --seed 306

# A bent drill, rolled: pictures of a series, and their truth.
mkdir -p images/bent-drill
"${scene}-roll" images/bent-drill >>"$truth"

# Edges after grinding, and a part: a wire edge, a blade before and after its regrind, chatter.
# shop SCENE VIEW CARD FILE WHAT [FILE WHAT]: renders them and adds each to the list.
shop() {
  kind=$1 view=$2 card=$3 first=$4 what=$5
  shift 5
  lines=$("${scene}-shop" "$kind" "images/$first" ${1:+"images/$1"})
  echo "$lines" >>"$truth"
  list "$(echo "$lines" | head -n 1)" "$first" "$card" "$view" "$what"
  [ $# -eq 0 ] || list "$(echo "$lines" | tail -n 1)" "$1" "$card" "$view" "$2"
}
shop wire-edge drill-side QT-D-0100.tool wire-edge.png 'good drill with a wire edge to be honed off'
shop regrind blade-plan QT-B-0032.tool regrind-before.jpg 'cutoff blade before its regrind' \
  regrind-after.jpg 'the same blade after its regrind'
shop chatter part-surface QT-F-0114.tool part-chatter.jpg 'part that chattered; feed marks not seen'
