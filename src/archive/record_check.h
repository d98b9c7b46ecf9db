/*
 * Does a record from elsewhere say what follows from its own numbers?
 */
#ifndef WS_ARCHIVE_RECORD_CHECK_H
#define WS_ARCHIVE_RECORD_CHECK_H

#include <jansson.h>

#include <glib.h>

G_BEGIN_DECLS

/*
 * Types, the time, and every verdict by value, U and limits (ws_verdict_for()).  A quantity may be
 * less sure than its numbers, since a hold makes it so, never surer; and the tool's verdict is that
 * of its quantities.  Errors: WS_ERROR_DATA, which names what contradicts what.
 * `rows` (of WsRow) are its quantities where it was read without them, else NULL.
 */
gboolean wsi_record_check (json_t *record, const GArray *rows, GError **error);

G_END_DECLS

#endif
