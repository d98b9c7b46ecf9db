/*
 * Printing: what comes from outside can't act on the terminal.
 */
#ifndef WS_CLI_SAY_H
#define WS_CLI_SAY_H

#include <glib.h>

G_BEGIN_DECLS

/* As printf() and fprintf (stderr), by wsi_shown_lines().  TRUE when it could be written. */
gboolean wsi_say (const char *format, ...) G_GNUC_PRINTF (1, 2);
gboolean wsi_say_aside (const char *format, ...) G_GNUC_PRINTF (1, 2);

/* A line of JSON, whose content stays. */
gboolean wsi_say_json (const char *json);

G_END_DECLS

#endif
