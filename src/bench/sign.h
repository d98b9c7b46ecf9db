/*
 * Signing in and out.
 */
#ifndef WS_BENCH_SIGN_H
#define WS_BENCH_SIGN_H

#include "bench/serve.h"

G_BEGIN_DECLS

/* Handlers of routes (WsRouteHandler). */
WsServeReply *wsi_sign_page (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_sign_in (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_sign_out (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_sign_session (WsServe *serve, WsServeRequest *request);

G_END_DECLS

#endif
