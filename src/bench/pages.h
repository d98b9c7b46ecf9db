/*
 * The pages, made on the server: they work without scripts.
 */
#ifndef WS_BENCH_PAGES_H
#define WS_BENCH_PAGES_H

#include "bench/serve.h"

G_BEGIN_DECLS

/* Handlers of routes (WsRouteHandler). */
WsServeReply *wsi_page_tools (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_page_measure (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_page_upload (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_page_inspections (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_page_inspection (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_page_live (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_page_scan (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_page_labels (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_page_export (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_page_tool (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_page_toolroom (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_page_quality (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_page_verify (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_page_seal (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_page_accounts (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_page_asset (WsServe *serve, WsServeRequest *request);

WsServeReply *wsi_page_check (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_page_make_check (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_page_plant (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_page_again (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_page_study (WsServe *serve, WsServeRequest *request);

G_END_DECLS

#endif
