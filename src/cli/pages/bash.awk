# Completion for bash.

function pattern (path,    i, line) {
  return path == "" ? "''" : "'" path "'"
}

END {
  print "# Completes whetsight's verbs, options and files in bash.  Written from the program's --help."
  print ""
  print "_whetsight_files ()"
  print "{"
  print "  local IFS=$'\\n' ending"
  print "  compopt -o filenames"
  print "  COMPREPLY+=($(compgen -d -- \"$cur\"))"
  print "  for ending in \"$@\"; do"
  print "    COMPREPLY+=($(compgen -f -X \"!*.$ending\" -- \"$cur\"))"
  print "  done"
  print "}"
  print ""
  print "_whetsight ()"
  print "{"
  print "  local cur=${COMP_WORDS[COMP_CWORD]} prev=${COMP_WORDS[COMP_CWORD-1]} path= parts= options= takes="
  print "  COMPREPLY=()"
  print "  # \"--view=x\" comes as three words."
  print "  if [[ $cur == '=' ]]; then"
  print "    cur="
  print "  elif [[ $prev == '=' ]]; then"
  print "    prev=${COMP_WORDS[COMP_CWORD-2]}"
  print "  fi"
  print "  ((COMP_CWORD > 1)) && path=${COMP_WORDS[1]}"
  line = ""
  for (p = 1; p <= n_parts[""]; p++)
    if (n_parts[parts["", p]] > 0)
      line = line (line == "" ? "" : "|") parts["", p]
  print "  case $path in"
  print "  " line ") ((COMP_CWORD > 2)) && path+=\" ${COMP_WORDS[2]}\" ;;"
  print "  esac"
  print "  case $path in"
  for (p = 1; p <= n_paths; p++) {
    path = paths[p]
    list = ""
    for (i = 1; i <= n_parts[path]; i++)
      list = list (list == "" ? "" : " ") parts[path, i]
    if (n_parts[path] > 0)
      list_options = path == "" ? "--help --version" : "--help"
    else {
      list_options = ""
      for (i = 1; i <= n_options[path]; i++)
        list_options = list_options (i > 1 ? " " : "") "--" long[path, i]
    }
    print "  " pattern(path) ") parts='" list "' options='" list_options "' takes='" takes[path] "' ;;"
  }
  print "  esac"
  print "  case \"$path $prev\" in"
  for (p = 1; p <= n_paths; p++)
    for (i = 1; i <= n_options[paths[p]]; i++) {
      k = kind[paths[p], i]
      if (k == "none")
        continue
      line = "'" paths[p] " --" long[paths[p], i] "'"
      if (short[paths[p], i] != "")
        line = line " | '" paths[p] " -" short[paths[p], i] "'"
      print "  " line ") takes='" (k == "words" ? "words:" words[paths[p], i] : k) "' parts= options= ;;"
    }
  print "  esac"
  print "  if [[ $cur == -* || -n $parts ]]; then"
  print "    COMPREPLY=($(compgen -W \"$parts $([[ $cur == -* ]] && echo $options)\" -- \"$cur\"))"
  print "    return"
  print "  fi"
  print "  case $takes in"
  print "  card) _whetsight_files tool ;;"
  print "  calib) _whetsight_files calib ;;"
  print "  table) _whetsight_files csv ;;"
  print "  folder) _whetsight_files ;;"
  print "  file) _whetsight_files '*' ;;"
  print "  picture) _whetsight_files png jpg jpeg tif tiff bmp PNG JPG JPEG TIF TIFF BMP ;;"
  print "  view) COMPREPLY=($(compgen -W '" views "' -- \"$cur\")) ;;"
  print "  kind) COMPREPLY=($(compgen -W '" kinds_of_tools "' -- \"$cur\")) ;;"
  print "  quantity) COMPREPLY=($(compgen -W '" quantities "' -- \"$cur\")) ;;"
  print "  words:*) COMPREPLY=($(compgen -W \"${takes#words:}\" -- \"$cur\")) ;;"
  print "  esac"
  print "}"
  print ""
  print "complete -F _whetsight whetsight"
}
