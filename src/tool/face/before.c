#include "tool/face/before.h"

#include <math.h>

#include "base/geometry.h"
#include "maths/stats.h"
#include "result/build.h"

/* So far before the edge, as part of its length: deeper lands are seen on the tool. */
#define FAR_SHARE 0.35

/* Rows before the edge that tell anything at all. */
#define LEAST_ROWS 40

/* What blur, sharpening and compression make of the edge, px at least and standard deviations:
 * before a dark ground even its tail is seen. */
#define BLUR_PX 8
#define BLURS 5.0

/* Columns between the tool's sides, and beside them, as part of the edge's length; places in each.
 */
#define INSET 0.06
#define BESIDE 0.3
#define PLACES 48

/* Keeps the logarithm of dark places from being noise: one code of 8 bits near black. */
#define DARK 0.003

/* Light on either side of a border is taken from so many px to so many from it. */
#define SIDE_FROM 3
#define SIDE_TO 12

/* A border's step in light's logarithm, and how many times greater than what the ground's light
 * does from row to row. */
#define LEAST_STEP 0.04
#define STEP_TIMES 8.0

typedef struct
{
  const WsFace *face;
  const WsSampler *sampler;
  const WsOptics *optics;
} Look;

/* Light's logarithm differs by more from its median where dust lies.  A mean of the rest, since in
 * the dark a median is one code or the next. */
#define DUST_LOG 0.3

static double
mean_without_dust (double *values, guint n)
{
  const double middle = wsi_median (values, n);
  double sum = 0;
  guint kept = 0;
  for (guint i = 0; i < n; i++)
    if (fabs (values[i] - middle) <= DUST_LOG)
    {
      sum += values[i];
      kept++;
    }
  return sum / kept;
}

/* Mean of light's logarithm in one row, so far before the edge, from `s0` to `s1`; NAN where too
 * little of it lies in the picture. */
static double
row_light (const Look *look, double before, double s0, double s1, guint channel)
{
  const WsStrip *strip = &look->face->strip;
  double values[PLACES];
  guint n = 0;
  for (guint i = 0; i < PLACES; i++)
  {
    const double s = s0 + (s1 - s0) * (i + 0.5) / PLACES;
    const WsPoint at = wsi_strip_picture (
      look->optics,
      wsi_point_along (wsi_point_along (strip->origin, s, strip->along), -before, strip->inward));
    WsLight light;
    if (!wsi_sampler_at (look->sampler, at, &light))
      continue;
    values[n++] = log ((channel == 0 ? light.r : channel == 1 ? light.g : light.b) + DARK);
  }
  return n > PLACES / 2 ? mean_without_dust (values, n) : (double)NAN;
}

/* Where the ground beside is in the picture for all `n` rows: on the left, on the right. */
typedef struct
{
  gboolean left, right;
} Sides;

static Sides
sides_of (const Look *look, guint n)
{
  const double length = look->face->strip.length;
  return (Sides){
    isfinite (row_light (look, n, -BESIDE * length, -INSET * length, 0)) &&
      isfinite (row_light (look, 0, -BESIDE * length, -INSET * length, 0)),
    isfinite (row_light (look, n, (1 + INSET) * length, (1 + BESIDE) * length, 0)) &&
      isfinite (row_light (look, 0, (1 + INSET) * length, (1 + BESIDE) * length, 0)),
  };
}

/* Above what lies beside, which has the same ground, its shades and its bands, and no tool. */
static double
row_above (const Look *look, const Sides *sides, double before, guint channel)
{
  const double length = look->face->strip.length;
  const double here = row_light (look, before, INSET * length, (1 - INSET) * length, channel);
  double beside = 0;
  guint n = 0;
  if (sides->left)
  {
    beside += row_light (look, before, -BESIDE * length, -INSET * length, channel);
    n++;
  }
  if (sides->right)
  {
    beside += row_light (look, before, (1 + INSET) * length, (1 + BESIDE) * length, channel);
    n++;
  }
  return n > 0 ? here - beside / n : here;
}

/* Rows before the edge that lie in the picture. */
static guint
rows_of (const Look *look)
{
  const double length = look->face->strip.length;
  const guint most = (guint)(FAR_SHARE * length);
  guint n = 0;
  while (n < most && isfinite (row_light (look, n, INSET * length, (1 - INSET) * length, 0)))
    n++;
  return n;
}

static double
mean_of (const double *profile, guint from, guint to)
{
  double sum = 0;
  for (guint d = from; d <= to; d++)
    sum += profile[d];
  return sum / (to - from + 1);
}

static gboolean
has_border (const double *profile, guint from, guint n)
{
  g_autofree double *steps = g_new (double, n);
  double most = 0;
  guint k = 0;
  for (guint d = from + SIDE_FROM + 1; d + SIDE_TO < n; d++)
  {
    const guint first = d > from + SIDE_TO ? d - SIDE_TO : from;
    const double step = fabs (mean_of (profile, d + SIDE_FROM, d + SIDE_TO) -
                              mean_of (profile, first, d - SIDE_FROM));
    if (!isfinite (step))
      continue;
    most = fmax (most, step);
    steps[k++] = step;
  }
  return k >= LEAST_ROWS / 2 && most > LEAST_STEP && most > STEP_TIMES * wsi_median (steps, k);
}

gboolean
wsi_face_before_check (const WsFace *face, const WsSampler *sampler, const WsOptics *optics,
                       WsResult *result)
{
  const Look look = { face, sampler, optics };
  const guint from = (guint)fmax (BLUR_PX, ceil (BLURS * face->blur_px)), n = rows_of (&look);
  const Sides sides = sides_of (&look, n);
  g_autofree double *profile = g_new (double, n + 1);
  for (guint channel = 0; channel < 3; channel++)
  {
    for (guint d = 0; d < n; d++)
      profile[d] = row_above (&look, &sides, d, channel);
    if (n >= LEAST_ROWS && has_border (profile, from, n))
      return wsi_result_retake (result, WS_RETAKE_LOW_CONTRAST,
                                "beyond the edge light differs from the ground's beside it: a part "
                                "of the tool may look like its ground; lay another one behind it");
  }
  return TRUE;
}
