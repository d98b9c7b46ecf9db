#include "tool/drill/relief/frame.h"

/* Px on either side of the edge that are read. */
#define SIDE_PX 3

double
wsi_relief_step (const WsReliefFrame *frame, double s, double o, double slope)
{
  double sum = 0;
  for (gint i = -WS_RELIEF_READ_ALONG; i <= WS_RELIEF_READ_ALONG; i++)
    for (gint side = 1; side <= SIDE_PX; side++)
    {
      const double k = (double)i * frame->reach / WS_RELIEF_READ_ALONG;
      const WsPoint above = wsi_relief_frame_place (frame, s + k, o + k * slope - side),
                    below = wsi_relief_frame_place (frame, s + k, o + k * slope + side);
      sum += wsi_relief_light (frame->plane, above.x, above.y) -
             wsi_relief_light (frame->plane, below.x, below.y);
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
