#include "camera/frame.h"

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
}

WsImage *
wsi_frame_room (WsFrame *frame, guint width, guint height, GError **error)
{
  if (frame->image != NULL && (frame->image->width != width || frame->image->height != height))
    wsi_frame_clear (frame);
  if (frame->image == NULL)
    frame->image = ws_image_new (width, height, error);
  return frame->image;
}
