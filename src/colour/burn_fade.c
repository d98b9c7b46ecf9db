#include "colour/burn_fade.h"

#include "maths/stats.h"

#include <math.h>

/* The fade is looked at from so far inside the rim to so far beyond it, as shares of the rim's
 * depth and in cells.  Own choice, no source: unseen rims of more than two fifths of what is seen
 * were not met. */
#define INWARD_SHARE 0.3
#define OUTWARD_SHARE 0.7
#define LEAST_INWARD 6.0
#define LEAST_OUTWARD 12.0
#define MAX_REACH 80

/* The outermost part of the reach shows clean steel. */
#define CLEAN_SHARE 0.4

/* Part of the fade that a straight line is laid through, in terms of the colour at the rim. */
#define LINE_FROM 2.0
#define LINE_TO 0.3

/* A line of fewer cells says nothing. */
#define MIN_LINE_CELLS 3

/* How far a fade is from straight: films thinner than 8 nm, (L2), and own trials on rendered blades
 * and drills. */
#define U_SHAPE 0.35

/* Of the rim's depth, where the fade can't be followed. */
#define U_UNFOLLOWED 0.1

/* Cells are a px wide, and the rim's place is known to one of them. */
#define U_RIM 0.6

typedef struct
{
  double a, b;
  guint n;
} Mean;

/* Colour against place across the rim, mean over columns: cell k of `cells` lies k - inward cells
 * beyond the rim. */
typedef struct
{
  guint inward, outward;
  Mean cells[2 * MAX_REACH];
  double seen[2 * MAX_REACH]; /* colour along the rim's own hue, less clean steel's */
} Profile;

static guint
typical_rim (const guint *rims, guint length)
{
  g_autofree double *values = g_new (double, MAX (length, 1));
  guint n = 0;
  for (guint s = 0; s < length; s++)
    if (rims[s] > 0)
      values[n++] = rims[s];
  return n > 0 ? (guint)wsi_median (values, n) : 0;
}

static void
add_column (const WsBand *band, guint s, guint rim, WsLight steel, Profile *profile)
{
  for (guint k = 0; k < profile->inward + profile->outward; k++)
  {
    if (rim + k < profile->inward || rim + k - profile->inward >= band->depth)
      continue;
    const float *cell = wsi_band_cell (band, s, rim + k - profile->inward);
    if (!wsi_band_is_tool (cell) || wsi_band_is_clipped (cell))
      continue;
    const WsLab lab =
      wsi_colour_lab ((WsLight){ cell[0] / steel.r, cell[1] / steel.g, cell[2] / steel.b });
    profile->cells[k].a += lab.a;
    profile->cells[k].b += lab.b;
    profile->cells[k].n++;
  }
}

static Mean
mean_between (const Profile *profile, guint from, guint to)
{
  Mean mean = { 0, 0, 0 };
  for (guint k = from; k < to; k++)
  {
    mean.a += profile->cells[k].a;
    mean.b += profile->cells[k].b;
    mean.n += profile->cells[k].n;
  }
  mean.a /= MAX (mean.n, 1);
  mean.b /= MAX (mean.n, 1);
  return mean;
}

/* FALSE where clean steel or the rim can't be seen. */
static gboolean
take_profile (const WsBand *band, const guint *rims, WsLight steel, Profile *profile)
{
  const guint rim = typical_rim (rims, band->length);
  profile->inward = (guint)CLAMP (INWARD_SHARE * rim, LEAST_INWARD, MAX_REACH);
  profile->outward = (guint)CLAMP (OUTWARD_SHARE * rim, LEAST_OUTWARD, MAX_REACH);
  const guint n = profile->inward + profile->outward;
  for (guint s = 0; s < band->length; s++)
    if (rims[s] >= MAX (rim, 1))
      add_column (band, s, rims[s], steel, profile);
  const Mean clean = mean_between (profile, n - (guint)(CLEAN_SHARE * profile->outward), n),
             at_rim = mean_between (profile, profile->inward - 3, profile->inward);
  if (clean.n == 0 || at_rim.n == 0)
    return FALSE;
  const double colour = hypot (at_rim.a - clean.a, at_rim.b - clean.b);
  for (guint k = 0; k < n && colour > 0; k++)
  {
    const Mean at = mean_between (profile, k, k + 1);
    profile->seen[k] =
      at.n == 0
        ? NAN
        : ((at.a - clean.a) * (at_rim.a - clean.a) + (at.b - clean.b) * (at_rim.b - clean.b)) /
            colour;
  }
  return colour > 0;
}

/* Where a straight line through cells [from, to) meets 0, counted from the rim; NAN when it doesn't
 * fall. */
static double
zero_of_line (const Profile *profile, guint from, guint to)
{
  double n = 0, x = 0, y = 0, xx = 0, xy = 0;
  for (guint k = from; k < to; k++)
  {
    const double place = k + 0.5 - profile->inward, value = profile->seen[k];
    if (isnan (value))
      continue;
    n++;
    x += place;
    y += value;
    xx += place * place;
    xy += place * value;
  }
  const double spread = n * xx - x * x, slope = spread > 0 ? (n * xy - x * y) / spread : 0;
  return n >= MIN_LINE_CELLS && slope < 0 ? x / n - y / n / slope : NAN;
}

WsFade
wsi_fade_find (const WsBand *band, const guint *rims, WsLight steel)
{
  g_autofree Profile *profile = g_new0 (Profile, 1);
  const WsFade unseen = { 0, hypot (U_RIM, U_UNFOLLOWED * typical_rim (rims, band->length)) };
  if (!take_profile (band, rims, steel, profile))
    return unseen;
  const guint n = profile->inward + profile->outward;
  const double level = 0.5 * (profile->seen[profile->inward - 1] + profile->seen[profile->inward]);
  guint from = profile->inward, to = profile->inward;
  while (from > 0 && !(profile->seen[from - 1] > LINE_FROM * level))
    from--;
  while (to < n && !(profile->seen[to] < LINE_TO * level))
    to++;
  const double whole = zero_of_line (profile, from, to),
               outer = zero_of_line (profile, MAX (profile->inward, 1) - 1, to);
  if (!(whole > 0))
    return unseen;
  const double bent = isnan (outer) ? 0 : fabs (outer - whole);
  const double beyond = MIN (whole, profile->outward);
  return (WsFade){ beyond, hypot (U_RIM, MAX (U_SHAPE * beyond, bent / sqrt (3.0))) };
}
