/*
 * What a regrind took off, among the advice of the tool's next measurement.
 */
#include <whetsight/set_out.h>

#include "base/number.h"
#include "result/build.h"
#include "tool/advise.h"

static char *
length_of (const WsQuantity *q)
{
  const guint places = wsi_number_places (q->U);
  g_autofree char *value = wsi_number_format (q->value, places);
  g_autofree char *U = wsi_number_format (q->U, places);
  return g_strdup_printf ("%s ± %s %s", value, U, g_str_has_suffix (q->name, "_mm") ? "mm" : "px");
}

static const WsQuantity *
find (const WsResult *set_out, const char *stem)
{
  const WsQuantity *q = ws_result_quantity (set_out, stem);
  return q != NULL && q->known ? q : NULL;
}

void
ws_set_out_tell (const WsResult *set_out, const char *since, WsResult *result)
{
  const WsQuantity *shorter = find (set_out, "shorter"), *lower = find (set_out, "lower");
  if (result->verdict == WS_VERDICT_RETAKE || result->verdict == WS_VERDICT_REJECT)
    return;
  if (shorter == NULL)
  {
    wsi_result_add_finding (result, "set-out-unknown",
                            g_strdup_printf ("No telling what the regrind took off: %s.",
                                             set_out->detail != NULL
                                               ? set_out->detail
                                               : ws_retake_code (set_out->reason)),
                            NULL);
    return;
  }
  g_autofree char *by = length_of (shorter);
  if (!(shorter->value > shorter->U))
    wsi_result_add_finding (
      result, "set-out",
      g_strdup_printf ("Since %s its edge came back by no more than U: %s.", since, by), NULL);
  else
    wsi_advise (
      result, WS_WORK_MOUNT,
      g_strdup_printf ("Set it out by %s more: so much shorter it is than on %s.", by, since));
  if (lower == NULL || !(lower->value > lower->U))
    return;
  g_autofree char *down = length_of (lower);
  wsi_advise (result, WS_WORK_MOUNT,
              g_strdup_printf ("Raise it by %s: so much lower its edge is.", down));
}
