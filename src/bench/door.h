/*
 * How a request becomes an answer: it is admitted first by its head alone, by host, origin, route,
 * role and how often its client asks; then its body is read, and it is answered.  In any thread.
 */
#ifndef WS_BENCH_DOOR_H
#define WS_BENCH_DOOR_H

#include "bench/serve.h"

G_BEGIN_DECLS

/* NULL for a request that may go on; its route's ids and who asks are set then.  `most_body` is
 * how long its body may be. */
WsServeReply *wsi_serve_admit (WsServe *serve, WsServeRequest *request, guint64 *most_body);

/* What an admitted request is answered; never NULL. */
WsServeReply *wsi_serve_answer (WsServe *serve, WsServeRequest *request);

G_END_DECLS

#endif
