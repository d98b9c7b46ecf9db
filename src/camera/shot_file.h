/*
 * A picture from a camera as a file.
 */
#ifndef WS_CAMERA_SHOT_FILE_H
#define WS_CAMERA_SHOT_FILE_H

#include "camera/frame.h"

G_BEGIN_DECLS

typedef struct
{
  const WsTaken *taken;
  guint n_frames;
  double shift_px;  /* the greatest between frames; NAN of one frame */
  const char *time; /* ISO 8601, UTC */
} WsShotNotes;

/* "0.01 s", "off", "none", "changed by the camera".  Free with g_free(). */
char *wsi_setting_text (WsSettingName name, const WsSetting *setting);

/* How `image` was taken, without a calibration.  Free with wsi_taken_free(). */
WsTaken *wsi_shot_taken (const WsCameraIdentity *identity, const WsCameraSettings *settings,
                         const WsImage *image);

/* The same from texts; `calibration` is the SHA-256 of the bench's, or NULL. */
WsTaken *wsi_shot_taken_of (const WsCameraIdentity *identity, const char *pixels,
                            char *const settings[WS_N_SETTINGS], const char *calibration);

/* A PNG of 16 bits in linear light, which its gAMA says, grey or in colour; the notes are text
 * chunks, which `measure` compares with those of the calibration (image/taken.h).  Errors:
 * WS_ERROR_INTERNAL. */
GBytes *wsi_shot_encode (const WsFrame *frame, const WsShotNotes *notes, GError **error);

G_END_DECLS

#endif
