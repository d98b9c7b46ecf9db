#include "tool/front_lit.h"

#include "base/geometry.h"
#include "base/number.h"

static const WsQuantityInfo infos[WS_FRONT_LIT_N] = { WS_FRONT_LIT_QUANTITIES };

/* Shares are taken of the flank within this part of the edge's length. */
#define EVALUATED 0.25

/* ---- Judging ---------------------------------------------------------------------- */

static guint8 *
burnt_columns (const WsFlank *flank)
{
  const guint length = flank->band->length;
  guint8 *burnt = g_new0 (guint8, length);
  if (!flank->burn.present)
    return burnt;
  for (guint d = 0; d < flank->band->depth; d++)
    for (guint s = 0; s < length; s++)
      if (flank->burn.films[(gsize)d * length + s] != WS_FILM_NONE)
        burnt[s] = 1;
  return burnt;
}

static WsBalance
balance_of (const WsFlank *flanks, guint n_flanks, const WsImage *image, const WsLight *ground)
{
  const WsBand *bands[2] = { NULL, NULL };
  for (guint i = 0; i < n_flanks; i++)
    bands[i] = flanks[i].band;
  if (image->rgb == NULL || !image->has_colour)
    return (WsBalance){ .trouble = WS_BURN_NO_COLOUR };
  return ws_balance_find (bands, n_flanks, ground, NULL);
}

void
ws_flanks_judge (WsFlank *flanks, guint n_flanks, const WsImage *image, const WsLight *ground)
{
  g_return_if_fail (n_flanks <= 2);
  const WsBalance balance = balance_of (flanks, n_flanks, image, ground);
  for (guint i = 0; i < n_flanks; i++)
  {
    WsFlank *flank = &flanks[i];
    ws_burn_find (flank->band, &balance, (guint)(EVALUATED * flank->band->length), &flank->burn);
    g_autofree guint8 *burnt = burnt_columns (flank);
    ws_wear_land_find (flank->band, burnt, &flank->land);
  }
}

void
ws_flanks_clear (WsFlank *flanks, guint n_flanks)
{
  for (guint i = 0; i < n_flanks; i++)
  {
    g_clear_pointer (&flanks[i].band, ws_band_free);
    ws_burn_clear (&flanks[i].burn);
    ws_wear_land_clear (&flanks[i].land);
  }
}

/* ---- Quantities ------------------------------------------------------------------- */

/* The edge's place in the picture, px: half of what a threshold on a blurred step leaves. */
#define U_EDGE_PX 0.5

/* A flank relieved by 8 to 12 degrees is seen that much foreshortened when the camera looks along
 * the edge's own plane: 1 to 2 %, one-sided. */
#define FORESHORTENING 0.01

/* Heat's border is no line: where its deepest point is depends on a few columns.  Of the depth, and
 * of what the deepest columns exceed the median one by; own trials on rendered blades. */
#define UNEVEN_BORDER 0.01
#define UNEVEN_SHARE 0.8

static double
unit (const WsOptics *optics)
{
  return optics->has_scale ? optics->mm_per_px : 1;
}

static void
set_px (WsQuantity *quantity, double px, const WsOptics *optics)
{
  quantity->value = px * unit (optics);
  quantity->known = TRUE;
}

static void
line_px (WsQuantity *quantity, const char *name, WsDistribution distribution, double px,
         const WsOptics *optics)
{
  ws_quantity_add_line (quantity, name, distribution, px, unit (optics));
}

static void
finish_length (WsQuantity *quantity, const WsOptics *optics)
{
  if (quantity->value > 0)
    ws_quantity_add_line (quantity, "alignment: flank foreshortened", WS_DISTRIBUTION_ONE_SIDED,
                          FORESHORTENING, quantity->value);
  if (optics->has_scale)
    ws_quantity_add_line (quantity, "scale", WS_DISTRIBUTION_NORMAL, optics->u_mm_per_px,
                          quantity->value / optics->mm_per_px);
  ws_quantity_combine (quantity);
}

static void
add_land (const WsFlank *flanks, guint n_flanks, const WsOptics *optics, WsQuantity *mean,
          WsQuantity *most)
{
  double sum = 0, length = 0, greatest = 0, u_mean = 0, u_most = 0;
  for (guint i = 0; i < n_flanks; i++)
  {
    const WsWearLand *land = &flanks[i].land;
    if (!land->judged)
      return;
    const double columns = land->seen_share * flanks[i].band->length;
    sum += land->mean * columns;
    length += columns;
    u_mean = MAX (u_mean, land->u_mean);
    if (land->max >= greatest)
    {
      greatest = land->max;
      u_most = land->u_max;
    }
  }
  const gboolean none = greatest <= 0;
  set_px (mean, sum / length, optics);
  set_px (most, greatest, optics);
  line_px (mean, none ? "narrowest land seen" : "where the land ends",
           none ? WS_DISTRIBUTION_RECTANGULAR : WS_DISTRIBUTION_NORMAL, u_mean, optics);
  line_px (most, none ? "narrowest land seen" : "where the land ends",
           none ? WS_DISTRIBUTION_RECTANGULAR : WS_DISTRIBUTION_NORMAL, u_most, optics);
  finish_length (mean, optics);
  finish_length (most, optics);
}

/* The flank with the deepest colour. */
static const WsFlank *
worst_burn (const WsFlank *flanks, guint n_flanks)
{
  const WsFlank *worst = &flanks[0];
  for (guint i = 1; i < n_flanks; i++)
    if (flanks[i].burn.depth > worst->burn.depth)
      worst = &flanks[i];
  return worst;
}

static void
add_burn_depth (const WsBurn *burn, const WsOptics *optics, WsQuantity *quantity)
{
  set_px (quantity, burn->depth, optics);
  if (burn->present)
  {
    line_px (quantity, "where the colour fades out", WS_DISTRIBUTION_RECTANGULAR, burn->u_fade,
             optics);
    line_px (quantity, "edge place", WS_DISTRIBUTION_NORMAL, U_EDGE_PX, optics);
    line_px (quantity, "uneven border", WS_DISTRIBUTION_NORMAL,
             hypot (UNEVEN_BORDER * burn->depth, UNEVEN_SHARE * burn->uneven), optics);
  }
  else
    line_px (quantity, "smallest colour seen", WS_DISTRIBUTION_RECTANGULAR, 3.0 / sqrt (3.0),
             optics);
  finish_length (quantity, optics);
}

/* Ends of a coloured stretch, px each: colour fades along the edge as it does across. */
#define U_ENDS_PX 4.0

static void
add_burn (const WsFlank *flanks, guint n_flanks, const WsOptics *optics,
          WsQuantity *q[WS_FRONT_LIT_N])
{
  double area = 0, evaluated = 0, length = 0;
  for (guint i = 0; i < n_flanks; i++)
  {
    if (flanks[i].burn.trouble != WS_BURN_JUDGED)
      return;
    area += flanks[i].burn.area;
    evaluated += flanks[i].burn.evaluated;
    length += flanks[i].burn.length;
  }
  const WsBurn *worst = &worst_burn (flanks, n_flanks)->burn;
  add_burn_depth (worst, optics, q[WS_FRONT_LIT_BURN_DEPTH]);

  WsQuantity *share = q[WS_FRONT_LIT_BURN_AREA];
  share->value = area / MAX (evaluated, 1);
  share->known = TRUE;
  const double unseen = worst->depth - worst->depth_seen + worst->u_fade;
  const double fade = worst->depth > 0 ? unseen / worst->depth : 0;
  ws_quantity_add_line (share, "where the colour fades out", WS_DISTRIBUTION_RECTANGULAR,
                        MAX (fade * share->value, 0.002) / sqrt (3.0), 1);
  ws_quantity_combine (share);

  set_px (q[WS_FRONT_LIT_BURN_LENGTH], length, optics);
  line_px (q[WS_FRONT_LIT_BURN_LENGTH], "ends of the colour", WS_DISTRIBUTION_NORMAL, U_ENDS_PX,
           optics);
  finish_length (q[WS_FRONT_LIT_BURN_LENGTH], optics);
}

/* ---- Findings about colour -------------------------------------------------------- */

static char *
length_text (double px, const WsOptics *optics)
{
  g_autofree char *number = ws_number_format (px * unit (optics), optics->has_scale ? 2 : 0);
  return g_strdup_printf ("%s %s", number, optics->has_scale ? "mm" : "px");
}

static void
find_burn (const WsFlank *flank, const WsOptics *optics, WsResult *result)
{
  const WsBurn *burn = &flank->burn;
  double low, high;
  ws_film_temperature_c (burn->hottest, &low, &high);
  g_autofree char *length = length_text (burn->length, optics);
  g_autofree char *depth = length_text (burn->depth, optics);
  g_autofree char *distance = ws_number_format (burn->distance, 1);
  const WsPoint ideal = ws_strip_place (flank->strip, 0.5 * flank->band->length, 0.3 * burn->depth);
  char *text = g_strdup_printf (
    "Burn%s%s along %s of the edge, up to %s deep: mostly %s, hottest %s. Published tables put "
    "that at %.0f to %.0f °C on plain carbon steel; high-speed steel and long heating shift "
    "it: a hint, not a measurement. (Earth mover's distance of the chroma from clean steel: %s.)",
    flank->label != NULL ? " on lip " : "", flank->label != NULL ? flank->label : "", length, depth,
    ws_film_name (burn->dominant), ws_film_name (burn->hottest), low, high, distance);
  ws_result_add_finding (result, "burn", text, &ideal);
}

static void
find_colour (const WsFlank *flanks, guint n_flanks, const WsOptics *optics, WsResult *result)
{
  for (guint i = 0; i < n_flanks; i++)
    if (flanks[i].burn.trouble != WS_BURN_JUDGED)
    {
      ws_result_add_finding (result, "burn-unjudged",
                             g_strdup (ws_burn_trouble_text (flanks[i].burn.trouble)), NULL);
      return;
    }
  for (guint i = 0; i < n_flanks; i++)
    if (flanks[i].burn.present)
      find_burn (&flanks[i], optics, result);
}

/* ---- Marks ------------------------------------------------------------------------ */

/* Columns between corners of a drawn region. */
#define MARK_STEP 2

/* Closes a polygon of upper and lower borders and hands it to the result. */
static void
flush_region (WsResult *result, WsMarkRole role, const char *label, GArray *upper, GArray *lower)
{
  if (upper->len >= 2)
  {
    for (guint i = lower->len; i > 0; i--)
      g_array_append_val (upper, g_array_index (lower, WsPoint, i - 1));
    ws_result_add_mark (result, role, label, (WsPoint *)(void *)upper->data, upper->len);
  }
  g_array_set_size (upper, 0);
  g_array_set_size (lower, 0);
}

typedef gboolean (*Extent) (const WsFlank *flank, guint s, guint film, double *from, double *to);

static gboolean
film_extent (const WsFlank *flank, guint s, guint film, double *from, double *to)
{
  guint n = 0, first = 0, last = 0;
  for (guint d = 0; d < flank->band->depth; d++)
    if (flank->burn.films[(gsize)d * flank->band->length + s] == film)
    {
      if (n == 0)
        first = d;
      last = d;
      n++;
    }
  *from = first;
  *to = last + 1.0;
  return n >= 2;
}

static gboolean
land_extent (const WsFlank *flank, guint s, guint film, double *from, double *to)
{
  (void)film;
  *from = 0;
  *to = flank->land.width[s];
  return *to > 0;
}

static void
mark_regions (const WsFlank *flank, WsResult *result, WsMarkRole role, const char *label,
              guint film, Extent extent)
{
  g_autoptr (GArray) upper = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  g_autoptr (GArray) lower = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  for (guint s = 0; s < flank->band->length; s += MARK_STEP)
  {
    double from, to;
    if (!extent (flank, s, film, &from, &to))
    {
      flush_region (result, role, label, upper, lower);
      continue;
    }
    const WsPoint top = ws_strip_place (flank->strip, s + 0.5, from),
                  bottom = ws_strip_place (flank->strip, s + 0.5, to);
    g_array_append_val (upper, top);
    g_array_append_val (lower, bottom);
  }
  flush_region (result, role, label, upper, lower);
}

static void
mark_flank (const WsFlank *flank, WsResult *result)
{
  const WsPoint ends[2] = { ws_strip_place (flank->strip, 0, 0),
                            ws_strip_place (flank->strip, flank->strip->length, 0) };
  ws_result_add_mark (result, WS_MARK_EDGE_LINE, flank->label, ends, 2);
  if (flank->burn.present && flank->burn.trouble == WS_BURN_JUDGED)
    for (guint film = WS_FILM_STRAW; film < WS_N_FILMS; film++)
      mark_regions (flank, result, WS_MARK_BURN, ws_film_name ((WsFilm)film), film, film_extent);
  if (flank->land.present)
    mark_regions (flank, result, WS_MARK_LAND, "wear_land_mean", 0, land_extent);
}

void
ws_front_lit_add (const WsFlank *flanks, guint n_flanks, const WsOptics *optics, WsResult *result)
{
  WsQuantity *q[WS_FRONT_LIT_N];
  for (guint i = 0; i < WS_FRONT_LIT_N; i++)
    q[i] = ws_result_add_quantity (result, &infos[i], optics->has_scale);
  add_land (flanks, n_flanks, optics, q[WS_FRONT_LIT_LAND_MEAN], q[WS_FRONT_LIT_LAND_MAX]);
  add_burn (flanks, n_flanks, optics, q);
  find_colour (flanks, n_flanks, optics, result);
  for (guint i = 0; i < n_flanks; i++)
    mark_flank (&flanks[i], result);
}

/* ---- Advice ----------------------------------------------------------------------- */

static char *
value_text (const WsQuantity *quantity, double value)
{
  g_autofree char *number = ws_number_format (value, ws_number_places (quantity->U));
  return g_strdup_printf ("%s %s", number, g_str_has_suffix (quantity->name, "_mm") ? "mm" : "px");
}

static void
advise_burn (WsResult *result)
{
  const WsQuantity *depth = ws_result_quantity (result, "burn_depth_max");
  if (depth == NULL || depth->value <= 0 || depth->verdict == WS_VERDICT_ACCEPT)
    return;
  g_autofree char *off = value_text (depth, depth->value + depth->U);
  g_ptr_array_add (result->advice,
                   g_strdup_printf ("Burnt edge: it has lost hardness and will wear or crumble "
                                    "soon. Regrind past the discoloration: set the edge back by "
                                    "%s, until no colour is left.",
                                    off));
  g_ptr_array_add (result->cautions, g_strdup ("Take light cuts with a freshly dressed wheel, and "
                                               "don't dip a hot tool in water. Polishing the "
                                               "colour off doesn't bring the hardness back."));
}

static void
advise_land (WsResult *result)
{
  const WsQuantity *mean = ws_result_quantity (result, "wear_land_mean");
  const WsQuantity *most = ws_result_quantity (result, "wear_land_max");
  if (mean == NULL || most == NULL || most->value <= 0)
    return;
  g_autofree char *vb = value_text (mean, mean->value);
  g_autofree char *vb_max = value_text (most, most->value);
  ws_result_add_finding (result, "wear-land",
                         g_strdup_printf ("Wear land VB %s on average, at most %s.", vb, vb_max),
                         NULL);
  if (mean->verdict != WS_VERDICT_REJECT && most->verdict != WS_VERDICT_REJECT)
    return;
  g_autofree char *to = value_text (most, most->value + most->U);
  g_ptr_array_add (result->advice,
                   g_strdup_printf ("Worn edge: it rubs, heats up and leaves a poor finish. "
                                    "Regrind the flank until the land, up to %s wide, is gone.",
                                    to));
}

void
ws_front_lit_advise (WsResult *result)
{
  advise_burn (result);
  advise_land (result);
}
