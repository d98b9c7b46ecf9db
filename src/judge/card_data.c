/*
 * Tool cards, however they are read: names of kinds, hands, materials and
 * coatings, and the making of a card.
 */
#include <math.h>
#include <string.h>

#include <whetsight/card.h>

#include "judge/card_master.h"
#include "judge/card_part.h"

static const char *const kind_names[WS_N_KINDS] = {
  [WS_KIND_TWIST_DRILL] = "twist-drill",
  [WS_KIND_SPOT_DRILL] = "spot-drill",
  [WS_KIND_CUTOFF_BLADE] = "cutoff-blade",
  [WS_KIND_FORM_TOOL] = "form-tool",
};

const char *
ws_tool_kind_name (WsToolKind kind)
{
  return kind_names[kind];
}

const char *
ws_hand_name (WsHand hand)
{
  static const char *const names[] = { NULL, "right", "left" };
  return names[hand];
}

const char *
ws_material_name (WsMaterial material)
{
  static const char *const names[WS_N_MATERIALS] = {
    [WS_MATERIAL_UNKNOWN] = NULL,
    [WS_MATERIAL_CARBON_STEEL] = "carbon-steel",
    [WS_MATERIAL_HIGH_SPEED_STEEL] = "high-speed-steel",
    [WS_MATERIAL_CARBIDE] = "carbide",
    [WS_MATERIAL_CERAMIC] = "ceramic",
  };
  return names[material];
}

const char *
ws_coating_name (WsCoating coating)
{
  static const char *const names[WS_N_COATINGS] = {
    [WS_COATING_UNKNOWN] = NULL, [WS_COATING_NONE] = "none",
    [WS_COATING_TIN] = "TiN",    [WS_COATING_ZRN] = "ZrN",
    [WS_COATING_TICN] = "TiCN",  [WS_COATING_TIALN] = "TiAlN",
    [WS_COATING_CRN] = "CrN",    [WS_COATING_BLACK_OXIDE] = "black-oxide",
  };
  return names[coating];
}

static void
limit_clear (gpointer data)
{
  WsLimit *limit = data;
  g_free (limit->quantity);
}

WsToolCard *
ws_tool_card_new (WsToolKind kind)
{
  WsToolCard *card = g_new0 (WsToolCard, 1);
  card->kind = kind;
  card->diameter_mm = NAN;
  card->width_mm = NAN;
  card->web_mm = NAN;
  card->min_length_mm = NAN;
  card->length_mm = NAN;
  card->form.correction.rake = NAN;
  card->form.correction.relief = NAN;
  card->form.correction.smallest_radius = NAN;
  card->form.correction.tool_radius = NAN;
  card->side_rake_deg = NAN;
  wsi_part_spec_init (&card->part);
  card->masters = wsi_card_masters_new ();
  card->limits = g_array_new (FALSE, FALSE, sizeof (WsLimit));
  g_array_set_clear_func (card->limits, limit_clear);
  return card;
}

void
ws_tool_card_free (WsToolCard *card)
{
  if (card == NULL)
    return;
  g_free (card->sha256);
  g_free (card->id);
  g_strfreev (card->required);
  g_strfreev (card->views);
  ws_contour_free (card->form.nominal);
  ws_contour_free (card->form.part);
  wsi_part_spec_clear (&card->part);
  g_array_unref (card->limits);
  g_array_unref (card->masters);
  g_free (card);
}

const WsLimit *
ws_tool_card_limit (const WsToolCard *card, const char *quantity)
{
  for (guint i = 0; i < card->limits->len; i++)
  {
    const WsLimit *limit = &g_array_index (card->limits, WsLimit, i);
    if (g_str_equal (limit->quantity, quantity))
      return limit;
  }
  return NULL;
}

const WsMasterValue *
ws_tool_card_master (const WsToolCard *card, const char *quantity)
{
  return wsi_card_masters_find (card->masters, quantity);
}
