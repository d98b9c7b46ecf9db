# Reads help texts as pages.sh gathers them.  What is found of a path ("measure", "archive list",
# "" for the program itself):
#   paths[1 .. n_paths]               in the order of help
#   usage[path], about[path], more[path], exits[path]
#   summary[path]                     from the list that names it
#   parts[path, 1 .. n_parts[path]]   the verbs, methods or commands of it
#   options[path, 1 .. n_options[path]]; with "long", "short", "argument", "text", "kind" before
#     them: long["measure", 3] …  kind is none, card, calib, table, folder, file, view,
#     quantity, words (then words[] has them) or text
#   takes[path]                       the kind of what stands after the options
# and of the views: views, kinds_of_tools, quantities, as words with spaces between.

function trimmed (text) {
  sub (/^ +/, "", text)
  sub (/ +$/, "", text)
  return text
}

# "csv, jsonl or qif" as "csv jsonl qif"; "" for other texts.
function words_of (text) {
  gsub (/ *\([^)]*\)/, "", text)
  if (text !~ /^[a-z0-9-]+(, [a-z0-9-]+)* or [a-z0-9-]+$/)
    return ""
  sub (/ or /, ", ", text)
  gsub (/, /, " ", text)
  return text
}

function kind_of (argument, name) {
  if (argument == "")
    return "none"
  if (argument == "CARD")
    return "card"
  if (argument ~ /\.calib$/)
    return "calib"
  if (argument ~ /CSV$|\.csv$/)
    return "table"
  if (argument == "DIR")
    return "folder"
  if (argument == "VIEW")
    return "view"
  if (argument == "KIND")
    return "kind"
  if (name == "quantity")
    return "quantity"
  if (argument ~ /^FILE/)
    return "file"
  return "text"
}

# What stands behind the options of a line of usage.
function taken (line) {
  if (line ~ /IMAGE|PICTURE/)
    return "picture"
  if (line ~ /DIR/)
    return "folder"
  if (match (line, /\] [a-z-]+$/)) {
    return "words:" substr (line, RSTART + 2)
  }
  return "none"
}

function add_option (line,    name, rest, n) {
  n = ++n_options[path]
  sub (/^ +/, "", line)
  if (match (line, /^-[a-zA-Z], /)) {
    short[path, n] = substr (line, 2, 1)
    line = substr (line, 5)
  }
  match (line, /^[^ ]+/)
  name = substr (line, 3, RLENGTH - 2)
  text[path, n] = trimmed (substr (line, RLENGTH + 1))
  rest = ""
  if (index (name, "=") > 0) {
    rest = substr (name, index (name, "=") + 1)
    name = substr (name, 1, index (name, "=") - 1)
  }
  long[path, n] = name
  argument[path, n] = rest
  kind[path, n] = kind_of (rest, name)
  if (kind[path, n] == "text" && words_of (text[path, n]) != "") {
    kind[path, n] = "words"
    words[path, n] = words_of (text[path, n])
  }
}

# Every word once, in the order found.
function add_word (list, word) {
  return index (" " list " ", " " word " ") > 0 ? list : list (list == "" ? "" : " ") word
}

/^@@$/ { state = "views"; next }
/^@( |$)/ {
  path = substr ($0, 3)
  paths[++n_paths] = path
  state = "usage"
  next
}

state == "views" {
  if (/^[a-z-]+: /) {
    name = $1
    sub (/:$/, "", name)
    views = add_word (views, name)
  }
  else if ($1 == "for:")
    for (i = 2; i <= NF; i++)
      kinds_of_tools = add_word (kinds_of_tools, $i)
  else if ($1 ~ /_(deg|mm|um)$/)
    quantities = add_word (quantities, $1)
  next
}

state == "usage" && /^Usage:/ { sub (/^Usage: */, "") }
state == "usage" {
  if ($0 == "") {
    if (usage[path] != "")
      state = "about"
  }
  else {
    usage[path] = trimmed ($0)
    takes[path] = taken (usage[path])
  }
  next
}
/^(Verbs|Methods|Commands):$/ { state = "list"; next }
/^(Help|Application) Options:$/ { state = "options"; next }
/^Exit status:/ { state = "exit"; sub (/^Exit status: */, "") }
(state == "list" || state == "options" || state == "exit") && /^$/ { state = "more"; next }

state == "list" {
  name = $1
  line = $0
  sub (/^ *[^ ]+ +/, "", line)
  parts[path, ++n_parts[path]] = name
  summary[path == "" ? name : path " " name] = line
  next
}
state == "options" { add_option ($0); next }
state == "exit" { exits[path] = exits[path] (exits[path] == "" ? "" : " ") $0; next }
state == "about" { about[path] = about[path] $0 "\n"; next }
state == "more" { more[path] = more[path] $0 "\n"; next }
