/*
 * A length of a drill's fluted body in silhouette: half its width along the axis, which comes again
 * after half a lead.  Definitions: docs/methods/drill-roll.md, "The body alone".  Pixels.
 */
#ifndef WS_TOOL_DRILL_BODY_PERIOD_H
#define WS_TOOL_DRILL_BODY_PERIOD_H

#include "base/refusal.h"
#include "edge/axis.h"
#include "edge/outline.h"

G_BEGIN_DECLS

typedef struct
{
  WsAxis axis;
  gboolean point_seen; /* z runs toward it */
  double u_offset;     /* of the axis across */
  double low, step;    /* heights of the samples */
  guint n;
  double *half, *middle; /* of the width; NAN where not seen */
  double radius;         /* of the envelope */

  double period, u_period;
  double taper, u_taper; /* growth of half the width with z */
  double sigma;          /* of half the width about itself a period on */
  double land;           /* half the width over the lands behind the margins; NAN: none is flat */
  double bow, u_bow;     /* peak to valley of the middles, by a parabola */
  double middle_rms;     /* of the middles about it */
} WsBodyPeriod;

/* NULL with the reason where none is seen.  Free with wsi_body_period_free(). */
WsBodyPeriod *wsi_body_period_find (const WsOutline *outline, WsRefusal *refusal);
void wsi_body_period_free (WsBodyPeriod *body);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsBodyPeriod, wsi_body_period_free)

G_END_DECLS

#endif
