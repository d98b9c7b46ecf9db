#include "tool/drill/end/lips.h"

#include "maths/stats.h"
#include "tool/flank/strip.h"

static WsLab
mean_lab (const WsEndPicture *picture, WsPoint from, WsPoint direction, guint n)
{
  WsLab sum = { 0, 0, 0 };
  for (guint i = 0; i < n; i++)
  {
    WsLight light = { 0, 0, 0 };
    wsi_sampler_at (picture->sampler,
                    wsi_strip_picture (picture->optics, wsi_point_along (from, i, direction)),
                    &light);
    const WsLab lab = wsi_end_lab (picture, light);
    sum = (WsLab){ sum.L + lab.L / n, sum.a + lab.a / n, sum.b + lab.b / n };
  }
  return sum;
}

/* Just outside a lip lies what lies farther out, the flute.  Inside a burn, where straw turns to
 * purple, light falls more than at the lip itself, but not to the flute's neutral colour. */
#define FLUTE_SAME 8.0
#define FLUTE_SHARE 0.3

static gboolean
is_flute (const WsEndPicture *picture, WsPoint edge, WsPoint out, WsPoint end, double drop)
{
  const WsLab near = mean_lab (picture, wsi_point_along (edge, 2, out), out, 3);
  const WsLab far = mean_lab (picture, wsi_point_along (end, -4, out), out, 4);
  const double off =
    sqrt ((near.L - far.L) * (near.L - far.L) + (near.a - far.a) * (near.a - far.a) +
          (near.b - far.b) * (near.b - far.b));
  return off < MAX (FLUTE_SAME, FLUTE_SHARE * drop);
}

/* Where heat coloured the flank its light changes toward the lip, which moves half way inward: the
 * line rests on clean stretches when they are long enough. */
#define COLOURED 10.0
#define CLEAN_POINTS 24
#define CLEAN_SHARE 0.25

static gboolean
is_coloured (const WsEndPicture *picture, WsPoint edge, WsPoint out)
{
  const WsLab in = mean_lab (picture, wsi_point_along (edge, -5, out), out, 3),
              outside = mean_lab (picture, wsi_point_along (edge, 2, out), out, 3);
  return hypot (in.a - outside.a, in.b - outside.b) > COLOURED;
}

/* Looked for from farther out again where the first find is no lip. */
#define LIP_TRIES 3

typedef struct
{
  WsPoint at;
  double drop; /* of lightness */
  gboolean coloured;
} LipEdge;

static gboolean
lip_at (const WsEndPicture *picture, WsPoint on, WsPoint search, WsPoint along, double reach,
        LipEdge *found)
{
  const WsPoint end = wsi_point_along (on, reach, search);
  double start = -reach;
  for (guint i = 0; i < LIP_TRIES && reach - start > 9; i++)
  {
    double drop;
    const WsPoint from = wsi_point_along (on, start, search);
    const double at =
      wsi_end_steepest_fall (picture, from, search, along, reach - start, 3, 1, &drop);
    if (isnan (at) || drop < WS_END_LEAST_FALL)
      return FALSE;
    found->at = wsi_point_along (from, at, search);
    found->coloured = is_coloured (picture, found->at, search);
    found->drop = drop;
    if (is_flute (picture, found->at, search, end, drop))
      return TRUE;
    start += at + 2;
  }
  return FALSE;
}

/* How far the middle third of a lip lies off its outer thirds, px. */
static double
bow_of (const WsLineFit *line, const WsPoint *points, guint n)
{
  g_autofree double *off = g_new (double, n);
  for (guint i = 0; i < n; i++)
    off[i] = wsi_point_cross (line->direction, wsi_point_sub (points[i], line->centre));
  const guint third = n / 3;
  const double inner = wsi_median (off, third), middle = wsi_median (off + third, n - 2 * third),
               outer = wsi_median (off + n - third, third);
  return middle - 0.5 * (inner + outer);
}

gboolean
wsi_end_lip_fit (const WsEndPicture *picture, const WsEndPoint *point, const WsEndGuess *guess,
                 guint k, gboolean light_flute, WsEndLip *lip)
{
  const double side = k == 0 ? 1 : -1;
  const WsPoint e = wsi_end_scaled (wsi_point (cos (guess->angle), sin (guess->angle)), side);
  const WsPoint n = wsi_point (-e.y, e.x);
  const WsPoint out = wsi_end_scaled (n, guess->rho > 0 ? 1 : -1);
  const WsPoint search = wsi_end_scaled (out, light_flute ? -1 : 1);
  const double reach = CLAMP (0.06 * point->radius, 9, WS_END_MAX_WINDOW / 2.0);
  g_autoptr (GArray) points = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  g_autoptr (GArray) clean = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  g_autoptr (GArray) drops = g_array_new (FALSE, FALSE, sizeof (double));
  for (double t = WS_END_LIP_FROM * point->radius; t <= WS_END_LIP_TO * point->radius; t += 1)
  {
    const WsPoint on = wsi_point_along (wsi_point_along (point->centre, t, e), guess->rho, n);
    LipEdge found;
    if (!lip_at (picture, on, search, e, reach, &found))
      continue;
    g_array_append_val (points, found.at);
    g_array_append_val (drops, found.drop);
    if (!found.coloured)
      g_array_append_val (clean, found.at);
  }
  lip->contrast = drops->len > 0 ? wsi_median ((double *)(void *)drops->data, drops->len) : 0;
  if (clean->len >= MAX (CLEAN_POINTS, CLEAN_SHARE * points->len))
  {
    g_array_set_size (points, 0);
    g_array_append_vals (points, clean->data, clean->len);
  }
  else
    lip->coloured = TRUE;
  g_autofree guint8 *used = g_new0 (guint8, MAX (points->len, 1));
  if (!wsi_line_fit ((WsPoint *)(void *)points->data, points->len, used, &lip->line))
    return FALSE;
  lip->bow = bow_of (&lip->line, (WsPoint *)(void *)points->data, points->len);
  lip->stray = reach * (1 - (double)lip->line.n_used / lip->line.n);
  if (wsi_point_dot (lip->line.direction, e) < 0)
    lip->line.direction = wsi_end_scaled (lip->line.direction, -1);
  lip->outward = lip->line.direction;
  const WsPoint square = wsi_point (-lip->outward.y, lip->outward.x);
  lip->inward = wsi_end_scaled (square, wsi_point_dot (square, out) > 0 ? -1 : 1);
  return TRUE;
}
