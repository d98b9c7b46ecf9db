#include "edge/find/things.h"

#include "edge/find/mask.h"
#include "maths/stats.h"

#include <math.h>

/* Width of the ring along the border that the ground is first read from, cells. */
#define RING 3

#define BINS 128

/* The first ground is within this of the ring's commonest lightness. */
#define FIRST_REACH 0.06

/* Rounds on the ring, then on all cells. */
#define RING_ROUNDS 5
#define ALL_ROUNDS 5

/* Cells of the ground lie within so many standard deviations. */
#define KEPT_SPREADS 4.0

/* Things are so many standard deviations apart, and this much at least: three codes of an 8-bit
 * camera in lightness (own trials on rendered pictures). */
#define APART_SPREADS 5.0
#define LEAST_APART 0.012

/* The ground can't be told more smoothly than this: half an 8-bit code. */
#define LEAST_SPREAD 0.002

/* A tool may leave one side of the ring only. */
#define RIDGE 1e-6

/* About so many cells tell the ground. */
#define ENOUGH_CELLS 12000

void
wsi_things_free (WsThings *things)
{
  if (things == NULL)
    return;
  g_free (things->apart);
  g_free (things->label);
  g_clear_pointer (&things->things, g_array_unref);
  g_free (things);
}

/* ---- The ground ------------------------------------------------------------------------- */

static gboolean
in_ring (const WsThings *things, guint x, guint y)
{
  return x < RING || y < RING || x + RING >= things->width || y + RING >= things->height;
}

/* The commonest lightness along the border: light on a plain ground scatters less than on
 * metal. */
static double
ring_mode (const WsThings *things, const float *lightness)
{
  double count[BINS] = { 0 };
  for (guint y = 0; y < things->height; y++)
    for (guint x = 0; x < things->width; x++)
      if (in_ring (things, x, y))
      {
        const float value = lightness[(gsize)y * things->width + x];
        count[(guint)CLAMP (value * BINS, 0.0f, BINS - 1.0f)] += 1;
      }
  double most = -1;
  guint best = 0;
  for (guint b = 0; b < BINS; b++)
  {
    const double sum = (b > 0 ? count[b - 1] : 0) + count[b] + (b + 1 < BINS ? count[b + 1] : 0);
    if (sum > most)
    {
      most = sum;
      best = b;
    }
  }
  return (best + 0.5) / BINS;
}

static void
set_apart (WsThings *things, const float *lightness)
{
  for (guint y = 0; y < things->height; y++)
  {
    const WsFieldRow ground = wsi_field_row (&things->ground, (y + 0.5) / things->height);
    const gsize row = (gsize)y * things->width;
    for (guint x = 0; x < things->width; x++)
    {
      const double u = (x + 0.5) / things->width;
      const double level = ground.flat + u * (ground.slope + u * ground.bend);
      things->apart[row + x] = (float)((double)lightness[row + x] - level);
    }
  }
}

/* Least squares through the cells within `reach` of the present ground; keeps that where they are
 * too few. */
static void
fit_ground (WsThings *things, const float *lightness, gboolean ring_only, double reach)
{
  const gsize n = (gsize)things->width * things->height;
  const guint stride = ring_only ? 1 : 1 + (guint)(n / ENOUGH_CELLS);
  WsFieldFit fit;
  wsi_field_fit_init (&fit, things->width, things->height);
  for (gsize i = 0; i < n; i += stride)
  {
    const guint x = (guint)(i % things->width), y = (guint)(i / things->width);
    if (fabs ((double)things->apart[i]) <= reach && (!ring_only || in_ring (things, x, y)))
      wsi_field_fit_add (&fit, x, y, (double)lightness[i]);
  }
  wsi_field_fit_solve (&fit, RIDGE, &things->ground);
}

/* Of the cells within `reach`. */
static double
spread_within (const WsThings *things, gboolean ring_only, double reach, double *scratch)
{
  const gsize n = (gsize)things->width * things->height;
  const guint stride = ring_only ? 1 : 1 + (guint)(n / ENOUGH_CELLS);
  gsize found = 0;
  for (gsize i = 0; i < n; i += stride)
  {
    const guint x = (guint)(i % things->width), y = (guint)(i / things->width);
    const double off = fabs ((double)things->apart[i]);
    if (off <= reach && (!ring_only || in_ring (things, x, y)))
      scratch[found++] = off;
  }
  return found > 0 ? MAX (wsi_absolute_sigma (scratch, found), LEAST_SPREAD) : LEAST_SPREAD;
}

static void
find_ground (WsThings *things, const float *lightness, double start)
{
  g_autofree double *scratch = g_new (double, (gsize)things->width * things->height);
  double reach = FIRST_REACH;
  things->ground = wsi_field_even (isnan (start) ? ring_mode (things, lightness) : start);
  set_apart (things, lightness);
  for (guint round = 0; round < RING_ROUNDS + ALL_ROUNDS; round++)
  {
    const gboolean ring_only = round < RING_ROUNDS;
    fit_ground (things, lightness, ring_only, reach);
    set_apart (things, lightness);
    things->spread = spread_within (things, ring_only, reach, scratch);
    reach = KEPT_SPREADS * things->spread;
  }
  things->least = MAX (APART_SPREADS * things->spread, LEAST_APART);
}

/* A patch of ground at the border that a tool's bright or dark streak makes there is smaller than
 * this share of the picture. */
#define MAX_PATCH_SHARE 0.001

/* Fills such patches. */
static void
fill_patches (const WsThings *things, guint8 *mask)
{
  const gsize n = (gsize)things->width * things->height;
  g_autofree guint8 *ground = g_new (guint8, n);
  g_autofree guint *patch = g_new (guint, n);
  for (gsize i = 0; i < n; i++)
    ground[i] = !mask[i];
  g_autoptr (GArray) patches = wsi_flood_label (ground, things->width, things->height, patch);
  for (gsize i = 0; i < n; i++)
    if (ground[i] &&
        g_array_index (patches, WsPatch, patch[i] - 1).area < MAX_PATCH_SHARE * (double)n)
      mask[i] = 1;
}

/* ---- Things ----------------------------------------------------------------------------- */

static void
label_things (WsThings *things)
{
  const gsize n = (gsize)things->width * things->height;
  g_autofree guint8 *mask = g_new (guint8, n);
  for (gsize i = 0; i < n; i++)
    mask[i] = fabs ((double)things->apart[i]) > things->least;
  /* From bright to dark metal the lightness passes the ground's: that parts no thing. */
  wsi_mask_grow (mask, things->width, things->height, 1);
  wsi_mask_shrink (mask, things->width, things->height, 1);
  wsi_mask_fill_holes (mask, things->width, things->height);
  fill_patches (things, mask);
  things->things = wsi_flood_label (mask, things->width, things->height, things->label);
}

WsThings *
wsi_things_find (const float *light, guint width, guint height, double ground)
{
  const gsize n = (gsize)width * height;
  WsThings *things = g_new0 (WsThings, 1);
  things->width = width;
  things->height = height;
  things->apart = g_new0 (float, n);
  things->label = g_new0 (guint, n);
  g_autofree float *lightness = g_new (float, n);
  for (gsize i = 0; i < n; i++)
    lightness[i] = sqrtf (MAX (light[i], 0.0f));
  find_ground (things, lightness, sqrt (ground));
  label_things (things);
  return things;
}
