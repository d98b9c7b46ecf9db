#include "tool/drill/end/picture.h"

#include "tool/flank/strip.h"

WsLab
wsi_end_lab (const WsEndPicture *picture, WsLight light)
{
  return wsi_colour_lab ((WsLight){ light.r / picture->steel.r, light.g / picture->steel.g,
                                    light.b / picture->steel.b });
}

double
wsi_end_lightness (const WsEndPicture *picture, WsPoint at)
{
  WsLight light;
  if (!wsi_sampler_at (picture->sampler, wsi_strip_picture (picture->optics, at), &light))
    return NAN;
  const WsLab lab = wsi_end_lab (picture, light);
  return lab.L + wsi_colour_chroma (lab);
}

/* Mean over a stretch of `reach` px to both sides along `along`. */
static double
lightness_along (const WsEndPicture *picture, WsPoint at, WsPoint along, gint reach)
{
  double sum = 0;
  for (gint k = -reach; k <= reach; k++)
    sum += wsi_end_lightness (picture, wsi_point_along (at, k, along));
  return sum / (2 * reach + 1);
}

static double
luminance_along (const WsEndPicture *picture, WsPoint at, WsPoint along, gint reach)
{
  double sum = 0;
  for (gint k = -reach; k <= reach; k++)
  {
    WsLight light;
    const WsPoint p = wsi_strip_picture (picture->optics, wsi_point_along (at, k, along));
    if (!wsi_sampler_at (picture->sampler, p, &light))
      return NAN;
    sum += wsi_colour_xyz (light).y;
  }
  return sum / (2 * reach + 1);
}

/* The levels of either side are taken so far from the edge, px. */
#define LEVEL_FROM 2
#define LEVEL_TO 4

/* Half way between the levels in linear light, where a blurred edge keeps its place; NAN where
 * light hardly falls (colour alone changes there). */
static double
half_way (const WsEndPicture *picture, WsPoint from, WsPoint direction, WsPoint along, double about,
          gint smooth)
{
  enum
  {
    N = 2 * LEVEL_TO + 1
  };
  double light[N], high = 0, low = 0;
  const gint n_level = LEVEL_TO - LEVEL_FROM + 1;
  for (gint i = 0; i < N; i++)
    light[i] = luminance_along (picture, wsi_point_along (from, about + i - LEVEL_TO, direction),
                                along, smooth);
  for (gint i = 0; i < n_level; i++)
  {
    high += light[i] / n_level;
    low += light[N - 1 - i] / n_level;
  }
  if (!(high > 1.2 * low))
    return NAN;
  const double half = 0.5 * (high + low);
  for (gint i = LEVEL_FROM; i < N - LEVEL_FROM; i++)
    if (light[i - 1] >= half && light[i] < half)
      return about + i - 1 - LEVEL_TO + (light[i - 1] - half) / (light[i - 1] - light[i]);
  return NAN;
}

double
wsi_end_steepest_place (const WsEndPicture *picture, WsPoint from, WsPoint direction, WsPoint along,
                        double reach, guint arm, gint smooth, double *drop, gboolean *at_end)
{
  *at_end = FALSE;
  double light[WS_END_MAX_WINDOW], fall[WS_END_MAX_WINDOW];
  const guint n = (guint)CLAMP (reach, 2 * arm + 3, WS_END_MAX_WINDOW);
  for (guint i = 0; i < n; i++)
    light[i] = lightness_along (picture, wsi_point_along (from, i, direction), along, smooth);
  guint best = 0;
  for (guint i = arm; i + arm < n; i++)
  {
    fall[i] = 0;
    for (guint k = 0; k < arm; k++)
      fall[i] += (light[i - 1 - k] - light[i + k]) / arm;
    if (best == 0 || fall[i] > fall[best])
      best = i;
  }
  *drop = best > 0 ? fall[best] : 0;
  if (best == 0 || !isfinite (fall[best]))
    return NAN;
  double shift = 0;
  const gboolean inside = best > arm && best + arm + 1 < n;
  if (inside)
  {
    const double bend = fall[best - 1] - 2 * fall[best] + fall[best + 1];
    if (bend < 0)
      shift = CLAMP (0.5 * (fall[best - 1] - fall[best + 1]) / bend, -0.5, 0.5);
  }
  const double at = half_way (picture, from, direction, along, best - 0.5 + shift, smooth);
  *at_end = isnan (at) && !inside;
  return isnan (at) ? best - 0.5 + shift : at;
}

double
wsi_end_steepest_fall (const WsEndPicture *picture, WsPoint from, WsPoint direction, WsPoint along,
                       double reach, guint arm, gint smooth, double *drop)
{
  gboolean at_end;
  const double at =
    wsi_end_steepest_place (picture, from, direction, along, reach, arm, smooth, drop, &at_end);
  return at_end ? (double)NAN : at;
}
