/*
 * Checks of calibrations, made through the page.
 */
#ifndef WS_BENCH_CHECKS_H
#define WS_BENCH_CHECKS_H

#include <whetsight/checks.h>

#include "bench/calibrations.h"
#include "bench/serve.h"

G_BEGIN_DECLS

/* Measures what the request says is shown (fields kind, size, hole, u), keeps the outcome beside
 * the calibration, and enters it into the chain.  `why` is set, to be freed, when the picture can't
 * be measured.  FALSE with an error for what can't be used. */
gboolean wsi_checks_make (WsServe *serve, const WsServeRequest *request,
                          const WsServeCalibration *calibration, GBytes *picture, char **why,
                          GError **error);

/* The newest run's checks, of WsCheck, and all of them.  Free with g_ptr_array_unref(). */
GPtrArray *wsi_checks_all (const WsServeCalibration *calibration, GError **error);
guint wsi_checks_newest (const GPtrArray *all, const char *id);

G_END_DECLS

#endif
