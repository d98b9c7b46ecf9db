/*
 * By what pictures are measured: the scale or the calibration of each view, kept as a key file
 * beside the tool cards.
 *
 *   [view drill-side]
 *   calibration = bench.calib
 *   [card QT-D-0118 drill-side]
 *   scale = 0.01423
 *   scale_u = 0.000003
 *   [picture good-118.png]
 *   …
 *
 * A picture's own group counts before its card's, that before its view's.
 */
#ifndef WS_BENCH_SETUP_H
#define WS_BENCH_SETUP_H

#include <glib.h>

G_BEGIN_DECLS

#define WSI_SETUP_NAME "setup.conf"

typedef struct
{
  double scale, scale_u; /* mm a pixel; NAN: not said */
  char *calibration;     /* path, or NULL */
} WsSetup;

void wsi_setup_clear (WsSetup *setup);

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (WsSetup, wsi_setup_clear)

/* Without the file, or a group that fits, all is left open: lengths are in pixels then.  Errors:
 * WS_ERROR_DATA. */
gboolean wsi_setup_find (const char *folder, const char *card, const char *view,
                         const char *picture, WsSetup *setup, GError **error);

G_END_DECLS

#endif
