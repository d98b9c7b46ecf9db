/*
 * From a camera's samples to a frame in linear light.
 */
#ifndef WS_CAMERA_SAMPLES_H
#define WS_CAMERA_SAMPLES_H

#include "camera/frame.h"

G_BEGIN_DECLS

typedef enum
{
  WS_SAMPLES_GREY,
  WS_SAMPLES_YUYV, /* luma of each pixel, chroma of each two */
  WS_SAMPLES_RGB,
  WS_SAMPLES_BGR,
  WS_SAMPLES_BAYER /* one colour a pixel: red at (red_x, red_y) of each 2 x 2, blue across */
} WsSamplesLayout;

typedef struct
{
  const void *bytes; /* of 16-bit samples in the machine's byte order when bits > 8 */
  gsize stride;      /* bytes from row to row */
  guint width, height;
  guint bits; /* of a code, 8 .. 16, at the low end of its sample; YUYV and RGB have 8 */
  WsSamplesLayout layout;
  guint red_x, red_y; /* 0 or 1 */
  guint black, white; /* 8-bit codes of no light and of full light; both 0: 0 and 255 */
  gboolean srgb;      /* codes follow the sRGB curve, else they are proportional to light */
  gboolean bt709;     /* chroma is that of Rec. ITU-R BT.709, else that of BT.601 */
  gboolean colour;    /* the frame shall have it; grey has none to give */
} WsSamples;

/* Bytes that the last row needs. */
gsize wsi_samples_row_bytes (const WsSamples *samples);

/* Fills the frame's picture, and its colour if wanted, and says whether it is saturated.  Errors:
 * WS_ERROR_TOO_LARGE; WS_ERROR_DATA for pictures of a few pixels. */
gboolean wsi_samples_to_frame (const WsSamples *samples, WsFrame *frame, GError **error);

G_END_DECLS

#endif
