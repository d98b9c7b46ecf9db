/*
 * One picture of `verify`.
 */
#ifndef WS_CLI_VERIFY_H
#define WS_CLI_VERIFY_H

#include <whetsight/image.h>
#include <whetsight/retake.h>

#include "cli/shots.h"
#include "optics/checks.h"

G_BEGIN_DECLS

typedef struct
{
  const WsOptics *optics; /* of the calibration; borrowed */
  const char *run;        /* borrowed */
  GPtrArray *checks;      /* where checks are added; borrowed */
  WsRetake reason;        /* why the last picture can't be measured */
  char *detail;           /* what was seen; owned */
} WsVerifying;

/* Measures the shot and adds a WsCheck for each size that is known of it.  FALSE when the picture
 * can't be measured, with `reason` and `detail` set, or with WS_ERROR_INTERNAL. */
gboolean ws_verify_measure (WsVerifying *verifying, const WsShot *shot, const WsImage *image,
                            GError **error);

G_END_DECLS

#endif
