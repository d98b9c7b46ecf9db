/*
 * The pictures before and after a tool's regrind, as an archive has them.
 */
#ifndef WS_CLI_REGRIND_H
#define WS_CLI_REGRIND_H

#include <whetsight/archive.h>
#include <whetsight/calibration.h>
#include <whetsight/set_out.h>

#include "cli/options.h"

G_BEGIN_DECLS

/* One inspection and how its picture was taken. */
typedef struct
{
  char *id, *time, *path, *name;
  const WsView *view;
  WsOptics optics; /* its lens that of the calibration that was given, or NULL */
} WsRegrindShot;

/* What to look for; NULL: the newest. */
typedef struct
{
  const char *tool, *view;
  const char *before, *after; /* ids */
  gboolean after_is_new; /* no inspection: what is being measured; then only `before` is found */
  const WsCalibration *calibration; /* that pictures were taken by; or NULL */
} WsRegrindAsked;

void wsi_regrind_shot_clear (WsRegrindShot *shot);

/*
 * The newest inspection after a regrind that shows the edge in silhouette, and the newest before it
 * in the same view, with their pictures.  Errors: WS_ERROR_NO_INPUT where there are none, and says
 * what lacks; WS_ERROR_DATA for one that isn't as it was written, or was measured by a calibration
 * that wasn't given.
 */
gboolean wsi_regrind_find (WsArchive *archive, const WsRegrindAsked *asked, WsRegrindShot shots[2],
                           GError **error);

/* Lays both pictures on each other; NULL with an error when one can't be read. */
WsResult *wsi_regrind_measure (const WsRegrindShot shots[2], WsReference reference, GError **error);

/* "tool", "stop", "camera". */
extern const WsOptionCheck wsi_check_reference;

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (WsRegrindShot, wsi_regrind_shot_clear)

G_END_DECLS

#endif
