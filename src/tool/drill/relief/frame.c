#include "tool/drill/relief/frame.h"

/* Px on either side of the edge that are read. */
#define SIDE_PX 3

/* Bilinear, of a place that is known to lie inside. */
static inline double
light_inside (const WsReliefPlane *plane, double x, double y)
{
  const guint i = (guint)x, j = (guint)y;
  const double tx = x - i, ty = y - j;
  const float *at = plane->light + (gsize)j * plane->width + i;
  const double above = (double)at[0] + ((double)at[1] - (double)at[0]) * tx;
  at += plane->width;
  const double below = (double)at[0] + ((double)at[1] - (double)at[0]) * tx;
  return above + (below - above) * ty;
}

static gboolean
is_inside (const WsReliefPlane *plane, WsPoint p)
{
  return p.x >= 0 && p.y >= 0 && p.x < plane->width - 1.0 && p.y < plane->height - 1.0;
}

/* Millions of these are taken: all that is read lies between four corners. */
double
wsi_relief_step (const WsReliefFrame *frame, double s, double o, double slope)
{
  const WsReliefPlane *plane = frame->plane;
  const WsPoint middle = wsi_relief_frame_place (frame, s, o), down = frame->down;
  const WsPoint along = wsi_point_along (frame->away, slope, down);
  for (gint corner = 0; corner < 4; corner++)
  {
    const WsPoint end =
      wsi_point_along (middle, corner % 2 == 0 ? -frame->reach : frame->reach, along);
    if (!is_inside (plane, wsi_point_along (end, corner < 2 ? -SIDE_PX : SIDE_PX, down)))
      return NAN;
  }
  double sum = 0;
  for (gint i = -WS_RELIEF_READ_ALONG; i <= WS_RELIEF_READ_ALONG; i++)
  {
    const double k = (double)i * frame->reach / WS_RELIEF_READ_ALONG;
    const WsPoint on = wsi_point_along (middle, k, along);
    for (gint side = 1; side <= SIDE_PX; side++)
      sum += light_inside (plane, on.x - side * down.x, on.y - side * down.y) -
             light_inside (plane, on.x + side * down.x, on.y + side * down.y);
  }
  return sum / (SIDE_PX * (2 * WS_RELIEF_READ_ALONG + 1));
}

double
wsi_relief_curve_at (const WsReliefCurve *curve, double s)
{
  return curve->a + (curve->b + curve->c * s) * s;
}

double
wsi_relief_curve_slope (const WsReliefCurve *curve, double s)
{
  return curve->b + 2 * curve->c * s;
}

double
wsi_relief_mean_step (const WsReliefFrame *frame, const WsReliefCurve *curve, double from,
                      double to, double lift)
{
  double sum = 0;
  guint n = 0;
  for (double s = from; s <= to; s += 2 * frame->reach, n++)
    sum += wsi_relief_step (frame, s, wsi_relief_curve_at (curve, s) - lift,
                            wsi_relief_curve_slope (curve, s));
  return n > 0 ? sum / n : 0;
}
