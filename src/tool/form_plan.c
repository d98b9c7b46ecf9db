/*
 * View `form-plan`: a form tool's cutting profile in silhouette.  Definitions of all quantities:
 * docs/methods.md.
 */
#include <whetsight/view.h>

#include "tool/form_segments.h"
#include "tool/silhouette.h"

static void
measure (const WsImage *image, const WsToolCard *card, const WsOptics *optics, WsResult *result)
{
  (void)card;
  g_autoptr (WsOutline) outline = ws_silhouette_trace (image, optics, result);
  if (outline == NULL)
    return;
  ws_form_segments_add (image, outline, optics, result);
}

const WsView ws_view_form_plan = {
  .name = "form-plan",
  .summary = "a form tool's cutting profile, a V-point or a row of teeth in silhouette",
  .kinds = 1u << WS_KIND_FORM_TOOL,
  .needs = WS_IMAGE_GREY,
  .quantities = ws_form_quantities,
  .n_quantities = WS_FORM_N_QUANTITIES,
  .measure = measure,
  .advise = NULL,
};
