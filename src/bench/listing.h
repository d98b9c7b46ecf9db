/*
 * Inspections by what a request asks for.
 */
#ifndef WS_BENCH_LISTING_H
#define WS_BENCH_LISTING_H

#include "bench/serve.h"

G_BEGIN_DECLS

#define WSI_LISTING_MOST 200
#define WSI_LISTING_USUAL 50

/* The query's tool, kind, view, verdict, station, grinder, from and to, numbers below `before`; all
 * of them.  Borrows from the request. */
WsArchiveFilter wsi_listing_filter (const WsServeRequest *request);

/* Its `last` newest.  Of WsInspection with records, checked, the newest first.  NULL with an error.
 * Free with g_ptr_array_unref(). */
GPtrArray *wsi_listing_find (WsServe *serve, const WsServeRequest *request, GError **error);

G_END_DECLS

#endif
