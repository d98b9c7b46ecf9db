#!/bin/bash
# Holds manual pages and completions against the program that they were written from:
#   pages_test.sh PROGRAM FOLDER
# Checks of a shell that isn't there are left out; bash is, since it runs this.
set -u
program=$1 pages=$2
export LC_ALL=C.UTF-8
failed=0

fail() {
  echo "$*" >&2
  failed=1
}

names() {
  awk '/^(Verbs|Methods|Commands):$/ { inside = 1; next } /^$/ { inside = 0 } inside { print $1 }'
}

# Every verb has a page, and each long option of its help stands in it.
for verb in $("$program" --help | names); do
  page=$pages/whetsight-$verb.1
  [ -s "$page" ] || fail "no page for $verb"
  for method in '' $("$program" "$verb" --help | names); do
    for option in $("$program" "$verb" $method --help | sed -nE 's/^ +(-., )?(--[a-z-]+).*/\2/p'); do
      grep -qF -- "\\fB${option//-/\\-}\\fR" "$page" || fail "$page: no $option"
    done
  done
  grep -qF "whetsight\\-$verb " "$pages/whetsight.1" || fail "whetsight.1 doesn't name $verb"
done

# The formatter finds nothing odd.
if command -v groff >/dev/null; then
  for page in "$pages"/*.1; do
    said=$(groff -man -Kutf8 -Tutf8 -ww -z "$page" 2>&1)
    [ -z "$said" ] || fail "$page: $said"
  done
fi

# completes WORDS... EXPECTED: what bash offers for the last word holds EXPECTED and only words
# that start as it does.
# Offering nothing isn't a failure there.
compopt() { :; }
source "$pages/whetsight.bash"
completes() {
  local expected=${*: -1} word
  COMP_WORDS=(whetsight "${@:1:$#-1}")
  COMP_CWORD=$((${#COMP_WORDS[@]} - 1))
  _whetsight
  case " ${COMPREPLY[*]} " in
  *" $expected "*) ;;
  *) fail "${COMP_WORDS[*]}: expected $expected, offered ${COMPREPLY[*]}" ;;
  esac
  for word in "${COMPREPLY[@]}"; do
    [[ ${COMP_WORDS[COMP_CWORD]} == '=' || $word == "${COMP_WORDS[COMP_CWORD]}"* ]] ||
      fail "${COMP_WORDS[*]}: offered $word"
  done
}

cd "$(dirname "$0")/../images"
completes mea measure
completes archive ex export
completes measure --to --tool
completes measure --view form form-plan
completes measure --view = drill-side
completes measure -v drill- drill-end
completes measure --tool QT-D-0100 QT-D-0100.tool
completes measure good good-118.png
completes archive export --format q qif
completes archive list --kind cut cutoff-blade
completes trend --quantity point_ang point_angle_deg
completes report --paper let letter
completes explain cen centre-height

# The others at least read theirs.
if command -v zsh >/dev/null; then
  zsh -n "$pages/whetsight.zsh" || fail "zsh can't read its completion"
fi
if command -v fish >/dev/null; then
  fish -n "$pages/whetsight.fish" || fail "fish can't read its completion"
fi
exit "$failed"
