/*
 * What a camera gives and takes: frames, settings, its identity.
 */
#ifndef WS_CAMERA_FRAME_H
#define WS_CAMERA_FRAME_H

#include <whetsight/image.h>

G_BEGIN_DECLS

/* ---- What can be set --------------------------------------------------------------------- */

typedef enum
{
  WS_SETTING_EXPOSURE,      /* s */
  WS_SETTING_GAIN,          /* in the camera's own unit, see WsSetting.unit */
  WS_SETTING_WHITE_BALANCE, /* 0: fixed as it is */
  WS_SETTING_GAMMA,         /* 1: codes are proportional to light */
  WS_SETTING_SHARPENING,    /* 0: none */
  WS_N_SETTINGS
} WsSettingName;

typedef enum
{
  WS_SETTING_ABSENT,   /* the camera has no such control */
  WS_SETTING_FIXED,    /* it stays where it was read back */
  WS_SETTING_WANDERING /* the camera changes it by itself, and can't be kept from it */
} WsSettingState;

typedef struct
{
  WsSettingState state;
  double value; /* as read back; NAN unless fixed */
  double least, most;
  const char *unit; /* "s", "dB", "" for a number of the camera's own; static */
} WsSetting;

typedef struct
{
  WsSetting of[WS_N_SETTINGS];
} WsCameraSettings;

/* "exposure", as in bench files and pictures' notes. */
const char *wsi_setting_name (WsSettingName name);

/* ---- A frame ----------------------------------------------------------------------------- */

/* Zero bytes before the first wsi_camera_grab(), which makes the picture; the next ones go into the
 * same.  Free with wsi_frame_clear(). */
typedef struct
{
  WsImage *image;
  guint16 *colour;    /* red, green and blue in linear light, width x height x 3; holds where
                         image->has_colour says so */
  guint16 *scratch;   /* room of whoever makes the picture */
  guint64 number;     /* counted by the camera, from 0 */
  gint64 time_us;     /* g_get_monotonic_time() when it was whole */
  gboolean saturated; /* some of its codes are at the end of their range */
} WsFrame;

void wsi_frame_clear (WsFrame *frame);

/* The frame's picture at this size, with room for its colour when that is wanted: the same while
 * the size stays, so that nothing is allocated. */
WsImage *wsi_frame_room (WsFrame *frame, guint width, guint height, gboolean colour,
                         GError **error);

/* The luminance of the frame's colour, into its picture. */
void wsi_frame_take_luminance (WsFrame *frame);

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (WsFrame, wsi_frame_clear)

/* ---- Which camera it is ------------------------------------------------------------------ */

typedef struct
{
  char *kind;   /* "files", "genicam", "v4l2" */
  char *name;   /* maker and model, UTF-8; "" when it doesn't say */
  char *serial; /* "" when it has none */
} WsCameraIdentity;

G_END_DECLS

#endif
