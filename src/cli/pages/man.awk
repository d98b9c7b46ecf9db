# Manual pages in section 1: one of the program, and one a verb with its methods or commands.

function roff (line) {
  gsub (/\\/, "\\e", line)
  gsub (/-/, "\\-", line)
  if (line ~ /^[.']/)
    line = "\\&" line
  return line
}

# Texts of several lines; an empty one starts a paragraph.
function put_text (lines, file,    n, each, i) {
  sub (/\n+$/, "", lines)
  n = split (lines, each, "\n")
  for (i = 1; i <= n; i++)
    if (each[i] == "")
      print ".PP" > file
    else
      print roff (each[i]) > file
}

function put_synopsis (path, file) {
  line = usage[path]
  name = path == "" ? "whetsight" : "whetsight " path
  print "\\fB" roff (name) "\\fR" roff (substr (line, length (name) + 1)) > file
}

function put_options (path, file,    i) {
  for (i = 1; i <= n_options[path]; i++) {
    print ".TP" > file
    line = short[path, i] != "" ? "\\fB\\-" short[path, i] "\\fR, " : ""
    line = line "\\fB" roff ("--" long[path, i]) "\\fR"
    if (argument[path, i] != "")
      line = line "=\\fI" roff (argument[path, i]) "\\fR"
    print line > file
    print roff (text[path, i]) "." > file
  }
}

function put_parts (path, file,    i, name) {
  for (i = 1; i <= n_parts[path]; i++) {
    name = path == "" ? parts[path, i] : path " " parts[path, i]
    if (path == "") {
      print ".TP" > file
      print ".BR " roff ("whetsight-" name) " (1)" > file
      print roff (summary[name]) "." > file
    }
    else {
      print ".SS " roff (name) > file
      put_synopsis (name, file)
      print ".PP" > file
      put_text (about[name], file)
      put_options (name, file)
      if (more[name] != "") {
        print ".PP" > file
        put_text (more[name], file)
      }
    }
  }
}

function put_page (path,    page, file) {
  page = path == "" ? "whetsight" : "whetsight-" path
  file = out "/" page ".1"
  print ".\\\" Written from the program's --help." > file
  print ".TH " toupper (page) " 1 \"\" \"" version "\" \"Whetsight\"" > file
  print ".SH NAME" > file
  print roff (page) " \\- " roff (path == "" ? "measure ground tools in photographs" : summary[path]) > file
  print ".SH SYNOPSIS" > file
  put_synopsis (path, file)
  print ".SH DESCRIPTION" > file
  put_text (about[path], file)
  if (n_options[path] > 0) {
    print ".SH OPTIONS" > file
    put_options (path, file)
  }
  if (n_parts[path] > 0) {
    print ".SH " (path == "" ? "VERBS" : "COMMANDS") > file
    put_parts (path, file)
  }
  if (more[path] != "") {
    print ".SH NOTES" > file
    put_text (more[path], file)
  }
  print ".SH EXIT STATUS" > file
  print roff (exits[path] != "" ? exits[path] : exits[""]) > file
  if (path != "") {
    print ".SH SEE ALSO" > file
    print ".BR whetsight (1)" > file
  }
  close (file)
}

END {
  put_page ("")
  for (p = 1; p <= n_parts[""]; p++)
    put_page (parts["", p])
}
