/*
 * The bench file that the page was started with: its calibration, and whether its check is due.
 */
#ifndef WS_BENCH_OWN_BENCH_H
#define WS_BENCH_OWN_BENCH_H

#include "bench/serve.h"
#include "bench/setup.h"

G_BEGIN_DECLS

/* The name of what the bench camera took. */
#define WSI_TAKEN_NAME "bench-camera.png"

/* Of a picture by that name: where the setup says nothing, the bench's calibration is taken, and
 * `due` is set when its check is due.  Nothing without a bench file.  Errors: those of the bench
 * file and its calibration. */
gboolean wsi_own_bench_complete (const WsServe *serve, const char *picture, WsSetup *setup,
                                 gboolean *due, GError **error);

G_END_DECLS

#endif
