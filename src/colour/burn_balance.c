#include "colour/burn_balance.h"

#include "maths/stats.h"

#include <math.h>

const char *
wsi_burn_trouble_text (WsBurnTrouble trouble)
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
                       "the same colour as the edge. Name the coating on the tool card.",
    [WS_BURN_EDGE_UNSURE] = "Burn can't be judged: there is colour on the ground's side of the "
                            "outline, so the edge may lie further out than it seems. Use a plain "
                            "ground that is clearly darker or brighter than the tool.",
    [WS_BURN_NOISY] =
      "Burn can't be ruled out: straw would be lost in the picture's noise. Use more "
      "light and a lower gain.",
    [WS_BURN_FAINT] =
      "Burn can't be ruled out: there is faint colour at the edge, and nothing in the picture is "
      "dark, so stray light or the camera may have paled it. Shade the lens and use a dark ground.",
    [WS_BURN_FOREIGN_COLOUR] = "There is colour at the edge that is not heat's: paint, marking "
                               "ink, coolant or a reflection. Clean the tool and shade it.",
    [WS_BURN_ON_COATING] =
      "The coating has another colour near the edge: it is worn through, dirty "
      "or was hot there. Clean the tool and look at it.",
  };
  return texts[trouble];
}

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
      const float *cell = wsi_band_cell (band, s, d);
      if (!wsi_band_is_tool (cell))
        continue;
      clean->n_seen++;
      if (wsi_band_is_clipped (cell))
        clean->n_clipped++;
      if (wsi_band_is_clipped (cell) || cell[1] < (float)DARK)
        continue;
      const double place = (double)s / band->length, red = cell[0] / cell[1],
                   blue = cell[2] / cell[1], light = wsi_band_luminance (cell);
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
  return picked->len > 0 ? wsi_median (data_of (picked), picked->len) : NAN;
}

static WsLight
steel_between (const Clean *clean, double from, double to, double luminance)
{
  const double red = median_between (clean, clean->red, from, to),
               blue = median_between (clean, clean->blue, from, to);
  const double y = wsi_colour_xyz ((WsLight){ red, 1, blue }).y;
  return (WsLight){ luminance * red / y, luminance / y, luminance * blue / y };
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
    const WsLab lab = wsi_colour_lab (light);
    off[2 * i] = lab.a;
    off[2 * i + 1] = lab.b;
  }
  return wsi_mad_sigma (off, 2 * (gsize)n);
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
    const double y = wsi_colour_xyz (steel).y;
    const WsLight unit = { steel.r / y, steel.g / y, steel.b / y };
    if (wsi_colour_difference (wsi_colour_lab_beside (part, unit), bare) > MAX_UNEVEN)
      return TRUE;
  }
  return FALSE;
}

/* As bright as steel usually comes out, so that chroma can be compared. */
static WsLab
lab_as_seen (WsLight light)
{
  const double scale = 0.5 / MAX (wsi_colour_xyz (light).y, 1e-6);
  return wsi_colour_lab ((WsLight){ light.r * scale, light.g * scale, light.b * scale });
}

static double
apart (WsLab p, WsLab q)
{
  return hypot (p.a - q.a, p.b - q.b);
}

/* Hues in degrees up to which a tint goes by its name: rose and copper, gold, greens, blue and
 * violet (TiN about 82, ZrN 95, TiCN 40 or 290, TiAlN 300: from memory, wide). */
static const struct
{
  double to;
  WsTint tint;
} hues[] = {
  { 55, WS_TINT_BRONZE },  { 108, WS_TINT_GOLD },  { 225, WS_TINT_OTHER },
  { 330, WS_TINT_VIOLET }, { 345, WS_TINT_OTHER }, { 360, WS_TINT_BRONZE },
};

/* Of steel as `white` looks in this light, where that is known. */
static WsTint
tint_of (WsLab steel, WsLab white)
{
  const WsLab off = { steel.L, steel.a - white.a, steel.b - white.b };
  const double hue = wsi_colour_hue_deg (off);
  guint i = 0;
  if (wsi_colour_chroma (off) <= MAX_STEEL_CHROMA)
    return WS_TINT_GREY;
  while (i + 1 < G_N_ELEMENTS (hues) && hue > hues[i].to)
    i++;
  return hues[i].tint;
}

/* A tint that the ground has, too, may be the light's. */
static WsTint
find_tint (WsLight steel, const WsLight *ground, const WsLight *card)
{
  const WsLab lab = lab_as_seen (steel), neutral = { 0, 0, 0 };
  if (card != NULL)
    return tint_of (lab, lab_as_seen (*card));
  const WsTint tint = tint_of (lab, neutral);
  return tint != WS_TINT_GREY && ground != NULL && apart (lab, lab_as_seen (*ground)) <= SAME_COLOUR
           ? WS_TINT_UNKNOWN
           : tint;
}

/* Tinted steel: by a coating, or by the light? */
static WsBurnTrouble
judge_tint (WsLight steel, const WsLight *ground, const WsLight *card)
{
  const WsLab lab = lab_as_seen (steel);
  const double chroma = wsi_colour_chroma (lab);
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
  const double y = ground != NULL ? wsi_colour_xyz (*ground).y / wsi_colour_xyz (steel).y : 0;
  if (!(y > 0))
    return WS_FILM_NONE;
  WsFilmPath path;
  wsi_film_path_fill (&path);
  const WsLight as_bright = { ground->r / y, ground->g / y, ground->b / y };
  return wsi_film_class (&path, wsi_colour_lab_beside (as_bright, steel), REFLECTED_CHROMA);
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
  const double step = (1 - WS_BURN_CLEAN_FROM) / N_SLICES;
  Clean clean = clean_new ();
  for (guint i = 0; i < n_bands; i++)
    collect (bands[i], WS_BURN_CLEAN_FROM + k * step, WS_BURN_CLEAN_FROM + (k + 1) * step, &clean);
  return clean;
}

/* Heat that reaches beyond WS_BURN_CLEAN_FROM leaves less of the depth for clean: from where on
 * slices look like the deepest.  1 where colour still changes there, so that nothing is clean. */
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
    if (wsi_colour_chroma (wsi_colour_lab_beside (
          (WsLight){ 2 * steel.r, 2 * steel.g, 2 * steel.b }, unit)) > SLICE_CHROMA)
      return alike > 1 ? 1 - (N_SLICES - k) * (1 - WS_BURN_CLEAN_FROM) / N_SLICES : 1;
    alike++;
  }
  return WS_BURN_CLEAN_FROM;
}

WsBalance
wsi_balance_find (const WsBand *const *bands, guint n_bands, const WsLight *ground,
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
    balance.tint = find_tint (balance.steel, ground, card);
    if (balance.trouble == WS_BURN_JUDGED && is_uneven (&clean, balance.steel))
      balance.trouble = WS_BURN_MIXED_LIGHT;
  }
  clean_clear (&clean);
  return balance;
}

WsBalance
wsi_balance_of_card (const WsBand *const *bands, guint n_bands, WsLight card)
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
    const double light = wsi_quantile (data_of (all.light), all.light->len, BARE);
    const double y = wsi_colour_xyz (card).y;
    balance.steel = (WsLight){ light * card.r / y, light * card.g / y, light * card.b / y };
    balance.noise = U_STEEL;
  }
  clean_clear (&all);
  return balance;
}
