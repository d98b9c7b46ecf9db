/*
 * Libraries that a plain measurement of a PNG or JPEG doesn't need: Cairo, SQLite and others take
 * longer to load, with all that stands behind them, than a picture takes to measure.  Each has a
 * module, a shared library that is linked with it and shows a table of the functions that are used;
 * the module is opened when the first of them is needed.
 *
 * NAME.txt lists headers and functions of a library.  late.cmake makes of it "late/NAME.h", which
 * is included in place of the library's own headers and sends calls through the table, and the
 * module.
 */
#ifndef WS_LATE_LATE_H
#define WS_LATE_LATE_H

#include <glib.h>

G_BEGIN_DECLS

/* What `symbol` of the module stands for; NULL and WS_ERROR_INTERNAL where the module is missing or
 * can't be opened.  A module stays open: the loader hands out the same one again, and the libraries
 * behind it can't be unloaded safely. */
gconstpointer wsi_late_open (const char *file, const char *symbol, GError **error);

/* The same, kept in `*kept`; ends the program where the module can't be opened, which is to be
 * tried before, where it can be told. */
gconstpointer wsi_late_table (const char *file, const char *symbol, gconstpointer *kept);

G_END_DECLS

#endif
