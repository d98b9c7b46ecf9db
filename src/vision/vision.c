#include "vision/ws_vision.h"

#include <whetsight/error.h>

#include "late/late.h"

static const WsVisionModule *
open_module (GError **error)
{
  return wsi_late_open (WS_VISION_MODULE_FILE, WS_VISION_MODULE_SYMBOL, error);
}

gboolean
wsi_vision_decode (const guint8 *bytes, gsize n_bytes, WsVisionPicture *picture, GError **error)
{
  const WsVisionModule *module = open_module (error);
  if (module == NULL)
    return FALSE;

  *picture = (WsVisionPicture){ 0 };
  const char *wrong = module->decode (bytes, n_bytes, picture);
  if (wrong == NULL)
    return TRUE;
  g_set_error_literal (error, WS_ERROR, WS_ERROR_DATA, wrong);
  return FALSE;
}

void
wsi_vision_picture_clear (WsVisionPicture *picture)
{
  g_clear_pointer (&picture->samples, g_free);
}

/* FALSE when `wrong` tells of something. */
static gboolean
report (const char *wrong, WsErrorCode code, GError **error)
{
  if (wrong != NULL)
    g_set_error_literal (error, WS_ERROR, (gint)code, wrong);
  return wrong == NULL;
}

gboolean
wsi_vision_find_board (const WsVisionLight *light, guint columns, guint rows, WsVisionBoard *board,
                       GError **error)
{
  const WsVisionModule *module = open_module (error);
  *board = (WsVisionBoard){ 0 };
  return module != NULL &&
         report (module->find_board (light, columns, rows, board), WS_ERROR_INTERNAL, error);
}

void
wsi_vision_board_clear (WsVisionBoard *board)
{
  g_clear_pointer (&board->corners, g_free);
}

gboolean
wsi_vision_refine_corner (const WsVisionLight *light, guint half_width, double corner[2],
                          GError **error)
{
  const WsVisionModule *module = open_module (error);
  return module != NULL &&
         report (module->refine_corner (light, half_width, corner), WS_ERROR_INTERNAL, error);
}

gboolean
wsi_vision_edge_widths (const WsVisionLight *light, const WsVisionBoard *board, double widths[2],
                        GError **error)
{
  const WsVisionModule *module = open_module (error);
  return module != NULL &&
         report (module->edge_widths (light, board, widths), WS_ERROR_INTERNAL, error);
}

gboolean
wsi_vision_calibrate (const WsVisionViews *views, double camera[6], double *poses, GError **error)
{
  const WsVisionModule *module = open_module (error);
  return module != NULL && report (module->calibrate (views, camera, poses), WS_ERROR_DATA, error);
}

/* ---- Video --------------------------------------------------------------------------------- */

struct WsVisionVideo
{
  const WsVisionModule *module;
  gpointer video; /* the module's */
};

WsVisionVideo *
wsi_vision_video_open (const char *path, double *rate, GError **error)
{
  gpointer video = NULL;
  *rate = 0.0;
  const WsVisionModule *module = open_module (error);
  if (module == NULL || !report (module->open_video (path, &video, rate), WS_ERROR_DATA, error))
    return NULL;
  WsVisionVideo *opened = g_new0 (WsVisionVideo, 1);
  *opened = (WsVisionVideo){ module, video };
  return opened;
}

void
wsi_vision_video_close (WsVisionVideo *video)
{
  if (video == NULL)
    return;
  video->module->close_video (video->video);
  g_free (video);
}

gboolean
wsi_vision_video_read (WsVisionVideo *video, WsVisionFrame *frame, GError **error)
{
  return report (video->module->read_video (video->video, frame), WS_ERROR_DATA, error);
}
