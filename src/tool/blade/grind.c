#include "tool/blade/grind.h"

#include "base/geometry.h"

/* Where an arc of radius r that touches side and front ends on the side, below the theoretical
 * corner: r cot (interior angle / 2).  The leading corner's interior angle is 90 degrees less the
 * rake and the side's clearance, the trailing one's 90 degrees and the rake less the clearance. */
static double
arc_depth (const WsBladeFront *front, gboolean leading)
{
  const double rake = wsi_radians (front->rake_deg);
  const guint k = leading ? 0 : 1;
  const double interior =
    0.5 * G_PI + (leading ? -rake : rake) - wsi_radians (front->clearance_deg[k]);
  return front->radius[k] / tan (0.5 * interior);
}

/* How far such an arc's foremost point falls short of the theoretical leading corner: its centre
 * lies arc_depth behind the corner. */
static double
arc_shortfall (const WsBladeFront *front)
{
  return arc_depth (front, TRUE) - front->radius[0];
}

WsBladeGrind
wsi_blade_grind (const WsBladeFront *front, double target_deg)
{
  const double rake = wsi_radians (front->rake_deg), target = wsi_radians (target_deg);
  const double chip = front->chip / cos (rake);
  /* What must go at either corner anyway. */
  const double leading = MAX (chip, arc_depth (front, TRUE));
  const double trailing = MAX (chip, arc_depth (front, FALSE));
  /* The trailing corner has to come down by so much more than the leading one. */
  const double more = front->width * (tan (target) - tan (rake));
  WsBladeGrind grind;
  grind.at_leading = MAX (MAX (leading, trailing - more), 0.0);
  grind.at_trailing = grind.at_leading + more;
  grind.setback = MAX (grind.at_leading - arc_shortfall (front), 0.0);
  grind.width = front->width - grind.at_leading * tan (wsi_radians (front->clearance_deg[0])) -
                grind.at_trailing * tan (wsi_radians (front->clearance_deg[1]));
  return grind;
}
