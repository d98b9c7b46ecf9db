#include "colour/burn_search.h"

#include "image/flood.h"

#include <math.h>

/* Chroma from which a cell counts as coloured: a film seen beside clean steel, and noise.  Own
 * trials on rendered blades: burn's rim, where colour ends, lies between 4 and 8. */
#define LEAST_CHROMA 5.0
#define NOISE_FACTOR 4.0

/* A region must hold colour as strong as this, in terms of the least. */
#define SEED_FACTOR 1.8

/* Heat comes from the edge: regions that don't begin within this part of the depth are none. */
#define FROM_EDGE 0.06
#define FROM_EDGE_PX 6

/* Mean of the cell and its neighbours, those off the tool left out.  FALSE beside clipped cells,
 * whose colour is partly lost. */
static gboolean
smoothed (const WsBand *band, guint s, guint d, WsLight *light)
{
  double sum[3] = { 0, 0, 0 };
  guint n = 0;
  for (guint j = d > 0 ? d - 1 : 0; j <= MIN (d + 1, band->depth - 1); j++)
    for (guint i = s > 0 ? s - 1 : 0; i <= MIN (s + 1, band->length - 1); i++)
    {
      const float *cell = wsi_band_cell (band, i, j);
      if (!wsi_band_is_tool (cell))
        continue;
      if (wsi_band_is_clipped (cell))
        return FALSE;
      for (guint c = 0; c < 3; c++)
        sum[c] += cell[c];
      n++;
    }
  if (n == 0 || !wsi_band_is_tool (wsi_band_cell (band, s, d)))
    return FALSE;
  *light = (WsLight){ sum[0] / n, sum[1] / n, sum[2] / n };
  return TRUE;
}

/* In CIELAB chroma goes with (L + 16) / 116, the cube root of the light: a bright land makes the
 * same film look stronger. */
static double
purity (WsLab lab)
{
  return wsi_colour_chroma (lab) * 116 / (MAX (lab.L, 0) + 16);
}

static void
classify (WsBurnSearch *search, const WsBalance *balance, double least)
{
  WsFilmPath path;
  wsi_film_path_fill (&path);
  for (guint d = 0; d < search->band->depth; d++)
    for (guint s = 0; s < search->band->length; s++)
    {
      const gsize i = (gsize)d * search->band->length + s;
      WsLight light;
      search->chroma[i] = NAN;
      search->films[i] = WS_FILM_NONE;
      if (!smoothed (search->band, s, d, &light))
        continue;
      const WsLab lab = wsi_colour_lab_beside (light, balance->steel);
      search->chroma[i] = (float)wsi_colour_chroma (lab);
      search->purity[i] = (float)purity (lab);
      search->films[i] = (guint8)wsi_film_class (&path, lab, least);
    }
}

/* A cell keeps its colour when most of its neighbourhood has some, and gains one then: opening
 * and closing at once (a majority filter). */
static void
tidy (const WsBurnSearch *search, guint8 *mask)
{
  const guint length = search->band->length, depth = search->band->depth;
  for (guint d = 0; d < depth; d++)
    for (guint s = 0; s < length; s++)
    {
      guint n = 0, coloured = 0;
      for (guint j = d > 0 ? d - 1 : 0; j <= MIN (d + 1, depth - 1); j++)
        for (guint i = s > 0 ? s - 1 : 0; i <= MIN (s + 1, length - 1); i++, n++)
          coloured += search->films[(gsize)j * length + i] != WS_FILM_NONE;
      const gsize at = (gsize)d * length + s;
      mask[at] = 2 * coloured > n && isfinite (search->chroma[at]);
    }
}

/* What hangs together with seeds near the edge. */
static void
grow (const WsBurnSearch *search, const guint8 *mask, double seed, guint from_edge)
{
  const guint length = search->band->length, depth = search->band->depth;
  g_auto (WsFlood) flood = { 0 };
  wsi_flood_init (&flood, length, depth, wsi_flood_same_value, mask);
  for (guint i = 0; i < from_edge * length; i++)
    if (mask[i] && flood.marks[i] == 0 && search->chroma[i] >= (float)seed)
      wsi_flood_from (&flood, i, 1);
  for (guint i = 0; i < length * depth; i++)
    search->region[i] = flood.marks[i] != 0;
}

guint
wsi_burn_column_depth (const WsBurnSearch *search, guint s)
{
  for (guint d = search->band->depth; d > 0; d--)
    if (search->region[(gsize)(d - 1) * search->band->length + s])
      return d;
  return 0;
}

gboolean
wsi_burn_has_rim (const WsBurnSearch *search, guint s, guint depth)
{
  const guint beyond = depth + 1;
  return beyond < search->band->depth &&
         isfinite (search->chroma[(gsize)beyond * search->band->length + s]);
}

/* Cells from the edge in which heat's colour begins. */
static guint
near_edge (const WsBand *band)
{
  return MIN (MAX (FROM_EDGE_PX, (guint)(FROM_EDGE * band->depth)), band->depth);
}

/* Where the ground is bright, blur burns out the first cells of good steel, too. */
static gboolean
is_blind (const WsBurnSearch *search, guint s)
{
  guint seen = 0, clipped = 0;
  for (guint d = 0; d < near_edge (search->band); d++)
  {
    const float *cell = wsi_band_cell (search->band, s, d);
    if (!wsi_band_is_tool (cell))
      continue;
    seen++;
    if (wsi_band_is_clipped (cell))
      clipped++;
  }
  return 2 * clipped > seen;
}

guint
wsi_burn_blind_columns (const WsBurnSearch *search)
{
  guint most = 0, run = 0;
  for (guint s = 0; s < search->band->length; s++)
  {
    run = is_blind (search, s) ? run + 1 : 0;
    most = MAX (most, run);
  }
  return most;
}

void
wsi_burn_search_init (const WsBand *band, const WsBalance *balance, double share,
                      WsBurnSearch *search)
{
  const gsize n = (gsize)band->length * band->depth;
  const double least = MAX (LEAST_CHROMA * share, NOISE_FACTOR * balance->noise / 2);
  g_autofree guint8 *mask = g_new0 (guint8, n);
  *search = (WsBurnSearch){ band, g_new0 (guint8, n), g_new (float, n), g_new0 (float, n),
                            g_new0 (guint8, n) };
  classify (search, balance, least);
  tidy (search, mask);
  grow (search, mask, SEED_FACTOR * least, near_edge (band));
}

void
wsi_burn_search_clear (WsBurnSearch *search)
{
  g_clear_pointer (&search->films, g_free);
  g_clear_pointer (&search->chroma, g_free);
  g_clear_pointer (&search->purity, g_free);
  g_clear_pointer (&search->region, g_free);
}
