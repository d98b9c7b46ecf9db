#!/bin/sh
# How the program and the library are built: where a fault in reading a picture could be used, it ends
# the program instead.  Looked for in the files themselves, since a flag can get lost.
#   tests/hardening.sh FILE…      optimised, without sanitizers
set -eu
export LC_ALL=C
failed=0

# want FILE WHAT PATTERN TEXT: TEXT has a line with PATTERN.
want() {
  if ! printf '%s\n' "$4" | grep -qE "$3"; then
    echo "$1: no $2" >&2
    failed=1
  fi
}

for file in "$@"; do
  about=$(readelf -hlW "$file")
  dynamic=$(readelf -dW "$file")
  symbols=$(readelf --dyn-syms -W "$file")
  want "$file" "position-independent code" 'Type: +DYN' "$about"
  want "$file" "relocations that are read-only" GNU_RELRO "$about"
  want "$file" "binding at start, which makes all of them so" '\(FLAGS(_1)?\).*NOW|BIND_NOW' "$dynamic"
  want "$file" "stack without code" 'GNU_STACK .* RW +0x' "$about"
  want "$file" "stack protector" __stack_chk_fail "$symbols"
  want "$file" "checked copies (_FORTIFY_SOURCE)" '__(memcpy|memset|snprintf|vsnprintf|printf|strcpy|strncpy)_chk' "$symbols"
done
exit "$failed"
