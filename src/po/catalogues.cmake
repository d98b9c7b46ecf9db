# Compiles the catalogues IN, a list of .po files, with MSGFMT and writes them as an array of C to OUT.
set (rows)
set (arrays)
foreach (file IN LISTS IN)
  get_filename_component (language "${file}" NAME_WE)
  execute_process (
    COMMAND "${MSGFMT}" --check --endianness=little "--output-file=${OUT}.mo" "${file}"
    COMMAND_ERROR_IS_FATAL ANY)
  file (READ "${OUT}.mo" hex HEX)
  string (REGEX REPLACE "(..)" "0x\\1," bytes "${hex}")
  string (APPEND arrays "static const guint8 mo_${language}[] = { ${bytes} };\n")
  string (APPEND rows "  { \"${language}\", mo_${language}, sizeof mo_${language} },\n")
endforeach ()
file (WRITE "${OUT}.new" "#include \"base/language.h\"\n\n${arrays}\nconst WsCatalogue wsi_catalogues[] = {\n${rows}  { NULL, NULL, 0 },\n};\n")
file (RENAME "${OUT}.new" "${OUT}")
