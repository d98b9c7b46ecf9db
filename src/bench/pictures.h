/*
 * An inspection's pictures, as the archive has them.
 */
#ifndef WS_BENCH_PICTURES_H
#define WS_BENCH_PICTURES_H

#include "bench/serve.h"

G_BEGIN_DECLS

/* The annotated or the original picture of the inspection that the request names, checked by its
 * hash. */
WsServeReply *wsi_pictures_reply (WsServe *serve, const WsServeRequest *request,
                                  gboolean annotated);

G_END_DECLS

#endif
