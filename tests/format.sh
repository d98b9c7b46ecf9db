#!/bin/sh
# Says which tracked sources aren't laid out as .clang-format has it.
set -eu
cd "$(dirname "$0")/.."
git ls-files -z '*.c' '*.h' '*.cc' | xargs -0 clang-format-14 --dry-run --Werror
