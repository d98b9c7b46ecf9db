#include "camera/frame.h"

#include <whetsight/error.h>

/* Luminance by Rec. ITU-R BT.709-6, 3.2, in parts of 2^15, so that grey stays as it is. */
#define LUMINANCE_BITS 15
#define LUMINANCE_RED 6966U
#define LUMINANCE_GREEN 23436U
#define LUMINANCE_BLUE 2366U

static const char *const setting_names[WS_N_SETTINGS] = {
  [WS_SETTING_EXPOSURE] = "exposure",           [WS_SETTING_GAIN] = "gain",
  [WS_SETTING_WHITE_BALANCE] = "white_balance", [WS_SETTING_GAMMA] = "gamma",
  [WS_SETTING_SHARPENING] = "sharpening",
};

const char *
wsi_setting_name (WsSettingName name)
{
  return name < WS_N_SETTINGS ? setting_names[name] : NULL;
}

/* ---- Frames ------------------------------------------------------------------------------ */

void
wsi_frame_clear (WsFrame *frame)
{
  g_clear_pointer (&frame->image, ws_image_free);
  g_clear_pointer (&frame->colour, g_free);
  g_clear_pointer (&frame->scratch, g_free);
}

WsImage *
wsi_frame_room (WsFrame *frame, guint width, guint height, gboolean colour, GError **error)
{
  if (frame->image != NULL && (frame->image->width != width || frame->image->height != height))
    wsi_frame_clear (frame);
  if (frame->image == NULL)
    frame->image = ws_image_new (width, height, error);
  if (frame->image == NULL || !colour || frame->colour != NULL)
    return frame->image;
  frame->colour = g_try_malloc_n ((gsize)width * height, 3 * sizeof *frame->colour);
  if (frame->colour != NULL)
    return frame->image;
  g_set_error_literal (error, WS_ERROR, WS_ERROR_TOO_LARGE,
                       "no memory for the colour of such large pictures; take them in grey");
  return NULL;
}

void
wsi_frame_take_luminance (WsFrame *frame)
{
  const gsize n = (gsize)frame->image->width * frame->image->height;
  const guint16 *from = frame->colour;
  for (gsize i = 0; i < n; i++, from += 3)
    frame->image->linear[i] = (guint16)((LUMINANCE_RED * from[0] + LUMINANCE_GREEN * from[1] +
                                         LUMINANCE_BLUE * from[2] + (1U << (LUMINANCE_BITS - 1))) >>
                                        LUMINANCE_BITS);
}
