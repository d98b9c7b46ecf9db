/*
 * The exposure that puts the background where it should be.
 */
#ifndef WS_CAMERA_EXPOSE_H
#define WS_CAMERA_EXPOSE_H

#include "camera/camera.h"

G_BEGIN_DECLS

/* The background's code, of full scale: bright, and clear of its end (docs/setup.md). */
#define WS_EXPOSE_LEVEL 0.80
#define WS_EXPOSE_FRAMES 8

/* The background's code 0 .. 1 in a frame: brighter than nearly all else, few glints aside. */
double wsi_background_level (const WsImage *image);

/* Sets the exposure from what is seen, in WS_EXPOSE_FRAMES frames at most; `frame` has the last
 * one, `read` what was set.  Errors: those of grabbing; WS_ERROR_DATA when the level can't be
 * reached, with what would help. */
gboolean wsi_expose (WsCamera *camera, guint timeout_ms, WsFrame *frame, WsSetting *read,
                     GError **error);

G_END_DECLS

#endif
