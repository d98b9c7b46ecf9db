#!/bin/sh
# Builds the program, measures the pictures beside this script and shows what came out.
# shots.csv says how each was taken: file,card,view,mm_per_px,u_mm_per_px,what
set -eu
cd "$(dirname "$0")/.."

program=build/release/src/whetsight
out=images/out

tests/setup.sh
cmake --preset release -Wno-dev -DWS_TESTS=OFF >/dev/null
cmake --build --preset release --target whetsight-program
mkdir -p "$out"

# value RECORD QUANTITY: its value and uncertainty, or a dash, 18 columns wide.
value() {
  # A quantity's object starts with plain numbers; its budget comes later.
  found=$(sed -nE 's/.*"'"$2"'": *\{ *"value": *(-?[0-9.e-]+), *"U": *([0-9.e-]+).*/\1 \2/p' "$1")
  if [ -n "$found" ]; then
    # Two words are meant; and ± is two bytes, where printf counts bytes.
    # shellcheck disable=SC2086
    printf '%-19s' "$(printf '%.3f ± %.3f' $found)"
  else
    printf '%-18s' -
  fi
}

# measure FILE CARD VIEW SCALE U WHAT: prints one line of the table.
measure() {
  set -- "$1" "$2" "$3" "$4" "${5:-0}" "$6"
  record="$out/${1%.*}.record.json"
  rm -f "$record"
  status=0
  if [ -n "$4" ]; then
    "$program" measure --tool "images/$2" --view "$3" --out "$out" \
      --scale "$4" --scale-u "$5" "images/$1" >"$out/${1%.*}.txt" || status=$?
  else
    "$program" measure --tool "images/$2" --view "$3" --out "$out" \
      "images/$1" >"$out/${1%.*}.txt" || status=$?
  fi
  case $status in
  0) verdict=accept ;;
  1) verdict=REJECT ;;
  2) verdict=undecided ;;
  3) verdict=retake ;;
  *)
    echo "demo: $program stopped with status $status on $1" >&2
    exit 1
    ;;
  esac
  [ -f "$record" ] || record=/dev/null
  if [ "$verdict" = retake ]; then
    result=$(sed -nE 's/.*"reason": *"([a-z-]+)".*/\1/p' "$record")
    result=$(printf '%-37s' "$result")
  else
    case $3 in
    blade-plan) result="$(value "$record" side_rake_deg) $(value "$record" edge_width_mm)" ;;
    *-face) result="$(value "$record" wear_land_mean_mm) $(value "$record" burn_depth_max_mm)" ;;
    drill-end) result="$(value "$record" chisel_edge_angle_deg) $(value "$record" burn_depth_max_mm)" ;;
    blade-side) result="$(value "$record" front_relief_deg) $(value "$record" tip_height_mm)" ;;
    part-surface)
      result="$(value "$record" chatter_pitch_mm) $(value "$record" feed_pitch_mm)"
      ;;
    form-plan)
      result="$(value "$record" profile_deviation_max_mm) $(value "$record" profile_deviation_min_mm)"
      ;;
    *) result="$(value "$record" point_angle_deg) $(value "$record" lip_height_difference_mm)" ;;
    esac
  fi
  printf '%-26s %-10s %s %s\n' "$1" "$verdict" "$result" "$(echo "$6" | tr -d '"')"
}

printf '\n%-26s %-10s %-18s %-18s %s\n' picture verdict 'point angle, deg' 'lip height, mm' what
printf '%-26s %-10s %-18s %-18s\n' '' 'from above' 'side rake, deg' 'edge width, mm'
printf '%-26s %-10s %-18s %-18s\n' '' 'from side' 'front relief, deg' 'tip height, mm'
printf '%-26s %-10s %-18s %-18s\n' '' 'form tool' 'too much, mm' 'missing, mm'
printf '%-26s %-10s %-18s %-18s\n' '' 'front light' 'wear land, mm' 'burn depth, mm'
printf '%-26s %-10s %-18s %-18s\n' '' 'part' 'chatter pitch, mm' 'feed, mm'
printf '%-26s %-10s %-18s %-18s\n' '' 'drill end' 'chisel edge, deg' 'burn depth, mm'
tail -n +2 images/shots.csv | while IFS=, read -r file card view scale u what; do
  measure "$file" "$card" "$view" "$scale" "$u" "$what"
done
# A series: 18 pictures of one drill, rolled; all of the folder is measured together.
measure bent-drill QT-D-0081.tool drill-roll 0.031710317 0.0000063 'bent drill, rolled in a V-block'
# A blade before and after its regrind, beside a bar that is fixed to the stop.
shop=$out/shop
rm -rf "$shop"
for file in regrind-before.jpg regrind-after.jpg; do
  reground=
  [ "$file" = regrind-before.jpg ] || reground=--reground
  "$program" measure --tool images/QT-B-0032.tool --scale 0.0082263437 --scale-u 0.0000016 \
    --archive "$shop" $reground "images/$file" >"$out/${file%.*}.txt" || true
done
printf '\n'
"$program" explain set-out --archive "$shop" --tool QT-B-0032 --reference stop |
  sed -n '/^  Shorter/,/^What hangs/{/^What hangs/!p;}'
printf '\nPictures with what was found drawn on them, reports and records: %s\n' "$PWD/$out"
printf 'The same in a browser, with a history of this shop: %s serve --demo\n' "$program"
