/*
 * What programs, and the page's scripts, ask for.
 */
#ifndef WS_BENCH_API_H
#define WS_BENCH_API_H

#include "bench/serve.h"

G_BEGIN_DECLS

/* Handlers of routes (WsRouteHandler). */
WsServeReply *wsi_api_tools (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_api_upload (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_api_inspections (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_api_inspection (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_api_picture (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_api_original (WsServe *serve, WsServeRequest *request);

G_END_DECLS

#endif
