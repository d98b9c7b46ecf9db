/*
 * Colour from a sensor whose pixels see one of red, green and blue each.
 */
#ifndef WS_CAMERA_BAYER_H
#define WS_CAMERA_BAYER_H

#include "camera/frame.h"

G_BEGIN_DECLS

typedef struct
{
  guint width, height;
  guint red_x, red_y; /* where red lies in each 2 x 2: 0 or 1; blue lies across from it */
} WsBayer;

/* Room in the frame's scratch for what the sensor saw.  Errors: WS_ERROR_DATA for a picture of a
 * few pixels; WS_ERROR_TOO_LARGE. */
gboolean wsi_bayer_room (const WsBayer *bayer, WsFrame *frame, GError **error);

/* Where row `y` goes: linear light, a colour a pixel. */
guint16 *wsi_bayer_row (const WsBayer *bayer, const WsFrame *frame, guint y);

/* Fills the frame's colour, for which there is room, from the rows. */
void wsi_bayer_fill (const WsBayer *bayer, WsFrame *frame);

G_END_DECLS

#endif
