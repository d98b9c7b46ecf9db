#include "tool/drill/side/burr.h"

#include "base/geometry.h"
#include "result/build.h"
#include "tool/drill/side/lip_burr.h"
#include "tool/drill/side/proud.h"
#include "tool/silhouette.h"

/* How far the line under it is off, px: own trials; what it may be off by more for what hides in it
 * is known of each line. */
#define LINE_PX 0.07

/* A quarter of a lower one's height doesn't show, px. */
#define LENGTH_FROM_PX 0.6

/* Blur rounds off where one breaks off at the corner, or the lip ends under it. */
#define CORNER_PX 1.0
#define CORNER_FROM 0.95

/* What stands on a lip that falls off before its corner, as every one does by what half the web
 * makes it and a worn one by more, may go on to there. */
static double
beyond_fall (const WsDrillPoint *point, guint k, const WsBurr *burr)
{
  const double corner = wsi_point_distance (point->lips[k].corner, point->apex);
  return burr->falls_off ? MAX (corner - burr->to, 0) / sqrt (3.0) : 0;
}

static void
set_none (const WsDrillEvidence *seen, double least, WsQuantity *height)
{
  wsi_quantity_set_seen (height, 0, seen->optics);
  wsi_quantity_set_smallest_seen (height, least, seen->optics);
  wsi_quantity_add_seen_line (height, "smallest wire edge seen", WS_DISTRIBUTION_RECTANGULAR,
                              least / sqrt (3.0), seen->optics);
}

/* The line's own, where the wire edge is highest: its direction counts toward its ends. */
static double
line_u_at (const WsDrillLip *lip, WsPoint where)
{
  const WsLineFit *line = &lip->line;
  const double t = wsi_point_dot (wsi_point_sub (where, line->centre), line->direction);
  const double arm = fabs (t - 0.5 * (line->t_low + line->t_high));
  return hypot (hypot (line->u_offset, lip->proud.u_offset),
                arm * hypot (line->u_angle, lip->proud.u_angle));
}

static void
set_height (const WsDrillEvidence *seen, guint k, const WsBurr *burr, WsQuantity *height)
{
  const WsDrillLip *lip = &seen->point->lips[k];
  wsi_quantity_set_seen (height, burr->height, seen->optics);
  wsi_quantity_set_smallest_seen (height, lip->wire.least, seen->optics);
  wsi_quantity_add_seen_line (height, "edge noise, teeth lowered by blur", WS_DISTRIBUTION_NORMAL,
                              hypot (burr->u_height, burr->higher / sqrt (3.0)), seen->optics);
  const WsPoint where = lip->wire.height > 0 ? lip->wire.where : lip->proud.where;
  wsi_quantity_add_seen_line (height, "lip line under it", WS_DISTRIBUTION_NORMAL,
                              hypot (LINE_PX, line_u_at (lip, where)), seen->optics);
  wsi_quantity_set_place (height, wsi_axis_to_picture (&seen->point->mirror.axis, where));
}

static void
set_length (const WsDrillEvidence *seen, guint k, const WsBurr *burr, const WsQuantity *chip,
            WsQuantity *length)
{
  const WsDrillPoint *point = seen->point;
  const double sine = sin (point->lips[k].half_angle);
  /* Toward the axis the chisel edge hides where it begins. */
  if (burr->height < LENGTH_FROM_PX || burr->is_beside_round || point->lips[k].wire.at_tip ||
      burr->from * sine < WS_LIP_FROM * point->radius)
    return;
  /* A chip breaks a wire edge off, too: what is left of it may be in pieces. */
  if (chip->known && chip->value > 0)
    return;
  const gboolean at_corner = burr->to * sine > CORNER_FROM * point->radius;
  const double corner = at_corner ? CORNER_PX + point->outline->blur_px : 0;
  wsi_quantity_set_seen (length, burr->length, seen->optics);
  wsi_quantity_add_seen_line (length, "where the wire edge ends", WS_DISTRIBUTION_NORMAL,
                              hypot (hypot (burr->u_length, corner), beyond_fall (point, k, burr)),
                              seen->optics);
}

void
wsi_drill_fill_burrs (const WsDrillEvidence *seen, WsQuantity *q[WS_DRILL_N_QUANTITIES])
{
  const WsDrillPoint *point = seen->point;
  for (guint k = 0; k < 2; k++)
  {
    const WsDrillLip *lip = &point->lips[k];
    const WsBurr burr = wsi_drill_burr (point, k);
    WsQuantity *height = q[WS_DRILL_BURR_HEIGHT_A + k], *length = q[WS_DRILL_BURR_LENGTH_A + k];
    if (!wsi_drill_is_proud (point, k) && burr.height < lip->wire.least && !lip->proud.unclear)
      set_none (seen, lip->wire.least, height);
    /* What stands proud elsewhere, a drop at the tip, is no height of what would hardly show. */
    if (!wsi_drill_is_proud (point, k) || wsi_drill_is_dirt (point, k) ||
        burr.shape != WS_BURR_WIRE || burr.height < lip->wire.least)
      continue;
    set_height (seen, k, &burr, height);
    set_length (seen, k, &burr, q[WS_DRILL_CHIP_DEPTH_A + k], length);
  }
}
