/*
 * The budgets of blades: which lines each has, what their inputs are uncertain by, and how the
 * quantity follows by geometry written anew here.  No line may be there that isn't listed.
 */
#include "base/geometry.h"
#include "reference/budget_lines.h"
#include "scene/blade.h"

/* ---- Blades, geometry written anew ----------------------------------------------------- */

/* A straight edge: its middle, which it turns about, mm, and its direction; outward is to the left
 * of that. */
typedef struct
{
  WsPoint at;
  double angle;
} Edge;

#define N_EDGES 3

typedef void (*Geometry) (const Edge edges[N_EDGES], double *out);

static WsPoint
along (double angle)
{
  return wsi_point (cos (angle), sin (angle));
}

static WsPoint
meet (const Edge *a, const Edge *b)
{
  const WsPoint u = along (a->angle), v = along (b->angle), off = wsi_point_sub (b->at, a->at);
  return wsi_point_along (a->at, wsi_point_cross (off, v) / wsi_point_cross (u, v), u);
}

/* Change of quantity `i`, in size, by a px outward or a rad of one edge, or a px outward of all
 * (edge -1). */
static double
change_of (const Edge edges[N_EDGES], Geometry geometry, guint i, int edge, gboolean turned,
           double mm)
{
  const double step = 1e-5;
  double out[2][8];
  for (guint way = 0; way < 2; way++)
  {
    Edge moved[N_EDGES];
    const double by = way == 0 ? -step : step;
    for (int e = 0; e < N_EDGES; e++)
    {
      const WsPoint outward = along (edges[e].angle + G_PI / 2);
      moved[e] = edges[e];
      if (e == edge && turned)
        moved[e].angle += by;
      else if (e == edge || edge < 0)
        moved[e].at = wsi_point_along (moved[e].at, by * mm, outward);
    }
    geometry (moved, out[way]);
  }
  return fabs (out[1][i] - out[0][i]) / (2 * step);
}

/* An edge as its ends then tell it. */
static Edge
bent_edge (const Edge *edge, double length, double corner)
{
  const WsPoint half = wsi_point_along (wsi_point (0, 0), 0.5 * length, along (edge->angle));
  const WsPoint a = bent (wsi_point_sub (edge->at, half), corner),
                b = bent (wsi_point_add (edge->at, half), corner), run = wsi_point_sub (b, a);
  const double turn = atan2 (run.y, run.x) - edge->angle;
  return (Edge){ wsi_point_along (a, 0.5, run), edge->angle + remainder (turn, 2 * G_PI) };
}

/* Names by edge, place and direction; how long each edge is, px. */
typedef struct
{
  Edge edges[N_EDGES];
  double length_px[N_EDGES];
  const char *names[N_EDGES][2];
  Geometry geometry;
  double mm;
  double corner; /* the picture's, from its middle, mm */
} Blade;

/* Change of quantity `i` by the lens. */
static Line
lens_line_of (const WsResult *result, const Blade *blade, guint i, const char *stem, double unit)
{
  double straight[8], other[8];
  Edge edges[N_EDGES];
  for (int e = 0; e < N_EDGES; e++)
    edges[e] = bent_edge (&blade->edges[e], blade->length_px[e] * blade->mm, blade->corner);
  blade->geometry (blade->edges, straight);
  blade->geometry (edges, other);
  const double anywhere = unit == DEGREES ? ANYWHERE_DEG : ANYWHERE_SHARE * value_of (result, stem);
  return lens_line (anywhere, unit * fabs (other[i] - straight[i]));
}

/* The lines from edges that change quantity `i`, then `more`. */
static void
check_blade (const WsResult *result, const Blade *blade, guint i, const char *stem, double unit,
             const Line *more, gsize n_more)
{
  Line lines[16];
  gsize n = 0;
  for (int e = 0; e < N_EDGES; e++)
    for (int k = 0; k < 2; k++)
    {
      const double slope = unit * change_of (blade->edges, blade->geometry, i, e, k, blade->mm);
      const double n_px = blade->length_px[e];
      const double u = k == 0 ? place_u (n_px) : direction_u (n_px);
      /* How long an edge is seen tells its middle, and so what a turn does. */
      if (slope > 1e-8)
        lines[n++] = (Line){ blade->names[e][k], u, ROUGH, slope, ROUGH };
    }
  const double all = unit * change_of (blade->edges, blade->geometry, i, -1, FALSE, blade->mm);
  if (all > 1e-8)
    lines[n++] = (Line){ "tonal encoding and threshold", 0.003 * blur (), NEAR, all, NEAR };
  lines[n++] = lens_line_of (result, blade, i, stem, unit);
  for (gsize k = 0; k < n_more; k++)
    lines[n++] = more[k];
  check (result, stem, lines, n);
}

#define CHECK_BLADE(result, blade, i, stem, unit, ...)                                             \
  check_blade (result, blade, i, stem, unit, (const Line[]){ __VA_ARGS__ },                        \
               sizeof ((const Line[]){ __VA_ARGS__ }) / sizeof (Line))

/* Half of one degree squared: what a tilt shortens by. */
static double
shortening (void)
{
  return 0.5 * pow (wsi_radians (1), 2);
}

static Line
tilt_line (double acts, double slope)
{
  return (Line){ "alignment: blade tilted", acts * shortening (), NEAR, slope, SAID };
}

/* ---- Blades from above -------------------------------------------------------------------- */

enum
{
  LEFT,
  FRONT,
  RIGHT
};

enum
{
  RAKE,
  WIDTH,
  ADVANCE,
  CLEARANCE
};

/* Ahead is half-way between the sides. */
static void
plan_geometry (const Edge edges[N_EDGES], double *out)
{
  const double ahead = 0.5 * (edges[LEFT].angle + edges[RIGHT].angle + G_PI);
  const WsPoint a = meet (&edges[LEFT], &edges[FRONT]), b = meet (&edges[RIGHT], &edges[FRONT]);
  const WsPoint run = wsi_point_sub (b, a), across = along (ahead - G_PI / 2);
  out[RAKE] = atan2 (wsi_point_dot (run, along (ahead)), wsi_point_dot (run, across));
  out[WIDTH] = wsi_point_dot (run, across);
  out[ADVANCE] = wsi_point_dot (run, along (ahead));
  out[CLEARANCE] = 0.5 * (edges[LEFT].angle - edges[RIGHT].angle - G_PI);
}

/* Sides are seen from the front, in the picture's middle, to its border. */
static Blade
plan_of (const SceneBladePlanTruth *truth, const SceneCamera *camera)
{
  const double mm = camera->mm_per_px, w = truth->edge_width_mm,
               advance = truth->leading_corner_advance_mm, side = 0.5 * camera->height * mm;
  const double rake = wsi_radians (truth->side_rake_deg),
               left = wsi_radians (truth->side_clearance_left_deg),
               right = wsi_radians (truth->side_clearance_right_deg);
  const WsPoint corners[2] = { { -0.5 * w, -0.5 * advance }, { 0.5 * w, 0.5 * advance } };
  return (Blade){
    .edges = { { wsi_point_along (corners[0], -0.5 * side, along (G_PI / 2 + left)),
                 G_PI / 2 + left },
               { wsi_point (0, 0), rake },
               { wsi_point_along (corners[1], 0.5 * side, along (-G_PI / 2 - right)),
                 -G_PI / 2 - right } },
    .length_px = { side / mm, w / cos (rake) / mm, side / mm },
    .names = { { "edge noise and form, left side place",
                 "edge noise and form, left side direction" },
               { "edge noise and form, front place", "edge noise and form, front direction" },
               { "edge noise and form, right side place",
                 "edge noise and form, right side direction" } },
    .geometry = plan_geometry,
    .mm = mm,
    .corner = half_diagonal (camera),
  };
}

/* How far an edge's middle then lies off its ends, px. */
static double
bow_of (const Blade *blade, guint e)
{
  const Edge *edge = &blade->edges[e];
  const WsPoint half =
    wsi_point_along (wsi_point (0, 0), 0.5 * blade->length_px[e] * blade->mm, along (edge->angle));
  const WsPoint a = bent (wsi_point_sub (edge->at, half), blade->corner),
                b = bent (wsi_point_add (edge->at, half), blade->corner),
                middle = bent (edge->at, blade->corner);
  const WsPoint chord = wsi_point_sub (b, a);
  return fabs (wsi_point_cross (chord, wsi_point_sub (middle, a))) / wsi_point_length (chord) /
         blade->mm;
}

/* What a sharp corner of that angle lacks of being seen is made up for by a radius (B45, B46). */
/* What noise leaves of the light that an arc takes from a corner, c r^2: as a blurred point its
 * light lies on 4 pi s^2 of pixels.  Lines and levels, which are fitted to the same pixels, make it
 * nearly twice as much. */
static double
arc_u (double angle)
{
  const double c = 1 / tan (0.5 * angle) - 0.5 * (G_PI - angle);
  return 1.7 * 1.2 * READ * 2 * sqrt (G_PI) * blur () / c;
}

/* A sharp corner by the light of its pixels, which tells the radius' square. */
static void
check_corner (const WsResult *result, const Blade *blade, guint e, const char *stem, double angle)
{
  static const char *const form = "edges' form and places at the corner",
                           *const lens = "edges bowed by an unknown lens",
                           *const tone = "tonal encoding and threshold";
  const double mm = blade->mm, radius = value_of (result, stem), r = radius / mm;
  /* A bowed edge's end lies two thirds of its bow off its line, over about a blur, which is 1 px.
   */
  const double bowed = hypot (bow_of (blade, e), bow_of (blade, e + 1)) / 1.5 * blur ();
  const double pixels = arc_u (angle),
               all = hypot (hypot (pixels, u_of (result, stem, lens)), u_of (result, stem, form));
  /* More and less by two deviations of the square. */
  const double slope =
    0.51 * mm * fmax (sqrt (r * r + 2 * all) - r, r - sqrt (fmax (r * r - 2 * all, 0))) / all;
  const Line lines[] = { { "pixels at the corner", pixels, ROUGH, slope, ROUGH },
                         { form, u_of (result, stem, form), SAID, slope, ROUGH },
                         { lens, bowed, 6.0, slope, ROUGH },
                         { tone, u_of (result, stem, tone), SAID, slope, ROUGH },
                         scale_line (result, stem, mm) };
  const gsize n = G_N_ELEMENTS (lines);
  /* A radius of 0 has no part of a thousand. */
  Line all_lines[G_N_ELEMENTS (lines) + 1];
  memcpy (all_lines, lines, sizeof lines);
  if (radius > 0)
  {
    all_lines[n - 1] = lens_line (ANYWHERE_SHARE * radius, 0);
    all_lines[n] = lines[n - 1];
  }
  check (result, stem, all_lines, radius > 0 ? n + 1 : n);
}

static void
a_blade_from_above (void **state)
{
  (void)state;
  SceneBladePlan scene;
  SceneBladePlanTruth truth;
  SceneCamera camera = noisy_camera (900, 700);
  scene_blade_plan_init (&scene, 2.0);
  scene_aim_blade (&camera, scene.width, 0.35);
  g_autoptr (SceneImage) picture = scene_render_blade_plan (&scene, &camera, &truth);
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_CUTOFF_BLADE);
  const double mm = camera.mm_per_px, feed = wsi_radians (0.25);
  g_autoptr (WsResult) plan = measured ("blade-plan", picture, card, mm);
  const Blade blade = plan_of (&truth, &camera);
  const double w = truth.edge_width_mm / mm, advance = truth.leading_corner_advance_mm / mm,
               rake = wsi_radians (truth.side_rake_deg),
               clearance = wsi_radians (truth.side_clearance_mean_deg);
  CHECK_BLADE (plan, &blade, RAKE, "side_rake", DEGREES, tilt_line (0.5 * sin (2 * rake), DEGREES));
  CHECK_BLADE (plan, &blade, WIDTH, "edge_width", 1,
               { "alignment: feed against the reference line", feed * advance, NEAR, mm, SAID },
               tilt_line (w, mm), scale_line (plan, "edge_width", mm));
  CHECK_BLADE (plan, &blade, ADVANCE, "leading_corner_advance", 1,
               { "alignment: feed against the reference line", feed * w, NEAR, mm, SAID },
               tilt_line (advance, mm), scale_line (plan, "leading_corner_advance", mm));
  CHECK_BLADE (plan, &blade, CLEARANCE, "side_clearance_mean", DEGREES,
               tilt_line (0.5 * sin (2 * clearance), DEGREES));
  check_corner (plan, &blade, 0, "corner_radius_left", G_PI / 2 + rake - clearance);
  check_corner (plan, &blade, 1, "corner_radius_right", G_PI / 2 - rake - clearance);
  /* A straight front across the picture's middle is bowed by a lens like a piece of a line through
   * it: not at all. */
  const double form = value_of (plan, "edge_straightness");
  /* Of 3.2 deviations of a median over some px. */
  CHECK (plan, "edge_straightness",
         { "edge noise", hypot (3.2 * 0.5 * point_u (), 0.03), ROUGH, mm, SAID },
         { "form softened by blur", 0.18 * form / mm, SAID, mm, SAID },
         lens_line (ANYWHERE_SHARE * form, 0), scale_line (plan, "edge_straightness", mm));
  CHECK (plan, "chip_depth", { "smallest notch seen", 0.006 * w / sqrt (3.0), NEAR, mm, SAID },
         lens_line (0, 0), scale_line (plan, "chip_depth", mm));
  CHECK (plan, "burr_height", { "smallest wire edge seen", 0.5 / sqrt (3.0), NEAR, mm, SAID },
         lens_line (0, 0), scale_line (plan, "burr_height", mm));
  assert_int_equal (n_known (plan), 9);
}

/* ---- Blades from the side ------------------------------------------------------------------ */

enum
{
  TOP,
  SIDE_FRONT,
  BASE
};

enum
{
  RELIEF,
  TOP_RAKE,
  HEIGHT
};

static void
side_geometry (const Edge edges[N_EDGES], double *out)
{
  const WsPoint tip = meet (&edges[TOP], &edges[SIDE_FRONT]);
  out[RELIEF] = edges[BASE].angle - 1.5 * G_PI - edges[SIDE_FRONT].angle;
  out[TOP_RAKE] = edges[TOP].angle - edges[BASE].angle + G_PI;
  out[HEIGHT] =
    -wsi_point_dot (wsi_point_sub (tip, edges[BASE].at), along (edges[BASE].angle + G_PI / 2));
}

/* Top and base are seen from the front, in the picture's middle, to its border. */
static Blade
side_of (const SceneBladeSideTruth *truth, const SceneCamera *camera)
{
  const double mm = camera->mm_per_px, h = truth->tip_height_mm,
               relief = wsi_radians (truth->front_relief_deg),
               rake = wsi_radians (truth->top_rake_deg), back = 0.5 * camera->width * mm;
  const WsPoint tip = { 0, h };
  const double down = -G_PI / 2 - relief;
  return (Blade){
    .edges = { { wsi_point_along (tip, -0.5 * back, along (rake)), rake },
               { wsi_point_along (tip, 0.5 * h / cos (relief), along (down)), down },
               { wsi_point (-0.5 * back - 0.5 * h * tan (relief), 0), G_PI } },
    .length_px = { back / mm, h / cos (relief) / mm, back / mm },
    .names = { { "edge noise and form, top place", "edge noise and form, top direction" },
               { "edge noise and form, front place", "edge noise and form, front direction" },
               { "edge noise and form, base place", "edge noise and form, base direction" } },
    .geometry = side_geometry,
    .mm = mm,
    .corner = half_diagonal (camera),
  };
}

static void
a_blade_from_the_side (void **state)
{
  (void)state;
  const SceneBladeSide scene = { .height = 12, .relief_deg = 9, .top_rake_deg = 4 };
  SceneBladeSideTruth truth;
  SceneCamera camera = noisy_camera (900, 700);
  scene_aim_blade (&camera, scene.height, 0.4);
  g_autoptr (SceneImage) picture = scene_render_blade_side (&scene, &camera, &truth);
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_CUTOFF_BLADE);
  card->side_rake_deg = 7.5;
  const double mm = camera.mm_per_px;
  g_autoptr (WsResult) side = measured ("blade-side", picture, card, mm);
  const Blade blade = side_of (&truth, &camera);
  const double relief = wsi_radians (truth.front_relief_deg),
               top = wsi_radians (truth.top_rake_deg);
  CHECK_BLADE (side, &blade, RELIEF, "front_relief", DEGREES,
               tilt_line (0.5 * sin (2 * relief), DEGREES));
  CHECK_BLADE (side, &blade, TOP_RAKE, "top_rake", DEGREES,
               tilt_line (0.5 * sin (2 * top), DEGREES));
  CHECK_BLADE (side, &blade, HEIGHT, "tip_height", 1, tilt_line (truth.tip_height_mm / mm, mm),
               scale_line (side, "tip_height", mm));
  /* tan (section) = tan (shown) cos (side rake) (B9), by differences. */
  const double card_rake = wsi_radians (card->side_rake_deg), step = 1e-6;
  const double by_relief =
    (atan (tan (relief + step) * cos (card_rake)) - atan (tan (relief - step) * cos (card_rake))) /
    (2 * step);
  const double by_card =
    (atan (tan (relief) * cos (card_rake - step)) - atan (tan (relief) * cos (card_rake + step))) /
    (2 * step);
  const WsQuantity *shown = ws_result_quantity (side, "front_relief");
  CHECK (side, "front_relief_section",
         { "front relief as shown", shown->U / shown->k, SAID, by_relief, SAID },
         { "side rake by the tool card", 0.5, SAID, by_card, 1.01 });
  /* Between top and front. */
  check_corner (side, &blade, TOP, "edge_rounding", G_PI / 2 - relief - top);
  /* What hangs there shows from 2.3 blurs and half a px on. */
  CHECK (side, "burr_height",
         { "smallest wire edge seen", (2.3 * camera.blur_px + 0.5) / sqrt (3.0), NEAR, mm, SAID },
         scale_line (side, "burr_height", mm));
  assert_int_equal (n_known (side), 6);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (a_blade_from_above),
    cmocka_unit_test (a_blade_from_the_side),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
