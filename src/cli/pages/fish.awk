# Completion for fish.

function quoted (text) {
  gsub (/\\/, "\\\\", text)
  gsub (/'/, "\\'", text)
  return "'" text "'"
}

# When the words typed so far lead to `path` and nothing below it.
function when (path,    n, each, line, i) {
  n = split (path, each, " ")
  if (n == 0)
    return "'__fish_use_subcommand'"
  line = "__fish_seen_subcommand_from " each[1]
  if (n == 2)
    return "'" line "; and __fish_seen_subcommand_from " each[2] "'"
  if (n_parts[path] > 0) {
    line = line "; and not __fish_seen_subcommand_from"
    for (i = 1; i <= n_parts[path]; i++)
      line = line " " parts[path, i]
  }
  return "'" line "'"
}

function values (k, list) {
  if (k == "card")
    return "-xa '(__fish_complete_suffix .tool)'"
  if (k == "calib")
    return "-xa '(__fish_complete_suffix .calib)'"
  if (k == "table")
    return "-xa '(__fish_complete_suffix .csv)'"
  if (k == "folder")
    return "-xa '(__fish_complete_directories)'"
  if (k == "file")
    return "-rF"
  if (k == "view")
    return "-xa " quoted(views)
  if (k == "kind")
    return "-xa " quoted(kinds_of_tools)
  if (k == "quantity")
    return "-xa " quoted(quantities)
  if (k == "words")
    return "-xa " quoted(list)
  return k == "none" ? "" : "-x"
}

END {
  print "# Completes whetsight's verbs, options and files in fish.  Written from the program's --help."
  for (p = 1; p <= n_paths; p++) {
    path = paths[p]
    for (i = 1; i <= n_parts[path]; i++)
      print "complete -c whetsight -f -n " when(path) " -a " parts[path, i] " -d " \
        quoted(summary[path == "" ? parts[path, i] : path " " parts[path, i]])
    if (n_parts[path] > 0)
      continue
    if (takes[path] !~ /picture/) {
      extra = takes[path] == "folder" ? " -a '(__fish_complete_directories)'" : ""
      if (takes[path] ~ /^words:/)
        extra = " -a " quoted(substr (takes[path], 7))
      print "complete -c whetsight -f -n " when(path) extra
    }
    for (i = 1; i <= n_options[path]; i++)
      print "complete -c whetsight -n " when(path) " -l " long[path, i] \
        (short[path, i] != "" ? " -s " short[path, i] : "") " " \
        values(kind[path, i], words[path, i]) " -d " quoted(text[path, i])
  }
}
