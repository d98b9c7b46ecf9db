# Writes the file IN, a text, as a string of C to OUT.
file (READ "${IN}" hex HEX)
string (REGEX REPLACE "(..)" "0x\\1," bytes "${hex}")
file (WRITE "${OUT}.new" "#include \"judge/causes.h\"\n\nconst char wsi_causes_text[] = { ${bytes} 0 };\n")
file (RENAME "${OUT}.new" "${OUT}")
