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
WsServeReply *wsi_api_tool (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_api_card (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_api_set_card (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_api_values (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_api_trend (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_api_grind_sheet (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_api_report (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_api_comment (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_api_sign_off (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_api_release (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_api_regrind (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_api_regrind_told (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_api_regrind_chart (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_api_live (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_api_take (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_api_handover (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_api_accounts (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_api_set_account (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_api_set_password (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_api_archive (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_api_verify (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_api_seal (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_api_views (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_api_description (WsServe *serve, WsServeRequest *request);

WsServeReply *wsi_api_calibrations (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_api_checks (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_api_make_check (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_api_checks_chart (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_api_check_live (WsServe *serve, WsServeRequest *request);
WsServeReply *wsi_api_study (WsServe *serve, WsServeRequest *request);

/* A frame of the bench camera, its words in this thread's language. */
WsServeReply *wsi_live_reply (GBytes *frame);

G_END_DECLS

#endif
