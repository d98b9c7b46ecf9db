/*
 * What a row says beside its record, and the hash that chains it.
 */
#ifndef WS_ARCHIVE_COLUMNS_H
#define WS_ARCHIVE_COLUMNS_H

#include <jansson.h>
#include <whetsight/archive.h>

#include "archive/lean.h"
#include "base/sha256.h"

G_BEGIN_DECLS

/* Fills what follows from `inspection->record`, and calls `visit` (or NULL) for each quantity.
 * Errors: WS_ERROR_DATA when the record isn't one. */
gboolean wsi_columns_fill (WsInspection *inspection, WsRowVisit visit, gpointer data,
                           GError **error);

/* The same of a record's text and what it was parsed to, keys once each. */
gboolean wsi_columns_fill_parsed (WsInspection *inspection, json_t *record, WsRowVisit visit,
                                  gpointer data, GError **error);

/* Frees what was filled. */
void wsi_columns_clear (WsInspection *inspection);

/* Of a record that it was filled from. */
void wsi_columns_each_quantity (json_t *record, WsRowVisit visit, gpointer data);

/* Compares two of WsRow. */
int wsi_columns_by_name (gconstpointer a, gconstpointer b);

/* A record's text as that, its budgets left out; NULL when it is no JSON. */
json_t *wsi_columns_parse (const char *record, GError **error);

/* The same for a row. */
gboolean wsi_columns_read (const char *record, WsLean *lean, GError **error);

/* One quantity's numbers as the record has them; NAN where it has none. */
void wsi_columns_quantity (const json_t *record, const char *quantity, WsRow *row);

/* The views that the record's tool must be good in, ending in NULL; NULL when it names none.  Free
 * with g_strfreev(). */
char **wsi_columns_views (const char *record);

/* The hash of the row's content and of `inspection->previous`. */
void wsi_columns_hash (const WsInspection *inspection, char hash[WS_SHA256_HEX_SIZE]);

G_END_DECLS

#endif
