#!/bin/sh
# The bench page as browsers show it: tests/browser/run.sh WHETSIGHT
# Skipped, 77, where there is no chromium or what tests/setup.sh browser takes from npm.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
modules=$here/../../build/browser/node_modules
for needed in chromium node; do
  if ! command -v "$needed" >/dev/null; then
    echo "skipped: there is no $needed; tests/setup.sh browser installs it"
    exit 77
  fi
done
if [ ! -d "$modules/playwright-core" ] || [ ! -d "$modules/axe-core" ]; then
  echo "skipped: playwright-core and axe-core aren't there; tests/setup.sh browser gets them from npm"
  exit 77
fi
exec node "$here/run.mjs" "$(realpath "$1")" "$(realpath "$modules")"
