#!/bin/sh
# Renders the pictures beside this script anew, lists them in pins.csv and calibrates from them.  The
# same program always gives the same pictures; a calibration differs in its id and its time.
set -eu
cd "$(dirname "$0")/.."

bin=${BIN:-build/release}
if [ -z "${BIN:-}" ]; then
  tests/setup.sh tests
  cmake --preset release -Wno-dev >/dev/null
  cmake --build --preset release --target scene whetsight-program
fi

echo 'file,diameter_mm,u_mm,certificate' >calib/pins.csv

# pin DIAMETER TURN SEED: the camera is the same in all pictures.
pin() {
  file=pin-$1-$3.jpg
  "$bin/tests/scene" pin --out "calib/$file" --diameter "$1" --roll "$2" --seed "$3" \
    --width 560 --height-px 420 --mm-per-px 0.0123 --shrink 0.25 --k1 0.0015 \
    --blur 0.9 --back 0.66 --front 0.03 --light-x 0.05 --vignette 0.08 \
    --shot 0.004 --read 0.001 --quality 95 >/dev/null
  echo "$file,$1,0.00025,GP-2041" >>calib/pins.csv
}

pin 1.0002 12 1
pin 1.0002 95 2
pin 1.9998 -35 3
pin 1.9998 60 4
pin 3.0001 4 5
pin 3.0001 -78 6

# So long that the example stays good; a real one should be made anew each year.
"$bin/src/whetsight" calibrate pin --shots calib/pins.csv --camera bench-2 --certificate GP-2041 \
  --valid-days 36500 --out calib/bench-2.calib --residuals "$bin/bench-2.residuals.png"
