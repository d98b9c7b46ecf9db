#!/bin/sh
# cppcheck over the library and the program: no finding but those of tests/cppcheck.suppressions.
set -eu
cd "$(dirname "$0")/.."

find src -name '*.c' ! -name '*_test.c' | LC_ALL=C sort |
  cppcheck --file-list=- -j "$(nproc)" --quiet --error-exitcode=1 --std=c11 --language=c \
    --enable=warning,performance,portability --library=gtk -I src -I include \
    --library=tests/cppcheck.cfg \
    --suppressions-list=tests/cppcheck.suppressions \
    --template='{file}:{line}: {message} [{id}]'
