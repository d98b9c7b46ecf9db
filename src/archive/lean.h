/*
 * A record without the lines of its budgets: four fifths of its text, which nobody reads who looks
 * for a row's columns, and which took as much of the time of parsing.
 */
#ifndef WS_ARCHIVE_LEAN_H
#define WS_ARCHIVE_LEAN_H

#include <jansson.h>

#include <glib.h>

G_BEGIN_DECLS

/* `text` with [] for each list of plain objects that is called a budget: of texts in printable
 * ASCII without escapes, short numbers and words, under different keys.  The rest stays as it is,
 * so one is JSON when the other is.  Free with g_free(). */
char *wsi_lean_text (const char *text);

/* That, parsed, keys once each; NULL when it is no JSON. */
json_t *wsi_lean_parse (const char *text, json_error_t *error);

G_END_DECLS

#endif
