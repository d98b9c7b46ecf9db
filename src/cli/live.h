/*
 * A camera's live frames until the picture is to be taken, with a line of words for each change.
 */
#ifndef WS_CLI_LIVE_H
#define WS_CLI_LIVE_H

#include <whetsight/live.h>
#include <whetsight/view.h>

#include "camera/camera.h"

G_BEGIN_DECLS

/* All borrowed. */
typedef struct
{
  const WsToolCard *card;
  const WsView *view;
  WsOptics optics;
  gboolean json; /* a line of JSON for each frame instead */
  double rate;   /* frames a second of a folder's pictures; NAN: as they come */
} WsLiveWatch;

/* Returns TRUE with the frame that is to be taken.  Errors: those of wsi_camera_grab(), told with
 * what was said last. */
gboolean wsi_live_wait (const WsLiveWatch *watch, WsCamera *camera, WsFrame *frame, GError **error);

/* An arrow of three letters and what is to be done, without a newline.  Free with g_free(). */
char *wsi_live_line (const WsLiveSaid *said);

G_END_DECLS

#endif
