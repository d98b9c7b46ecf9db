/*
 * What of a cutoff blade rubs on a given part: docs/methods/set-out.md, "Clearance".
 */
#include <whetsight/set_out.h>

#include "base/geometry.h"
#include "tool/centre_height.h"

WsBladeClearance
ws_blade_clearance (const WsBladeWork *work)
{
  WsBladeClearance seen = { .depth = 0.5 * (work->part_diameter - work->part_bore) };
  const double turn = wsi_centre_height_turn (work->part_diameter, work->centre_height);
  const double relief = wsi_radians (work->front_relief);
  seen.narrower = seen.depth * tan (wsi_radians (work->side_clearance));
  seen.least_relief = work->front_relief - wsi_degrees (turn);
  seen.rubs_below = wsi_centre_height_rubs_below (work->centre_height, relief);
  seen.spare_overhang = work->overhang - seen.depth;
  seen.slenderness = work->overhang / work->height;
  seen.bends = seen.slenderness * seen.slenderness * seen.slenderness;
  return seen;
}
