/*
 * Text that came from outside (names of files, what records hold), made fit to be looked at: on a
 * terminal it could clear the screen, colour it, or write over what stands there.
 */
#ifndef WS_BASE_SHOWN_H
#define WS_BASE_SHOWN_H

#include <glib.h>

G_BEGIN_DECLS

/*
 * One line of valid UTF-8.  Control characters and those that turn the direction of writing become
 * words: \n, \x1b, \u202e; so do bytes that are no UTF-8: \xe9.  Free with g_free().
 */
char *wsi_shown (const char *text);

/* The same for a text of several lines: line feeds and tabs stay.  Free with g_free(). */
char *wsi_shown_lines (const char *text);

/* The same for JSON, whose content stays as it is.  Free with g_free(). */
char *wsi_shown_json (const char *json);

G_END_DECLS

#endif
