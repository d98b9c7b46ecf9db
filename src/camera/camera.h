/*
 * Cameras of every kind behind one interface: open, set and read back, grab, close.
 *
 * A camera's address is its kind and its place: "files:FOLDER", "genicam:NAME", "v4l2:/dev/video0".
 * A frame is a picture in linear light, as one from a file is.
 */
#ifndef WS_CAMERA_CAMERA_H
#define WS_CAMERA_CAMERA_H

#include "camera/frame.h"

G_BEGIN_DECLS

typedef struct WsCamera WsCamera;

/* With `colour` frames have it, else they are grey, which the camera may give in finer steps.
 * Errors: WS_ERROR_USAGE when no such kind is known, WS_ERROR_NO_INPUT when there is no such
 * camera, it is busy, it gives no colour, or the program was built without its library.  Free with
 * wsi_camera_close(). */
WsCamera *wsi_camera_open (const char *address, gboolean colour, GError **error);
void wsi_camera_close (WsCamera *camera);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsCamera, wsi_camera_close)

/* Owned by the camera. */
const WsCameraIdentity *wsi_camera_identity (const WsCamera *camera);

/* Sets one control to the nearest value that the camera can, takes it from the camera's own care,
 * and reads it back.  What a camera doesn't have isn't an error: see `read`.  Errors:
 * WS_ERROR_NO_INPUT when the camera is gone. */
gboolean wsi_camera_set (WsCamera *camera, WsSettingName name, double value, WsSetting *read,
                         GError **error);

/* The control as it is now. */
gboolean wsi_camera_get (WsCamera *camera, WsSettingName name, WsSetting *read, GError **error);

/* Takes all controls from the camera's own care: white balance as it is, gamma 1, no sharpening,
 * exposure and gain as wished (NAN: as they are).  What can't be fixed is told by its state. */
gboolean wsi_camera_fix (WsCamera *camera, double exposure_s, double gain, WsCameraSettings *read,
                         GError **error);

/* The next picture.  Errors: WS_ERROR_NO_INPUT when there is none within `timeout_ms`, the camera
 * was unplugged or the folder is at its end; WS_ERROR_DATA when a part of it was lost on the way,
 * in which case the next one may be asked for. */
gboolean wsi_camera_grab (WsCamera *camera, WsFrame *frame, guint timeout_ms, GError **error);

G_END_DECLS

#endif
