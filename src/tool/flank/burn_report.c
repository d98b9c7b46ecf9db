#include "tool/flank/burn_report.h"

#include "base/geometry.h"
#include "base/number.h"
#include "result/build.h"
#include "tool/advise.h"
#include "tool/flank/burn_meaning.h"

/* ---- Quantities ------------------------------------------------------------------- */

/* The edge's place in the picture, px: half of what a threshold on a blurred step leaves. */
#define U_EDGE_PX 0.5

/* Narrower colour is lost in the edge's blur, px. */
#define LEAST_PX 3.0

/* Heat's border is no line: where its deepest point is depends on a few columns.  Of the depth, and
 * of what the deepest columns exceed the median one by; own trials on rendered blades. */
#define UNEVEN_BORDER 0.01
#define UNEVEN_SHARE 0.8

/* Flanks that can't be judged don't hide burn that is seen on another, but they may hide it where
 * none is seen. */
static gboolean
counts (const WsFlank *flank)
{
  return flank->burn.trouble == WS_BURN_JUDGED;
}

/* The one with the deepest colour of those that count; NULL without. */
static const WsFlank *
worst_burn (const WsFlank *flanks, guint n_flanks)
{
  const WsFlank *worst = NULL;
  for (guint i = 0; i < n_flanks; i++)
    if (counts (&flanks[i]) && (worst == NULL || flanks[i].burn.depth > worst->burn.depth))
      worst = &flanks[i];
  return worst;
}

static void
add_depth (const WsBurn *burn, const WsOptics *optics, WsQuantity *quantity)
{
  wsi_quantity_set_seen (quantity, burn->depth, optics);
  if (burn->present)
  {
    wsi_quantity_add_seen_line (quantity, "where the colour fades out", WS_DISTRIBUTION_RECTANGULAR,
                                burn->u_fade, optics);
    wsi_quantity_add_seen_line (quantity, "edge place", WS_DISTRIBUTION_NORMAL, U_EDGE_PX, optics);
    wsi_quantity_add_seen_line (quantity, "uneven border", WS_DISTRIBUTION_NORMAL,
                                hypot (UNEVEN_BORDER * burn->depth, UNEVEN_SHARE * burn->uneven),
                                optics);
  }
  else
    wsi_quantity_add_seen_line (quantity, "smallest colour seen", WS_DISTRIBUTION_RECTANGULAR,
                                LEAST_PX / sqrt (3.0), optics);
  wsi_quantity_set_smallest_seen (quantity, LEAST_PX, optics);
  wsi_flank_finish (quantity, optics);
}

/* Ends of a coloured stretch, px each: colour fades along the edge as it does across. */
#define U_ENDS_PX 4.0

static gboolean
is_burnt (const WsFlank *flank)
{
  return counts (flank) && flank->burn.present;
}

static gboolean
can_tell (const WsFlank *flanks, guint n_flanks)
{
  gboolean all = TRUE, any_burnt = FALSE;
  for (guint i = 0; i < n_flanks; i++)
  {
    all &= counts (&flanks[i]);
    any_burnt |= is_burnt (&flanks[i]);
  }
  return all || any_burnt;
}

static void
add_area (const WsBurn *worst, double share, WsQuantity *quantity)
{
  wsi_quantity_set (quantity, share);
  const double unseen = worst->depth - worst->depth_seen + worst->u_fade;
  const double fade = worst->depth > 0 ? unseen / worst->depth : 0;
  wsi_quantity_add_line (quantity, "where the colour fades out", WS_DISTRIBUTION_RECTANGULAR,
                         MAX (fade * share, 0.002) / sqrt (3.0), 1);
  wsi_quantity_combine (quantity);
}

static void
add_quantities (const WsFlank *flanks, guint n_flanks, const WsOptics *optics,
                const WsBurnQuantities *quantities)
{
  double area = 0, evaluated = 0, length = 0;
  for (guint i = 0; i < n_flanks; i++)
    if (counts (&flanks[i]))
    {
      area += flanks[i].burn.area;
      evaluated += flanks[i].burn.evaluated;
      length += flanks[i].burn.length;
    }
  const WsBurn *worst = &worst_burn (flanks, n_flanks)->burn;
  if (quantities->depth != NULL && !worst->leaves_view)
    add_depth (worst, optics, quantities->depth);
  add_area (worst, area / MAX (evaluated, 1), quantities->area);
  wsi_quantity_set_seen (quantities->length, length, optics);
  wsi_quantity_add_seen_line (quantities->length, "ends of the colour", WS_DISTRIBUTION_NORMAL,
                              U_ENDS_PX, optics);
  wsi_flank_finish (quantities->length, optics);
}

/* ---- Findings about colour -------------------------------------------------------- */

static char *
length_text (double px, const WsOptics *optics)
{
  const double unit = optics->has_scale ? optics->mm_per_px : 1;
  g_autofree char *number = wsi_number_format (px * unit, optics->has_scale ? 2 : 0);
  return g_strdup_printf ("%s %s", number, optics->has_scale ? "mm" : "px");
}

static gboolean
is_column_burnt (const WsFlank *flank, guint s)
{
  for (guint d = 0; d < flank->band->depth; d++)
    if (flank->burn.films[(gsize)d * flank->band->length + s] != WS_FILM_NONE)
      return TRUE;
  return FALSE;
}

/* Half of the burnt columns lie before it. */
static guint
middle_column (const WsFlank *flank)
{
  guint s = 0;
  double left = 0.5 * flank->burn.length;
  for (; s + 1 < flank->band->length; s++)
  {
    left -= is_column_burnt (flank, s);
    if (left <= 0)
      break;
  }
  return s;
}

static void
find_burn (const WsFlank *flank, const WsToolCard *card, const WsOptics *optics,
           gboolean depth_is_seen, WsResult *result)
{
  const WsBurn *burn = &flank->burn;
  g_autofree char *meaning = wsi_burn_meaning (card->material, burn->hottest);
  g_autofree char *length = length_text (burn->length, optics);
  g_autofree char *depth = length_text (burn->depth, optics);
  g_autofree char *deep = depth_is_seen ? g_strdup_printf (", up to %s deep", depth)
                                        : g_strdup (" (how deep doesn't show from this side)");
  g_autofree char *distance = wsi_number_format (burn->distance, 1);
  const WsPoint ideal =
    wsi_strip_place (flank->strip, middle_column (flank) + 0.5, 0.3 * burn->depth_seen);
  char *text = g_strdup_printf (
    "Burn%s%s along %s of the edge%s: mostly %s, hottest %s. %s (Earth mover's distance of the "
    "chroma from clean steel: %s.)",
    flank->label != NULL ? " on lip " : "", flank->label != NULL ? flank->label : "", length, deep,
    wsi_film_name (burn->dominant), wsi_film_name (burn->hottest), meaning, distance);
  wsi_result_add_finding (result, "burn", text, &ideal);
}

static void
find_colour (const WsFlank *flanks, guint n_flanks, const WsToolCard *card, const WsOptics *optics,
             gboolean depth_is_seen, WsResult *result)
{
  if (flanks[0].burn.by_card || flanks[n_flanks - 1].burn.by_card)
    wsi_result_add_finding (
      result, "grey-card",
      g_strdup ("Colours are judged against the grey card in the picture, since "
                "no steel along the edge is clean."),
      NULL);
  for (guint i = 0; i < n_flanks; i++)
    if (is_burnt (&flanks[i]))
      find_burn (&flanks[i], card, optics, depth_is_seen, result);
  gboolean any_burnt = FALSE;
  for (guint i = 0; i < n_flanks; i++)
    any_burnt |= is_burnt (&flanks[i]);
  for (guint i = 0; i < n_flanks; i++)
  {
    /* Beside a burnt lip it may well be heat, seen too slantwise to fade. */
    const gboolean doubtful = any_burnt && flanks[i].burn.trouble == WS_BURN_FOREIGN_COLOUR;
    if (counts (&flanks[i]) || doubtful)
      continue;
    wsi_result_add_finding (result, "burn-unjudged",
                            g_strdup (wsi_burn_trouble_text (flanks[i].burn.trouble)), NULL);
    return;
  }
}

/* ---- Marks ------------------------------------------------------------------------ */

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

void
wsi_burn_report (const WsFlank *flanks, guint n_flanks, const WsToolCard *card,
                 const WsOptics *optics, const WsBurnQuantities *quantities, WsResult *result)
{
  if (can_tell (flanks, n_flanks))
    add_quantities (flanks, n_flanks, optics, quantities);
  find_colour (flanks, n_flanks, card, optics, quantities->depth != NULL, result);
  for (guint i = 0; i < n_flanks; i++)
    for (guint film = WS_FILM_STRAW; is_burnt (&flanks[i]) && film < WS_N_FILMS; film++)
      wsi_flank_mark_regions (&flanks[i], result, WS_MARK_BURN, wsi_film_name ((WsFilm)film), film,
                              film_extent);
}

/* ---- Advice ----------------------------------------------------------------------- */

/* Nobody grinds finer, and heat reaches farther. */
#define MAX_PLACES 2

/* Heat reaches below the colour, so the depth that shows is the least. */
static char *
regrind_by (const WsQuantity *depth, WsResult *result)
{
  if (depth == NULL)
    return g_strdup ("Grind away more of flank and face than is coloured");
  const guint places = MIN (wsi_number_places (depth->U), MAX_PLACES);
  const double by = wsi_number_round_up (depth->value + depth->U, places);
  const char *unit = g_str_has_suffix (depth->name, "_mm") ? "mm" : "px";
  g_autofree char *number = wsi_number_format (by, places);
  wsi_result_add_grinding (result, by, "edge_back_%s", unit);
  return g_strdup_printf ("Grind the edge back by at least %s %s", number, unit);
}

static gboolean
is_rejected (const WsResult *result, const char *stem)
{
  const WsQuantity *quantity = ws_result_quantity (result, stem);
  return quantity != NULL && quantity->value > 0 && quantity->verdict == WS_VERDICT_REJECT;
}

void
wsi_burn_advise (const WsToolCard *card, WsResult *result)
{
  const WsQuantity *depth = ws_result_quantity (result, "burn_depth_max");
  if (result->verdict != WS_VERDICT_REJECT ||
      !(is_rejected (result, "burn_depth_max") || is_rejected (result, "burn_area") ||
        is_rejected (result, "burn_length")))
    return;
  g_autofree char *by = regrind_by (depth, result);
  wsi_advise (result, WS_WORK_GRIND,
              g_strdup_printf ("Burnt edge: %s. %s: heat reached below the colour (common "
                               "practice, no source).%s",
                               wsi_burn_effect (card->material), by,
                               wsi_burn_look (card->material)));
  g_ptr_array_add (result->cautions, g_strdup ("Take light cuts with a freshly dressed wheel, and "
                                               "don't dip a hot tool in water. Polishing the "
                                               "colour off cures nothing."));
  if (card->material == WS_MATERIAL_CARBIDE)
    g_ptr_array_add (result->cautions,
                     g_strdup ("Carbide dust harms the lungs and needs a diamond wheel."));
}
