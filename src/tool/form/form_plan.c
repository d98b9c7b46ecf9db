/*
 * View `form-plan`: a form tool's cutting profile in silhouette.  Definitions of all quantities:
 * docs/methods/form.md.
 */
#include <string.h>

#include <whetsight/view.h>

#include "base/geometry.h"
#include "base/number.h"
#include "contour/correct.h"
#include "result/build.h"
#include "tool/form/deviation.h"
#include "tool/form/deviation_report.h"
#include "tool/form/segments.h"
#include "tool/silhouette.h"

/* Heights nearer than this are one, mm. */
#define SAME_HEIGHT_MM 1e-4

static void
tell_depth (const WsFormCorrection *correction, double depth, GArray *told, WsResult *result)
{
  for (guint i = 0; i < told->len; i++)
    if (fabs (g_array_index (told, double, i) - depth) < SAME_HEIGHT_MM)
      return;
  g_array_append_val (told, depth);
  if (depth < SAME_HEIGHT_MM)
    return;
  const double r2 = correction->smallest_radius + depth;
  g_autofree char *radius = wsi_number_format (r2, 4);
  g_autofree char *face = wsi_number_format (wsi_form_face_depth (correction, r2), 5);
  g_autofree char *flank = wsi_number_format (wsi_form_flank_depth (correction, r2), 5);
  const gboolean circular = isfinite (correction->tool_radius);
  g_autofree char *own =
    circular ? wsi_number_format (wsi_form_circular_radius (correction, r2), 5) : NULL;
  wsi_result_add_finding (
    result, "form-correction",
    circular
      ? g_strdup_printf ("Part radius %s mm: depth %s mm along the face, radius %s mm on the "
                         "circular tool.",
                         radius, face, own)
      : g_strdup_printf ("Part radius %s mm: depth %s mm along the face, %s mm square to the "
                         "flank.",
                         radius, face, flank),
    NULL);
}

/* What the card's part profile became on the tool, for the one who grinds it. */
static void
tell_correction (const WsFormSpec *form, WsResult *result)
{
  const WsFormCorrection *correction = &form->correction;
  double least, greatest;
  g_autoptr (GArray) told = g_array_new (FALSE, FALSE, sizeof (double));
  ws_contour_heights (form->part, &least, &greatest);
  for (guint i = 0; i < form->part->segments->len; i++)
  {
    const WsContourSegment *s = &g_array_index (form->part->segments, WsContourSegment, i);
    tell_depth (correction, s->from.y - least, told, result);
    tell_depth (correction, s->to.y - least, told, result);
  }
}

/* The profile wasn't compared. */
static void
add_unknown_deviations (const WsOptics *optics, WsResult *result)
{
  for (guint i = WS_FORM_DEVIATION_MAX; i <= WS_FORM_DEVIATION_RMS; i++)
    wsi_result_add_quantity (result, &wsi_form_quantities[i], optics->has_scale);
}

/* A profile in mm can't be laid on a picture in px. */
static void
tell_no_scale (WsResult *result)
{
  wsi_result_add_finding (result, "no-scale",
                          g_strdup ("The card's profile was not compared: that needs a scale or a "
                                    "calibration."),
                          NULL);
}

static gboolean
has_stem (const WsResult *result, const char *stem)
{
  for (guint i = 0; i < result->quantities->len; i++)
    if (g_str_equal (((const WsQuantity *)g_ptr_array_index (result->quantities, i))->info->stem,
                     stem))
      return TRUE;
  return FALSE;
}

/* Is there any of the family with that stem? */
static gboolean
has_family (const WsResult *result, const char *stem)
{
  for (guint i = 0; i < result->quantities->len; i++)
    if (ws_quantity_is_of_family (g_ptr_array_index (result->quantities, i), stem))
      return TRUE;
  return FALSE;
}

/* Digits after the underscore that stands before the family's N; the first one's for a limit on the
 * whole family. */
static guint
number_in (const char *stem, const char *family)
{
  const char *digits = stem + (strchr (family, 'N') - family);
  return *digits == 'N' ? 1 : (guint)g_ascii_strtoull (digits, NULL, 10);
}

static void
add_unknown (const char *stem, gboolean has_scale, WsResult *result)
{
  g_autofree char *family = ws_quantity_family (stem);
  for (guint i = 0; i < WS_FORM_N_QUANTITIES; i++)
  {
    const WsQuantityInfo *info = &wsi_form_quantities[i];
    if (!g_str_equal (info->stem, family))
      continue;
    if (strchr (family, 'N') != NULL)
      wsi_result_add_numbered (result, info, number_in (stem, family), has_scale);
    else
      wsi_result_add_quantity (result, info, has_scale);
  }
}

/* What the card sets a limit on and the picture doesn't show is unknown, not fine. */
static void
add_limited (const WsToolCard *card, const WsOptics *optics, WsResult *result)
{
  for (guint i = 0; i < card->limits->len; i++)
  {
    const char *name = g_array_index (card->limits, WsLimit, i).quantity;
    g_autofree char *stem = g_strndup (name, (gsize)(strrchr (name, '_') - name));
    if (!has_stem (result, stem) && !has_family (result, stem))
      add_unknown (stem, optics->has_scale, result);
  }
}

/* The face is seen square on, and heat on it where the profile's edge is. */
static void
add_burn (const WsImage *image, const WsOutline *outline, const WsToolCard *card,
          const WsOptics *optics, WsResult *result)
{
  g_autoptr (WsBurnEdges) edges = wsi_burn_edges_new (image, optics, outline);
  wsi_burn_edges_add_longest (edges, outline);
  wsi_burn_edges_report (edges, card, optics, TRUE, result);
}

/* Does the card say anything of the outline's shape that is judged without a profile? */
static gboolean
limits_shape (const WsToolCard *card)
{
  for (guint i = 0; i < card->limits->len; i++)
  {
    const char *name = g_array_index (card->limits, WsLimit, i).quantity;
    if (g_str_has_prefix (name, "segment_") || g_str_has_prefix (name, "corner_"))
      return TRUE;
  }
  return FALSE;
}

/* Anything has an outline, and may have a form tool's colours along it. */
static void
hold_unknown_thing (const WsToolCard *card, WsResult *result)
{
  if (!limits_shape (card))
    wsi_result_hold (result, WS_HOLD_VERDICT, "not-judged",
                     "Nothing shows what tool this is: no profile was laid on its outline. Put the "
                     "profile on its card, and give a scale or a calibration.");
}

static void
measure (const WsImage *image, const WsToolCard *card, const WsOptics *told, WsResult *result)
{
  g_autoptr (WsOutline) outline = wsi_silhouette_trace (image, told, result);
  if (outline == NULL)
    return;
  const WsOptics seen_by = wsi_silhouette_optics (image, outline, told, result), *const optics =
                                                                                   &seen_by;
  const gboolean has_nominal = card->form.nominal != NULL,
                 comparable = has_nominal && optics->has_scale;
  const gboolean compared =
    comparable && wsi_form_deviation_add (image, outline, card, optics, result);
  if (result->reason != WS_RETAKE_NONE)
    return;
  if (has_nominal && !compared)
    add_unknown_deviations (optics, result);
  if (has_nominal && !comparable)
    tell_no_scale (result);
  if (!compared)
    wsi_form_segments_add (image, outline, optics, result);
  if (result->reason != WS_RETAKE_NONE)
    return;
  add_burn (image, outline, card, optics, result);
  if (outline->front_lit && !compared)
    hold_unknown_thing (card, result);
  add_limited (card, optics, result);
  if (card->form.part != NULL)
    tell_correction (&card->form, result);
}

static void
advise (const WsToolCard *card, WsResult *result)
{
  wsi_burn_advise (card, result);
  wsi_form_deviation_advise (card, result);
}

#define FORM (1u << WS_KIND_FORM_TOOL)

/* Without a nominal profile the card's limits say what counts. */
static const WsRequired required[] = {
  { .kinds = FORM, .stem = "profile_deviation_max", .by_nominal = TRUE },
  { .kinds = FORM, .stem = "profile_deviation_min", .by_nominal = TRUE },
};

const WsView wsi_view_form_plan = {
  .name = "form-plan",
  .summary = "a form tool's cutting profile, a V-point or a row of teeth in silhouette",
  .kinds = 1u << WS_KIND_FORM_TOOL,
  .needs = WS_IMAGE_CODED,
  .quantities = wsi_form_quantities,
  .n_quantities = WS_FORM_N_QUANTITIES,
  .required = required,
  .n_required = G_N_ELEMENTS (required),
  .measure = measure,
  .advise = advise,
};
