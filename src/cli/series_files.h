/*
 * The pictures of a series that a single file holds: a list of their names, or a video.
 */
#ifndef WS_CLI_SERIES_FILES_H
#define WS_CLI_SERIES_FILES_H

#include <glib.h>

G_BEGIN_DECLS

/*
 * Paths of the pictures that `path` lists, a name a line, from the list's folder on; or of a
 * video's, `most` at most, evenly over it, as PNG files in a folder made for them, which *folder
 * names then.  A picture's own path alone when it is one.  Errors: WS_ERROR_DATA,
 * WS_ERROR_NO_INPUT, WS_ERROR_CANT_WRITE.  Free both.
 */
char **wsi_series_files (const char *path, guint most, char **folder, GError **error);

/* Removes a folder that wsi_series_files() made. */
void wsi_series_files_remove (const char *folder);

G_END_DECLS

#endif
