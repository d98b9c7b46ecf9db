/*
 * View `drill-body`: a length of a two-flute drill's body in silhouette.
 * Definitions of all quantities: docs/methods/drill-roll.md.
 */
#include <whetsight/view.h>

#include "base/geometry.h"
#include "optics/unknown_lens.h"
#include "result/build.h"
#include "tool/advise.h"
#include "tool/card_fit.h"
#include "tool/drill/body/period.h"
#include "tool/drill/shared_quantities.h"
#include "tool/silhouette.h"

enum
{
  HELIX,
  LEAD,
  DIAMETER,
  BACK_TAPER,
  BODY_CLEARANCE,
  STRAIGHTNESS,
  N_QUANTITIES
};

static const WsQuantityInfo quantities[N_QUANTITIES] = {
  WS_DRILL_FLUTE_QUANTITIES,
  { "diameter", WS_UNIT_LENGTH, "DC", "Diameter", "Of the body's envelope, where it is greatest." },
  { "back_taper_100", WS_UNIT_LENGTH, NULL, "Back taper in 100",
    "By how much the diameter grows toward the point over 100 mm (px without a scale)." },
  { "body_clearance", WS_UNIT_LENGTH, NULL, "Body clearance",
    "By how much the body behind the margins lies inside the envelope." },
  { "body_straightness", WS_UNIT_LENGTH, NULL, "Bow of the body",
    "Greatest distance of the axis from straight over the length seen, peak to valley." },
};

/* ---- Quantities --------------------------------------------------------------------------- */

typedef struct
{
  const WsBodyPeriod *body;
  const WsOptics *optics;
  double level_u;    /* of the outline's place as a whole, px */
  double rounding;   /* by how much a round edge is seen inside its place */
  double distortion; /* of an uncalibrated lens; 0 with a calibration */
  WsQuantity *q[N_QUANTITIES];
} Fill;

static void
add (const Fill *fill, guint which, const char *name, double u_seen)
{
  wsi_quantity_add_seen_line (fill->q[which], name, WS_DISTRIBUTION_NORMAL, u_seen, fill->optics);
}

/* What the samples' spacing leaves of the period, as a part of it (rendered drills). */
#define PERIOD_MODEL 0.0001
#define ENVELOPE_U_PX 0.02

/* Without a calibration, what an axis that leans by a degree makes of a length: 1 - cos. */
#define LEAN_U 0.00009

static void
fill_lead (const Fill *fill)
{
  const WsBodyPeriod *body = fill->body;
  const double lead = 2 * body->period, R = body->radius + fill->rounding;
  const double u_lean = fill->optics->lean_max > 0 ? 1 - cos (fill->optics->lean_max) : LEAN_U;
  const double tangent = 2 * G_PI * R / lead, per = tangent / (1 + tangent * tangent);
  const double u_radius = hypot (fill->level_u, ENVELOPE_U_PX);
  wsi_quantity_set_seen (fill->q[LEAD], lead, fill->optics);
  add (fill, LEAD, "edge noise and form", 2 * body->u_period);
  add (fill, LEAD, "model of the profile", PERIOD_MODEL * lead);
  add (fill, LEAD, "alignment: axis leaning", u_lean * lead);
  wsi_quantity_set_seen (fill->q[HELIX], atan (tangent), fill->optics);
  add (fill, HELIX, "edge noise and form", per * 2 * body->u_period / lead);
  add (fill, HELIX, "model of the profile", per * PERIOD_MODEL);
  add (fill, HELIX, "alignment: axis leaning", per * u_lean);
  add (fill, HELIX, "envelope", per * u_radius / R);
}

/* By a lens that bends, a width grows from one end of the stretch to the other by about so much of
 * itself a period. */
static void
fill_taper (const Fill *fill)
{
  const WsBodyPeriod *body = fill->body;
  const double hundred = fill->optics->has_scale ? 100 / fill->optics->mm_per_px : 100;
  const double bend = fill->distortion * body->radius / (sqrt (3) * body->period);
  if (!body->point_seen)
    return;
  wsi_quantity_set_seen (fill->q[BACK_TAPER], 2 * hundred * body->taper, fill->optics);
  add (fill, BACK_TAPER, "edge noise and form", 2 * hundred * body->u_taper);
  add (fill, BACK_TAPER, "lens that bends", 2 * hundred * bend);
}

static void
fill_widths (const Fill *fill)
{
  const WsBodyPeriod *body = fill->body;
  wsi_quantity_set_seen (fill->q[DIAMETER], 2 * (body->radius + fill->rounding), fill->optics);
  add (fill, DIAMETER, "tonal encoding and threshold", 2 * fill->level_u);
  add (fill, DIAMETER, "envelope", 2 * ENVELOPE_U_PX);
  if (isfinite (body->land))
  {
    wsi_quantity_set_seen (fill->q[BODY_CLEARANCE], body->radius - body->land, fill->optics);
    add (fill, BODY_CLEARANCE, "envelope and land", M_SQRT2 * ENVELOPE_U_PX);
  }
  wsi_quantity_set_seen (fill->q[STRAIGHTNESS], body->bow, fill->optics);
  add (fill, STRAIGHTNESS, "edge noise and form", body->u_bow);
  /* A straight line bows by a part of the distortion. */
  add (fill, STRAIGHTNESS, "lens that bends",
       0.25 * fill->distortion * body->n * body->step / sqrt (3));
}

/* ---- In trade words -------------------------------------------------------------------------- */

/* Helix angles by diameter and type (N, H, W), degrees, as a supplier's page gives the supply
 * conditions of Indian twist drills (IS 5099). */
static const struct
{
  double up_to;
  double regular[2], slow[2], fast[2];
} spirals[] = {
  { 3.2, { 22, 28 }, { 11, 15 }, { 31, 36 } }, { 5, { 24, 30 }, { 11, 15 }, { 33, 38 } },
  { 10, { 25, 31 }, { 12, 17 }, { 34, 40 } },  { 40, { 27, 34 }, { 13, 17 }, { 37, 42 } },
  { 50, { 29, 38 }, { 14, 19 }, { 39, 46 } },
};

static gboolean
lies_in (const WsQuantity *helix, const double band[2])
{
  return helix->value + helix->U >= band[0] && helix->value - helix->U <= band[1];
}

static const char *
kind_of (const WsQuantity *helix, double diameter)
{
  gsize i = 0;
  while (i < G_N_ELEMENTS (spirals) && diameter > spirals[i].up_to)
    i++;
  if (i == G_N_ELEMENTS (spirals))
    return NULL;
  if (lies_in (helix, spirals[i].regular))
    return "a regular spiral (type N)";
  if (lies_in (helix, spirals[i].slow))
    return "a slow spiral (type H)";
  return lies_in (helix, spirals[i].fast) ? "a fast spiral (type W)"
                                          : "between the types of spiral";
}

static void
tell_kind (const WsToolCard *card, const Fill *fill, WsResult *result)
{
  const WsQuantity *helix = fill->q[HELIX], *lead = fill->q[LEAD], *size = fill->q[DIAMETER];
  const double diameter = isfinite (card->diameter_mm) ? card->diameter_mm
                          : fill->optics->has_scale    ? size->value
                                                       : (double)NAN;
  const char *kind = isfinite (diameter) ? kind_of (helix, diameter) : NULL;
  g_autofree char *turns = fill->optics->has_scale
                             ? g_strdup_printf (", %.3f turns an inch", 25.4 / lead->value)
                             : g_strdup ("");
  wsi_result_add_finding (
    result, "spiral",
    g_strdup_printf ("Two flutes%s%s%s. Four flutes of twice the lead would look the same, and so "
                     "would flutes with a rib along their ground (a chip-breaker drill).",
                     kind != NULL ? ": " : "", kind != NULL ? kind : "", turns),
    NULL);
}

/* ---- The whole ---------------------------------------------------------------------------------
 */

static void
mark (const WsBodyPeriod *body, WsResult *result)
{
  const double high = body->low + (body->n - 1) * body->step;
  const WsPoint axis[2] = { wsi_axis_to_picture (&body->axis, wsi_point (0, body->low)),
                            wsi_axis_to_picture (&body->axis, wsi_point (0, high)) };
  wsi_result_add_mark (result, WS_MARK_AXIS, NULL, axis, 2);
  for (int side = -1; side <= 1; side += 2)
  {
    const double u = side * body->radius;
    const WsPoint edge[2] = { wsi_axis_to_picture (&body->axis, wsi_point (u, body->low)),
                              wsi_axis_to_picture (&body->axis, wsi_point (u, high)) };
    wsi_result_add_mark (result, WS_MARK_ENVELOPE, NULL, edge, 2);
  }
}

static void
measure (const WsImage *image, const WsToolCard *card, const WsOptics *optics, WsResult *result)
{
  WsRefusal refusal = { 0 };
  if (optics->lens != NULL && optics->lens->model == WS_LENS_PINHOLE)
  {
    wsi_result_retake (result, WS_RETAKE_WRONG_VIEW,
                       "a drill's body wants parallel projection, and the calibration is of a near "
                       "camera");
    return;
  }
  g_autoptr (WsOutline) outline = wsi_silhouette_trace_parts (image, optics, result);
  if (outline == NULL)
    return;
  g_autoptr (WsBodyPeriod) body = wsi_body_period_find (outline, &refusal);
  if (body == NULL)
  {
    wsi_result_refuse (result, &refusal);
    return;
  }
  Fill fill = { .body = body,
                .optics = optics,
                .level_u = wsi_silhouette_level_u (image, outline),
                .rounding = wsi_silhouette_rounding (outline, body->radius),
                .distortion = optics->lens != NULL ? 0 : wsi_unknown_lens_distortion (optics) };
  for (guint i = 0; i < N_QUANTITIES; i++)
    fill.q[i] = wsi_result_add_quantity (result, &quantities[i], optics->has_scale);
  fill_lead (&fill);
  fill_taper (&fill);
  fill_widths (&fill);
  for (guint i = 0; i < N_QUANTITIES; i++)
    if (fill.q[i]->known)
      wsi_quantity_finish (fill.q[i], optics);
  tell_kind (card, &fill, result);
  mark (body, result);
}

/* A body is made once. */
static void
advise (const WsToolCard *card, WsResult *result)
{
  (void)card;
  for (guint i = 0; i < result->quantities->len; i++)
  {
    const WsQuantity *quantity = g_ptr_array_index (result->quantities, i);
    if (quantity->verdict != WS_VERDICT_REJECT)
      continue;
    wsi_advise_set_aside (result,
                          g_strdup_printf ("%s: no grinding of the point changes a drill's body.",
                                           quantity->info->label));
    return;
  }
}

#define DRILLS (1u << WS_KIND_TWIST_DRILL | 1u << WS_KIND_SPOT_DRILL)

static const WsRequired required[] = {
  { .kinds = DRILLS,
    .stem = "helix",
    .on_card = "a limit for helix_deg is missing on the tool card" },
};

static const WsFitBand fits[] = {
  { WS_TRAIT_DIAMETER, "diameter", WS_FIT_DRILL_BELOW, 0, WS_FIT_DRILL_SLACK_MM, FALSE },
};

const WsView wsi_view_drill_body = {
  .name = "drill-body",
  .summary = "a length of a drill's fluted body in silhouette",
  .kinds = DRILLS,
  .needs = WS_IMAGE_CODED,
  .quantities = quantities,
  .n_quantities = G_N_ELEMENTS (quantities),
  .fits = fits,
  .n_fits = G_N_ELEMENTS (fits),
  .required = required,
  .n_required = G_N_ELEMENTS (required),
  .measure = measure,
  .advise = advise,
};
