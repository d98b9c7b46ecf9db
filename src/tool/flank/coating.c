#include "tool/flank/coating.h"

#include "result/build.h"

#define BIT(tint) (1U << (tint))
#define GREY BIT (WS_TINT_GREY)

/* Suppliers' names of colours, from memory: gold; pale gold; blue grey to bronze; violet black;
 * silver.  Pale and dark ones may be too faint to be told from grey. */
static const guint looks[WS_N_COATINGS] = {
  [WS_COATING_UNKNOWN] = ~0U,
  [WS_COATING_NONE] = GREY,
  [WS_COATING_TIN] = BIT (WS_TINT_GOLD),
  [WS_COATING_ZRN] = GREY | BIT (WS_TINT_GOLD),
  [WS_COATING_TICN] = GREY | BIT (WS_TINT_BRONZE) | BIT (WS_TINT_VIOLET),
  [WS_COATING_TIALN] = GREY | BIT (WS_TINT_BRONZE) | BIT (WS_TINT_VIOLET),
  [WS_COATING_CRN] = GREY,
  [WS_COATING_BLACK_OXIDE] = GREY,
};

static const char *const words[WS_N_TINTS] = {
  [WS_TINT_UNKNOWN] = "no colour that is known",
  [WS_TINT_GREY] = "the grey of bare steel",
  [WS_TINT_GOLD] = "a golden colour",
  [WS_TINT_BRONZE] = "the colour of bronze or rose",
  [WS_TINT_VIOLET] = "a violet or blue colour",
  [WS_TINT_OTHER] = "a colour that no coating has",
};

gboolean
wsi_coating_may_look (WsCoating coating, WsTint tint)
{
  return tint == WS_TINT_UNKNOWN || (looks[coating] & BIT (tint)) != 0;
}

gboolean
wsi_coating_is_seen (WsCoating coating, WsTint tint)
{
  return coating > WS_COATING_NONE && tint != WS_TINT_UNKNOWN &&
         wsi_coating_may_look (coating, tint);
}

void
wsi_coating_check (WsCoating coating, WsTint tint, WsResult *result)
{
  if (wsi_coating_may_look (coating, tint))
    return;
  const char *cure = tint == WS_TINT_GREY
                       ? "a flank that was ground has lost its coating: then say coating = none "
                         "on the card; else check that the card is this tool's"
                       : "check the light's colour, and that the card is this tool's";
  if (coating == WS_COATING_NONE)
    wsi_result_hold (result, WS_HOLD_VERDICT, "card-mismatch",
                     "The flank has %s, and the card says that it has no coating: %s.", words[tint],
                     cure);
  else
    wsi_result_hold (result, WS_HOLD_VERDICT, "card-mismatch",
                     "The flank has %s, and the card says %s: %s.", words[tint],
                     ws_coating_name (coating), cure);
}
