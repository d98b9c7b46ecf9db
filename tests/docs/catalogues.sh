#!/bin/sh
# What people read is in every catalogue of src/po: what is marked in the sources, what a measurement says
# (records keep it in English, pages and reports translate it: src/base/told_text.h), what errors say, and
# every text of the command line and of what is printed, marked or not; and what is printed is marked where
# it is printed.  Texts that stay as they are, such as file names, stand in untranslated.txt beside this
# script.
set -eu
cd "$(dirname "$0")/../.."
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

# texts FOLDERS OPTIONS: the texts that xgettext finds there, a line each.
texts() {
  folders=$1
  shift
  # shellcheck disable=SC2086
  find $folders \( -name '*.c' -o -name '*.h' \) ! -name '*_test.c' ! -name '*_for_tests.h' -exec \
    xgettext --from-code=UTF-8 --no-location --no-wrap "$@" -o - {} + 2>/dev/null >"$work/found"
  one_a_line "$work/found"
}

# one_a_line FILE: the texts of a catalogue, each on a line, also those that have several.
one_a_line() {
  awk '/^msgid / { text = substr($0, 7); inside = 1; next }
       /^"/ && inside { text = substr(text, 1, length(text) - 1) substr($0, 2); next }
       inside { if (text != "\"\"") print text; inside = 0 }' "$1"
}

# Words: two at least, and 8 letters beside what stands in places.
words() {
  awk '{ own = $0; gsub(/%[-.0-9*]*[a-z]/, "", own); letters = gsub(/[A-Za-z]/, "", own)
         if (letters >= 8 && $0 ~ /[a-z,.:] [A-Za-z%]/) print }'
}

# A word of 4 letters at least.
word() {
  awk '{ own = $0; gsub(/%[-.0-9*]*[a-z]/, "", own); gsub(/\\n/, "", own)
         if (own ~ /[A-Za-z][a-z][a-z][a-z]|[A-Z][A-Z][A-Z][A-Z]/) print }'
}

# hold WHAT LEAST: holds the texts on standard input, LEAST of them at least, against every catalogue.
hold() {
  LC_ALL=C sort -u | LC_ALL=C comm -23 - "$work/stay" >"$work/held"
  if [ "$(wc -l <"$work/held")" -lt "$2" ]; then
    printf '%s: only %u texts found\n' "$1" "$(wc -l <"$work/held")"
    touch "$work/failed"
  fi
  for catalogue in src/po/*.po; do
    one_a_line "$catalogue" | LC_ALL=C sort >"$work/has"
    LC_ALL=C comm -23 "$work/held" "$work/has" >"$work/missing"
    [ -s "$work/missing" ] || continue
    printf '%s: no translation of %s:\n' "$catalogue" "$1"
    cat "$work/missing"
    touch "$work/failed"
  done
}

grep -v '^#' tests/docs/untranslated.txt | LC_ALL=C sort -u >"$work/stay"

texts src --keyword=_ --keyword=N_ | hold 'what is marked' 700
texts 'src/tool src/judge' --keyword=g_strdup_printf:1 --keyword=g_strdup:1 --keyword=wsi_result_hold:4 \
  --keyword=wsi_result_retake:3 --keyword=wsi_refusal_set:3 --keyword=wsi_result_reject:3 |
  words | hold 'what is said' 300
texts src --keyword=g_set_error:4 --keyword=g_error_new:3 --keyword=g_error_new_literal:3 \
  --keyword=g_set_error_literal:4 --keyword=wsi_refuse:3 --keyword=wsi_refuse_usage:2 |
  words | hold 'what errors say' 250
texts 'src/cli src/report' -a | words | hold 'what is read' 800
sed -nE 's/^(title|amount|what|check|cure|source) = (.*)$/"\2"/p' src/judge/causes.conf |
  hold 'a cause' 100

# Printed as it stands: what these functions write isn't translated on the way.  Those of src/cli/say.h,
# fail.h and explain.h translate what they are given.
texts 'src/cli src/report' --keyword=g_strdup_printf:1 --keyword=g_string_append_printf:2 \
  --keyword=g_string_append:2 --keyword=g_strdup:1 --keyword=g_string_new:1 --keyword=printf:1 \
  --keyword=fprintf:2 --keyword=fputs:1 --keyword=wsi_text_wrap:2 --keyword=wsi_text_wrap:3 \
  --keyword=wsi_page_put:5 --keyword=wsi_page_put_fitting:6 --keyword=wsi_page_put_paragraph:3 \
  --keyword=wsi_page_put_heading:2 --keyword=wsi_page_put_heading_by:2 --keyword=wsi_page_begin:2 \
  --keyword=wsi_canvas_text:5 --keyword=wsi_plot_text:6 --keyword=wsi_drawing_label_beyond:6 \
  --keyword=wsi_drawing_label_sheet:2 --keyword=wsi_paper_print:1 | word | LC_ALL=C sort -u |
  LC_ALL=C comm -23 - "$work/stay" >"$work/bare"
if [ -s "$work/bare" ]; then
  echo 'Printed without _():'
  cat "$work/bare"
  touch "$work/failed"
fi
[ ! -e "$work/failed" ]
