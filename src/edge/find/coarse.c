#include "edge/find/coarse.h"

#include "base/geometry.h"
#include "edge/find/field.h"
#include "image/flood.h"
#include "maths/stats.h"

#include <math.h>

/* Cells across the longer side of the reduced picture. */
#define CELLS 320

/* Width of the ring along the frame that the ground is read from, cells. */
#define RING 3

/* As good as nothing where the ring is seen on all sides. */
#define RIDGE 1e-9

/* Colour distances that are certainly not noise; own trials on rendered pictures. */
#define LEAST_APART 5.0
#define NOISE_FACTOR 5.0

/* Shadow beside the tool, as a part of the tool's own distance from the ground. */
#define SHADOW 0.4

/* Smaller things are dust. */
#define MIN_AREA_SHARE 0.004

/* The second thing may have this share of the tool's area. */
#define SECOND_SHARE 0.4

void
wsi_coarse_free (WsCoarse *coarse)
{
  if (coarse == NULL)
    return;
  g_free (coarse->lab);
  g_free (coarse->apart);
  g_free (coarse->tool);
  g_free (coarse);
}

static WsLab
cell_lab (const WsSampler *sampler, const WsCoarse *coarse, guint cx, guint cy)
{
  WsLight sum = { 0, 0, 0 };
  for (guint y = cy * coarse->factor; y < (cy + 1) * coarse->factor; y++)
    for (guint x = cx * coarse->factor; x < (cx + 1) * coarse->factor; x++)
    {
      const WsLight light = wsi_sampler_pixel (sampler, x, y);
      sum.r += light.r;
      sum.g += light.g;
      sum.b += light.b;
    }
  const double n = (double)coarse->factor * coarse->factor;
  return wsi_colour_lab ((WsLight){ sum.r / n, sum.g / n, sum.b / n });
}

static WsCoarse *
reduce (const WsSampler *sampler)
{
  const guint longer = MAX (sampler->image->width, sampler->image->height);
  WsCoarse *coarse = g_new0 (WsCoarse, 1);
  coarse->factor = MAX (1, longer / CELLS);
  coarse->width = sampler->image->width / coarse->factor;
  coarse->height = sampler->image->height / coarse->factor;
  const gsize n = (gsize)coarse->width * coarse->height;
  coarse->lab = g_new (float, 3 * n);
  coarse->apart = g_new0 (float, n);
  coarse->tool = g_new0 (guint8, n);
  for (guint y = 0; y < coarse->height; y++)
    for (guint x = 0; x < coarse->width; x++)
    {
      const WsLab lab = cell_lab (sampler, coarse, x, y);
      float *cell = coarse->lab + 3 * ((gsize)y * coarse->width + x);
      cell[0] = (float)lab.L;
      cell[1] = (float)lab.a;
      cell[2] = (float)lab.b;
    }
  return coarse;
}

/* ---- The ground: a quadratic of place for each of L, a, b, from the ring along the frame --- */

static gboolean
in_ring (const WsCoarse *coarse, guint x, guint y)
{
  return x < RING || y < RING || x + RING >= coarse->width || y + RING >= coarse->height;
}

/* Least squares over the cells of the ring that are `kept`. */
static gboolean
fit_ground (const WsCoarse *coarse, const guint8 *kept, guint channel, WsField *ground)
{
  WsFieldFit fit;
  wsi_field_fit_init (&fit, coarse->width, coarse->height);
  for (guint y = 0; y < coarse->height; y++)
    for (guint x = 0; x < coarse->width; x++)
    {
      const gsize i = (gsize)y * coarse->width + x;
      if (kept[i])
        wsi_field_fit_add (&fit, x, y, (double)coarse->lab[3 * i + channel]);
    }
  return wsi_field_fit_solve (&fit, RIDGE, ground);
}

static void
set_apart (WsCoarse *coarse, const WsField ground[3])
{
  for (guint y = 0; y < coarse->height; y++)
    for (guint x = 0; x < coarse->width; x++)
    {
      const gsize i = (gsize)y * coarse->width + x;
      const double u = (x + 0.5) / coarse->width, v = (y + 0.5) / coarse->height;
      double squares = 0;
      for (guint k = 0; k < 3; k++)
      {
        const double off = (double)coarse->lab[3 * i + k] - wsi_field_at (&ground[k], u, v);
        squares += off * off;
      }
      coarse->apart[i] = (float)sqrt (squares);
    }
}

static void
start_from_median (const WsCoarse *coarse, WsField ground[3])
{
  g_autofree double *values = g_new (double, (gsize)coarse->width * coarse->height);
  for (guint k = 0; k < 3; k++)
  {
    gsize n = 0;
    for (guint y = 0; y < coarse->height; y++)
      for (guint x = 0; x < coarse->width; x++)
        if (in_ring (coarse, x, y))
          values[n++] = coarse->lab[3 * ((gsize)y * coarse->width + x) + k];
    ground[k] = wsi_field_even (wsi_median (values, n));
  }
}

/* Median distance of the ring's cells from the field. */
static double
ring_spread (const WsCoarse *coarse)
{
  g_autofree double *values = g_new (double, (gsize)coarse->width * coarse->height);
  gsize n = 0;
  for (guint y = 0; y < coarse->height; y++)
    for (guint x = 0; x < coarse->width; x++)
      if (in_ring (coarse, x, y))
        values[n++] = coarse->apart[(gsize)y * coarse->width + x];
  return wsi_median (values, n);
}

/* Returns the ground's spread. */
static double
find_ground (WsCoarse *coarse)
{
  const gsize n = (gsize)coarse->width * coarse->height;
  g_autofree guint8 *kept = g_new0 (guint8, n);
  WsField ground[3];
  start_from_median (coarse, ground);
  set_apart (coarse, ground);
  for (guint round = 0; round < 4; round++)
  {
    /* Wide at first: uneven light is no second thing. */
    const float most = (float)MAX (ring_spread (coarse) * (round < 2 ? 4.0 : 3.0), 2.0);
    for (guint y = 0; y < coarse->height; y++)
      for (guint x = 0; x < coarse->width; x++)
      {
        const gsize i = (gsize)y * coarse->width + x;
        kept[i] = in_ring (coarse, x, y) && coarse->apart[i] <= most;
      }
    for (guint k = 0; k < 3; k++)
      if (!fit_ground (coarse, kept, k, &ground[k]))
        return ring_spread (coarse);
    set_apart (coarse, ground);
  }
  return ring_spread (coarse);
}

/* ---- Things on the ground --------------------------------------------------------- */

static guint
largest (const GArray *things, gboolean touching_frame, guint but)
{
  guint best = 0, area = 0;
  for (guint i = 1; i <= things->len; i++)
  {
    const WsPatch *thing = &g_array_index (things, WsPatch, i - 1);
    if (i == but || (thing->touching > 3) != touching_frame || thing->area <= area)
      continue;
    best = i;
    area = thing->area;
  }
  return best;
}

static double
median_apart (const WsCoarse *coarse, const guint *labels, guint label)
{
  const gsize n = (gsize)coarse->width * coarse->height;
  g_autofree double *values = g_new (double, n);
  gsize found = 0;
  for (gsize i = 0; i < n; i++)
    if (labels[i] == label)
      values[found++] = coarse->apart[i];
  return wsi_median (values, found);
}

static void
finish (WsCoarse *coarse)
{
  const gsize n = (gsize)coarse->width * coarse->height;
  g_autofree double *values = g_new (double, n);
  double lab[3];
  for (gsize i = 0; i < n; i++)
  {
    const guint x = (guint)(i % coarse->width), y = (guint)(i / coarse->width);
    if (!coarse->tool[i])
      continue;
    coarse->area++;
    coarse->touching[0] += y == 0;
    coarse->touching[1] += x + 1 == coarse->width;
    coarse->touching[2] += y + 1 == coarse->height;
    coarse->touching[3] += x == 0;
  }
  for (guint k = 0; k < 3; k++)
  {
    gsize found = 0;
    for (gsize i = 0; i < n; i++)
      if (!coarse->tool[i])
        values[found++] = coarse->lab[3 * i + k];
    lab[k] = found > 0 ? wsi_median (values, found) : 0;
  }
  /* Back to light by the curve's inverse, for the balance's sake. */
  const double fy = (lab[0] + 16) / 116, fx = fy + lab[1] / 500, fz = fy - lab[2] / 200;
  const double X = 0.9505 * fx * fx * fx, Y = fy * fy * fy, Z = 1.0890 * fz * fz * fz;
  coarse->ground =
    (WsLight){ 3.2406 * X - 1.5372 * Y - 0.4986 * Z, -0.9689 * X + 1.8758 * Y + 0.0415 * Z,
               0.0557 * X - 0.2040 * Y + 1.0570 * Z };
}

WsCoarse *
wsi_coarse_find (const WsSampler *sampler, gboolean touching_frame)
{
  g_autoptr (WsCoarse) coarse = reduce (sampler);
  if (coarse->width < 8 * RING || coarse->height < 8 * RING)
    return NULL;
  const gsize n = (gsize)coarse->width * coarse->height;
  g_autofree guint *labels = g_new (guint, n);
  const double least = coarse->least = MAX (LEAST_APART, NOISE_FACTOR * find_ground (coarse));
  for (gsize i = 0; i < n; i++)
    coarse->tool[i] = coarse->apart[i] > least;
  g_autoptr (GArray) things = wsi_flood_label (coarse->tool, coarse->width, coarse->height, labels);
  const guint tool = largest (things, touching_frame, 0);
  if (tool == 0 || g_array_index (things, WsPatch, tool - 1).area < MIN_AREA_SHARE * (double)n)
    return NULL;
  const guint second = largest (things, touching_frame, tool);
  coarse->several = second != 0 && g_array_index (things, WsPatch, second - 1).area >
                                     SECOND_SHARE * g_array_index (things, WsPatch, tool - 1).area;
  const double shadow = SHADOW * median_apart (coarse, labels, tool);
  for (gsize i = 0; i < n; i++)
    coarse->tool[i] = labels[i] == tool && coarse->apart[i] > MAX (least, shadow);
  finish (coarse);
  return g_steal_pointer (&coarse);
}

/* FALSE outside the reduced picture. */
static gboolean
cell_at (const WsCoarse *coarse, WsPoint at, gsize *cell)
{
  const double x = (at.x + 0.5) / coarse->factor, y = (at.y + 0.5) / coarse->factor;
  if (!(x >= 0 && y >= 0 && x < coarse->width && y < coarse->height))
    return FALSE;
  *cell = (gsize)y * coarse->width + (gsize)x;
  return TRUE;
}

gboolean
wsi_coarse_is_tool (const WsCoarse *coarse, WsPoint at)
{
  gsize cell;
  return cell_at (coarse, at, &cell) && coarse->tool[cell];
}

gboolean
wsi_coarse_is_thing (const WsCoarse *coarse, WsPoint at)
{
  gsize cell;
  return cell_at (coarse, at, &cell) && (double)coarse->apart[cell] > coarse->least;
}

/* ---- Edges ------------------------------------------------------------------------ */

#define MAX_REACH 400

static double
lab_distance (WsLab p, WsLab q)
{
  return sqrt ((p.L - q.L) * (p.L - q.L) + (p.a - q.a) * (p.a - q.a) + (p.b - q.b) * (p.b - q.b));
}

static double
crossing_of (const double *apart, guint n, guint from, double level)
{
  for (guint i = MAX (from, 1); i < n; i++)
    if (apart[i] >= level && apart[i - 1] < level)
      return i - 1 + (level - apart[i - 1]) / (apart[i] - apart[i - 1]);
  return NAN;
}

/* Of three samples across the line, against noise. */
static gboolean
mean_across (const WsSampler *sampler, WsPoint at, WsPoint direction, WsLab *lab, double *luminance)
{
  WsLight sum = { 0, 0, 0 };
  for (gint k = -1; k <= 1; k++)
  {
    WsLight light;
    if (!wsi_sampler_at (sampler, wsi_point_along (at, k, wsi_point (-direction.y, direction.x)),
                         &light))
      return FALSE;
    sum = (WsLight){ sum.r + light.r / 3, sum.g + light.g / 3, sum.b + light.b / 3 };
  }
  *lab = wsi_colour_lab (sum);
  *luminance = wsi_colour_xyz (sum).y;
  return TRUE;
}

/* Levels of a blurred edge are taken so far from it, px. */
#define LEVEL_FROM 3
#define LEVEL_TO 6

/* Light that changes by less than this part of itself leaves the place to colour. */
#define LEAST_CHANGE 0.3

/* Half way in linear light, where blur keeps an edge in its place; `about` where light hardly
 * changes. */
static double
half_in_light (const double *light, guint n, double about)
{
  const guint at = (guint)about;
  double before = 0, after = 0;
  if (at < LEVEL_TO || at + LEVEL_TO + 1 >= n)
    return about;
  for (guint k = LEVEL_FROM; k <= LEVEL_TO; k++)
  {
    before += light[at - k] / (LEVEL_TO - LEVEL_FROM + 1);
    after += light[at + 1 + k] / (LEVEL_TO - LEVEL_FROM + 1);
  }
  if (fabs (after - before) < LEAST_CHANGE * MAX (after, before))
    return about;
  const double half = 0.5 * (before + after), sign = after > before ? 1 : -1;
  for (guint i = at - LEVEL_FROM + 1; i <= at + LEVEL_FROM; i++)
    if (sign * (light[i] - half) >= 0 && sign * (light[i - 1] - half) < 0)
      return i - 1 + (half - light[i - 1]) / (light[i] - light[i - 1]);
  return about;
}

double
wsi_coarse_crossing (const WsSampler *sampler, WsPoint start, WsPoint direction, double reach,
                     double least_contrast, double *contrast, double *width)
{
  double apart[MAX_REACH];
  WsLab labs[MAX_REACH];
  double light[MAX_REACH];
  const guint n = (guint)CLAMP (reach, 10, MAX_REACH), n_ground = n / 5;
  WsLab ground = { 0, 0, 0 };
  for (guint i = 0; i < n; i++)
  {
    if (!mean_across (sampler, wsi_point_along (start, i, direction), direction, &labs[i],
                      &light[i]))
      return NAN;
    if (i >= n_ground)
      continue;
    ground.L += labs[i].L / n_ground;
    ground.a += labs[i].a / n_ground;
    ground.b += labs[i].b / n_ground;
  }
  double plateau = 0;
  for (guint i = 0; i < n; i++)
    apart[i] = lab_distance (labs[i], ground);
  /* The plateau lasts for three px at least. */
  for (guint i = n_ground; i + 3 <= n; i++)
    plateau = MAX (plateau, MIN (apart[i], MIN (apart[i + 1], apart[i + 2])));
  *contrast = plateau;
  if (plateau < least_contrast)
    return NAN;
  const double half = crossing_of (apart, n, n_ground, 0.5 * plateau);
  /* Where a band of other light lies at the edge its first half alone is the edge's. */
  const double first = crossing_of (apart, n, n_ground, 0.2 * plateau);
  *width = MIN (crossing_of (apart, n, n_ground, 0.8 * plateau) - first, 2 * (half - first));
  return isnan (half) ? NAN : half_in_light (light, n, half);
}
