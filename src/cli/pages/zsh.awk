# Completion for zsh.

# For a specification of _arguments inside single quotes.
function escaped (text) {
  gsub (/\\/, "\\\\", text)
  gsub (/:/, "\\:", text)
  gsub (/\[/, "\\[", text)
  gsub (/\]/, "\\]", text)
  gsub (/'/, "'\\''", text)
  return text
}

function action (k, list) {
  if (k == "card")
    return "_files -g \"*.tool\""
  if (k == "calib")
    return "_files -g \"*.calib\""
  if (k == "table")
    return "_files -g \"*.csv\""
  if (k == "folder")
    return "_files -/"
  if (k == "file")
    return "_files"
  if (k == "picture")
    return "_files -g \"(#i)*.(png|jpg|jpeg|tif|tiff|bmp)\""
  if (k == "view")
    return "(" views ")"
  if (k == "kind")
    return "(" kinds_of_tools ")"
  if (k == "quantity")
    return "(" quantities ")"
  if (k == "words")
    return "(" list ")"
  return ""
}

function put_arguments (path,    i, line) {
  print "  _arguments -s \\"
  for (i = 1; i <= n_options[path]; i++) {
    line = "--" long[path, i] (kind[path, i] == "none" ? "" : "=") "[" escaped(text[path, i]) "]"
    if (kind[path, i] != "none")
      line = line ":" escaped(argument[path, i]) ":" action(kind[path, i], words[path, i])
    print "    '" line "' \\"
    if (short[path, i] != "") {
      sub (/^--[^\[=]*=?/, "-" short[path, i], line)
      print "    '" line "' \\"
    }
  }
  if (takes[path] ~ /^words:/)
    print "    '*:word:(" substr (takes[path], 7) ")'"
  else
    print "    '*:file:" action(takes[path], "") "'"
}

function put_function (path, name,    i, part) {
  print ""
  print name " ()"
  print "{"
  if (n_parts[path] == 0) {
    put_arguments(path)
    print "}"
    return
  }
  print "  if (( CURRENT == 2 )); then"
  print "    local -a parts=("
  for (i = 1; i <= n_parts[path]; i++) {
    part = path == "" ? parts[path, i] : path " " parts[path, i]
    print "      '" parts[path, i] ":" escaped(summary[part]) "'"
  }
  print "    )"
  print "    _describe word parts"
  print "    return"
  print "  fi"
  print "  shift words"
  print "  (( CURRENT-- ))"
  print "  case $words[1] in"
  for (i = 1; i <= n_parts[path]; i++)
    print "  " parts[path, i] ") " name "_" parts[path, i] " ;;"
  print "  esac"
  print "}"
}

END {
  print "#compdef whetsight"
  print "# Completes whetsight's verbs, options and files in zsh.  Written from the program's --help."
  for (p = n_paths; p >= 1; p--) {
    name = "_whetsight" (paths[p] == "" ? "" : "_" paths[p])
    gsub (/ /, "_", name)
    put_function(paths[p], name)
  }
  print ""
  print "_whetsight \"$@\""
}
