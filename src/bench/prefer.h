/*
 * What one browser likes to be shown: language and units, kept in a cookie of its own.
 */
#ifndef WS_BENCH_PREFER_H
#define WS_BENCH_PREFER_H

#include "bench/serve.h"

G_BEGIN_DECLS

/* Lengths in inches? */
gboolean wsi_prefer_inches (const WsServeRequest *request);

/* This thread's texts from now on: the language that was chosen, else what the browser asks for. */
void wsi_prefer_language (const WsServeRequest *request);

/* Handlers of routes (WsRouteHandler). */
WsServeReply *wsi_prefer_page (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_prefer_set (WsServe *serve, WsServeRequest *request);

G_END_DECLS

#endif
