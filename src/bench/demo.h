/*
 * The demo's shop: an archive that was never kept, with a history that shows what pages can.
 */
#ifndef WS_BENCH_DEMO_H
#define WS_BENCH_DEMO_H

#include "bench/serve.h"

G_BEGIN_DECLS

/* Copies the shop's tool cards from the folder of its pictures, and writes by what scale each
 * picture is measured.  Errors: WS_ERROR_NO_INPUT, WS_ERROR_CANT_WRITE. */
gboolean wsi_demo_prepare (const char *samples, const char *cards, GError **error);

/* Measures pictures of the shop as if they had been sent, some of the same tool one after the
 * other, with regrinds between.  `go_on` (or NULL) is called before each, and stops it with FALSE.
 */
gboolean wsi_demo_fill (WsServe *serve, gboolean (*go_on) (void), GError **error);

G_END_DECLS

#endif
