/*
 * A picture from a camera as a file.
 */
#ifndef WS_CAMERA_SHOT_FILE_H
#define WS_CAMERA_SHOT_FILE_H

#include "camera/frame.h"

G_BEGIN_DECLS

typedef struct
{
  const WsCameraIdentity *identity;
  const WsCameraSettings *settings;
  guint n_frames;
  double shift_px;  /* the greatest between frames; NAN of one frame */
  const char *time; /* ISO 8601, UTC */
} WsShotNotes;

/* "0.01 s", "off", "none", "changed by the camera".  Free with g_free(). */
char *wsi_setting_text (WsSettingName name, const WsSetting *setting);

/* A PNG of 16 bits in linear light, which its gAMA says; the notes are text chunks.  Errors:
 * WS_ERROR_INTERNAL. */
GBytes *wsi_shot_encode (const WsImage *image, const WsShotNotes *notes, GError **error);

G_END_DECLS

#endif
