#!/bin/sh
# Holds tests/includes.sh against small trees with one thing wrong in each.
set -eu
cd "$(dirname "$0")"
check=$PWD/includes.sh

work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
failed=0

# A tree that is in order: cli > tool > edge > base, and a public header of tool's.
tree() {
  rm -rf "$work/tree"
  mkdir -p "$work/tree/src/base" "$work/tree/src/edge/find" "$work/tree/src/tool" \
    "$work/tree/src/vision" "$work/tree/src/cli" "$work/tree/include/whetsight" "$work/tree/tests"
  cd "$work/tree"
  printf '%s\n' '1 base' '2 vision' '3 edge quiet' '3 colour' '4 tool view' '5 cli' >src/layers.txt
  : >README.md
  : >src/vision/module.cc
  : >src/base/number.h
  echo '#include "base/number.h"' >src/edge/line.h
  printf '%s\n' '#include "edge/line.h"' '#include <math.h>' >src/edge/line.c
  echo '#include "edge/line.h"' >src/edge/find/mask.c
  echo '#include <glib.h>' >include/whetsight/view.h
  printf '%s\n' '#include <whetsight/view.h>' '#include "edge/line.h"' >src/tool/view.c
  printf '%s\n' '#include <whetsight/view.h>' '#include <stdio.h>' >src/cli/main.c
}

# expect FINDING: the check must fail and say just this; with "", pass and say nothing.
expect() {
  status=0
  said=$("$check" "$work/tree" 2>&1) || status=$?
  if [ "$said" != "$1" ] || { [ -n "$1" ] && [ "$status" -ne 1 ]; } ||
    { [ -z "$1" ] && [ "$status" -ne 0 ]; }; then
    printf 'expected: %s\nfound (status %d): %s\n' "$1" "$status" "$said" >&2
    failed=1
  fi
}

tree
expect ""

tree
echo '#include <whetsight/view.h>' >>src/edge/find/mask.c
expect "up src/edge/find/mask.c whetsight/view.h"

tree
mkdir src/colour
: >src/colour/burn.h
echo '#include "colour/burn.h"' >>src/edge/find/mask.c
expect "up src/edge/find/mask.c colour/burn.h"

tree
echo '#include "edge/line.h"' >>include/whetsight/view.h
expect ""
echo '#include "cli/verbs.h"' >>include/whetsight/view.h
: >src/cli/verbs.h
expect "up include/whetsight/view.h cli/verbs.h"

# Two modules, three, and one that goes through a public header.
tree
echo '#include "edge/find/mask.h"' >>src/edge/line.c
: >src/edge/find/mask.h
expect "circle edge/find/mask edge/line"

tree
echo '#include "edge/b.h"' >src/edge/a.h
echo '#include "edge/c.h"' >src/edge/b.c
: >src/edge/b.h
echo '#include "edge/a.h"' >src/edge/c.h
expect "circle edge/a edge/b edge/c"

tree
echo '#include <whetsight/view.h>' >src/tool/drill.c
: >src/tool/drill.h
echo '#include "tool/drill.h"' >>src/tool/view.c
expect "circle tool/drill tool/view"

tree
echo '#include <stdio.h>' >>src/edge/find/mask.c
expect "loud src/edge/find/mask.c stdio.h"

tree
: >src/edge/fast.cc
expect "c++ src/edge/fast.cc"

tree
mkdir src/bench
: >src/bench/server.c
expect "layer src/bench/server.c"

tree
: >include/whetsight/new.h
expect "layer include/whetsight/new.h"

tree
mkdir tools
: >tools/helper
expect "entry tools"

tree
awk 'BEGIN { for (i = 0; i < 601; i++) print "" }' >src/base/long.c
expect "long src/base/long.c"
awk 'BEGIN { for (i = 0; i < 600; i++) print "" }' >src/base/long.c
expect ""

# What tests include is their own affair; what is known is let through, and must go when gone.
tree
echo '#include <whetsight/view.h>' >src/edge/line_test.c
expect ""
: >src/edge/fast.cc
printf '%s\n' '# Allowed for now.' 'c++ src/edge/fast.cc' >tests/includes.known
expect ""
rm src/edge/fast.cc
expect "c++ src/edge/fast.cc (gone: take it off tests/includes.known)"

exit "$failed"
