/*
 * View `form-side`: a form tool in silhouette from the side, its face, front and base.  The
 * quantities are those of blade-side; a form tool's profile depths rest on its rake and relief, so
 * here they are held against the card's.
 */
#include <whetsight/view.h>

#include "base/geometry.h"
#include "base/number.h"
#include "contour/correct.h"
#include "result/build.h"
#include "tool/advise.h"
#include "tool/blade/blade_side.h"
#include "tool/measure_again.h"

/* Relief in section needs a side rake, which a form tool's card hasn't. */
#define N_QUANTITIES WS_BLADE_SIDE_FRONT_RELIEF_SECTION

/* To the middle of the card's limits. */
static void
advise_angle (const WsQuantity *angle, const char *face, const char *what, WsResult *result)
{
  if (angle == NULL || angle->verdict != WS_VERDICT_REJECT)
    return;
  const gboolean both = isfinite (angle->lower) && isfinite (angle->upper);
  const double target = both                      ? 0.5 * (angle->lower + angle->upper)
                        : isfinite (angle->lower) ? angle->lower + 2.0 * angle->U
                                                  : angle->upper - 2.0 * angle->U;
  g_autofree char *to = wsi_number_format (target, 1);
  wsi_advise (result, WS_WORK_GRIND,
              g_strdup_printf ("Regrind the %s to %s° of %s.", face, to, what));
}

/* What the card's correction took for an angle, beside what is there. */
static void
compare (const WsQuantity *quantity, double ground_deg, const char *what, WsResult *result)
{
  if (quantity == NULL || !isfinite (ground_deg) ||
      fabs (quantity->value - ground_deg) <= quantity->U)
    return;
  g_autofree char *seen = wsi_number_format (quantity->value, wsi_number_places (quantity->U));
  g_autofree char *meant = wsi_number_format (ground_deg, 2);
  wsi_result_add_finding (
    result, "not-as-corrected",
    g_strdup_printf ("The %s is %s°, and the profile was corrected for %s°.", what, seen, meant),
    NULL);
}

/* Deepest edge of the profile with the rake as it is, less as it was meant, mm. */
static double
depth_change (const WsFormSpec *form, double rake)
{
  double least, greatest;
  ws_contour_heights (form->part, &least, &greatest);
  const double r2 = form->correction.smallest_radius + greatest - least;
  WsFormCorrection is = form->correction;
  is.rake = rake;
  return wsi_form_face_depth (&is, r2) - wsi_form_face_depth (&form->correction, r2);
}

static void
advise_rake (const WsFormSpec *form, const WsQuantity *rake, WsResult *result)
{
  const double meant = wsi_degrees (form->correction.rake);
  if (rake == NULL || rake->verdict == WS_VERDICT_ACCEPT || fabs (rake->value - meant) <= rake->U)
    return;
  g_autofree char *to = wsi_number_format (meant, 2);
  const double change = depth_change (form, wsi_radians (rake->value));
  g_autofree char *off = wsi_number_format (fabs (change), 4);
  wsi_advise (result, WS_WORK_GRIND,
              g_strdup_printf ("Regrind the face to %s° of rake, or correct the profile anew: "
                               "with this rake the edge for the part's greatest radius would "
                               "have to lie %s mm %s along the face.",
                               to, off, change > 0 ? "farther back" : "less far back"));
}

static void
advise_dull (const WsQuantity *rounding, WsResult *result)
{
  if (rounding == NULL || rounding->verdict != WS_VERDICT_REJECT)
    return;
  g_autofree char *value = wsi_number_format (rounding->value, wsi_number_places (rounding->U));
  wsi_result_add_finding (
    result, "edge-dull",
    g_strdup_printf ("The edge is dull: rounded, or broken, to a radius of %s "
                     "mm. It pushes more than it cuts.",
                     value),
    NULL);
  wsi_advise (result, WS_WORK_GRIND,
              g_strdup ("Regrind the face, at its rake, until the edge is sharp all along."));
}

static void
advise (const WsToolCard *card, WsResult *result)
{
  const WsFormSpec *form = &card->form;
  const WsQuantity *relief = ws_result_quantity (result, "front_relief");
  const WsQuantity *rake = ws_result_quantity (result, "top_rake");
  compare (relief, wsi_degrees (form->correction.relief), "front relief", result);
  compare (rake, wsi_degrees (form->correction.rake), "top rake", result);
  if (form->part != NULL)
    advise_rake (form, rake, result);
  else
    advise_angle (rake, "face", "rake", result);
  advise_angle (relief, "front", "relief", result);
  advise_dull (ws_result_quantity (result, "edge_rounding"), result);
  wsi_advise_measuring_again (card, result, NULL);
}

static const WsRequired required[] = {
  { .kinds = 1u << WS_KIND_FORM_TOOL, .stem = "front_relief" },
};

const WsView wsi_view_form_side = {
  .name = "form-side",
  .summary = "form tool from the side in silhouette, its face, front and base",
  .kinds = 1u << WS_KIND_FORM_TOOL,
  .needs = WS_IMAGE_CODED,
  .quantities = wsi_blade_side_quantities,
  .n_quantities = N_QUANTITIES,
  .required = required,
  .n_required = G_N_ELEMENTS (required),
  .fits = wsi_blade_side_fits,
  .n_fits = WS_BLADE_SIDE_N_FITS,
  .measure = wsi_blade_side_measure,
  .advise = advise,
};
