#include "tool/card_fit.h"

#include <math.h>

#include "base/number.h"
#include "result/build.h"

#define MISMATCH "card-mismatch"

/* Of sizes and angles in words. */
#define MOST_PLACES 2
#define SEEN_U 0.01

/* What is seen, and what the card says of it. */
typedef struct
{
  const WsToolCard *card;
  const WsFitBand *band;
  double value, U;
  gboolean in_part, given;
  double size;         /* the card's word, or NAN */
  double lower, upper; /* what it lets the tool be before any band */
  gboolean built_in;   /* they are no word of the card */
} Fit;

/* Sizes beyond these no tool of this trade has: twist drills go from 0.05 to 100 mm by their
 * standards, cutoff blades and form tools from tenths to some hundred; own choice of round numbers.
 */
static const struct
{
  const char *name, *unit;
  double least, most;
} traits[WS_N_TRAITS] = {
  [WS_TRAIT_DIAMETER] = { "diameter", " mm", 0.03, 150.0 },
  [WS_TRAIT_WIDTH] = { "width", " mm", 0.1, 300.0 },
  [WS_TRAIT_HEIGHT] = { "height", " mm", 0.5, 300.0 },
  [WS_TRAIT_POINT] = { "point angle", "°", 0.0, 180.0 },
};

/* Cutoff blades are several times as high as wide; common practice, no source. */
#define LEAST_WIDTHS 2.0

/* ---- What is seen, and what the card says -------------------------------------------------- */

static gboolean
is_in_px (const WsQuantity *quantity)
{
  return g_str_has_suffix (quantity->name, "_px");
}

static gboolean
see (const WsResult *result, Fit *fit)
{
  const WsTraitSeen *seen = &result->seen[fit->band->trait];
  if (fit->band->stem == NULL)
  {
    fit->value = seen->value;
    fit->U = seen->U;
    fit->in_part = seen->in_part;
    return seen->is_seen;
  }
  const WsQuantity *quantity = ws_result_quantity (result, fit->band->stem);
  if (quantity == NULL || is_in_px (quantity))
    return FALSE;
  fit->value = quantity->value;
  fit->U = quantity->U;
  fit->given = quantity->given;
  return isfinite (fit->U);
}

/* What the card allows by a limit of its own is no mismatch. */
static void
widen (Fit *fit, const char *quantity)
{
  const WsLimit *limit = ws_tool_card_limit (fit->card, quantity);
  if (limit == NULL || !isfinite (fit->lower))
    return;
  fit->lower = fmin (fit->lower, isfinite (limit->lower) ? limit->lower : fit->lower);
  fit->upper = fmax (fit->upper, isfinite (limit->upper) ? limit->upper : fit->upper);
}

static void
take_limits (const WsResult *result, Fit *fit)
{
  const WsQuantity *quantity = ws_result_quantity (result, fit->band->stem);
  if (quantity == NULL || quantity->limit_source == NULL)
    return;
  fit->lower = quantity->lower;
  fit->upper = quantity->upper;
  fit->built_in = !g_str_equal (quantity->limit_source, "tool card");
}

/* Of the profile that a form tool's card names, where it names no width: mm, or NAN. */
static double
nominal_width (const WsToolCard *card)
{
  double least = HUGE_VAL, most = -HUGE_VAL;
  if (card->form.nominal == NULL)
    return NAN;
  for (guint i = 0; i < card->form.nominal->segments->len; i++)
  {
    const WsContourSegment *segment =
      &g_array_index (card->form.nominal->segments, WsContourSegment, i);
    least = fmin (least, fmin (segment->from.x, segment->to.x));
    most = fmax (most, fmax (segment->from.x, segment->to.x));
  }
  return most - least;
}

static double
told_width (const WsToolCard *card)
{
  return card->width_mm > 0 ? card->width_mm : nominal_width (card);
}

/* FALSE where the card says nothing of it. */
static gboolean
hear (const WsResult *result, Fit *fit)
{
  fit->lower = -INFINITY;
  fit->upper = INFINITY;
  fit->size = fit->band->trait == WS_TRAIT_DIAMETER ? fit->card->diameter_mm
              : fit->band->trait == WS_TRAIT_WIDTH  ? told_width (fit->card)
                                                    : NAN;
  if (isfinite (fit->size))
    fit->lower = fit->upper = fit->size;
  if (fit->band->trait == WS_TRAIT_DIAMETER)
    widen (fit, "diameter_mm");
  else if (fit->band->trait == WS_TRAIT_WIDTH)
    widen (fit, "edge_width_mm");
  else
    take_limits (result, fit);
  return isfinite (fit->lower) || isfinite (fit->upper);
}

/* ---- Words --------------------------------------------------------------------------------- */

/* "6.5 mm", as cards are written. */
static char *
say_number (double value, const char *unit)
{
  char number[G_ASCII_DTOSTR_BUF_SIZE];
  return g_strconcat (g_ascii_formatd (number, sizeof number, "%.6g", value), unit, NULL);
}

/* "6.5 mm", "116° to 120°", "at most 5 mm". */
static char *
say_word (const Fit *fit)
{
  const char *unit = traits[fit->band->trait].unit;
  if (isfinite (fit->size))
    return say_number (fit->size, unit);
  g_autofree char *low = say_number (fit->lower, unit), *high = say_number (fit->upper, unit);
  if (!isfinite (fit->lower))
    return g_strconcat ("at most ", high, NULL);
  if (!isfinite (fit->upper))
    return g_strconcat ("at least ", low, NULL);
  return g_strdup_printf ("%s to %s", low, high);
}

/* Coarse, since so is what it is held against; with U where that can be seen. */
static char *
say_seen (const Fit *fit)
{
  const guint places = fit->U > 0 ? MIN (wsi_number_places (fit->U), MOST_PLACES) : MOST_PLACES;
  const char *unit = traits[fit->band->trait].unit;
  g_autofree char *value = wsi_number_format (fit->value, places);
  g_autofree char *U = wsi_number_format (fit->U, places);
  return fit->U >= SEEN_U ? g_strdup_printf ("%s ± %s%s", value, U, unit)
                          : g_strconcat (value, unit, NULL);
}

/* What else a drill with such a point may be. */
static const char *
other_point (const Fit *fit)
{
  if (fit->card->kind == WS_KIND_TWIST_DRILL && fit->value < fit->lower)
    return "a spot drill, or a twist drill for soft material";
  if (fit->card->kind == WS_KIND_SPOT_DRILL && fit->value > fit->upper)
    return "a twist drill, or a spot drill of a flatter kind";
  return "a drill with another kind of point";
}

static void
hold_size (const Fit *fit, WsResult *result)
{
  g_autofree char *seen = say_seen (fit), *word = say_word (fit);
  wsi_result_hold (
    result, WS_HOLD_VERDICT, MISMATCH,
    "%s a %s of %s%s, and the card says %s: wear and regrinding don't explain that. Check that the "
    "card is this tool's, %s, and check the tool.",
    fit->given ? "What was told is" : "The picture shows", traits[fit->band->trait].name,
    fit->in_part ? "more than " : "", seen, word,
    fit->given ? "measure it again" : "check the scale");
}

static void
hold_point (const Fit *fit, WsResult *result)
{
  g_autofree char *seen = say_seen (fit), *word = say_word (fit);
  const char *kind = ws_tool_kind_name (fit->card->kind);
  g_autofree char *told =
    fit->built_in
      ? g_strdup_printf ("the card, which names no point angle, makes it a %s with %s", kind, word)
      : g_strdup_printf ("the card says %s", word);
  wsi_result_hold (
    result, WS_HOLD_VERDICT, MISMATCH,
    "The picture shows a point angle of %s, and %s: no wear and no slip at the wheel "
    "explain that. It may be %s. Check the card's kind and point angle, and check "
    "the tool.",
    seen, told, other_point (fit));
}

static void
hold_impossible (const Fit *fit, WsResult *result)
{
  g_autofree char *seen = say_seen (fit);
  g_autofree char *least = say_number (traits[fit->band->trait].least, " mm");
  g_autofree char *most = say_number (traits[fit->band->trait].most, " mm");
  wsi_result_hold (
    result, WS_HOLD_VERDICT, MISMATCH,
    "By this scale the tool has a %s of %s, and no tool of this trade is smaller than "
    "%s or larger than %s. Check the scale.",
    traits[fit->band->trait].name, seen, least, most);
}

static void
hold_low (const Fit *fit, WsResult *result)
{
  g_autofree char *seen = say_seen (fit), *width = say_number (fit->card->width_mm, " mm");
  wsi_result_hold (result, WS_HOLD_VERDICT, MISMATCH,
                   "The picture shows a height of %s, and the card says %s of width: cutoff blades "
                   "are at least twice as high as wide, and this may be something else. Check that "
                   "the card is this tool's, check the scale, and check the tool.",
                   seen, width);
}

/* ---- Checks -------------------------------------------------------------------------------- */

static gboolean
is_possible (const Fit *fit)
{
  return fit->value + fit->U >= traits[fit->band->trait].least &&
         fit->value - fit->U <= traits[fit->band->trait].most;
}

/* A point's limits may be wider than the band about their middle: that counts from there, or from
 * the only limit. */
static void
point_bounds (const Fit *fit, double *least, double *most)
{
  const gboolean two = isfinite (fit->lower) && isfinite (fit->upper);
  const double middle = 0.5 * (fit->lower + fit->upper);
  *least = two ? fmin (fit->lower, middle - fit->band->below) : fit->lower - fit->band->below;
  *most = two ? fmax (fit->upper, middle + fit->band->above) : fit->upper + fit->band->above;
}

static void
size_bounds (const Fit *fit, double *least, double *most)
{
  *least = (1 - fit->band->below) * fit->lower - fit->band->slack_mm;
  *most = (1 + fit->band->above) * fit->upper + (fit->band->above > 0 ? fit->band->slack_mm : 0);
}

/* Of a part that is seen only too much can be told. */
static gboolean
fits (const Fit *fit)
{
  double least, most;
  if (fit->band->trait == WS_TRAIT_POINT)
    point_bounds (fit, &least, &most);
  else
    size_bounds (fit, &least, &most);
  const gboolean too_small = isfinite (fit->lower) && !fit->in_part && fit->value + fit->U < least;
  const gboolean too_large = isfinite (fit->upper) && fit->value - fit->U > most;
  return !too_small && !too_large;
}

/* Where the card names no height its width tells how low no blade is. */
static gboolean
is_too_low (const Fit *fit)
{
  return fit->band->trait == WS_TRAIT_HEIGHT && fit->card->kind == WS_KIND_CUTOFF_BLADE &&
         fit->value + fit->U < LEAST_WIDTHS * fit->card->width_mm;
}

static void
check_size (const WsToolCard *card, const WsFitBand *band, WsResult *result)
{
  Fit fit = { .card = card, .band = band };
  if (!see (result, &fit))
    return;
  if (!is_possible (&fit))
    hold_impossible (&fit, result);
  else if (!hear (result, &fit))
  {
    if (is_too_low (&fit))
      hold_low (&fit, result);
  }
  else if (!fits (&fit))
    (band->trait == WS_TRAIT_POINT ? hold_point : hold_size) (&fit, result);
}

static void
check_hand (const WsToolCard *card, const WsFitBand *band, WsResult *result)
{
  const char *told = ws_hand_name (card->hand);
  if (told == NULL || (result->hand == NULL && !band->is_ground) ||
      g_strcmp0 (told, result->hand) == 0)
    return;
  if (result->hand == NULL)
  {
    wsi_result_hold (result, WS_HOLD_ACCEPT, "not-seen",
                     "The edge is square within its uncertainty: which corner leads can't be told, "
                     "and the card asks for the %s one.",
                     told);
    return;
  }
  if (band->is_ground)
    wsi_result_reject (result, "wrong-hand",
                       "Ground the other way: the %s corner leads, seen from above with the edge "
                       "pointing away from you, and the card asks for the %s one. If the picture "
                       "shows the blade from below or in a mirror, turn it over and measure again.",
                       result->hand, told);
  else
    wsi_result_hold (result, WS_HOLD_VERDICT, MISMATCH,
                     "The picture shows %s-hand flutes, and the card says %s-hand: grinding can't "
                     "make that. Check that the card is this drill's, that the picture isn't "
                     "mirrored, and check the drill.",
                     result->hand, told);
}

void
wsi_card_fit_check (const WsView *view, const WsToolCard *card, WsResult *result)
{
  for (gsize i = 0; i < view->n_fits; i++)
    if (view->fits[i].trait == WS_TRAIT_HAND)
      check_hand (card, &view->fits[i], result);
    else
      check_size (card, &view->fits[i], result);
}
