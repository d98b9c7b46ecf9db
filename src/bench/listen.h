/*
 * Connections: HTTP to requests and answers back.  Built without libmicrohttpd it says what is
 * missing.
 */
#ifndef WS_BENCH_LISTEN_H
#define WS_BENCH_LISTEN_H

#include "bench/serve.h"

G_BEGIN_DECLS

typedef struct WsListener WsListener;

/* Certificate and key as PEM text; both NULL without TLS. */
typedef struct
{
  const char *certificate, *key;
} WsListenTls;

/* FALSE with WS_ERROR_USAGE where this program was built without libmicrohttpd. */
gboolean wsi_listener_can (GError **error);

/* Listens on this computer alone or, with `serve->settings.lan`, on the network.  Errors:
 * WS_ERROR_CANT_WRITE when the port is taken; WS_ERROR_USAGE where this program was built without
 * it.  Free with wsi_listener_free(), which waits for what is being answered. */
WsListener *wsi_listener_new (WsServe *serve, const WsListenTls *tls, GError **error);
void wsi_listener_free (WsListener *listener);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsListener, wsi_listener_free)

guint wsi_listener_port (const WsListener *listener);

/* Cuts connections that take too long; to be called about once a second. */
void wsi_listener_cut_slow (WsListener *listener);

G_END_DECLS

#endif
