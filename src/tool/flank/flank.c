#include "tool/flank/flank.h"

#include <math.h>

#include "colour/grey_card.h"
#include "colour/veil.h"
#include "result/build.h"
#include "tool/flank/coating.h"
#include "tool/flank/land_border.h"

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

/* Cells of a picture without colour, however it was stored, are grey to the last digit. */
#define LEAST_COLOURED 0.01
#define SAME_LIGHT 1e-6F

static gboolean
is_grey (const float *cell)
{
  return fabsf (cell[0] - cell[1]) < SAME_LIGHT && fabsf (cell[1] - cell[2]) < SAME_LIGHT;
}

static gboolean
has_colour (const WsBand *band)
{
  guint coloured = 0, seen = 0;
  for (guint d = 0; d < band->depth; d++)
    for (guint s = 0; s < band->length; s++)
    {
      const float *cell = wsi_band_cell (band, s, d);
      if (!wsi_band_is_tool (cell))
        continue;
      seen++;
      if (!is_grey (cell))
        coloured++;
    }
  return coloured > LEAST_COLOURED * seen;
}

/* By the card's word and the picture's. */
static gboolean
has_coating (const WsFlank *flank)
{
  return wsi_coating_is_seen (flank->coating, flank->tint);
}

/* What colour is judged on. */
typedef struct
{
  WsFlank *flanks;
  const WsBand *bands[2];
  guint n;
  const WsLight *ground;
} Work;

static void
judge_by (const Work *work, WsBalance balance, const WsImage *image)
{
  balance.veil = wsi_veil_most (image, balance.steel);
  for (guint i = 0; i < work->n; i++)
  {
    WsFlank *flank = &work->flanks[i];
    wsi_burn_clear (&flank->burn);
    wsi_burn_find (flank->band, &balance, (guint)(EVALUATED * flank->band->length), &flank->burn);
  }
}

/* A film on all of the flank thins out from the edge, and a coating doesn't. */
static gboolean
shows_a_film (const Work *work)
{
  for (guint i = 0; i < work->n; i++)
    if (work->flanks[i].burn.trouble == WS_BURN_JUDGED && work->flanks[i].burn.present)
      return TRUE;
  return FALSE;
}

/* Steel that can't serve as reference is set against a grey card, if there is one. */
static void
judge_by_card (const Work *work, const WsBalance *steel, const WsImage *image)
{
  WsSampler sampler;
  WsGreyCard card;
  wsi_sampler_init (&sampler, image);
  if (!wsi_grey_card_find (&sampler, &card))
    return;
  WsBalance balance = wsi_balance_find (work->bands, work->n, work->ground, &card.light);
  const gboolean is_bare = balance.trouble == WS_BURN_JUDGED;
  if (!is_bare)
    balance = wsi_balance_of_card (work->bands, work->n, card.light);
  judge_by (work, balance, image);
  if (is_bare || steel->trouble == WS_BURN_NO_REFERENCE || shows_a_film (work))
    for (guint i = 0; i < work->n; i++)
      work->flanks[i].burn.by_card = work->flanks[i].burn.trouble == WS_BURN_JUDGED;
  else
    judge_by (work, *steel, image);
}

void
wsi_flanks_judge_colour (WsFlank *flanks, guint n_flanks, const WsImage *image,
                         const WsLight *ground)
{
  g_return_if_fail (n_flanks <= 2);
  Work work = { .flanks = flanks, .n = n_flanks, .ground = ground };
  WsBalance balance = { .trouble = WS_BURN_NO_COLOUR };
  gboolean coloured = FALSE;
  for (guint i = 0; i < n_flanks; i++)
  {
    work.bands[i] = flanks[i].band;
    coloured |= image->rgb != NULL && image->has_colour && has_colour (flanks[i].band);
  }
  if (coloured)
    balance = wsi_balance_find (work.bands, n_flanks, ground, NULL);
  for (guint i = 0; i < n_flanks; i++)
    flanks[i].tint = balance.tint;
  /* A coating that the card names is compared with itself. */
  if (balance.trouble == WS_BURN_COATED && has_coating (&flanks[0]))
    balance.trouble = WS_BURN_JUDGED;
  judge_by (&work, balance, image);
  if (balance.trouble == WS_BURN_NO_REFERENCE || balance.trouble == WS_BURN_COATED)
    judge_by_card (&work, &balance, image);
}

/* Where all of the flank is known to be seen, all of the edge must be clear: a land that is deep in
 * one place alone is no less of one. */
static void
doubt_land (WsFlank *flank, const guint8 *burnt)
{
  WsWearLand *land = &flank->land;
  land->bordered =
    land->judged && wsi_land_border_find (flank->deep, burnt, land->width, land->edge_px);
  if (land->bordered)
    land->judged = FALSE;
  land->covered = land->judged && !land->present && flank->deep->depth < flank->least_depth;
  if (land->covered)
    land->judged = FALSE;
}

/* Colour that ends so near to the land's end is the land's: bare steel, px. */
#define SAME_END_PX 6.0

/*
 * A flank whose coating is whole wasn't ground since it was coated, so that no grinding burnt it;
 * what has another colour near the edge is a land that shows the steel below, or is in doubt.
 */
static void
settle_coating (WsFlank *flank)
{
  WsBurn *burn = &flank->burn;
  const gboolean judged =
    burn->trouble == WS_BURN_JUDGED || burn->trouble == WS_BURN_FOREIGN_COLOUR;
  if (!judged || !burn->present)
    return;
  const gboolean is_land =
    flank->land.judged && flank->land.present && burn->depth_seen < flank->land.max + SAME_END_PX;
  burn->trouble = is_land ? WS_BURN_JUDGED : WS_BURN_ON_COATING;
  burn->present = FALSE;
  burn->area = burn->depth = burn->depth_seen = burn->length = 0;
}

void
wsi_flanks_judge (WsFlank *flanks, guint n_flanks, const WsImage *image, const WsLight *ground)
{
  wsi_flanks_judge_colour (flanks, n_flanks, image, ground);
  for (guint i = 0; i < n_flanks; i++)
  {
    g_autofree guint8 *burnt = has_coating (&flanks[i]) ? g_new0 (guint8, flanks[i].band->length)
                                                        : burnt_columns (&flanks[i]);
    const WsBurnTrouble trouble = flanks[i].burn.trouble;
    const WsLandSight sight = { .band = flanks[i].band,
                                .hidden = burnt,
                                .blur_px = flanks[i].blur_px,
                                .paled = trouble == WS_BURN_NOISY || trouble == WS_BURN_FAINT,
                                .whole = flanks[i].deep != NULL };
    wsi_wear_land_find (&sight, &flanks[i].land);
    if (flanks[i].deep != NULL)
      doubt_land (&flanks[i], burnt);
    if (has_coating (&flanks[i]))
      settle_coating (&flanks[i]);
  }
}

void
wsi_flanks_clear (WsFlank *flanks, guint n_flanks)
{
  for (guint i = 0; i < n_flanks; i++)
  {
    g_clear_pointer (&flanks[i].band, wsi_band_free);
    wsi_burn_clear (&flanks[i].burn);
    wsi_wear_land_clear (&flanks[i].land);
  }
}

/* ---- Quantities ------------------------------------------------------------------- */

/* A flank relieved by 8 to 12 degrees is seen that much foreshortened when the camera looks along
 * the edge's own plane: 1 to 2 %, one-sided. */
#define FORESHORTENING 0.01

void
wsi_flank_finish (WsQuantity *quantity, const WsOptics *optics)
{
  if (quantity->value > 0)
    wsi_quantity_add_line (quantity, "alignment: flank foreshortened", WS_DISTRIBUTION_ONE_SIDED,
                           FORESHORTENING, quantity->value);
  wsi_quantity_add_lens_line (quantity, 0, optics);
  wsi_quantity_finish (quantity, optics);
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
    wsi_result_add_mark (result, role, label, (WsPoint *)(void *)upper->data, upper->len);
  }
  g_array_set_size (upper, 0);
  g_array_set_size (lower, 0);
}

void
wsi_flank_mark_regions (const WsFlank *flank, WsResult *result, WsMarkRole role, const char *label,
                        guint film, WsFlankExtent extent)
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
    const WsPoint top = wsi_strip_place (flank->strip, s + 0.5, from),
                  bottom = wsi_strip_place (flank->strip, s + 0.5, to);
    g_array_append_val (upper, top);
    g_array_append_val (lower, bottom);
  }
  flush_region (result, role, label, upper, lower);
}
