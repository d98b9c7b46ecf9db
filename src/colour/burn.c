#include "colour/burn.h"

#include "colour/burn_fade.h"
#include "maths/stats.h"

#include <math.h>
#include <string.h>

const char *
ws_burn_trouble_text (WsBurnTrouble trouble)
{
  static const char *const texts[] = {
    [WS_BURN_JUDGED] = NULL,
    [WS_BURN_NO_COLOUR] = "Burn can't be judged: the picture has no colour.",
    [WS_BURN_NO_REFERENCE] = "Burn can't be judged: there is neither clean ground steel nor a "
                             "grey card in the picture to compare with.",
    [WS_BURN_CLIPPED] = "Burn can't be judged: the flank is over-exposed. Turn the light down.",
    [WS_BURN_MIXED_LIGHT] = "Burn can't be judged: lights of different colours fall on the "
                            "flank. Use one lamp and shade the rest.",
    [WS_BURN_COLOURED_LIGHT] = "Burn can't be judged in light of so strong a colour. Use white "
                               "light, or set the camera's white balance.",
    [WS_BURN_COATED] = "Coated tool: burn can't be judged by colour, since the whole flank has "
                       "the same colour as the edge.",
    [WS_BURN_EDGE_UNSURE] = "Burn can't be judged: there is colour on the ground's side of the "
                            "outline, so the edge may lie further out than it seems. Use a plain "
                            "ground that is clearly darker or brighter than the tool.",
    [WS_BURN_FOREIGN_COLOUR] = "There is colour at the edge that is not heat's: paint, marking "
                               "ink, coolant or a reflection. Clean the tool and shade it.",
  };
  return texts[trouble];
}

/* ---- The clean steel -------------------------------------------------------------- */

/* Heat stays near the edge: the deeper part of a band is taken for clean. */
#define CLEAN_FROM 0.5

/* Fewer cells than this are no reference. */
#define MIN_CLEAN_CELLS 200

/* Share of the reference that may be over-exposed. */
#define MAX_CLIPPED 0.5

/* Steel is neutral; this much chroma comes from the light or from a coating.  Own choice, no
 * source: a camera set a thousand kelvin off makes about 10. */
#define MAX_STEEL_CHROMA 14.0

/* Light stronger than this in colour leaves too little of the others. */
#define MAX_LIGHT_CHROMA 40.0

/* The ground has the light's colour when it is this close to the steel's. */
#define SAME_COLOUR 10.0

/* Third of the reference against the whole, by CIEDE2000: more than this comes from a second light.
 */
#define MAX_UNEVEN 6.0

typedef struct
{
  GArray *s, *red, *blue, *light; /* of double: place, ratios to green, luminance */
  gsize n_seen, n_clipped;
} Clean;

static double *
data_of (GArray *array)
{
  return (double *)(void *)array->data;
}

static Clean
clean_new (void)
{
  Clean clean = { .n_seen = 0 };
  clean.s = g_array_new (FALSE, FALSE, sizeof (double));
  clean.red = g_array_new (FALSE, FALSE, sizeof (double));
  clean.blue = g_array_new (FALSE, FALSE, sizeof (double));
  clean.light = g_array_new (FALSE, FALSE, sizeof (double));
  return clean;
}

static void
clean_clear (Clean *clean)
{
  g_array_unref (clean->s);
  g_array_unref (clean->red);
  g_array_unref (clean->blue);
  g_array_unref (clean->light);
}

/* Darker than this the ratios of channels are mostly noise. */
#define DARK 0.004

static void
collect (const WsBand *band, double from, double to, Clean *clean)
{
  for (guint d = (guint)(from * band->depth); d < (guint)(to * band->depth); d++)
    for (guint s = 0; s < band->length; s++)
    {
      const float *cell = ws_band_cell (band, s, d);
      if (!ws_band_is_tool (cell))
        continue;
      clean->n_seen++;
      if (ws_band_is_clipped (cell))
        clean->n_clipped++;
      if (ws_band_is_clipped (cell) || cell[1] < (float)DARK)
        continue;
      const double place = (double)s / band->length, red = cell[0] / cell[1],
                   blue = cell[2] / cell[1], light = ws_band_luminance (cell);
      g_array_append_val (clean->s, place);
      g_array_append_val (clean->red, red);
      g_array_append_val (clean->blue, blue);
      g_array_append_val (clean->light, light);
    }
}

static double
median_between (const Clean *clean, const GArray *values, double from, double to)
{
  g_autoptr (GArray) picked = g_array_new (FALSE, FALSE, sizeof (double));
  for (guint i = 0; i < values->len; i++)
  {
    const double s = g_array_index (clean->s, double, i);
    if (s >= from && s < to)
      g_array_append_val (picked, g_array_index (values, double, i));
  }
  return picked->len > 0 ? ws_median (data_of (picked), picked->len) : NAN;
}

static WsLight
steel_between (const Clean *clean, double from, double to, double luminance)
{
  const double red = median_between (clean, clean->red, from, to),
               blue = median_between (clean, clean->blue, from, to);
  const double y = ws_colour_xyz ((WsLight){ red, 1, blue }).y;
  return (WsLight){ luminance * red / y, luminance / y, luminance * blue / y };
}

static WsLab
relative (WsLight light, WsLight white)
{
  return ws_colour_lab ((WsLight){ light.r / white.r, light.g / white.g, light.b / white.b });
}

/* Robust standard deviation of a* and b* among clean cells. */
static double
chroma_noise (const Clean *clean, WsLight steel)
{
  const guint n = clean->red->len;
  g_autofree double *off = g_new (double, 2 * (gsize)n);
  const double red = steel.r / steel.g, blue = steel.b / steel.g;
  for (guint i = 0; i < n; i++)
  {
    const WsLight light = { g_array_index (clean->red, double, i) / red, 1,
                            g_array_index (clean->blue, double, i) / blue };
    const WsLab lab = ws_colour_lab (light);
    off[2 * i] = lab.a;
    off[2 * i + 1] = lab.b;
  }
  return ws_mad_sigma (off, 2 * (gsize)n);
}

static gboolean
is_uneven (const Clean *clean, WsLight steel)
{
  const WsLab bare = { 100, 0, 0 };
  for (guint third = 0; third < 3; third++)
  {
    const WsLight part = steel_between (clean, third / 3.0, (third + 1) / 3.0, 1);
    if (isnan (part.r))
      continue;
    const double y = ws_colour_xyz (steel).y;
    const WsLight unit = { steel.r / y, steel.g / y, steel.b / y };
    if (ws_colour_difference (relative (part, unit), bare) > MAX_UNEVEN)
      return TRUE;
  }
  return FALSE;
}

/* As bright as steel usually comes out, so that chroma can be compared. */
static WsLab
lab_as_seen (WsLight light)
{
  const double scale = 0.5 / MAX (ws_colour_xyz (light).y, 1e-6);
  return ws_colour_lab ((WsLight){ light.r * scale, light.g * scale, light.b * scale });
}

static double
apart (WsLab p, WsLab q)
{
  return hypot (p.a - q.a, p.b - q.b);
}

/* Tinted steel: by a coating, or by the light? */
static WsBurnTrouble
judge_tint (WsLight steel, const WsLight *ground, const WsLight *card)
{
  const WsLab lab = lab_as_seen (steel);
  const double chroma = ws_colour_chroma (lab);
  if (card != NULL)
    return apart (lab, lab_as_seen (*card)) > MAX_STEEL_CHROMA ? WS_BURN_COATED : WS_BURN_JUDGED;
  if (chroma <= MAX_STEEL_CHROMA)
    return WS_BURN_JUDGED;
  if (ground == NULL || apart (lab, lab_as_seen (*ground)) > SAME_COLOUR)
    return WS_BURN_COATED;
  return chroma > MAX_LIGHT_CHROMA ? WS_BURN_COLOURED_LIGHT : WS_BURN_JUDGED;
}

/* A ground from this chroma on shows in the steel; own choice, no source. */
#define REFLECTED_CHROMA 10.0

/* What film the ground's colour would be taken for when steel reflects it. */
static WsFilm
film_of_ground (WsLight steel, const WsLight *ground)
{
  const double y = ground != NULL ? ws_colour_xyz (*ground).y / ws_colour_xyz (steel).y : 0;
  if (!(y > 0))
    return WS_FILM_NONE;
  WsFilmPath path;
  ws_film_path_fill (&path);
  const WsLight as_bright = { ground->r / y, ground->g / y, ground->b / y };
  return ws_film_class (&path, relative (as_bright, steel), REFLECTED_CHROMA);
}

/* Bare steel differs so much in a* and b* from a grey card; assumed, no source. */
#define U_STEEL 4.0

/* Quantile of light that bare steel has among films. */
#define BARE 0.8

/* The reference's depth is tried in so many slices. */
#define N_SLICES 5

/* Slices of clean steel differ less in chroma; own choice, no source. */
#define SLICE_CHROMA 5.0

/* Thinner slices say nothing. */
#define MIN_SLICE_CELLS 50

static Clean
slice_of (const WsBand *const *bands, guint n_bands, guint k)
{
  const double step = (1 - CLEAN_FROM) / N_SLICES;
  Clean clean = clean_new ();
  for (guint i = 0; i < n_bands; i++)
    collect (bands[i], CLEAN_FROM + k * step, CLEAN_FROM + (k + 1) * step, &clean);
  return clean;
}

/* Heat that reaches beyond CLEAN_FROM leaves less of the depth for clean: from where on slices look
 * like the deepest.  1 where colour still changes there, so that nothing is clean. */
static double
clean_from (const WsBand *const *bands, guint n_bands)
{
  WsLight deepest = { 0, 0, 0 };
  guint alike = 0, seen = 0;
  for (guint k = N_SLICES; k > 0; k--)
  {
    Clean slice = slice_of (bands, n_bands, k - 1);
    const gboolean thin = slice.red->len < MIN_SLICE_CELLS;
    const WsLight steel = thin ? deepest : steel_between (&slice, 0, 1, 0.5);
    clean_clear (&slice);
    if (thin)
      continue;
    if (seen++ == 0)
      deepest = steel;
    const WsLight unit = { 2 * deepest.r, 2 * deepest.g, 2 * deepest.b };
    if (ws_colour_chroma (relative ((WsLight){ 2 * steel.r, 2 * steel.g, 2 * steel.b }, unit)) >
        SLICE_CHROMA)
      return alike > 1 ? 1 - (N_SLICES - k) * (1 - CLEAN_FROM) / N_SLICES : 1;
    alike++;
  }
  return CLEAN_FROM;
}

WsBalance
ws_balance_find (const WsBand *const *bands, guint n_bands, const WsLight *ground,
                 const WsLight *card)
{
  WsBalance balance = { .trouble = WS_BURN_JUDGED };
  Clean clean = clean_new ();
  const double from = clean_from (bands, n_bands);
  for (guint i = 0; i < n_bands; i++)
    collect (bands[i], from, 1, &clean);
  if ((double)clean.n_clipped > MAX_CLIPPED * (double)clean.n_seen)
    balance.trouble = WS_BURN_CLIPPED;
  else if (clean.red->len < MIN_CLEAN_CELLS)
    balance.trouble = WS_BURN_NO_REFERENCE;
  else
  {
    const double light = median_between (&clean, clean.light, 0, 1);
    balance.steel = steel_between (&clean, 0, 1, light);
    balance.noise = chroma_noise (&clean, balance.steel);
    balance.ground = film_of_ground (balance.steel, ground);
    balance.trouble = judge_tint (balance.steel, ground, card);
    if (balance.trouble == WS_BURN_JUDGED && is_uneven (&clean, balance.steel))
      balance.trouble = WS_BURN_MIXED_LIGHT;
  }
  clean_clear (&clean);
  return balance;
}

WsBalance
ws_balance_of_card (const WsBand *const *bands, guint n_bands, WsLight card)
{
  WsBalance balance = { .trouble = WS_BURN_JUDGED };
  Clean all = clean_new ();
  for (guint i = 0; i < n_bands; i++)
    collect (bands[i], 0, 1, &all);
  if ((double)all.n_clipped > MAX_CLIPPED * (double)all.n_seen)
    balance.trouble = WS_BURN_CLIPPED;
  else if (all.red->len < MIN_CLEAN_CELLS)
    balance.trouble = WS_BURN_NO_REFERENCE;
  else
  {
    /* Films darken steel: its brighter cells are nearest to bare. */
    const double light = ws_quantile (data_of (all.light), all.light->len, BARE);
    const double y = ws_colour_xyz (card).y;
    balance.steel = (WsLight){ light * card.r / y, light * card.g / y, light * card.b / y };
    balance.noise = U_STEEL;
  }
  clean_clear (&all);
  return balance;
}

/* ---- Burn ------------------------------------------------------------------------- */

/* Chroma from which a cell counts as coloured: a film seen beside clean steel, and noise.  Own
 * trials on rendered blades: burn's rim, where colour ends, lies between 4 and 8. */
#define LEAST_CHROMA 5.0
#define NOISE_FACTOR 4.0

/* A region must hold colour as strong as this, in terms of the least. */
#define SEED_FACTOR 1.8

/* Heat comes from the edge: regions that don't begin within this part of the depth are none. */
#define FROM_EDGE 0.06
#define FROM_EDGE_PX 6

/* Smaller regions are dust. */
#define MIN_CELLS 40
#define MIN_LENGTH 6
#define MIN_DEPTH 4

typedef struct
{
  const WsBand *band;
  guint8 *films;  /* WsFilm a cell */
  float *chroma;  /* NAN off the tool */
  float *purity;  /* chroma that the cell would have if it were as light as clean steel */
  guint8 *region; /* 1: burn */
} Search;

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
      const float *cell = ws_band_cell (band, i, j);
      if (!ws_band_is_tool (cell))
        continue;
      if (ws_band_is_clipped (cell))
        return FALSE;
      for (guint c = 0; c < 3; c++)
        sum[c] += cell[c];
      n++;
    }
  if (n == 0 || !ws_band_is_tool (ws_band_cell (band, s, d)))
    return FALSE;
  *light = (WsLight){ sum[0] / n, sum[1] / n, sum[2] / n };
  return TRUE;
}

/* In CIELAB chroma goes with (L + 16) / 116, the cube root of the light: a bright land makes the
 * same film look stronger. */
static double
purity (WsLab lab)
{
  return ws_colour_chroma (lab) * 116 / (MAX (lab.L, 0) + 16);
}

static void
classify (Search *search, const WsBalance *balance, double least)
{
  WsFilmPath path;
  ws_film_path_fill (&path);
  for (guint d = 0; d < search->band->depth; d++)
    for (guint s = 0; s < search->band->length; s++)
    {
      const gsize i = (gsize)d * search->band->length + s;
      WsLight light;
      search->chroma[i] = NAN;
      search->films[i] = WS_FILM_NONE;
      if (!smoothed (search->band, s, d, &light))
        continue;
      const WsLab lab = relative (light, balance->steel);
      search->chroma[i] = (float)ws_colour_chroma (lab);
      search->purity[i] = (float)purity (lab);
      search->films[i] = (guint8)ws_film_class (&path, lab, least);
    }
}

/* A cell keeps its colour when most of its neighbourhood has some, and gains one then: opening
 * and closing at once (a majority filter). */
static void
tidy (const Search *search, guint8 *mask)
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

/* Floods from seeds near the edge. */
static void
grow (const Search *search, const guint8 *mask, double seed, guint from_edge)
{
  const guint length = search->band->length, depth = search->band->depth;
  g_autoptr (GArray) open = g_array_new (FALSE, FALSE, sizeof (guint));
  for (guint d = 0; d < MIN (from_edge, depth); d++)
    for (guint s = 0; s < length; s++)
    {
      const guint i = d * length + s;
      if (mask[i] && search->chroma[i] >= (float)seed)
        g_array_append_val (open, i);
    }
  while (open->len > 0)
  {
    const guint i = g_array_index (open, guint, open->len - 1);
    g_array_set_size (open, open->len - 1);
    if (search->region[i])
      continue;
    search->region[i] = 1;
    const guint s = i % length, d = i / length;
    const guint next[4] = { i - 1, i + 1, i - length, i + length };
    const gboolean inside[4] = { s > 0, s + 1 < length, d > 0, d + 1 < depth };
    for (guint k = 0; k < 4; k++)
      if (inside[k] && mask[next[k]] && !search->region[next[k]])
        g_array_append_val (open, next[k]);
  }
}

/* How deep the region goes in a column, cells; 0 where there is none. */
static guint
column_depth (const Search *search, guint s)
{
  for (guint d = search->band->depth; d > 0; d--)
    if (search->region[(gsize)(d - 1) * search->band->length + s])
      return d;
  return 0;
}

/* Does the tool go on, in view, beyond a column's colour? */
static gboolean
has_rim (const Search *search, guint s, guint depth)
{
  const guint beyond = depth + 1;
  return beyond < search->band->depth &&
         isfinite (search->chroma[(gsize)beyond * search->band->length + s]);
}

/* Nearly the deepest column: a few stray cells don't count. */
#define DEEPEST 0.9

/* Columns on either side that a column's depth is the median of. */
#define RIM_REACH 4

static void
search_region (Search *search, const WsBalance *balance, double least)
{
  const guint depth = search->band->depth;
  g_autofree guint8 *mask = g_new0 (guint8, (gsize)search->band->length * depth);
  memset (search->region, 0, (gsize)search->band->length * depth);
  classify (search, balance, least);
  tidy (search, mask);
  grow (search, mask, SEED_FACTOR * least, MAX (FROM_EDGE_PX, (guint)(FROM_EDGE * depth)));
}

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
film_between (const Search *search, guint s, guint from, guint to)
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
look_at_rim (const Search *search, guint s, guint depth, Fading *fading)
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
  fading->strong_chroma += ws_quantile (chromas, n, STRONG);
}

static void
look_at_column (const Search *search, guint s, Fading *fading)
{
  const guint depth = column_depth (search, s);
  if (depth < LEAST_FADE_CELLS)
    return;
  if (has_rim (search, s, depth))
  {
    look_at_rim (search, s, depth, fading);
    return;
  }
  const guint part = MAX (2, (guint)(RIM * depth));
  fading->cut++;
  fading->cooling +=
    film_between (search, s, depth - part, depth) < film_between (search, s, 0, part);
}

/*
 * A film thins out from the edge into the flank, so every burn ends in straw that fades; paint,
 * ink and reflections end as they began.  Where the end isn't in view, it thins at least.
 */
static gboolean
fades_as_film (const Search *search)
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

/* Share of the burnt cells from which a film is worth naming. */
#define NAMED 0.05

static void
count_films (const Search *search, guint evaluated_depth, WsBurn *burn)
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
    burn->length += column_depth (search, s) > 0;
}

static GArray *
chromas_between (const Search *search, guint from, guint to)
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
chroma_distance (const Search *search, guint evaluated_depth)
{
  const guint depth = search->band->depth;
  g_autoptr (GArray) band = chromas_between (search, 0, MIN (evaluated_depth, depth));
  g_autoptr (GArray) clean = chromas_between (search, (guint)(CLEAN_FROM * depth), depth);
  if (band->len == 0 || clean->len == 0)
    return 0;
  double sum = 0;
  const guint n = 50;
  for (guint k = 0; k < n; k++)
    sum += fabs (ws_quantile (data_of (band), band->len, (k + 0.5) / n) -
                 ws_quantile (data_of (clean), clean->len, (k + 0.5) / n));
  return sum / n;
}

/* Each column's colour depth, single columns smoothed away; 0 where colour ends out of view, unless
 * it does so everywhere. */
static void
rims_of (const Search *search, gboolean in_view, guint *rims)
{
  const guint length = search->band->length;
  for (guint s = 0; s < length; s++)
  {
    double near[2 * RIM_REACH + 1];
    guint n = 0;
    for (guint i = s > RIM_REACH ? s - RIM_REACH : 0; i <= MIN (s + RIM_REACH, length - 1); i++)
    {
      const guint depth = column_depth (search, i);
      if (depth > 0)
        near[n++] = depth;
    }
    const guint here = column_depth (search, s);
    const gboolean counts = here > 0 && (!in_view || has_rim (search, s, here));
    rims[s] = counts && n > 0 ? (guint)lrint (ws_median (near, n)) : 0;
  }
}

/* Does colour leave the view, in more than a few columns, deeper than it is known to go? */
static gboolean
leaves_view (const Search *search, double depth_seen)
{
  guint all = 0, cut = 0;
  for (guint s = 0; s < search->band->length; s++)
  {
    const guint depth = column_depth (search, s);
    all += depth > 0;
    cut += depth > depth_seen && !has_rim (search, s, depth);
  }
  return cut > (1 - DEEPEST) * all;
}

/* How uneven the border is: between the median column and the deepest. */
static void
measure_depth (const Search *search, WsLight steel, WsBurn *burn)
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
  const WsFade fade = ws_fade_find (search->band, rims, steel);
  burn->depth_seen = ws_quantile (depths, n, DEEPEST);
  burn->uneven = burn->depth_seen - ws_median (depths, n);
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

void
ws_burn_find (const WsBand *band, const WsBalance *balance, guint evaluated_depth, WsBurn *burn)
{
  const gsize n = (gsize)band->length * band->depth;
  *burn = (WsBurn){ .trouble = balance->trouble };
  burn->films = g_new0 (guint8, n);
  if (balance->trouble != WS_BURN_JUDGED)
    return;
  g_autofree guint8 *films = g_new0 (guint8, n);
  g_autofree guint8 *region = g_new0 (guint8, n);
  g_autofree float *chroma = g_new (float, n);
  g_autofree float *pure = g_new0 (float, n);
  Search search = { band, films, chroma, pure, region };
  const double least = MAX (LEAST_CHROMA, NOISE_FACTOR * balance->noise / 2);
  search_region (&search, balance, least);
  measure_depth (&search, balance->steel, burn);
  burn->distance = chroma_distance (&search, evaluated_depth);
  count_films (&search, evaluated_depth, burn);
  burn->present =
    burn->area >= MIN_CELLS && burn->length >= MIN_LENGTH && burn->depth_seen >= MIN_DEPTH;
  if (burn->present && (!fades_as_film (&search) || may_be_ground (burn, balance)))
    burn->trouble = WS_BURN_FOREIGN_COLOUR;
  if (!burn->present)
    burn->area = burn->depth = burn->depth_seen = burn->length = 0;
}

void
ws_burn_clear (WsBurn *burn)
{
  g_clear_pointer (&burn->films, g_free);
}
