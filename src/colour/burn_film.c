#include "colour/burn_film.h"

#include "maths/stats.h"

#include <math.h>

/* Innermost part of a column of colour, as a share of its depth. */
#define RIM 0.2

/* A column is as strong in colour as this quantile of its cells: light from beyond the edge that
 * the blur mixes in doesn't count. */
#define STRONG 0.8

/* The outermost cells are a mixture even where colour ends sharply: by the picture's blur and the
 * mean of 3 x 3. */
#define MIXED_CELLS 3

/* Shallower colour shows nothing of how it fades. */
#define LEAST_FADE_CELLS 8

/* Own choices, no source: shares of columns, and of purity at the rim; rendered films have 0.22 to
 * 0.43, rendered drops of coolant 0.82 to 0.88. */
#define MOST_COLUMNS 0.6
#define FADED 0.62
#define FEW_RIMS 0.2

typedef struct
{
  guint columns, film_rims; /* columns with a rim, and those whose rim is straw or brown */
  double rim_chroma, strong_chroma;
  guint cut, cooling; /* columns that leave the view coloured, and of those the ones that are of a
                         thinner film there than at the edge */
} Fading;

/* Median film between two depths; WS_FILM_NONE where there is none. */
static guint
film_between (const WsBurnSearch *search, guint s, guint from, guint to)
{
  guint counts[WS_N_FILMS] = { 0 }, n = 0, passed = 0;
  for (guint d = from; d < to; d++)
  {
    const guint film = search->films[(gsize)d * search->band->length + s];
    counts[film]++;
    n += film != WS_FILM_NONE;
  }
  for (guint film = WS_FILM_STRAW; film < WS_N_FILMS; film++)
  {
    passed += counts[film];
    if (2 * passed > n)
      return film;
  }
  return WS_FILM_NONE;
}

static void
look_at_rim (const WsBurnSearch *search, guint s, guint depth, Fading *fading)
{
  const guint length = search->band->length, rim = MAX (2, (guint)(RIM * depth)),
              end = depth - MIXED_CELLS;
  g_autofree double *chromas = g_new (double, depth);
  guint film = 0, seen = 0, n = 0;
  double sum = 0;
  for (guint d = 0; d < depth; d++)
  {
    const gsize i = (gsize)d * length + s;
    if (isnan (search->chroma[i]))
      continue;
    chromas[n++] = search->purity[i];
    if (d + rim < end || d >= end || search->films[i] == WS_FILM_NONE)
      continue;
    film += search->films[i] == WS_FILM_STRAW || search->films[i] == WS_FILM_BROWN;
    sum += search->purity[i];
    seen++;
  }
  if (seen == 0)
    return;
  fading->columns++;
  fading->film_rims += 2 * film > seen;
  fading->rim_chroma += sum / seen;
  fading->strong_chroma += wsi_quantile (chromas, n, STRONG);
}

static void
look_at_column (const WsBurnSearch *search, guint s, Fading *fading)
{
  const guint depth = wsi_burn_column_depth (search, s);
  if (depth < LEAST_FADE_CELLS)
    return;
  if (wsi_burn_has_rim (search, s, depth))
  {
    look_at_rim (search, s, depth, fading);
    return;
  }
  const guint part = MAX (2, (guint)(RIM * depth));
  fading->cut++;
  fading->cooling +=
    film_between (search, s, depth - part, depth) < film_between (search, s, 0, part);
}

gboolean
wsi_burn_fades_as_film (const WsBurnSearch *search)
{
  Fading fading = { .columns = 0 };
  for (guint s = 0; s < search->band->length; s++)
    look_at_column (search, s, &fading);
  const guint all = fading.columns + fading.cut;
  if (all == 0)
    return TRUE;
  if (fading.columns < FEW_RIMS * all)
    return fading.cooling >= MOST_COLUMNS * fading.cut;
  return fading.film_rims >= MOST_COLUMNS * fading.columns &&
         fading.rim_chroma < FADED * fading.strong_chroma;
}
