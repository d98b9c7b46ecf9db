#include "colour/burn.h"

#include "colour/burn_fade.h"
#include "colour/burn_film.h"
#include "colour/burn_search.h"
#include "maths/stats.h"

#include <math.h>

/* Smaller regions are dust. */
#define MIN_CELLS 40
#define MIN_LENGTH 6
#define MIN_DEPTH 4

/* Nearly the deepest column: a few stray cells don't count. */
#define DEEPEST 0.9

/* Columns on either side that a column's depth is the median of. */
#define RIM_REACH 4

/* Straw has a chroma of 10 and more; colour is told from a standard deviation of noise on, and
 * nothing can be ruled out that is told from no less than straw. */
#define MOST_NOISE 10.0

/* Share of the burnt cells from which a film is worth naming. */
#define NAMED 0.05

static void
count_films (const WsBurnSearch *search, guint evaluated_depth, WsBurn *burn)
{
  const guint length = search->band->length;
  guint total = 0;
  for (guint d = 0; d < search->band->depth; d++)
    for (guint s = 0; s < length; s++)
    {
      const gsize i = (gsize)d * length + s;
      const gboolean evaluated = d < evaluated_depth;
      burn->evaluated += evaluated && isfinite (search->chroma[i]);
      if (!search->region[i])
        continue;
      burn->area += evaluated;
      burn->films[i] = search->films[i];
      burn->counts[search->films[i]]++;
      total += search->films[i] != WS_FILM_NONE;
    }
  for (guint film = WS_FILM_STRAW; film < WS_N_FILMS; film++)
  {
    if (burn->counts[film] > burn->counts[burn->dominant] || burn->dominant == WS_FILM_NONE)
      burn->dominant = (WsFilm)film;
    if (burn->counts[film] > NAMED * total)
      burn->hottest = (WsFilm)film;
  }
  for (guint s = 0; s < length; s++)
    burn->length += wsi_burn_column_depth (search, s) > 0;
}

static double *
data_of (GArray *array)
{
  return (double *)(void *)array->data;
}

static GArray *
chromas_between (const WsBurnSearch *search, guint from, guint to)
{
  GArray *chromas = g_array_new (FALSE, FALSE, sizeof (double));
  const guint length = search->band->length;
  for (gsize i = (gsize)from * length; i < (gsize)to * length; i++)
    if (isfinite (search->chroma[i]))
    {
      const double chroma = search->chroma[i];
      g_array_append_val (chromas, chroma);
    }
  return chromas;
}

/* The earth mover's distance of two distributions on a line is the mean difference of their
 * quantiles (Rubner, Tomasi & Guibas, Int. J. Comput. Vis. 40, 2000). */
static double
chroma_distance (const WsBurnSearch *search, guint evaluated_depth)
{
  const guint depth = search->band->depth;
  g_autoptr (GArray) band = chromas_between (search, 0, MIN (evaluated_depth, depth));
  g_autoptr (GArray) clean = chromas_between (search, (guint)(WS_BURN_CLEAN_FROM * depth), depth);
  if (band->len == 0 || clean->len == 0)
    return 0;
  double sum = 0;
  const guint n = 50;
  for (guint k = 0; k < n; k++)
    sum += fabs (wsi_quantile (data_of (band), band->len, (k + 0.5) / n) -
                 wsi_quantile (data_of (clean), clean->len, (k + 0.5) / n));
  return sum / n;
}

/* Each column's colour depth, single columns smoothed away; 0 where colour ends out of view, unless
 * it does so everywhere. */
static void
rims_of (const WsBurnSearch *search, gboolean in_view, guint *rims)
{
  const guint length = search->band->length;
  for (guint s = 0; s < length; s++)
  {
    double near[2 * RIM_REACH + 1];
    guint n = 0;
    for (guint i = s > RIM_REACH ? s - RIM_REACH : 0; i <= MIN (s + RIM_REACH, length - 1); i++)
    {
      const guint depth = wsi_burn_column_depth (search, i);
      if (depth > 0)
        near[n++] = depth;
    }
    const guint here = wsi_burn_column_depth (search, s);
    const gboolean counts = here > 0 && (!in_view || wsi_burn_has_rim (search, s, here));
    rims[s] = counts && n > 0 ? (guint)lrint (wsi_median (near, n)) : 0;
  }
}

/* Does colour leave the view, in more than a few columns, deeper than it is known to go? */
static gboolean
leaves_view (const WsBurnSearch *search, double depth_seen)
{
  guint all = 0, cut = 0;
  for (guint s = 0; s < search->band->length; s++)
  {
    const guint depth = wsi_burn_column_depth (search, s);
    all += depth > 0;
    cut += depth > depth_seen && !wsi_burn_has_rim (search, s, depth);
  }
  return cut > (1 - DEEPEST) * all;
}

/* How uneven the border is: between the median column and the deepest. */
static void
measure_depth (const WsBurnSearch *search, WsLight steel, WsBurn *burn)
{
  g_autofree guint *rims = g_new0 (guint, search->band->length);
  g_autofree double *depths = g_new0 (double, search->band->length);
  guint n = 0;
  gboolean in_view = TRUE;
  for (guint pass = 0; pass < 2 && n == 0; pass++)
  {
    in_view = pass == 0;
    rims_of (search, in_view, rims);
    for (guint s = 0; s < search->band->length; s++)
      if (rims[s] > 0)
        depths[n++] = rims[s];
  }
  if (n == 0)
    return;
  const WsFade fade = wsi_fade_find (search->band, rims, steel);
  burn->depth_seen = wsi_quantile (depths, n, DEEPEST);
  burn->uneven = burn->depth_seen - wsi_median (depths, n);
  burn->depth = burn->depth_seen + fade.beyond;
  burn->u_fade = fade.u;
  burn->leaves_view = !in_view || leaves_view (search, burn->depth_seen);
}

/* Steel mirrors a yellow or brown ground, most where it is round, at the edge: straw alone then
 * tells nothing. */
static gboolean
may_be_ground (const WsBurn *burn, const WsBalance *balance)
{
  return (balance->ground == WS_FILM_STRAW || balance->ground == WS_FILM_BROWN) &&
         burn->hottest <= WS_FILM_BROWN;
}

/* Runs of fewer columns are glints: twice what a burn has at least, and a part of the edge. */
#define BLIND_COLUMNS (2 * MIN_LENGTH)
#define BLIND_SHARE 0.1

/* Is there colour in a picture that a veil of light, as strong as it may be, would have paled? */
static gboolean
may_be_veiled (const WsBand *band, const WsBalance *balance)
{
  guint columns = 0, cells = 0, deepest = 0;
  g_auto (WsBurnSearch) search = { 0 };
  wsi_burn_search_init (band, balance, 1 - balance->veil, &search);
  for (guint s = 0; s < band->length; s++)
  {
    const guint depth = wsi_burn_column_depth (&search, s);
    columns += depth > 0;
    deepest = MAX (deepest, depth);
  }
  for (gsize i = 0; i < (gsize)band->length * band->depth; i++)
    cells += search.region[i];
  return cells >= MIN_CELLS && columns >= MIN_LENGTH && deepest >= MIN_DEPTH;
}

/* No burn is found: would it have been? */
static WsBurnTrouble
doubt_absence (const WsBand *band, const WsBalance *balance, const WsBurnSearch *search)
{
  if (wsi_burn_blind_columns (search) >= MAX (BLIND_COLUMNS, BLIND_SHARE * band->length))
    return WS_BURN_CLIPPED;
  if (balance->noise > MOST_NOISE * (1 - balance->veil))
    return WS_BURN_NOISY;
  return balance->veil > 0 && may_be_veiled (band, balance) ? WS_BURN_FAINT : WS_BURN_JUDGED;
}

void
wsi_burn_find (const WsBand *band, const WsBalance *balance, guint evaluated_depth, WsBurn *burn)
{
  const gsize n = (gsize)band->length * band->depth;
  *burn = (WsBurn){ .trouble = balance->trouble };
  burn->films = g_new0 (guint8, n);
  if (balance->trouble != WS_BURN_JUDGED)
    return;
  g_auto (WsBurnSearch) search = { 0 };
  wsi_burn_search_init (band, balance, 1, &search);
  measure_depth (&search, balance->steel, burn);
  burn->distance = chroma_distance (&search, evaluated_depth);
  count_films (&search, evaluated_depth, burn);
  burn->present =
    burn->area >= MIN_CELLS && burn->length >= MIN_LENGTH && burn->depth_seen >= MIN_DEPTH;
  if (burn->present && (!wsi_burn_fades_as_film (&search) || may_be_ground (burn, balance)))
    burn->trouble = WS_BURN_FOREIGN_COLOUR;
  if (!burn->present)
    burn->trouble = doubt_absence (band, balance, &search);
  if (!burn->present)
    burn->area = burn->depth = burn->depth_seen = burn->length = 0;
}

void
wsi_burn_clear (WsBurn *burn)
{
  g_clear_pointer (&burn->films, g_free);
}
