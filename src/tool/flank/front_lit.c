#include "tool/flank/front_lit.h"

#include "base/number.h"
#include "result/build.h"
#include "tool/advise.h"

static const WsQuantityInfo infos[WS_FRONT_LIT_N] = { WS_FRONT_LIT_QUANTITIES };

/* ---- Quantities ------------------------------------------------------------------- */

static void
add_land (const WsFlank *flanks, guint n_flanks, const WsOptics *optics, WsQuantity *mean,
          WsQuantity *most)
{
  double sum = 0, length = 0, greatest = 0, u_mean = 0, u_most = 0, least = 0;
  for (guint i = 0; i < n_flanks; i++)
  {
    const WsWearLand *land = &flanks[i].land;
    if (!land->judged)
      return;
    const double columns = land->seen_share * flanks[i].band->length;
    sum += land->mean * columns;
    length += columns;
    u_mean = MAX (u_mean, land->u_mean);
    least = MAX (least, land->least);
    if (land->max >= greatest)
    {
      greatest = land->max;
      u_most = land->u_max;
    }
  }
  const gboolean none = greatest <= 0;
  wsi_quantity_set_seen (mean, sum / length, optics);
  wsi_quantity_set_seen (most, greatest, optics);
  wsi_quantity_add_seen_line (mean, none ? "narrowest land seen" : "where the land ends",
                              none ? WS_DISTRIBUTION_RECTANGULAR : WS_DISTRIBUTION_NORMAL, u_mean,
                              optics);
  wsi_quantity_add_seen_line (most, none ? "narrowest land seen" : "where the land ends",
                              none ? WS_DISTRIBUTION_RECTANGULAR : WS_DISTRIBUTION_NORMAL, u_most,
                              optics);
  wsi_quantity_set_smallest_seen (mean, least, optics);
  wsi_quantity_set_smallest_seen (most, least, optics);
  wsi_flank_finish (mean, optics);
  wsi_flank_finish (most, optics);
}

/* ---- Marks ------------------------------------------------------------------------ */

static gboolean
land_extent (const WsFlank *flank, guint s, guint film, double *from, double *to)
{
  (void)film;
  *from = 0;
  *to = flank->land.width[s];
  return *to > 0;
}

static void
mark_flank (const WsFlank *flank, WsResult *result)
{
  const WsPoint ends[2] = { wsi_strip_place (flank->strip, 0, 0),
                            wsi_strip_place (flank->strip, flank->strip->length, 0) };
  wsi_result_add_mark (result, WS_MARK_EDGE_LINE, flank->label, ends, 2);
  if (flank->land.present)
    wsi_flank_mark_regions (flank, result, WS_MARK_LAND, "wear_land_mean", 0, land_extent);
}

static void
add_quantities (const WsOptics *optics, WsResult *result, WsQuantity *q[WS_FRONT_LIT_N])
{
  for (guint i = 0; i < WS_FRONT_LIT_N; i++)
    q[i] = wsi_result_add_quantity (result, &infos[i], optics->has_scale);
}

void
wsi_front_lit_add_unknown (const WsOptics *optics, WsResult *result)
{
  WsQuantity *q[WS_FRONT_LIT_N];
  add_quantities (optics, result, q);
}

void
wsi_front_lit_add (const WsFlank *flanks, guint n_flanks, const WsToolCard *card,
                   const WsOptics *optics, WsResult *result)
{
  WsQuantity *q[WS_FRONT_LIT_N];
  add_quantities (optics, result, q);
  add_land (flanks, n_flanks, optics, q[WS_FRONT_LIT_LAND_MEAN], q[WS_FRONT_LIT_LAND_MAX]);
  const WsBurnQuantities burn = { q[WS_FRONT_LIT_BURN_AREA], q[WS_FRONT_LIT_BURN_DEPTH],
                                  q[WS_FRONT_LIT_BURN_LENGTH] };
  wsi_burn_report (flanks, n_flanks, card, optics, &burn, result);
  for (guint i = 0; i < n_flanks; i++)
    mark_flank (&flanks[i], result);
}

/* ---- Advice ----------------------------------------------------------------------- */

static char *
value_text (const WsQuantity *quantity, double value)
{
  g_autofree char *number = wsi_number_format (value, wsi_number_places (quantity->U));
  return g_strdup_printf ("%s %s", number, g_str_has_suffix (quantity->name, "_mm") ? "mm" : "px");
}

/* Of a drill's end the land of each lip may have a limit, too. */
static gboolean
is_worn (const WsResult *result)
{
  static const char *const stems[] = { "wear_land_mean", "wear_land_max", "wear_land_a",
                                       "wear_land_b" };
  for (gsize i = 0; i < G_N_ELEMENTS (stems); i++)
  {
    const WsQuantity *land = ws_result_quantity (result, stems[i]);
    if (land != NULL && land->verdict == WS_VERDICT_REJECT)
      return TRUE;
  }
  return FALSE;
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
  const gboolean allowed = mean->verdict == WS_VERDICT_ACCEPT && most->verdict == WS_VERDICT_ACCEPT;
  wsi_result_add_finding (result, allowed ? "inside-limits" : "wear-land",
                          g_strdup_printf ("Wear land VB %s on average, at most %s.%s", vb, vb_max,
                                           allowed ? " That is inside the limits." : ""),
                          NULL);
  if (!is_worn (result))
    return;
  const double widest = wsi_number_round_up (most->value + most->U, wsi_number_places (most->U));
  g_autofree char *to = value_text (most, widest);
  wsi_advise (result, WS_WORK_GRIND,
              g_strdup_printf ("Worn edge: it rubs, heats up and leaves a poor finish. "
                               "Regrind the flank until the land, up to %s wide, is gone.",
                               to));
}

void
wsi_front_lit_advise (const WsToolCard *card, WsResult *result)
{
  wsi_burn_advise (card, result);
  advise_land (result);
}
