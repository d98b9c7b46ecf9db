#include "tool/drill/side/lens.h"

#include "base/geometry.h"
#include "optics/deviate.h"
#include "optics/lens.h"

typedef struct
{
  const WsLens *lens, *other;
  const WsAxis *axis;
  double edge_shift; /* growth of the edge shift, px */
} Change;

/* Where a point of the tool frame comes out, its edge having the outward normal `normal`. */
static WsPoint
moved (const Change *change, WsPoint uz, WsPoint normal)
{
  const WsPoint at = wsi_axis_to_picture (change->axis, uz);
  const WsPoint to =
    wsi_axis_to_tool (change->axis, wsi_lens_deviate (change->lens, change->other, at));
  return wsi_point_along (to, change->edge_shift, normal);
}

/* Heights at which the axis is looked at. */
#define HEIGHTS 33

/* Both sides of the body at one height: their middle and half their distance. */
static void
body_at (const Change *change, double radius, double z, double *middle, double *half)
{
  const WsPoint left = moved (change, wsi_point (-radius, z), wsi_point (-1, 0));
  const WsPoint right = moved (change, wsi_point (radius, z), wsi_point (1, 0));
  *middle = 0.5 * (left.x + right.x);
  *half = 0.5 * (right.x - left.x);
}

/* The axis as u = place + lean (z - z_high). */
typedef struct
{
  double place, lean, z_high;
} Shift;

static WsPoint
in_frame (const Shift *shift, WsPoint p)
{
  return wsi_point (p.x - shift->place - shift->lean * (p.y - shift->z_high),
                    p.y + shift->lean * p.x);
}

/* As the mid-points' line by least squares: what bends the axis moves it at the lips by two thirds
 * of how far its middle is bent off its ends. */
static Shift
shift_of (const Change *change, double radius, double z_high, double length)
{
  double mean = 0, slope = 0, squares = 0, unused;
  for (guint i = 0; i < HEIGHTS; i++)
  {
    double middle;
    const double t = (double)i / (HEIGHTS - 1) - 0.5;
    body_at (change, radius, z_high - (0.5 - t) * length, &middle, &unused);
    mean += middle / HEIGHTS;
    slope += t * middle;
    squares += t * t;
  }
  slope /= squares;
  return (Shift){ mean + 0.5 * slope, slope / length, z_high };
}

WsDrillLines
wsi_drill_lens_seen (const WsLens *lens, const WsLens *other, const WsDrillPoint *point,
                     const WsDrillLines *lines)
{
  const Change change = { lens, other, &point->mirror.axis,
                          other->parameters[WS_LENS_EDGE_SHIFT] -
                            lens->parameters[WS_LENS_EDGE_SHIFT] };
  const double z_high = MIN (point->lips[0].corner.y, point->lips[1].corner.y);
  double half, unused;
  body_at (&change, lines->radius, z_high, &unused, &half);
  const Shift shift = shift_of (&change, lines->radius, z_high, point->mirror.length_px);

  WsDrillLines seen = { .radius = half };
  for (guint k = 0; k < 2; k++)
  {
    const WsPoint along = wsi_drill_lines_along (lines, k);
    const WsPoint normal = wsi_drill_lines_outward (lines, k);
    const double length = 0.5 * (WS_LIP_TO - WS_LIP_FROM) * lines->radius / fabs (along.x);
    const WsPoint inner = wsi_point_along (lines->centre[k], -length, along);
    const WsPoint outer = wsi_point_along (lines->centre[k], length, along);
    const WsPoint from = in_frame (&shift, moved (&change, inner, normal));
    const WsPoint run = wsi_point_sub (in_frame (&shift, moved (&change, outer, normal)), from);
    seen.centre[k] = wsi_point_along (from, 0.5, run);
    seen.angle[k] = atan2 (fabs (run.x), -run.y);
  }
  return seen;
}
