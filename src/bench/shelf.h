/*
 * One tool's inspections, for pages that show its life.
 */
#ifndef WS_BENCH_SHELF_H
#define WS_BENCH_SHELF_H

#include <jansson.h>

#include "bench/serve.h"

G_BEGIN_DECLS

/* Its newest so many, with records, checked, the oldest first.  NULL with an error.  Free with
 * g_ptr_array_unref(). */
GPtrArray *wsi_shelf_of (WsArchive *archive, const char *tool, guint most, GError **error);

/* A tool that waits to be ground; clear with wsi_waiting_clear(). */
typedef struct
{
  gboolean waits;
  WsInspection *inspection; /* the newest that asks for it, or NULL */
  json_t *record;           /* its record, or NULL */
  char *handed_by, *handed; /* who handed it over when, or NULL */
  guint64 since;            /* the number of the row that it waits since */
} WsWaiting;

void wsi_waiting_clear (WsWaiting *waiting);

/* A tool waits when it was handed over, or when its newest picture in a view says that it is to be
 * ground, and it wasn't marked as ground since. */
gboolean wsi_waiting_find (WsArchive *archive, const char *tool, WsWaiting *waiting,
                           GError **error);

G_END_DECLS

#endif
