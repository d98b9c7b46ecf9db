# ws_late (NAME SOURCES LIBRARY...): a module of what is used of LIBRARY, by NAME.txt.  Adds to the
# list SOURCES what opens it.  late.h has the idea.
function (ws_late name sources)
  set (list "${CMAKE_CURRENT_SOURCE_DIR}/late/${name}.txt")
  set_property (DIRECTORY APPEND PROPERTY CMAKE_CONFIGURE_DEPENDS "${list}")
  file (STRINGS "${list}" headers REGEX "^#include")
  file (STRINGS "${list}" functions REGEX "^[A-Za-z]")
  string (SUBSTRING "${name}" 0 1 initial)
  string (SUBSTRING "${name}" 1 -1 rest)
  string (TOUPPER "${initial}" initial)
  set (type "WsLate${initial}${rest}")

  set (members)
  set (calls)
  set (entries)
  foreach (function IN LISTS functions)
    string (APPEND members "  __typeof__ (${function}) *${function};\n")
    string (APPEND calls "#define ${function} (*wsi_late_${name} ()->${function})\n")
    string (APPEND entries "  .${function} = &${function},\n")
  endforeach ()
  list (JOIN headers "\n" headers)
  set (file "$<TARGET_SONAME_FILE_NAME:whetsight-${name}>")
  set (folder "${CMAKE_CURRENT_BINARY_DIR}/late")
  file (CONFIGURE OUTPUT "${folder}/${name}.h" CONTENT "/* Made of src/late/@name@.txt. */
#ifndef WS_LATE_@name@_H
#define WS_LATE_@name@_H

#include <glib.h>
@headers@

typedef struct
{
@members@} @type@;

/* Opened when it is first needed. */
const @type@ *wsi_late_@name@ (void);

/* Whether it can be: to be asked first, where a missing one can be told. */
gboolean wsi_late_has_@name@ (GError **error);

#ifndef WS_LATE_TABLE
@calls@#endif

#endif
" @ONLY)
  file (CONFIGURE OUTPUT "${folder}/${name}_module.c" CONTENT "/* Made of src/late/@name@.txt. */
#define WS_LATE_TABLE
#include \"late/@name@.h\"

extern const @type@ ws_late_@name@_table __attribute__ ((visibility (\"default\")));
const @type@ ws_late_@name@_table = {
@entries@};
" @ONLY)
  file (CONFIGURE OUTPUT "${folder}/${name}.c" CONTENT "/* Made of src/late/@name@.txt. */
#include \"late/@name@.h\"
#include \"late/late.h\"

static gconstpointer kept;

const @type@ *
wsi_late_@name@ (void)
{
  return wsi_late_table (WS_LATE_FILE, \"ws_late_@name@_table\", &kept);
}

gboolean
wsi_late_has_@name@ (GError **error)
{
  return wsi_late_open (WS_LATE_FILE, \"ws_late_@name@_table\", error) != NULL;
}
" @ONLY)

  add_library (whetsight-${name} SHARED "${folder}/${name}_module.c")
  set_target_properties (whetsight-${name} PROPERTIES VERSION ${PROJECT_VERSION}
                                                     SOVERSION ${PROJECT_VERSION_MAJOR}
                                                     C_VISIBILITY_PRESET hidden)
  target_include_directories (whetsight-${name} PRIVATE "${CMAKE_CURRENT_BINARY_DIR}")
  target_link_libraries (whetsight-${name} PRIVATE PkgConfig::GLIB ${ARGN})
  install (TARGETS whetsight-${name} LIBRARY DESTINATION "${CMAKE_INSTALL_LIBDIR}" NAMELINK_SKIP)
  set_property (SOURCE "${folder}/${name}.c" PROPERTY COMPILE_DEFINITIONS "WS_LATE_FILE=\"${file}\"")
  set (WS_LATE_${name} ${ARGN} PARENT_SCOPE)
  set (${sources} ${${sources}} "${folder}/${name}.c" PARENT_SCOPE)
endfunction ()

# Lets TARGET use the modules of SOURCES.  They aren't linked, yet needed at run time.
function (ws_late_use target)
  target_include_directories (${target} PUBLIC "$<BUILD_INTERFACE:${CMAKE_CURRENT_BINARY_DIR}>")
  foreach (source IN LISTS ARGN)
    cmake_path (GET source STEM name)
    add_dependencies (${target} whetsight-${name})
    foreach (library IN ITEMS ${WS_LATE_${name}})
      target_include_directories (
        ${target} SYSTEM
        PUBLIC "$<BUILD_INTERFACE:$<TARGET_PROPERTY:${library},INTERFACE_INCLUDE_DIRECTORIES>>")
    endforeach ()
  endforeach ()
endfunction ()
