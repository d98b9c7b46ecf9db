#include "tool/flank/front_lit.h"

#include <math.h>

#include "base/number.h"
#include "colour/grey_card.h"
#include "result/build.h"
#include "tool/flank/burn_report.h"

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
      const float *cell = ws_band_cell (band, s, d);
      if (!ws_band_is_tool (cell))
        continue;
      seen++;
      if (!is_grey (cell))
        coloured++;
    }
  return coloured > LEAST_COLOURED * seen;
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
judge_by (const Work *work, const WsBalance *balance)
{
  for (guint i = 0; i < work->n; i++)
  {
    WsFlank *flank = &work->flanks[i];
    ws_burn_clear (&flank->burn);
    ws_burn_find (flank->band, balance, (guint)(EVALUATED * flank->band->length), &flank->burn);
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
  ws_sampler_init (&sampler, image);
  if (!ws_grey_card_find (&sampler, &card))
    return;
  WsBalance balance = ws_balance_find (work->bands, work->n, work->ground, &card.light);
  const gboolean is_bare = balance.trouble == WS_BURN_JUDGED;
  if (!is_bare)
    balance = ws_balance_of_card (work->bands, work->n, card.light);
  judge_by (work, &balance);
  if (is_bare || steel->trouble == WS_BURN_NO_REFERENCE || shows_a_film (work))
    for (guint i = 0; i < work->n; i++)
      work->flanks[i].burn.by_card = work->flanks[i].burn.trouble == WS_BURN_JUDGED;
  else
    judge_by (work, steel);
}

void
ws_flanks_judge_colour (WsFlank *flanks, guint n_flanks, const WsImage *image,
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
    balance = ws_balance_find (work.bands, n_flanks, ground, NULL);
  judge_by (&work, &balance);
  if (balance.trouble == WS_BURN_NO_REFERENCE || balance.trouble == WS_BURN_COATED)
    judge_by_card (&work, &balance, image);
}

void
ws_flanks_judge (WsFlank *flanks, guint n_flanks, const WsImage *image, const WsLight *ground)
{
  ws_flanks_judge_colour (flanks, n_flanks, image, ground);
  for (guint i = 0; i < n_flanks; i++)
  {
    g_autofree guint8 *burnt = burnt_columns (&flanks[i]);
    ws_wear_land_find (flanks[i].band, burnt, &flanks[i].land);
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

/* A flank relieved by 8 to 12 degrees is seen that much foreshortened when the camera looks along
 * the edge's own plane: 1 to 2 %, one-sided. */
#define FORESHORTENING 0.01

void
ws_flank_finish (WsQuantity *quantity, const WsOptics *optics)
{
  if (quantity->value > 0)
    ws_quantity_add_line (quantity, "alignment: flank foreshortened", WS_DISTRIBUTION_ONE_SIDED,
                          FORESHORTENING, quantity->value);
  ws_quantity_finish (quantity, optics);
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
  ws_quantity_set_seen (mean, sum / length, optics);
  ws_quantity_set_seen (most, greatest, optics);
  ws_quantity_add_seen_line (mean, none ? "narrowest land seen" : "where the land ends",
                             none ? WS_DISTRIBUTION_RECTANGULAR : WS_DISTRIBUTION_NORMAL, u_mean,
                             optics);
  ws_quantity_add_seen_line (most, none ? "narrowest land seen" : "where the land ends",
                             none ? WS_DISTRIBUTION_RECTANGULAR : WS_DISTRIBUTION_NORMAL, u_most,
                             optics);
  ws_flank_finish (mean, optics);
  ws_flank_finish (most, optics);
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

static gboolean
land_extent (const WsFlank *flank, guint s, guint film, double *from, double *to)
{
  (void)film;
  *from = 0;
  *to = flank->land.width[s];
  return *to > 0;
}

void
ws_flank_mark_regions (const WsFlank *flank, WsResult *result, WsMarkRole role, const char *label,
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
  if (flank->land.present)
    ws_flank_mark_regions (flank, result, WS_MARK_LAND, "wear_land_mean", 0, land_extent);
}

void
ws_front_lit_add (const WsFlank *flanks, guint n_flanks, const WsOptics *optics, WsResult *result)
{
  WsQuantity *q[WS_FRONT_LIT_N];
  for (guint i = 0; i < WS_FRONT_LIT_N; i++)
    q[i] = ws_result_add_quantity (result, &infos[i], optics->has_scale);
  add_land (flanks, n_flanks, optics, q[WS_FRONT_LIT_LAND_MEAN], q[WS_FRONT_LIT_LAND_MAX]);
  const WsBurnQuantities burn = { q[WS_FRONT_LIT_BURN_AREA], q[WS_FRONT_LIT_BURN_DEPTH],
                                  q[WS_FRONT_LIT_BURN_LENGTH] };
  ws_burn_report (flanks, n_flanks, optics, &burn, result);
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
  ws_burn_advise (result);
  advise_land (result);
}
