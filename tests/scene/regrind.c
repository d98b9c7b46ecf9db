#include "regrind.h"

#include <math.h>

#include "blade.h"
#include "profile.h"

#define DEG (G_PI / 180.0)

const char *
scene_regrind_name (SceneRegrindKind kind)
{
  static const char *const names[] = { "drill", "blade", "side", "form", "spot" };
  return kind < SCENE_N_REGRINDS ? names[kind] : NULL;
}

/* A tool's outline in its own frame, mm, and what is measured of it there, along y (from the side
 * along x): its edge, a drill's point, and the tip's height. */
typedef struct
{
  ScenePolygon outline;
  double edge, point, height;
  double half; /* of its width, beside which the bar lies */
} Tool;

/* ---- The tools
 * ------------------------------------------------------------------------------------ */

static Tool
drill_of (const SceneDrill *drill, double bottom)
{
  SceneTruth truth;
  Tool tool = { .outline = scene_drill_outline (drill, 0, 0, bottom, &truth) };
  tool.half = 0.5 * drill->diameter;
  return tool;
}

/* Along the direction (x, y), from the frame's origin. */
static double
foremost (const ScenePolygon *outline, double x, double y)
{
  double most = -G_MAXDOUBLE;
  for (gsize i = 0; i < outline->n; i++)
    most = MAX (most, x * outline->points[i].x + y * outline->points[i].y);
  return most;
}

static Tool
blade_of (const SceneBladePlan *blade, double reach)
{
  SceneBladePlanTruth truth;
  Tool tool = { .outline = scene_blade_plan_outline (blade, reach, &truth) };
  /* Along the middle of both sides. */
  const double lean = 0.5 * (blade->clearance_left - blade->clearance_right) * DEG;
  tool.edge = foremost (&tool.outline, -sin (lean), cos (lean));
  tool.half = 0.5 * blade->width;
  return tool;
}

/* Its tip lies at x 0, half of its height up; the base is as far down. */
static Tool
side_of (const SceneBladeSide *side, double reach)
{
  Tool tool = { .outline = scene_blade_side_outline (side, reach) };
  tool.height = side->height;
  tool.half = 0.0;
  return tool;
}

/* ---- The pictures
 * ------------------------------------------------------------------------------------ */

static ScenePoint
project (const SceneCamera *camera, double x, double y)
{
  ScenePoint point = { x, y };
  ScenePolygon polygon = { &point, 1, 1.0 };
  scene_camera_project (camera, &polygon);
  return point;
}

static ScenePolygon
bar_of (SceneRng *rng, const Tool *tool, double px)
{
  const double side = scene_rng_next (rng) % 2 == 0 ? 1.0 : -1.0;
  const double from = tool->half + px * scene_rng_uniform (rng, 50.0, 90.0);
  const double wide = px * scene_rng_uniform (rng, 35.0, 60.0);
  const double low = px * scene_rng_uniform (rng, -120.0, -40.0);
  const double high = low + px * scene_rng_uniform (rng, 90.0, 160.0);
  const ScenePoint corners[4] = { { side * from, low },
                                  { side * (from + wide), low },
                                  { side * (from + wide), high },
                                  { side * from, high } };
  ScenePolygon bar = { g_new (ScenePoint, 4), 4, 1.0 };
  for (guint i = 0; i < 4; i++)
    bar.points[i] = corners[i];
  return bar;
}

/* The tool's frame lies at `at` in that of the bar; both are seen by the camera. */
static SceneImage *
take (const Tool *tool, const ScenePolygon *bar, ScenePoint at, const SceneCamera *camera)
{
  SceneCamera on_tool = *camera;
  const ScenePoint origin = project (camera, at.x, at.y);
  on_tool.origin_x = origin.x;
  on_tool.origin_y = origin.y;
  ScenePolygon both[2] = { { g_new (ScenePoint, tool->outline.n), tool->outline.n, 1.0 },
                           { g_new (ScenePoint, bar->n), bar->n, 1.0 } };
  for (gsize i = 0; i < tool->outline.n; i++)
    both[0].points[i] = tool->outline.points[i];
  for (gsize i = 0; i < bar->n; i++)
    both[1].points[i] = bar->points[i];
  scene_camera_project (&on_tool, &both[0]);
  scene_camera_project (camera, &both[1]);
  SceneImage *image = scene_render_polygons (both, 2, &on_tool);
  for (guint i = 0; i < 2; i++)
    scene_polygon_clear (&both[i]);
  return image;
}

static void
aim (SceneRng *rng, double width, double share, SceneCamera *camera)
{
  scene_camera_init (camera);
  scene_aim_blade (camera, width, share);
  camera->roll_deg = scene_rng_uniform (rng, -180.0, 180.0);
  scene_random_light (rng, camera);
  camera->blur_px = scene_rng_uniform (rng, 0.7, 1.8);
  camera->dust_body = 0;
}

/* Another day: the camera was touched, the light is another, the focus too. */
static SceneCamera
another_day (SceneRng *rng, const SceneCamera *first)
{
  SceneCamera second = *first;
  second.roll_deg += scene_rng_uniform (rng, -1.5, 1.5);
  second.origin_x += scene_rng_uniform (rng, -25.0, 25.0);
  second.origin_y += scene_rng_uniform (rng, -25.0, 25.0);
  second.blur_px = scene_rng_uniform (rng, 0.7, 1.8);
  second.back *= scene_rng_uniform (rng, 0.85, 1.05);
  second.seed = scene_rng_next (rng);
  return second;
}

/* `at`: where the second tool's frame lies in that of the bar, and of the first.  Takes over the
 * outlines. */
static void
take_both (SceneRng *rng, Tool tools[2], ScenePolygon bar, ScenePoint at, const SceneCamera *camera,
           SceneRegrind *regrind)
{
  const SceneCamera second = another_day (rng, camera);
  const ScenePoint first_at = { 0.0, 0.0 };
  regrind->mm_per_px = camera->mm_per_px;
  regrind->before = take (&tools[0], &bar, first_at, camera);
  regrind->after = take (&tools[1], &bar, at, &second);
  scene_polygon_clear (&bar);
  for (guint k = 0; k < 2; k++)
    scene_polygon_clear (&tools[k].outline);
}

/* ---- Regrinds
 * ------------------------------------------------------------------------------------------ */

static void
grind_drill (SceneRng *rng, gboolean is_spot, SceneRegrind *regrind)
{
  SceneDrill was, is;
  SceneCamera camera;
  scene_drill_init (&was, scene_rng_uniform (rng, 3.0, 13.0));
  if (is_spot)
  {
    was.design_half_angle = was.half_angle_a = was.half_angle_b = 45.0;
    was.web *= 0.7;
  }
  aim (rng, was.diameter, scene_rng_uniform (rng, 0.3, 0.36), &camera);
  camera.origin_x += 0.15 * camera.height * sin (camera.roll_deg * DEG);
  camera.origin_y -= 0.15 * camera.height * cos (camera.roll_deg * DEG);
  is = was;
  was.corner_a = was.diameter * scene_rng_uniform (rng, 0.0, 0.015);
  was.corner_b = was.diameter * scene_rng_uniform (rng, 0.0, 0.015);
  const double px = camera.mm_per_px, gone = px * scene_rng_uniform (rng, 3.0, 60.0);
  const double bottom = -1.5 * hypot (camera.width, camera.height) * px;
  Tool tools[2] = { drill_of (&was, bottom), drill_of (&is, bottom) };
  const ScenePoint at = { px * scene_rng_uniform (rng, -2.0, 2.0), -gone };
  take_both (rng, tools, bar_of (rng, &tools[0], px), at, &camera, regrind);
  regrind->shorter = regrind->shorter_at_point = gone;
}

static void
drill (SceneRng *rng, SceneRegrind *regrind)
{
  grind_drill (rng, FALSE, regrind);
}

static void
spot_drill (SceneRng *rng, SceneRegrind *regrind)
{
  grind_drill (rng, TRUE, regrind);
}

static void
blade (SceneRng *rng, SceneRegrind *regrind)
{
  SceneBladePlan was, is;
  SceneCamera camera;
  scene_blade_plan_init (&was, scene_rng_uniform (rng, 1.5, 4.0));
  was.rake_deg = (scene_rng_next (rng) % 2 == 0 ? 1.0 : -1.0) * scene_rng_uniform (rng, 3.0, 12.0);
  was.clearance_left = scene_rng_uniform (rng, 0.8, 2.0);
  was.clearance_right = scene_rng_uniform (rng, 0.8, 2.0);
  was.seed = scene_rng_next (rng);
  aim (rng, was.width, scene_rng_uniform (rng, 0.3, 0.4), &camera);
  const double px = camera.mm_per_px, gone = px * scene_rng_uniform (rng, 3.0, 60.0);
  is = was;
  was.radius_left = was.width * scene_rng_uniform (rng, 0.0, 0.05);
  was.radius_right = was.width * scene_rng_uniform (rng, 0.0, 0.05);
  is.rake_deg += scene_rng_uniform (rng, -1.0, 1.0);
  /* The sides stay; the blade is narrower farther back. */
  is.width -= gone * (tan (was.clearance_left * DEG) + tan (was.clearance_right * DEG));
  const double reach = 1.5 * hypot (camera.width, camera.height) * px;
  Tool tools[2] = { blade_of (&was, reach), blade_of (&is, reach) };
  const ScenePoint at = { px * scene_rng_uniform (rng, -2.0, 2.0), -gone };
  regrind->shorter = gone + tools[0].edge - tools[1].edge;
  take_both (rng, tools, bar_of (rng, &tools[0], px), at, &camera, regrind);
}

/* The front is ground, the top, or both. */
static void
side (SceneRng *rng, SceneRegrind *regrind)
{
  SceneBladeSide was = { .height = scene_rng_uniform (rng, 12.0, 26.0) }, is;
  SceneCamera camera;
  was.relief_deg = scene_rng_uniform (rng, 6.0, 14.0);
  was.top_rake_deg = scene_rng_uniform (rng, 0.0, 8.0);
  was.mirrored = scene_rng_next (rng) % 2 == 0;
  aim (rng, was.height, scene_rng_uniform (rng, 0.3, 0.4), &camera);
  const guint what = (guint)(scene_rng_next (rng) % 3);
  const double px = camera.mm_per_px;
  const double front = what != 1 ? px * scene_rng_uniform (rng, 3.0, 60.0) : 0.0;
  const double top = what != 0 ? px * scene_rng_uniform (rng, 3.0, 30.0) : 0.0;
  is = was;
  is.height -= top;
  if (what != 1)
    is.relief_deg += scene_rng_uniform (rng, -1.0, 1.0);
  /* The tip goes down the old front when the top is ground. */
  const double gone = front + top * tan (was.relief_deg * DEG);
  const double reach = 1.5 * hypot (camera.width, camera.height) * px;
  Tool tools[2] = { side_of (&was, reach), side_of (&is, reach) };
  const double ahead = was.mirrored ? -1.0 : 1.0;
  /* The base stays where it was. */
  const ScenePoint at = { -ahead * gone, -0.5 * top };
  ScenePolygon bar = { g_new (ScenePoint, 4), 4, 1.0 };
  const double from = ahead * px * scene_rng_uniform (rng, 60.0, 100.0);
  const double to = from + ahead * px * scene_rng_uniform (rng, 40.0, 70.0);
  const double low = px * scene_rng_uniform (rng, -100.0, 0.0), high = low + 120.0 * px;
  bar.points[0] = (ScenePoint){ from, low };
  bar.points[1] = (ScenePoint){ to, low };
  bar.points[2] = (ScenePoint){ to, high };
  bar.points[3] = (ScenePoint){ from, high };
  take_both (rng, tools, bar, at, &camera, regrind);
  regrind->shorter = gone;
  regrind->lower = top;
}

static void
form (SceneRng *rng, SceneRegrind *regrind)
{
  SceneProfile profile;
  SceneCamera camera;
  scene_profile_random (scene_rng_next (rng), &profile, &camera);
  camera.width = 1600;
  camera.height = 1200;
  profile.depth = 100.0;
  scene_random_light (rng, &camera);
  camera.dust_body = 0;
  camera.blur_px = scene_rng_uniform (rng, 0.7, 1.6);
  scene_profile_aim (&profile, &camera, scene_rng_uniform (rng, 0.36, 0.44));
  const double px = camera.mm_per_px, gone = px * scene_rng_uniform (rng, 3.0, 60.0);
  Tool tools[2] = { { .outline = scene_profile_outline (&profile) },
                    { .outline = scene_profile_outline (&profile) } };
  double left = G_MAXDOUBLE, right = -G_MAXDOUBLE;
  for (gsize i = 0; i < tools[0].outline.n; i++)
  {
    left = MIN (left, tools[0].outline.points[i].x);
    right = MAX (right, tools[0].outline.points[i].x);
  }
  /* The bar lies beside the right or the left side. */
  for (guint k = 0; k < 2; k++)
    for (gsize i = 0; i < tools[k].outline.n; i++)
      tools[k].outline.points[i].x -= 0.5 * (left + right);
  const double roll = camera.roll_deg * DEG, by = 0.5 * (left + right) / px;
  camera.origin_x += by * cos (roll);
  camera.origin_y += by * sin (roll);
  tools[0].half = 0.5 * (right - left);
  const ScenePoint at = { px * scene_rng_uniform (rng, -2.0, 2.0), -gone };
  take_both (rng, tools, bar_of (rng, &tools[0], px), at, &camera, regrind);
  regrind->shorter = gone;
}

void
scene_regrind (SceneRegrindKind kind, guint64 seed, SceneRegrind *regrind)
{
  static void (*const kinds[SCENE_N_REGRINDS]) (SceneRng *, SceneRegrind *) = { drill, blade, side,
                                                                                form, spot_drill };
  SceneRng rng;
  *regrind = (SceneRegrind){ .mm_per_px = 1.0 };
  scene_rng_init (&rng, 1000151 * seed + (guint64)kind);
  kinds[kind](&rng, regrind);
}

void
scene_regrind_clear (SceneRegrind *regrind)
{
  g_clear_pointer (&regrind->before, scene_image_free);
  g_clear_pointer (&regrind->after, scene_image_free);
}
