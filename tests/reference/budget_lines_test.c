/*
 * The budgets of drills seen from the end or square to the margin, and of form tools: which lines
 * each has, what their inputs are uncertain by, and how the quantity follows.  No line may be there
 * that isn't listed.  The budgets of `drill-side` are derived more closely in drill_budget_test.c.
 */
#include <whetsight/contour.h>

#include "base/geometry.h"
#include "reference/budget_lines.h"
#include "scene/profile.h"
#include "scene/tip.h"

/* A tip with a chisel edge that can be told, one whose flanks can, and a clear margin. */
#define CHISEL_SEED 3002
#define FLANKS_SEED 3001
#define RELIEF_SEED 107
#define PROFILE_SEED 7100

/* A picture whose noise tells that its pixels are square and its rows below each other to 0.008. */
#define SHAPE "alignment: picture squeezed or skewed"
#define U_SHAPE (0.008 / sqrt (3.0))

static Line
shape_line (const WsResult *result, const char *stem)
{
  return (Line){ SHAPE, U_SHAPE, SAID, fabs (value_of (result, stem)), SAID };
}

/* ---- The drill's end ----------------------------------------------------------------- */

/* Of lands and colour where there are none: rectangular (L83). */
#define LEAST_PX 3

static void
check_chisel (const WsResult *end, const SceneTipTruth *truth, double mm, double u_enlarged,
              double lip_px)
{
  const double length = truth->chisel_edge_length_mm / mm, web = truth->web_thickness_mm / mm;
  const double acute = wsi_radians (180 - truth->chisel_edge_angle_deg);
  const double u_chisel = u_of (end, "chisel_edge_angle", "chisel edge");
  const double u_lips = sqrt (2.0) * 0.5;
  CHECK (end, "chisel_edge_length", { "lips' places", u_lips / sin (acute), ROUGH, mm, SAID },
         { "chisel edge's direction", length * u_chisel / tan (acute), NEAR, mm, SAID },
         { "perspective", u_enlarged * length, NEAR, mm, SAID },
         scale_line (end, "chisel_edge_length", mm), shape_line (end, "chisel_edge_length"));
  CHECK (end, "web_thickness", { "lips' places", u_lips, ROUGH, mm, SAID },
         { "perspective", u_enlarged * web, NEAR, mm, SAID }, scale_line (end, "web_thickness", mm),
         shape_line (end, "web_thickness"));
  CHECK (end, "lip_parallelism",
         { "lips' directions", sqrt (2.0) * 0.3 / lip_px, ROUGH, DEGREES, SAID },
         { "alignment: camera off the axis", 0.0015, SAID, DEGREES, SAID });
}

static void
the_end_of_a_drill (void **state)
{
  (void)state;
  SceneDrill drill;
  SceneTip tip;
  SceneTipTruth truth;
  scene_random_tip (CHISEL_SEED, &drill, &tip);
  scene_tip_truth (&drill, &truth);
  g_autoptr (SceneImage) picture = scene_render_tip (&drill, &tip);
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_TWIST_DRILL);
  const double mm = tip.mm_per_px, R = 0.5 * drill.diameter / mm;
  g_autoptr (WsResult) end = measured ("drill-end", picture, card, mm);
  /* Brushed facets leave the chisel edge to a tenth of a degree or so.  The middle stands R / tan
   * 59 degrees before the corners, cameras 15 diameters away or more: evenly from nothing to that.
   */
  const double u_enlarged = 0.5 / tan (wsi_radians (59)) / (2 * 15.0) / sqrt (3.0);
  const double web = truth.web_thickness_mm / mm;
  const double lip = sqrt (R * R - 0.25 * web * web) - 0.5 * truth.chisel_edge_length_mm / mm;
  check_chisel (end, &truth, mm, u_enlarged, lip);
  CHECK (end, "chisel_edge_angle", { "chisel edge", wsi_radians (0.1), ROUGH, DEGREES, SAID },
         { "form of the chisel edge", 0.6 * mm / truth.chisel_edge_length_mm, NEAR, DEGREES, SAID },
         { "lips' directions", 0.5 * sqrt (2.0) * 0.3 / lip, ROUGH, DEGREES, SAID },
         { "perspective", 0.5 * web * u_enlarged / R, NEAR, DEGREES, SAID },
         { SHAPE, U_SHAPE * sin (wsi_radians (truth.chisel_edge_angle_deg)), NEAR, DEGREES, SAID });
  CHECK (end, "web_centrality", { "lips' places", 0.5 * sqrt (2.0) * 0.5, ROUGH, mm, SAID },
         { "axis place", 0.003 * R + 0.7, NEAR, mm, SAID }, scale_line (end, "web_centrality", mm),
         shape_line (end, "web_centrality"));
  /* Width w = a (cos h - tan r sin h) of the arc a, h the helix and r the relief: 30 and 10
   * degrees, 3 degrees each. */
  const double h = wsi_radians (30), r = wsi_radians (10), three = wsi_radians (3);
  const double share = cos (h) - tan (r) * sin (h), arc = truth.margin_width_mm / mm / share;
  CHECK (end, "margin_width", { "corner and step", share * 2.5, SAID, mm, SAID },
         { "helix angle not seen", arc * three * (sin (h) + tan (r) * cos (h)), NEAR, mm, SAID },
         { "relief not seen", arc * three * sin (h) / pow (cos (r), 2), NEAR, mm, SAID },
         scale_line (end, "margin_width", mm), shape_line (end, "margin_width"));
}

static void
flanks_without_wear_or_burn (void **state)
{
  (void)state;
  static const struct
  {
    const char *stem, *line;
  } all[] = {
    { "wear_land_mean", "narrowest land seen" },  { "wear_land_max", "narrowest land seen" },
    { "wear_land_a", "where the land ends" },     { "wear_land_b", "where the land ends" },
    { "burn_depth_max", "smallest colour seen" },
  };
  SceneDrill drill;
  SceneTip tip;
  scene_random_tip (FLANKS_SEED, &drill, &tip);
  g_autoptr (SceneImage) picture = scene_render_tip (&drill, &tip);
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_TWIST_DRILL);
  const double mm = tip.mm_per_px;
  g_autoptr (WsResult) end = measured ("drill-end", picture, card, mm);
  for (gsize i = 0; i < G_N_ELEMENTS (all); i++)
    CHECK (end, all[i].stem, { all[i].line, LEAST_PX / sqrt (3.0), SAID, mm, SAID },
           scale_line (end, all[i].stem, mm), shape_line (end, all[i].stem));
  CHECK (end, "burn_length", { "ends of the colour", 4, SAID, mm, SAID },
         scale_line (end, "burn_length", mm), shape_line (end, "burn_length"));
}

static void
the_relief_of_a_lip (void **state)
{
  (void)state;
  SceneDrill drill;
  SceneRelief relief;
  scene_random_relief (RELIEF_SEED, &drill, &relief);
  g_autoptr (SceneImage) picture = scene_render_relief (&drill, &relief);
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_TWIST_DRILL);
  const double mm = relief.mm_per_px, R = 0.5 * drill.diameter / mm;
  g_autoptr (WsResult) seen = measured ("drill-relief", picture, card, mm);
  /* Points that scatter add to 0.1 degrees; the edge bends by some 0.05 (s / R)^2 R; the body's
   * side fills half of the picture or so. */
  CHECK (seen, "lip_relief",
         { "flank's edge and its bow", wsi_radians (0.1), ROUGH, DEGREES, SAID },
         { "place of the corner", 2 * 0.05 / R * 3, ROUGH, DEGREES, SAID },
         { "axis by the body's side", 0.6 / (0.5 * relief.height), ROUGH, DEGREES, SAID },
         { "alignment: view not square to the margin", 0.0015, SAID, DEGREES, SAID },
         { SHAPE, U_SHAPE, NEAR, DEGREES, SAID });
}

/* ---- Form tools ------------------------------------------------------------------------------ */

/* Of the profile's own segments in px. */
static double
radius_px (const SceneProfile *profile, guint i, double mm)
{
  const ScenePoint from = i > 0 ? profile->segments[i - 1].to : profile->start,
                   to = profile->segments[i].to;
  return hypot (to.x - from.x, to.y - from.y) /
         (2 * sin (2 * atan (fabs (profile->segments[i].bulge)))) / mm;
}

/* A fifth of what blur takes off a round of that radius. */
static double
rounding_u (double r)
{
  return 0.2 * blur () * blur () / (2 * r);
}

#define LEVEL_LINE                                                                                 \
  {                                                                                                \
    "tonal encoding and threshold", 0.003 * blur (), NEAR, mm, SAID                                \
  }

/* A lean by half a degree turns a line by up to a quarter of its square. */
static double
lean (void)
{
  return 0.25 * pow (wsi_radians (0.5), 2);
}

/* Half-way between the profile's least and greatest places, which stands in the picture's middle.
 */
static WsPoint
middle_of (const SceneProfile *profile)
{
  WsPoint low = { profile->start.x, profile->start.y }, high = low;
  for (guint i = 0; i < profile->n; i++)
  {
    const ScenePoint p = profile->segments[i].to;
    low = wsi_point (MIN (low.x, p.x), MIN (low.y, p.y));
    high = wsi_point (MAX (high.x, p.x), MAX (high.y, p.y));
  }
  return wsi_point (0.5 * (low.x + high.x), 0.5 * (low.y + high.y));
}

/* A place of segment `i`, `t` from 0 to 1, from the picture's middle; on the chord of an arc at
 * the ends and at half. */
static WsPoint
place_on (const SceneProfile *profile, guint i, double t)
{
  const ScenePoint a = i > 0 ? profile->segments[i - 1].to : profile->start,
                   b = profile->segments[i].to;
  const WsPoint from = { a.x, a.y }, run = wsi_point (b.x - a.x, b.y - a.y);
  /* The bulge is the rise over half the chord, to the right of the run where it is positive. */
  const double rise = 4 * t * (1 - t) * 0.5 * profile->segments[i].bulge;
  const WsPoint on =
    wsi_point_along (wsi_point_along (from, t, run), rise, wsi_point (run.y, -run.x));
  return wsi_point_sub (on, middle_of (profile));
}

static double
heading (WsPoint a, WsPoint b)
{
  return atan2 (b.y - a.y, b.x - a.x);
}

/* Turn of a line by the lens, rad. */
static double
turn_of (const SceneProfile *profile, guint i, double corner)
{
  const WsPoint a = place_on (profile, i, 0), b = place_on (profile, i, 1);
  return remainder (heading (bent (a, corner), bent (b, corner)) - heading (a, b), 2 * G_PI);
}

static double
radius_through (WsPoint a, WsPoint b, WsPoint c)
{
  const WsPoint u = wsi_point_sub (b, a), v = wsi_point_sub (c, a);
  return wsi_point_length (u) * wsi_point_length (v) * wsi_point_distance (b, c) /
         (2 * fabs (wsi_point_cross (u, v)));
}

/* Change of an arc's radius, mm. */
static double
growth_of (const SceneProfile *profile, guint i, double corner)
{
  const WsPoint a = place_on (profile, i, 0), b = place_on (profile, i, 0.5),
                c = place_on (profile, i, 1);
  return fabs (radius_through (bent (a, corner), bent (b, corner), bent (c, corner)) -
               radius_through (a, b, c));
}

/* How far the lens moves the profile's farthest place, of which the best fit leaves a part. */
static double
farthest_move (const SceneProfile *profile, double corner)
{
  double most = 0;
  for (guint i = 0; i < profile->n; i++)
  {
    const WsPoint at = place_on (profile, i, 1);
    most = MAX (most, wsi_point_distance (bent (at, corner), at));
  }
  return most;
}

/* Means over seven points (F36).  The best fit is held by far more than that; what a lean does
 * depends on how far from the profile's middle the greatest deviation happens to lie.  So does what
 * the scale does, which may be nothing, and at most moves the profile's ends. */
static void
check_deviation (const WsResult *form, const SceneProfile *profile, const char *stem, guint segment,
                 double mm, double corner)
{
  const double r = profile->segments[segment].bulge != 0 ? radius_px (profile, segment, mm) : 0;
  const double u_edge = u_of (form, stem, "edge noise"), arm_px = 200;
  const double by_scale = slope_of (form, stem, "scale");
  assert_true (by_scale < 0.5 * profile->segments[profile->n - 1].to.x);
  CHECK (form, stem, { "edge noise", 1.28 * point_u () / sqrt (7), ROUGH, mm, SAID },
         { "edge between pixels", 0.010, SAID, mm, SAID },
         { "greatest of many", 0.6 * u_edge * sqrt (2 * log (100)), NEAR, mm, SAID },
         { "best fit", 0.2 * u_edge, 4, mm, SAID }, LEVEL_LINE,
         { "rounding by blur", r > 0 ? rounding_u (r) : 0, NEAR, mm, SAID },
         { "alignment: plate leaning", lean () * arm_px, 10, mm, SAID },
         { "unknown lens", 0.2 * farthest_move (profile, corner), 10, 1, SAID },
         { "scale", RELATIVE_SCALE, SAID, by_scale, SAID });
}

static WsContour *
drawing_of (const SceneProfile *profile)
{
  g_autofree char *text = scene_profile_text (profile);
  WsContour *contour = ws_contour_parse (text, strlen (text), "form.profile", NULL);
  assert_non_null (contour);
  return contour;
}

/* By length the outline's points tell a line's direction; bow and ends that can't be told add to
 * it (F23, F24). */
static void
check_line (const WsResult *form, const SceneProfile *profile, guint segment, double mm,
            double corner)
{
  const ScenePoint from = segment > 0 ? profile->segments[segment - 1].to : profile->start,
                   to = profile->segments[segment].to;
  const double n = hypot (to.x - from.x, to.y - from.y) / mm;
  g_autofree char *stem = g_strdup_printf ("segment_%u_angle", segment + 1);
  CHECK (form, stem, { "edge noise and form", direction_u (n), 4, DEGREES, SAID },
         { "profile direction", direction_u (1000), 4, DEGREES, SAID },
         { "alignment: plate leaning", lean (), SAID, DEGREES, SAID },
         lens_line (ANYWHERE_DEG, DEGREES * turn_of (profile, segment, corner)));
}

/* (F25) */
static void
check_arc (const WsResult *form, const SceneProfile *profile, guint segment, double mm,
           double corner)
{
  const double r = radius_px (profile, segment, mm),
               turn = 4 * atan (fabs (profile->segments[segment].bulge));
  const double n = turn * r, noise = 1.5 * point_u () * sqrt (5 / n) / (1 - cos (0.5 * turn));
  g_autofree char *stem = g_strdup_printf ("segment_%u_radius", segment + 1);
  CHECK (form, stem, { "edge noise and form", noise, 4, mm, SAID },
         { "rounding by blur", rounding_u (r), NEAR, mm, SAID }, LEVEL_LINE,
         lens_line (ANYWHERE_SHARE * r * mm, growth_of (profile, segment, corner)),
         scale_line (form, stem, mm));
}

/* As uncertain as both its lines' directions. */
static void
check_corner (const WsResult *form, const SceneProfile *profile, guint number, const guint lines[2],
              double corner)
{
  const char *const line = "edge noise and form";
  g_autofree char *stem = g_strdup_printf ("corner_%u_angle", number);
  g_autofree char *first = g_strdup_printf ("segment_%u_angle", lines[0]);
  g_autofree char *second = g_strdup_printf ("segment_%u_angle", lines[1]);
  const double opened =
    turn_of (profile, lines[1] - 1, corner) - turn_of (profile, lines[0] - 1, corner);
  CHECK (form, stem,
         { "edge noise and form, first line", u_of (form, first, line), SAID, DEGREES, SAID },
         { "edge noise and form, second line", u_of (form, second, line), SAID, DEGREES, SAID },
         { "alignment: plate leaning", lean (), SAID, DEGREES, SAID },
         lens_line (ANYWHERE_DEG, DEGREES * opened));
}

/* Whose deviation is the greatest or the least. */
static guint
worst_segment (const WsResult *form, const char *overall, guint n)
{
  for (guint i = 0; i < n; i++)
  {
    g_autofree char *stem = g_strdup_printf ("segment_%u_deviation", i + 1);
    if (value_of (form, stem) == value_of (form, overall))
      return i;
  }
  fail_msg ("%s is no segment's deviation", overall);
  return 0;
}

static void
a_form_tool (void **state)
{
  (void)state;
  SceneProfile profile;
  SceneCamera random, camera = noisy_camera (1400, 1000);
  scene_profile_random (PROFILE_SEED, &profile, &random);
  scene_profile_aim (&profile, &camera, 0.6);
  /* So that it is told where the greatest deviation lies: on the third segment. */
  profile.segments[2].error = 0.03;
  const double mm = camera.mm_per_px, corner = half_diagonal (&camera);
  g_autoptr (SceneImage) picture = scene_render_profile (&profile, &camera);
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_FORM_TOOL);
  card->form.nominal = drawing_of (&profile);
  g_autoptr (WsResult) form = measured ("form-plan", picture, card, mm);
  for (guint i = 0; i < profile.n; i++)
  {
    g_autofree char *stem = g_strdup_printf ("segment_%u_deviation", i + 1);
    check_deviation (form, &profile, stem, i, mm, corner);
    if (profile.segments[i].bulge != 0)
      check_arc (form, &profile, i, mm, corner);
    else
      check_line (form, &profile, i, mm, corner);
  }
  check_corner (form, &profile, 1, (const guint[]){ 5, 7 }, corner);
  check_corner (form, &profile, 2, (const guint[]){ 7, 8 }, corner);
  const char *const overall[] = { "profile_deviation_max", "profile_deviation_min" };
  for (gsize i = 0; i < G_N_ELEMENTS (overall); i++)
    check_deviation (form, &profile, overall[i], worst_segment (form, overall[i], profile.n), mm,
                     corner);
  /* Seven tenths of a px, evenly spread. */
  CHECK (form, "burr_height", { "smallest wire edge seen", 0.7 / sqrt (3.0), NEAR, mm, SAID },
         scale_line (form, "burr_height", mm));
  /* Besides, the root mean square. */
  assert_int_equal (n_known (form), 2 * profile.n + 6);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (the_end_of_a_drill),
    cmocka_unit_test (flanks_without_wear_or_burn),
    cmocka_unit_test (the_relief_of_a_lip),
    cmocka_unit_test (a_form_tool),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
