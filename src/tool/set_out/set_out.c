/*
 * A regrind's pictures laid on each other: docs/methods/set-out.md.
 */
#include <whetsight/set_out.h>

#include "base/geometry.h"
#include "edge/crests.h"
#include "edge/laid.h"
#include "optics/correct.h"
#include "optics/unknown_lens.h"
#include "result/build.h"
#include "tool/set_out/places.h"

enum
{
  SHORTER,
  SHORTER_AT_POINT,
  LOWER,
  N_QUANTITIES
};

static const WsQuantityInfo quantities[N_QUANTITIES] = {
  { "shorter", WS_UNIT_LENGTH, NULL, "Shorter",
    "How far the edge lies behind where it was, along the tool." },
  { "shorter_at_point", WS_UNIT_LENGTH, NULL, "Shorter at the point",
    "The same of where a drill's lip lines meet." },
  { "lower", WS_UNIT_LENGTH, NULL, "Lower", "How much lower the edge lies over the tool's base." },
};

/* How far the second picture may be shifted against the first, of its shorter side, and turned. */
#define REACH 0.12
#define REACH_TURN 0.06

/* The tool itself lies as its own axis says; along it, it may be moved by so much of that side. */
#define REACH_ALONG 0.3
#define OWN_REACH_PX 12.0
#define OWN_REACH_TURN 0.008

/* What lies beside the tool is looked for so far from its outline, px and blurs; its edges are at
 * least so sharp beside the tool's, and so many points long. */
#define BESIDE_PX 6.0
#define BESIDE_BLURS 4.0
#define LEAST_SLOPE 0.2
#define SHORTEST_EDGE 30

/* Of what lies beside, so much has to lie on what lay there before; a tool's own body, so much. */
#define LEAST_SHARE 0.6

/* Laid worse than this along the tool, px, it doesn't tell. */
#define MOST_U 0.5

/* Places of crests, and of scan lines, are off by so much at most, alike along an edge, px. */
#define BIAS_PX 0.02

/* A tool pushed by hand against a ground stop seats to so much, mm: common practice, no source. */
#define SEAT_MM 0.01

/* Tools lie in the picture's plane to a degree, set by eye: common practice, no source. */
#define TILT_DEG 1.0

const char *
ws_reference_name (WsReference reference)
{
  static const char *const names[WS_N_REFERENCES] = {
    [WS_REFERENCE_TOOL] = "tool", [WS_REFERENCE_STOP] = "stop", [WS_REFERENCE_CAMERA] = "camera"
  };
  return reference < WS_N_REFERENCES ? names[reference] : "";
}

gboolean
ws_set_out_sees (const WsView *view)
{
  return wsi_edge_kind (view) != WS_N_EDGES;
}

typedef struct
{
  const WsSetOutPicture *picture[2];
  WsReference reference;
  WsEdgePlaces places[2]; /* before, after */
  WsLaid laid;            /* the picture after on the picture before */
  double shift;           /* of the tool's place between the pictures, px */
} Work;

/* ---- Laying one on the other ----------------------------------------------------------------- */

/* What else has an edge in the picture, away from the tool. */
static GArray *
find_beside (const WsSetOutPicture *picture, const WsEdgePlaces *places)
{
  const WsOutline *tool = places->outline;
  const guint n = tool->points->len;
  double step = 0;
  for (guint i = 0; i < n; i++)
    step += (double)g_array_index (tool->points, WsEdgePoint, i).step / n;
  const double spread = hypot (places->blur, WS_CRESTS_SMOOTHING);
  WsOutline *all = wsi_outline_new (0);
  g_array_unref (all->points);
  all->points = wsi_crests_find (picture->image, LEAST_SLOPE * step / (spread * sqrt (2 * G_PI)),
                                 SHORTEST_EDGE);
  wsi_optics_correct (picture->optics, all);
  GArray *beside =
    wsi_laid_away_from (all->points, tool->points, BESIDE_PX + BESIDE_BLURS * places->blur);
  wsi_outline_free (all);
  return beside;
}

static double
shorter_side (const Work *work)
{
  const WsImage *image = work->picture[0]->image;
  return MIN (image->width, image->height);
}

static WsLaying
laying_of (const Work *work)
{
  const WsEdgePlaces *before = &work->places[0], *after = &work->places[1];
  const WsOptics *a = work->picture[0]->optics, *b = work->picture[1]->optics;
  const double scale = a->has_scale && b->has_scale ? b->mm_per_px / a->mm_per_px : 1;
  return (WsLaying){ .along = before->axis.direction,
                     .alike = 2 + 2.5 * hypot (MAX (before->blur, after->blur), 1),
                     .start = { .scale = scale } };
}

static gboolean
lay_beside (Work *work, WsResult *result)
{
  g_autoptr (GArray) onto = find_beside (work->picture[0], &work->places[0]);
  g_autoptr (GArray) points = find_beside (work->picture[1], &work->places[1]);
  WsLaying laying = laying_of (work);
  laying.points = points;
  laying.onto = onto;
  laying.reach_along = laying.reach_across = REACH * shorter_side (work);
  laying.reach_turn = REACH_TURN;
  if (points->len < 10 || onto->len < 10)
    return wsi_result_retake (result, WS_RETAKE_WRONG_VIEW,
                              "nothing lies beside the tool that a stop could be");
  if (!wsi_lay (&laying, &work->laid) || work->laid.share < LEAST_SHARE)
    return wsi_result_retake (result, WS_RETAKE_WRONG_VIEW,
                              "what lies beside the tool isn't the same in both pictures");
  return TRUE;
}

static gboolean
lay_body (Work *work, WsResult *result)
{
  const WsEdgePlaces *before = &work->places[0], *after = &work->places[1];
  const WsPoint d = before->axis.direction, e = after->axis.direction;
  WsLaying laying = laying_of (work);
  laying.points = after->body;
  laying.onto = before->body;
  laying.start.from = after->axis.origin;
  laying.start.to = before->axis.origin;
  laying.start.turn = atan2 (wsi_point_cross (e, d), wsi_point_dot (e, d));
  laying.reach_along = REACH_ALONG * shorter_side (work);
  laying.sides_are_blind = TRUE;
  laying.only_along = before->kind == WS_EDGE_DRILL;
  if (!laying.only_along)
  {
    laying.reach_across = OWN_REACH_PX;
    laying.reach_turn = OWN_REACH_TURN;
  }
  return wsi_lay (&laying, &work->laid) ||
         wsi_result_retake (result, WS_RETAKE_WRONG_VIEW,
                            "nothing of the tool behind its edge says how far along it lies");
}

/* Neither camera nor stop moved. */
static void
lay_as_taken (Work *work)
{
  const WsLaying laying = laying_of (work);
  const WsImage *image = work->picture[0]->image;
  const WsPoint middle = wsi_point (0.5 * (image->width - 1), 0.5 * (image->height - 1));
  work->laid = (WsLaid){ .motion = { .from = middle, .to = middle, .scale = laying.start.scale } };
}

/* A camera that stood still sees what lies beside the tool where it was, px. */
#define STOOD_STILL_PX 1.0

static gboolean
stood_still (const Work *work, WsResult *result)
{
  Work beside = *work;
  g_autoptr (WsResult) aside = wsi_result_new (result->view);
  if (!lay_beside (&beside, aside))
    return TRUE;
  const WsPoint edge = work->places[1].edge.at;
  const double moved = wsi_point_distance (wsi_motion_of (&beside.laid.motion, edge),
                                           wsi_motion_of (&work->laid.motion, edge));
  return moved <= STOOD_STILL_PX ||
         wsi_result_retake (result, WS_RETAKE_WRONG_VIEW,
                            "the camera moved, for what lies beside the tool is seen %.0f px off",
                            moved);
}

static gboolean
lay (Work *work, WsResult *result)
{
  const WsEdgePlaces *before = &work->places[0];
  if (work->reference == WS_REFERENCE_CAMERA)
  {
    lay_as_taken (work);
    if (!stood_still (work, result))
      return FALSE;
  }
  else if (!(work->reference == WS_REFERENCE_STOP ? lay_beside (work, result)
                                                  : lay_body (work, result)))
    return FALSE;
  const double u = wsi_laid_u (&work->laid, before->edge.at, before->axis.direction);
  if (!(u <= MOST_U))
    return wsi_result_retake (result, WS_RETAKE_WRONG_VIEW,
                              "nothing in view says how far along the tool lies");
  work->shift =
    wsi_point_distance (wsi_motion_of (&work->laid.motion, before->edge.at), before->edge.at);
  return TRUE;
}

/* ---- Lengths and their budgets ------------------------------------------------------------------
 */

/* A place after the regrind, where it lies in the picture before; how far behind `was` along the
 * tool. */
static double
behind (const Work *work, WsPoint was, WsPoint is)
{
  const WsPoint at = wsi_motion_of (&work->laid.motion, is);
  return wsi_point_dot (wsi_point_sub (was, at), work->places[0].axis.direction);
}

static double
radius_share (const Work *work, WsPoint at)
{
  const WsImage *image = work->picture[0]->image;
  const WsPoint middle = wsi_point (0.5 * (image->width - 1), 0.5 * (image->height - 1));
  return wsi_point_distance (at, middle) / wsi_point_length (middle);
}

/* What a lens that nobody calibrated does to it: the picture shifted between them, and the length
 * itself, 3 D (r / R)^2 of each. */
static double
lens_u (const Work *work, WsPoint at, double length)
{
  const WsOptics *optics = work->picture[0]->optics;
  const double r = radius_share (work, at);
  const double bends = 3 * wsi_unknown_lens_distortion (optics) * r * r / sqrt (3.0);
  return optics->lens != NULL ? 0 : bends * hypot (work->shift, length);
}

/* The same of a height that is seen in both pictures: of the height itself most is alike, and the
 * rest as far as the tool was seen elsewhere. */
static double
lens_height_u (const Work *work, WsPoint at, double height, double change)
{
  const WsOptics *optics = work->picture[0]->optics;
  const WsImage *image = work->picture[0]->image;
  const double whole = 0.5 * hypot (image->width - 1.0, image->height - 1.0);
  const double r = radius_share (work, at), moved = work->shift / whole;
  const double bends = 3 * wsi_unknown_lens_distortion (optics) / sqrt (3.0);
  return optics->lens != NULL ? 0
                              : bends * hypot (r * r * change, height * (2 * r + moved) * moved);
}

/* Of a scale that isn't the same in both pictures, what it makes of the way from what was laid to
 * the edge. */
static double
scales_u (const Work *work, WsPoint at)
{
  const WsOptics *a = work->picture[0]->optics, *b = work->picture[1]->optics;
  if (!a->has_scale || !b->has_scale || a->mm_per_px == b->mm_per_px)
    return 0;
  const double u = hypot (a->u_mm_per_px / a->mm_per_px, b->u_mm_per_px / b->mm_per_px);
  return u * wsi_point_distance (at, work->laid.about);
}

static void
add_seat_line (const Work *work, WsQuantity *q)
{
  if (work->reference != WS_REFERENCE_TOOL && work->picture[0]->optics->has_scale)
    wsi_quantity_add_line (q, "tool put back against the stop", WS_DISTRIBUTION_RECTANGULAR,
                           SEAT_MM / sqrt (3.0), sqrt (2.0));
}

/* What the transfer curve makes of it, of so much outline each.  One camera has one curve, which
 * moves edges in proportion to their blur: most of it is the same before and after. */
#define UNLIKE_CURVES 0.25

static double
level_u (const Work *work, double before, double after)
{
  const double a = before * work->places[0].level_u;
  const double b = after * work->laid.motion.scale * work->places[1].level_u;
  return hypot (a - b, UNLIKE_CURVES * hypot (a, b));
}

/* `places`: of the edge, before and after. */
static void
set_length (const Work *work, const WsEdgePlace places[2], WsQuantity *q)
{
  const WsOptics *optics = work->picture[0]->optics;
  const double scale = work->laid.motion.scale;
  const double value = behind (work, places[0].at, places[1].at);
  const double laid = wsi_laid_u (&work->laid, places[0].at, work->places[0].axis.direction);
  const double tilt = 0.5 * wsi_radians (TILT_DEG) * wsi_radians (TILT_DEG);
  wsi_quantity_set_seen (q, value, optics);
  wsi_quantity_add_seen_line (q, "edge before", WS_DISTRIBUTION_NORMAL, places[0].u, optics);
  wsi_quantity_add_seen_line (q, "edge after", WS_DISTRIBUTION_NORMAL, scale * places[1].u, optics);
  wsi_quantity_add_seen_line (q, "tonal encoding and threshold", WS_DISTRIBUTION_RECTANGULAR,
                              level_u (work, places[0].outward, places[1].outward), optics);
  wsi_quantity_add_seen_line (q, "one picture laid on the other", WS_DISTRIBUTION_NORMAL,
                              hypot (laid, BIAS_PX), optics);
  wsi_quantity_add_seen_line (q, "unknown lens", WS_DISTRIBUTION_RECTANGULAR,
                              lens_u (work, places[0].at, value), optics);
  wsi_quantity_add_seen_line (q, "scales of both pictures", WS_DISTRIBUTION_NORMAL,
                              scales_u (work, places[0].at), optics);
  wsi_quantity_add_seen_line (q, "alignment: tool tilted", WS_DISTRIBUTION_ONE_SIDED,
                              fabs (value) * tilt, optics);
  add_seat_line (work, q);
  wsi_quantity_add_scale_line (q, optics);
  wsi_quantity_combine (q);
}

/* A profile that keeps its form, laid on its old self: put back, a tool lies a little otherwise
 * across, too. */
static gboolean
find_profile (const Work *work, WsEdgePlace places[2], WsResult *result)
{
  WsLaying laying = laying_of (work);
  WsLaid laid;
  laying.points = work->places[1].profile;
  laying.onto = work->places[0].profile;
  laying.start = work->laid.motion;
  laying.reach_along = REACH_ALONG * shorter_side (work);
  laying.only_along = work->reference == WS_REFERENCE_TOOL;
  laying.reach_across = laying.only_along ? 0 : OWN_REACH_PX;
  if (!wsi_lay (&laying, &laid) || laid.share < LEAST_SHARE)
    return wsi_result_retake (result, WS_RETAKE_WRONG_VIEW,
                              "the profile isn't the one that it was before");
  /* The same place of the profile in both pictures: its middle. */
  const WsMotion *by = &laid.motion;
  const WsMotion back = { by->to, by->from, -by->turn, 1 / by->scale };
  places[0] = (WsEdgePlace){ laid.about, wsi_laid_u (&laid, laid.about, laying.along), 1 };
  places[1] = (WsEdgePlace){ wsi_motion_of (&back, laid.about), 0, 1 };
  return TRUE;
}

static void
set_lower (const Work *work, WsResult *result)
{
  const WsEdgePlaces *before = &work->places[0], *after = &work->places[1];
  const WsOptics *optics = work->picture[0]->optics;
  const double scale = work->laid.motion.scale;
  WsQuantity *q = wsi_result_add_quantity (result, &quantities[LOWER], optics->has_scale);
  const double value = before->tip_height - scale * after->tip_height;
  if (!isfinite (value))
    return;
  wsi_quantity_set_seen (q, value, optics);
  wsi_quantity_add_seen_line (q, "edge before", WS_DISTRIBUTION_NORMAL, before->u_tip_height,
                              optics);
  wsi_quantity_add_seen_line (q, "edge after", WS_DISTRIBUTION_NORMAL, scale * after->u_tip_height,
                              optics);
  /* Top and base both move outward. */
  wsi_quantity_add_seen_line (q, "tonal encoding and threshold", WS_DISTRIBUTION_RECTANGULAR,
                              level_u (work, 2, 2), optics);
  wsi_quantity_add_seen_line (q, "unknown lens", WS_DISTRIBUTION_RECTANGULAR,
                              lens_height_u (work, before->edge.at, before->tip_height, value),
                              optics);
  wsi_quantity_add_scale_line (q, optics);
  wsi_quantity_combine (q);
}

static void
tell_reference (const Work *work, WsResult *result)
{
  static const char *const words[WS_N_REFERENCES] = {
    [WS_REFERENCE_TOOL] = "the part of the tool that wasn't ground",
    [WS_REFERENCE_STOP] = "what lies beside the tool; it has to be fixed to the stop that the tool "
                          "lay against both times",
    [WS_REFERENCE_CAMERA] = "the picture's frame; neither camera nor stop may have moved, and the "
                            "tool lay against the stop both times",
  };
  if (work->reference == WS_REFERENCE_CAMERA)
    wsi_result_add_finding (result, "laid-on",
                            g_strdup_printf ("Compared by %s.", words[work->reference]), NULL);
  else
    wsi_result_add_finding (result, "laid-on",
                            g_strdup_printf ("Compared by %s: %u places of it agree to %.2f px.",
                                             words[work->reference], work->laid.n,
                                             work->laid.scatter),
                            NULL);
  if (work->reference != WS_REFERENCE_TOOL && !work->picture[0]->optics->has_scale)
    wsi_result_add_finding (
      result, "seat-not-counted",
      g_strdup ("Without a scale U leaves out how well the tool seats against "
                "the stop, 0.01 mm each time."),
      NULL);
}

static gboolean
same_optics (const Work *work, WsResult *result)
{
  return work->picture[0]->optics->has_scale == work->picture[1]->optics->has_scale ||
         wsi_result_retake (result, WS_RETAKE_WRONG_VIEW,
                            "one picture has a scale and the other has none");
}

static void
measure (Work *work, WsResult *result)
{
  static const char *const which[2] = { "before", "after" };
  const gboolean has_scale = work->picture[0]->optics->has_scale;
  for (guint i = 0; i < 2; i++)
    if (!wsi_edge_places_find (work->places[i].kind, work->picture[i]->image,
                               work->picture[i]->optics, &work->places[i], result))
    {
      g_autofree char *detail = g_strdup (result->detail);
      wsi_result_retake (result, result->reason, "picture %s: %s", which[i],
                         detail != NULL ? detail : "");
      return;
    }
  /* What was found while they were looked for is told where each is measured. */
  g_ptr_array_set_size (result->findings, 0);
  if (!same_optics (work, result) || !lay (work, result))
    return;
  WsEdgePlace places[2] = { work->places[0].edge, work->places[1].edge };
  if (work->places[0].kind == WS_EDGE_PROFILE && !find_profile (work, places, result))
    return;
  set_length (work, places, wsi_result_add_quantity (result, &quantities[SHORTER], has_scale));
  const WsEdgePlace points[2] = { work->places[0].point, work->places[1].point };
  if (work->places[0].kind == WS_EDGE_DRILL)
    set_length (work, points,
                wsi_result_add_quantity (result, &quantities[SHORTER_AT_POINT], has_scale));
  if (work->places[0].kind == WS_EDGE_TIP)
    set_lower (work, result);
  tell_reference (work, result);
}

WsResult *
ws_set_out_measure (const WsView *view, const WsSetOutPicture *before, const WsSetOutPicture *after,
                    WsReference reference)
{
  const WsEdgeKind kind = wsi_edge_kind (view);
  g_return_val_if_fail (kind != WS_N_EDGES && reference < WS_N_REFERENCES, NULL);
  WsResult *result = wsi_result_new (view->name);
  Work work = { .picture = { before, after }, .reference = reference };
  work.places[0].kind = work.places[1].kind = kind;
  measure (&work, result);
  for (guint i = 0; i < 2; i++)
    wsi_edge_places_clear (&work.places[i]);
  /* The outlines of two pictures make no picture. */
  g_ptr_array_set_size (result->marks, 0);
  return result;
}
