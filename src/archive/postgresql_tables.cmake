# Writes the file IN, statements of SQL, as a string of C to OUT.
file (READ "${IN}" hex HEX)
string (REGEX REPLACE "(..)" "0x\\1," bytes "${hex}")
file (WRITE "${OUT}.new" "#include \"archive/postgresql_tables.h\"\n\nconst char wsi_postgresql_tables[] = { ${bytes} 0 };\n")
file (RENAME "${OUT}.new" "${OUT}")
