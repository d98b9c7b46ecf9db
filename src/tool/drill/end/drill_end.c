/*
 * View `drill-end`: a two-flute drill's point seen along its axis in front light.  Definitions of
 * all quantities: docs/methods/front-lit.md.
 */
#include <whetsight/view.h>

#include "base/geometry.h"
#include "edge/find/coarse.h"
#include "result/build.h"
#include "tool/advise.h"
#include "tool/as_taken.h"
#include "tool/card_fit.h"
#include "tool/drill/end/likeness.h"
#include "tool/drill/end/point.h"
#include "tool/drill/end/rim.h"
#include "tool/drill/end/roundness.h"
#include "tool/drill/end/smear.h"
#include "tool/drill/flank_advice.h"
#include "tool/flank/coating.h"
#include "tool/flank/front_lit.h"
#include "tool/measure_again.h"
#include "tool/pose.h"

enum
{
  CHISEL_EDGE_ANGLE = WS_FRONT_LIT_N,
  CHISEL_EDGE_LENGTH,
  WEB_THICKNESS,
  LIP_PARALLELISM,
  WEB_CENTRALITY,
  MARGIN_WIDTH,
  WEAR_LAND_A,
  WEAR_LAND_B,
  N_QUANTITIES
};

static const WsQuantityInfo quantities[N_QUANTITIES] = {
  WS_FRONT_LIT_QUANTITIES,
  { "chisel_edge_angle", WS_UNIT_DEGREE, NULL, "Chisel edge angle",
    "Obtuse angle between the lips and the chord of the chisel edge." },
  { "chisel_edge_length", WS_UNIT_LENGTH, NULL, "Chisel edge length",
    "Between the points where the chisel edge meets the lips." },
  { "web_thickness", WS_UNIT_LENGTH, NULL, "Web thickness",
    "Distance between the two lips' lines at the point." },
  { "lip_parallelism", WS_UNIT_DEGREE, NULL, "Lip parallelism",
    "Angle between the two lips seen from the end." },
  { "web_centrality", WS_UNIT_LENGTH, NULL, "Web off centre",
    "Distance of the axis from the line midway between the lips." },
  { "margin_width", WS_UNIT_LENGTH, NULL, "Margin width",
    "Square to the margin, from the outer corner to its step; mean of both." },
  { "wear_land_a", WS_UNIT_LENGTH, NULL, "Wear land, lip a",
    "Mean width of the land on the left lip." },
  { "wear_land_b", WS_UNIT_LENGTH, NULL, "Wear land, lip b",
    "Mean width of the land on the right lip." },
};

/* What the numbers rest on. */
typedef struct
{
  const WsEndPoint *point;
  const WsOptics *optics;
  const WsPictureShape *shape;
} Evidence;

static void
add_line (WsQuantity *quantity, const char *name, double u_px_or_rad, const WsOptics *optics)
{
  wsi_quantity_add_seen_line (quantity, name, WS_DISTRIBUTION_NORMAL, u_px_or_rad, optics);
}

static void
finish (WsQuantity *quantity, const WsOptics *optics)
{
  wsi_quantity_add_scale_line (quantity, optics);
  wsi_quantity_combine (quantity);
}

/* ---- Perspective: the middle of the point stands nearer to the camera than its corners --- */

/* Radius over height of the point, 118 degrees, when nothing tells the point angle. */
#define USUAL_SLOPE 1.664 /* tan 59 deg */

/* Cameras stand at least so many diameters away (common practice, no source). */
#define NEAREST_DIAMETERS 15.0

/* By how much too large the middle looks, relative, and the standard uncertainty of that. */
static double
middle_enlarged (const WsEndPoint *point, const WsOptics *optics, double *u)
{
  const double height = point->radius / USUAL_SLOPE;
  if (optics->lens != NULL)
  {
    const double distance = ws_lens_distance_mm (optics->lens, NULL) / optics->mm_per_px;
    const double share = isfinite (distance) ? height / distance : 0;
    *u = 0.15 * share; /* the point angle may be 135 degrees */
    return share;
  }
  const double most = height / (2 * point->radius * NEAREST_DIAMETERS);
  *u = 0.5 * most / sqrt (3.0);
  return 0.5 * most;
}

/* ---- Geometry --------------------------------------------------------------------- */

/* Signed distance of the axis from a lip's line, into its flank. */
static double
axis_inside (const WsEndPoint *point, guint k)
{
  const WsEndLip *lip = &point->lips[k];
  return wsi_point_dot (wsi_point_sub (point->centre, wsi_end_lip_foot (lip, point->centre)),
                        lip->inward);
}

/* How well a lip's edge is placed: a step that land and shadow may shift, px. */
#define U_LIP_PX 0.5

/* Where heat's colours change toward a lip all along it; own trials on rendered drills. */
#define U_COLOURED_PX 1.5

/* A lip whose light falls by this much is a pixel uncertain more, by the square (own trials). */
#define FAINT_CONTRAST 12.0

/* Along a faint lip what was found beside its line may be the lip, and the line a streak. */
static double
u_stray (const WsEndLip *lip)
{
  return lip->contrast < FAINT_CONTRAST ? lip->stray : 0;
}

static double
u_lip (const WsEndPoint *point, guint k)
{
  const WsLineFit *line = &point->lips[k].line;
  const double lever =
    wsi_point_distance (line->centre, wsi_end_lip_foot (&point->lips[k], point->centre));
  const double faint = FAINT_CONTRAST / MAX (point->lips[k].contrast, 1);
  const double place = hypot (point->lips[k].coloured ? U_COLOURED_PX : U_LIP_PX, faint * faint);
  return hypot (hypot (hypot (line->u_offset, lever * line->u_angle), place),
                u_stray (&point->lips[k]));
}

static void
add_web (const Evidence *seen, WsQuantity *q[N_QUANTITIES])
{
  const WsEndPoint *point = seen->point;
  double u_enlarged;
  const double enlarged = middle_enlarged (point, seen->optics, &u_enlarged);
  const double a = axis_inside (point, 0), b = axis_inside (point, 1);
  const double web = (a + b) / (1 + enlarged);
  const double u = hypot (u_lip (point, 0), u_lip (point, 1));
  wsi_quantity_set_seen (q[WEB_THICKNESS], web, seen->optics);
  add_line (q[WEB_THICKNESS], "lips' places", u, seen->optics);
  add_line (q[WEB_THICKNESS], "perspective", u_enlarged * web, seen->optics);

  wsi_quantity_set_seen (q[WEB_CENTRALITY], 0.5 * fabs (a - b), seen->optics);
  add_line (q[WEB_CENTRALITY], "lips' places", 0.5 * u, seen->optics);
  add_line (q[WEB_CENTRALITY], "axis place", point->u_centre, seen->optics);
}

static double
u_lip_angle (const WsEndPoint *point, guint k)
{
  const WsLineFit *line = &point->lips[k].line;
  return hypot (line->u_angle,
                hypot (0.3, u_stray (&point->lips[k])) / (line->t_high - line->t_low));
}

/* A camera that looks a degree or so past the axis turns lips of different height apart. */
#define U_LOOK_RAD 0.0015

static void
add_parallelism (const Evidence *seen, WsQuantity *quantity)
{
  const WsEndPoint *point = seen->point;
  const double turn = wsi_point_cross (point->lips[1].outward, point->lips[0].outward);
  wsi_quantity_set_seen (quantity, fabs (asin (CLAMP (turn, -1.0, 1.0))), seen->optics);
  add_line (quantity, "lips' directions", hypot (u_lip_angle (point, 0), u_lip_angle (point, 1)),
            seen->optics);
  add_line (quantity, "alignment: camera off the axis", U_LOOK_RAD, seen->optics);
}

/* Beyond its noise: brushed facets shift the step between them. */
#define U_CHISEL_PX 0.3

static void
add_chisel (const Evidence *seen, WsQuantity *q[N_QUANTITIES])
{
  const WsEndPoint *point = seen->point;
  if (!point->has_chisel)
    return;
  double u_enlarged;
  const double enlarged = middle_enlarged (point, seen->optics, &u_enlarged);
  const WsPoint chord = wsi_point_sub (point->lips[0].inner, point->lips[1].inner);
  const WsPoint lips = wsi_point_sub (point->lips[0].outward, point->lips[1].outward);
  const double length = wsi_point_length (chord);
  const double acute =
    acos (CLAMP (wsi_point_dot (chord, lips) / (length * wsi_point_length (lips)), -1.0, 1.0));
  /* The middle of the point looks larger than its rim, which turns the lips' picture. */
  const double web = axis_inside (point, 0) + axis_inside (point, 1);
  const double turn = 0.5 * web * enlarged / point->radius,
               u_turn = 0.5 * web * u_enlarged / point->radius;
  wsi_quantity_set_seen (q[CHISEL_EDGE_ANGLE], G_PI - acute + turn, seen->optics);
  add_line (q[CHISEL_EDGE_ANGLE], "chisel edge", point->u_chisel_rad, seen->optics);
  add_line (q[CHISEL_EDGE_ANGLE], "form of the chisel edge", 2 * U_CHISEL_PX / length,
            seen->optics);
  add_line (q[CHISEL_EDGE_ANGLE], "lips' directions",
            0.5 * hypot (u_lip_angle (point, 0), u_lip_angle (point, 1)), seen->optics);
  add_line (q[CHISEL_EDGE_ANGLE], "perspective", u_turn, seen->optics);
  wsi_picture_shape_add_to_angle (seen->shape, atan2 (chord.y, chord.x), atan2 (lips.y, lips.x),
                                  seen->optics, q[CHISEL_EDGE_ANGLE]);

  wsi_quantity_set_seen (q[CHISEL_EDGE_LENGTH], length / (1 + enlarged), seen->optics);
  const double across = hypot (u_lip (point, 0), u_lip (point, 1)) / sin (acute);
  add_line (q[CHISEL_EDGE_LENGTH], "lips' places", across, seen->optics);
  add_line (q[CHISEL_EDGE_LENGTH], "chisel edge's direction",
            length * point->u_chisel_rad / tan (acute), seen->optics);
  add_line (q[CHISEL_EDGE_LENGTH], "perspective", u_enlarged * length, seen->optics);
}

/* A margin's width is meant square to its helix, which the end view doesn't show: 25 to 35 degrees
 * for standard drills (references: docs/methods/README.md). */
#define USUAL_HELIX_DEG 30.0
#define U_HELIX_DEG 3.0

/* Nor does it show how fast the flank falls behind the corner; meanwhile the step winds on along
 * the helix. */
#define USUAL_RELIEF_DEG 10.0
#define U_RELIEF_DEG 3.0

/* The corner of a margin's step is rounded and slanted. */
#define U_MARGIN_PX 2.5

/* Margins that differ more belong to a rim that shines behind one of them; half of that is what one
 * margin alone leaves open. */
#define MOST_UNLIKE 0.2

/* Width square to the helix over the arc seen. */
static double
square_share (double helix_deg, double relief_deg)
{
  const double helix = wsi_radians (helix_deg);
  return cos (helix) * (1 - tan (wsi_radians (relief_deg)) * tan (helix));
}

/* Of one margin alone a streak may be taken for the step: the rim has to fall back there, too. */
static double
single_margin (const WsEndPoint *point)
{
  for (guint k = 0; k < 2; k++)
  {
    const double step = point->lips[k].margin;
    if (fabs (step - point->lips[k].rim_step) < MOST_UNLIKE * step)
      return step;
  }
  return NAN;
}

static void
add_margin (const Evidence *seen, WsQuantity *quantity)
{
  const double a = seen->point->lips[0].margin, b = seen->point->lips[1].margin;
  const gboolean both = isfinite (a) && isfinite (b);
  const double along = both ? 0.5 * (a + b) : single_margin (seen->point);
  const double apart = both ? 0.5 * fabs (a - b) : 0.5 * MOST_UNLIKE * along;
  if (!isfinite (along) || 2 * apart > MOST_UNLIKE * along)
    return;
  const double share = square_share (USUAL_HELIX_DEG, USUAL_RELIEF_DEG);
  const double by_helix = share - square_share (USUAL_HELIX_DEG + U_HELIX_DEG, USUAL_RELIEF_DEG);
  const double by_relief = share - square_share (USUAL_HELIX_DEG, USUAL_RELIEF_DEG + U_RELIEF_DEG);
  wsi_quantity_set_seen (quantity, along * share, seen->optics);
  wsi_quantity_set_smallest_seen (quantity, share * wsi_end_least_margin (seen->point),
                                  seen->optics);
  add_line (quantity, "corner and step", share * MAX (U_MARGIN_PX, apart), seen->optics);
  add_line (quantity, "helix angle not seen", along * by_helix, seen->optics);
  add_line (quantity, "relief not seen", along * by_relief, seen->optics);
}

/* ---- Flanks ----------------------------------------------------------------------- */

typedef struct
{
  const Evidence *seen;
  const WsEndLip *lip;
} Inside;

/* The flank narrows toward the middle: by the heel's usual run (own trials on rendered drills). */
#define HEEL_FROM 0.3
#define HEEL_SLOPE 1.2

static gboolean
inside_flank (WsPoint picture, gpointer data)
{
  const Inside *inside = data;
  const WsEndPoint *point = inside->seen->point;
  const WsLens *lens = inside->seen->optics->lens;
  const WsPoint p = lens != NULL ? ws_lens_to_ideal (lens, picture) : picture;
  const WsPoint off = wsi_point_sub (p, wsi_end_lip_foot (inside->lip, point->centre));
  const double t = wsi_point_dot (off, inside->lip->outward),
               d = wsi_point_dot (off, inside->lip->inward);
  const double web = axis_inside (point, 0) + axis_inside (point, 1);
  const double most = 0.85 * web + HEEL_SLOPE * MAX (0, t - HEEL_FROM * point->radius);
  return d <= most && wsi_point_distance (p, point->centre) < 0.95 * point->radius;
}

#define FLANK_DEPTH 0.8

static WsStrip
lip_strip (const WsEndPoint *point, const WsEndLip *lip)
{
  /* The outermost bit is rounded off by the margin's circle. */
  const double length = 0.97 * wsi_point_distance (lip->inner, lip->corner);
  return (WsStrip){ .origin = lip->inner,
                    .along = lip->outward,
                    .inward = lip->inward,
                    .length = (guint)MAX (length, 1),
                    .depth = (guint)MAX (FLANK_DEPTH * point->radius, 1) };
}

static void
add_lip_land (const WsFlank *flank, const WsOptics *optics, WsQuantity *quantity)
{
  if (!flank->land.judged)
    return;
  wsi_quantity_set_seen (quantity, flank->land.mean, optics);
  add_line (quantity, "where the land ends", flank->land.u_mean, optics);
  wsi_quantity_set_smallest_seen (quantity, flank->land.least, optics);
}

/* ---- Marks ------------------------------------------------------------------------ */

#define CIRCLE_STEPS 90

static void
mark_point (const WsEndPoint *point, WsResult *result)
{
  WsPoint circle[CIRCLE_STEPS + 1];
  for (guint i = 0; i <= CIRCLE_STEPS; i++)
  {
    const double angle = 2 * G_PI * i / CIRCLE_STEPS;
    circle[i] = wsi_point (point->centre.x + point->radius * cos (angle),
                           point->centre.y + point->radius * sin (angle));
  }
  wsi_result_add_mark (result, WS_MARK_ENVELOPE, NULL, circle, CIRCLE_STEPS + 1);
  wsi_result_add_mark (result, WS_MARK_APEX, NULL, &point->centre, 1);
  for (guint k = 0; k < 2; k++)
    wsi_result_add_mark (result, WS_MARK_CORNER, k == 0 ? "a" : "b", &point->lips[k].corner, 1);
  if (!point->has_chisel)
    return;
  const WsPoint chord[2] = { point->lips[0].inner, point->lips[1].inner };
  wsi_result_add_mark (result, WS_MARK_EDGE_USED, "b", chord, 2);
  const WsEndLip *lip = &point->lips[0];
  const WsPoint angle[3] = { wsi_point_along (lip->inner, 0.4 * point->radius, lip->outward),
                             lip->inner, point->lips[1].inner };
  wsi_result_add_mark (result, WS_MARK_ANGLE, "chisel_edge_angle", angle, 3);
}

/* ---- The view --------------------------------------------------------------------- */

/* Beside a lip whose place is open by more than a narrow land, px, no land can be told, nor what
 * lies between the lips. */
#define MOST_STRAY 3.0

static gboolean
strays (const WsEndPoint *point)
{
  return u_stray (&point->lips[0]) > MOST_STRAY || u_stray (&point->lips[1]) > MOST_STRAY;
}

static void
judge_flanks (const Evidence *seen, const WsSampler *sampler, const WsLight *ground,
              const WsToolCard *card, WsResult *result)
{
  WsFlank flanks[2];
  WsStrip strips[2];
  for (guint k = 0; k < 2; k++)
  {
    const WsEndLip *lip = &seen->point->lips[k];
    Inside inside = { seen, lip };
    strips[k] = lip_strip (seen->point, lip);
    flanks[k] =
      (WsFlank){ .label = k == 0 ? "a" : "b", .strip = &strips[k], .coating = card->coating };
    flanks[k].band = wsi_strip_sample (&strips[k], sampler, seen->optics, inside_flank, &inside);
  }
  wsi_flanks_judge (flanks, 2, sampler->image, ground);
  for (guint k = 0; k < 2; k++)
    if (u_stray (&seen->point->lips[k]) > MOST_STRAY)
      flanks[k].land.judged = FALSE;
  wsi_front_lit_add (flanks, 2, card, seen->optics, result);
  wsi_coating_check (card->coating, flanks[0].tint, result);
  for (guint k = 0; k < 2; k++)
  {
    WsQuantity *quantity =
      wsi_result_add_quantity (result, &quantities[WEAR_LAND_A + k], seen->optics->has_scale);
    add_lip_land (&flanks[k], seen->optics, quantity);
    finish (quantity, seen->optics);
  }
  wsi_flanks_clear (flanks, 2);
}

static void
fill_quantities (const Evidence *seen, WsResult *result)
{
  WsQuantity *q[N_QUANTITIES] = { NULL };
  for (guint i = CHISEL_EDGE_ANGLE; i < WEAR_LAND_A; i++)
    q[i] = wsi_result_add_quantity (result, &quantities[i], seen->optics->has_scale);
  add_web (seen, q);
  add_parallelism (seen, q[LIP_PARALLELISM]);
  add_chisel (seen, q);
  add_margin (seen, q[MARGIN_WIDTH]);
  for (guint i = CHISEL_EDGE_ANGLE; i < WEAR_LAND_A; i++)
    if (q[i]->known)
      finish (q[i], seen->optics);
  for (guint i = WEB_THICKNESS; i <= WEB_CENTRALITY && strays (seen->point); i++)
    wsi_quantity_forget (q[i]);
}

/* Lip a is the left one of the picture as it came; of two above each other, the upper. */
static void
name_lips (WsEndPoint *point, const WsPose *pose)
{
  const WsPoint arm = wsi_point_sub (wsi_pose_back (pose, point->lips[0].corner),
                                     wsi_pose_back (pose, point->lips[1].corner));
  if (arm.x + 1e-6 * arm.y <= 0)
    return;
  const WsEndLip lip = point->lips[0];
  point->lips[0] = point->lips[1];
  point->lips[1] = lip;
}

/* `image` is laid by `pose`, or the picture as it came when `pose` says so.  FALSE with `refusal`
 * when it shows no point. */
static gboolean
measure_laid (const WsImage *image, const WsPose *pose, const WsToolCard *card,
              const WsOptics *optics, WsRefusal *refusal, WsResult *result)
{
  WsSampler sampler;
  wsi_sampler_init (&sampler, image);
  g_autofree WsEndPoint *point = wsi_end_point_locate (&sampler, optics, refusal);
  if (point == NULL)
    return FALSE;
  const WsEndPicture picture = { &sampler, optics, { 1, 1, 1 } };
  if (!wsi_end_has_grain (&picture, point))
  {
    wsi_result_retake (result, WS_RETAKE_WRONG_VIEW,
                       "the flanks found are even as in a drawing, without the grain of ground "
                       "metal; take a photograph of the point");
    return TRUE;
  }
  g_autoptr (WsCoarse) coarse = wsi_coarse_find (&sampler, FALSE);
  WsPictureShape shape;
  if (coarse == NULL)
    return FALSE;
  if (!wsi_end_smear_check (&picture, point, result) ||
      !wsi_picture_shape (image, optics, coarse, &shape, result) ||
      !wsi_end_round_check (&picture, point, &shape, result))
    return TRUE;
  name_lips (point, pose);
  const Evidence seen = { point, optics, &shape };
  result->hand = point->right_hand != wsi_pose_is_mirrored (pose) ? "right" : "left";
  wsi_result_see (result, WS_TRAIT_DIAMETER, 2 * point->radius, 0, optics);
  fill_quantities (&seen, result);
  judge_flanks (&seen, &sampler, &coarse->ground, card, result);
  wsi_picture_shape_add_to_lengths (&shape, result);
  mark_point (point, result);
  return TRUE;
}

/* As it came where it can't be laid, or lies so already. */
static gboolean
measure_in (const WsPose *pose, const WsImage *image, const WsToolCard *card,
            const WsOptics *optics, WsRefusal *refusal, WsResult *result)
{
  const WsPose came = { .width = image->width, .height = image->height };
  g_autoptr (WsImage) laid = wsi_pose_lay (pose, image);
  if (laid == NULL)
    return measure_laid (image, &came, card, optics, refusal, result);
  if (!measure_laid (laid, pose, card, optics, refusal, result))
    return FALSE;
  wsi_pose_lay_back (pose, result);
  return TRUE;
}

/* The search goes another way where the point stands on its head, and may find what it missed.
 * Seen along its axis a point has no up.  A calibrated lens belongs to the picture as it came. */
static void
measure (const WsImage *image, const WsToolCard *card, const WsOptics *optics, WsResult *result)
{
  const WsPose came = { .width = image->width, .height = image->height };
  WsPose pose = optics->lens == NULL ? wsi_pose_of (image) : came;
  WsRefusal refusal = { 0 };
  if (measure_in (&pose, image, card, optics, &refusal, result))
    return;
  WsRefusal turned = { 0 };
  pose.mirror_x = !pose.mirror_x;
  pose.mirror_y = !pose.mirror_y;
  if (optics->lens != NULL || !measure_in (&pose, image, card, optics, &turned, result))
    wsi_result_refuse (result, &refusal);
}

/* The convention is a trap: some books give the acute angle. */
static void
say_chisel (WsResult *result)
{
  const WsQuantity *angle = ws_result_quantity (result, "chisel_edge_angle");
  if (angle != NULL)
    wsi_result_add_finding (result, "chisel-edge-angle",
                            g_strdup_printf ("Chisel edge angle %.1f° by the obtuse convention; "
                                             "books that give the acute angle say %.1f°.",
                                             angle->value, 180 - angle->value),
                            NULL);
  else
    wsi_result_add_finding (result, "chisel-edge-unseen",
                            g_strdup ("The chisel edge doesn't stand out from the flanks in this "
                                      "light. Light the point from one side to see it."),
                            NULL);
}

static void
advise_web (WsResult *result)
{
  const WsQuantity *off = ws_result_quantity (result, "web_centrality");
  if (off != NULL && off->verdict == WS_VERDICT_REJECT)
    wsi_advise_set_aside (result,
                          g_strdup ("The web is off centre: the drill wanders and cuts oversize, "
                                    "and no grinding of the point can cure that."));
}

static gboolean
is_rejected (const WsResult *result, const char *stem)
{
  const WsQuantity *quantity = ws_result_quantity (result, stem);
  return quantity != NULL && quantity->verdict == WS_VERDICT_REJECT;
}

/* Common practice, no source. */
static void
advise_point (WsResult *result)
{
  const WsQuantity *web = ws_result_quantity (result, "web_thickness");
  if (is_rejected (result, "lip_parallelism"))
    wsi_advise (result, WS_WORK_GRIND,
                g_strdup ("The lips aren't parallel: their flanks were ground differently. Regrind "
                          "both with the same setting."));
  if (is_rejected (result, "web_thickness") && web->value > web->upper)
    wsi_advise (result, WS_WORK_GRIND,
                g_strdup ("The web is too thick at the point, so the drill needs force. Grind it "
                          "thinner on both sides alike."));
}

static void
advise (const WsToolCard *card, WsResult *result)
{
  say_chisel (result);
  advise_web (result);
  wsi_drill_advise_chisel (result);
  advise_point (result);
  wsi_front_lit_advise (card, result);
  wsi_advise_measuring_again (card, result, NULL);
}

#define TWIST (1u << WS_KIND_TWIST_DRILL)
#define DRILLS (TWIST | 1u << WS_KIND_SPOT_DRILL)

static const WsRequired required[] = {
  { .kinds = TWIST, .stem = "chisel_edge_angle" }, { .kinds = TWIST, .stem = "lip_parallelism" },
  { .kinds = TWIST, .stem = "web_centrality" },    { .kinds = DRILLS, .stem = "wear_land_mean" },
  { .kinds = DRILLS, .stem = "wear_land_max" },    { .kinds = DRILLS, .stem = "burn_depth_max" },
};

/* The circle of the corners, which a near camera or a shadow beside the rim makes larger and worn
 * margins smaller (own trials on rendered points: 0.978 to 1.002 of the diameter). */
#define CIRCLE_BELOW (WS_FIT_DRILL_BELOW + 0.04)
#define CIRCLE_ABOVE (WS_FIT_DRILL_ABOVE + 0.04)

static const WsFitBand fits[] = {
  { WS_TRAIT_DIAMETER, NULL, CIRCLE_BELOW, CIRCLE_ABOVE, WS_FIT_DRILL_SLACK_MM, FALSE },
  { .trait = WS_TRAIT_HAND },
};

const WsView wsi_view_drill_end = {
  .name = "drill-end",
  .summary = "drill point along its axis in front light: chisel edge, web, margins, wear, burn",
  .kinds = 1u << WS_KIND_TWIST_DRILL | 1u << WS_KIND_SPOT_DRILL,
  .needs = WS_IMAGE_COLOUR,
  .quantities = quantities,
  .n_quantities = N_QUANTITIES,
  .required = required,
  .n_required = G_N_ELEMENTS (required),
  .fits = fits,
  .n_fits = G_N_ELEMENTS (fits),
  .measure = measure,
  .advise = advise,
};
