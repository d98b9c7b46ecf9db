/*
 * From a camera's samples to a frame in linear light.
 */
#ifndef WS_CAMERA_SAMPLES_H
#define WS_CAMERA_SAMPLES_H

#include "camera/frame.h"

G_BEGIN_DECLS

typedef struct
{
  const void *bytes; /* of 16-bit samples in the machine's byte order when bits > 8 */
  gsize stride;      /* bytes from row to row */
  guint width, height;
  guint bits;         /* of a code, 8 .. 16, at the low end of its sample */
  guint channels;     /* 1 grey, 2 grey and a byte that is passed over, 3 colours of 8 bits */
  guint black, white; /* 8-bit codes of no light and of full light; both 0: 0 and 255 */
  gboolean blue_first;
  gboolean srgb; /* codes follow the sRGB curve, else they are proportional to light */
} WsSamples;

/* Fills the frame's picture, and says whether it is saturated.  Errors: WS_ERROR_TOO_LARGE. */
gboolean wsi_samples_to_frame (const WsSamples *samples, WsFrame *frame, GError **error);

G_END_DECLS

#endif
