/*
 * GLib key files, read without letting anything pass in silence.
 */
#ifndef WS_BASE_KEY_FILE_H
#define WS_BASE_KEY_FILE_H

#include <glib.h>

G_BEGIN_DECLS

/* `name` of the file and `what` it should be ("tool card") are for messages.  A key given twice
 * is an error: GKeyFile would let the last one win.  Errors: WS_ERROR_DATA.  Free with
 * g_key_file_unref(). */
GKeyFile *wsi_key_file_parse (const char *name, const char *what, const char *text, GError **error);

G_END_DECLS

#endif
