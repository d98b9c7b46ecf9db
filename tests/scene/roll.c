/* A drill rolled in a V-block. */
#include "roll.h"

#include "lens.h"
#include "solid.h"

#include <math.h>

/* --- Truth ----------------------------------------------------------------- */

/* Axial clearance at radius r on a lip: how steeply the flank falls along the circle. */
static double
relief_at (const Solid *solid, int lip, double r)
{
  const double s = sqrt (r * r - solid->half_web * solid->half_web);
  const Vec3 p = solid_lip_point (solid, lip, s);
  const double step = 1e-5, c = cos (step), d = sin (step);
  /* Behind a right-hand drill's lip the flank goes clockwise, as its point is seen. */
  const double back = solid_flank_height (solid, lip, p.x * c + p.y * d, -p.x * d + p.y * c);
  return atan ((p.z - back) / (step * hypot (p.x, p.y))) / SCENE_DEG;
}

/* How far a lip lies behind the axis, so far along it; the lips lie across x. */
static double
behind_at (const Solid *solid, int lip, double x)
{
  double low = 0, high = solid->radius;
  for (int i = 0; i < 50; i++)
  {
    const double s = 0.5 * (low + high);
    if (fabs (solid_lip_point (solid, lip, s).x) < x)
      low = s;
    else
      high = s;
  }
  return fabs (solid_lip_point (solid, lip, low).y);
}

static double
chisel_angle (const Solid *solid)
{
  const Vec3 a = solid_lip_point (solid, LIP_A, solid_lip_start (solid, LIP_A));
  const Vec3 b = solid_lip_point (solid, LIP_B, solid_lip_start (solid, LIP_B));
  const double angle = atan2 (b.y - a.y, b.x - a.x) / SCENE_DEG;
  return 180 - fabs (angle);
}

void
scene_roll_truth (const SceneRoll *roll, SceneRollTruth *truth)
{
  const SceneView square = { 0 };
  const SceneDrill *drill = &roll->drill;
  ScenePolygon outline = scene_drill_seen (drill, &square, -2 * drill->diameter, &truth->point);
  scene_polygon_clear (&outline);
  const double mirror = drill->left_hand ? -1 : 1;
  const ScenePoint far = { roll->bend.x - roll->far * roll->bend_tilt.x,
                           roll->bend.y - roll->far * roll->bend_tilt.y };
  truth->run_out_point_mm = 2 * hypot (roll->bend.x, roll->bend.y);
  truth->run_out_far_mm = 2 * hypot (far.x, far.y);
  truth->bend_tilt_deg = atan (hypot (roll->bend_tilt.x, roll->bend_tilt.y)) / SCENE_DEG;
  truth->bend_direction_deg = atan2 (roll->bend.y, mirror * roll->bend.x) / SCENE_DEG;
  truth->helix_deg = drill->helix_deg;
  truth->lead_mm = G_PI * drill->diameter / tan (drill->helix_deg * SCENE_DEG);
  truth->margin_width_mm = drill->margin * cos (drill->helix_deg * SCENE_DEG);
  truth->body_clearance_mm = drill->clearance;
  Solid solid;
  solid_init (&solid, drill);
  for (int k = 0; k < 2; k++)
  {
    const int lip = (k == 0) != drill->left_hand ? LIP_A : LIP_B;
    truth->lip_relief_deg[k][0] = relief_at (&solid, lip, solid.radius);
    truth->lip_relief_deg[k][1] = relief_at (&solid, lip, 0.5 * solid.radius);
  }
  truth->web_mm =
    behind_at (&solid, LIP_A, 0.57 * solid.radius) + behind_at (&solid, LIP_B, 0.57 * solid.radius);
  truth->chisel_edge_angle_deg = chisel_angle (&solid);
  solid_clear (&solid);
}

/* --- Pictures -------------------------------------------------------------- */

SceneImage *
scene_render_roll (const SceneRoll *roll, guint i)
{
  const SceneRollFrame *frame = &roll->frame[i];
  const SceneDrill *drill = &roll->drill;
  const double mirror = drill->left_hand ? -1 : 1;
  const double c = cos (frame->turn_deg * SCENE_DEG), s = sin (frame->turn_deg * SCENE_DEG);
  const ScenePoint slope = { roll->bend_tilt.x * c - roll->bend_tilt.y * s,
                             roll->bend_tilt.x * s + roll->bend_tilt.y * c };
  SceneCamera camera = roll->camera;
  const SceneView view = { .turn_deg = frame->turn_deg,
                           .tilt_deg = camera.tilt_deg - atan (slope.y) / SCENE_DEG,
                           .distance = camera.distance_mm,
                           .foot = lens_foot (&camera) };
  const double reach = 2.0 * hypot (camera.width, camera.height) * camera.mm_per_px;
  ScenePolygon outline = scene_drill_seen (drill, &view, -reach, NULL);
  const double corners = -0.5 * drill->diameter / tan (drill->design_half_angle * SCENE_DEG);
  const double lift = roll->lobes * cos (3 * frame->turn_deg * SCENE_DEG);
  const double across = mirror * (roll->bend.x * c - roll->bend.y * s) + frame->across + lift;
  const double turn = atan (mirror * slope.x) + frame->wobble_deg * SCENE_DEG;
  for (gsize k = 0; k < outline.n; k++)
  {
    ScenePoint *p = &outline.points[k];
    const double z = p->y - corners, u = p->x;
    const double lever = frame->wobble_deg * SCENE_DEG * roll->pivot;
    p->x = across + lever + u * cos (turn) + z * sin (turn);
    p->y = corners + frame->along + z * cos (turn) - u * sin (turn);
  }
  scene_camera_project (&camera, &outline);
  camera.dust = frame->dust;
  camera.seed += i;
  SceneImage *image = scene_render_polygons (&outline, 1, &camera);
  scene_polygon_clear (&outline);
  return image;
}

/* --- Whole series ------------------------------------------------------------ */

static ScenePoint
random_direction (SceneRng *rng, double length)
{
  const double angle = scene_rng_uniform (rng, 0, 2 * G_PI);
  const ScenePoint p = { length * cos (angle), length * sin (angle) };
  return p;
}

/* Bent in its shank: it leaves the line in one direction and goes on that way. */
static void
random_bend (SceneRng *rng, SceneRoll *roll)
{
  const double D = roll->drill.diameter;
  const double out = scene_rng_uniform (rng, 0, 1) < 0.3 ? 0.003 : 0.06;
  const double reach = scene_rng_uniform (rng, 2, 6) * D;
  roll->bend = random_direction (rng, scene_rng_uniform (rng, 0.2, 1) * out);
  roll->bend_tilt.x = roll->bend.x / reach;
  roll->bend_tilt.y = roll->bend.y / reach;
}

static void
random_frames (SceneRng *rng, SceneRoll *roll)
{
  roll->n = (guint)scene_rng_uniform (rng, 16, 33);
  const double turns = scene_rng_uniform (rng, 1.05, 1.4);
  const double direction = scene_rng_uniform (rng, 0, 1) < 0.5 ? -1 : 1;
  const double block = scene_rng_uniform (rng, 0.0005, 0.003);
  const double wobble = scene_rng_uniform (rng, 0.001, 0.006);
  double turn = scene_rng_uniform (rng, -180, 180);
  for (guint i = 0; i < roll->n; i++)
  {
    const SceneRollFrame frame = { .turn_deg = turn,
                                   .across = block * scene_rng_normal (rng),
                                   .along = block * scene_rng_normal (rng),
                                   .wobble_deg = wobble * scene_rng_normal (rng),
                                   .dust = (guint)scene_rng_uniform (rng, 0, 20) };
    roll->frame[i] = frame;
    turn += direction * 360 * turns / roll->n * scene_rng_uniform (rng, 0.6, 1.4);
  }
}

void
scene_random_roll (guint64 seed, SceneRoll *roll)
{
  static const SceneMode modes[] = { SCENE_GOOD, SCENE_UNEQUAL, SCENE_OFFSET, SCENE_HEIGHT };
  SceneRng rng;
  scene_rng_init (&rng, seed ^ G_GUINT64_CONSTANT (0x4011));
  const SceneRoll none = { .n = 0 };
  *roll = none;
  scene_random (seed, modes[scene_rng_next (&rng) % G_N_ELEMENTS (modes)], &roll->drill,
                &roll->camera);
  SceneCamera *camera = &roll->camera;
  scene_camera_aim (camera, &roll->drill, scene_rng_uniform (&rng, 0.28, 0.4));
  camera->tilt_deg = 0.3 * scene_rng_normal (&rng);
  random_bend (&rng, roll);
  roll->far = scene_rng_uniform (&rng, 1.2, 1.6) * roll->drill.diameter;
  roll->pivot = roll->far + 1.5 * roll->drill.diameter;
  random_frames (&rng, roll);
}

void
scene_bent_drill (SceneRoll *roll)
{
  SceneRng rng;
  scene_rng_init (&rng, 8);
  const SceneRoll none = { .n = 18, .bend = { 0.072, 0.096 }, .bend_tilt = { 0.0018, 0.0024 } };
  *roll = none;
  scene_drill_init (&roll->drill, 7.991);
  roll->drill.half_angle_a = 59.15;
  roll->drill.half_angle_b = 58.9;
  SceneCamera *camera = &roll->camera;
  scene_camera_init (camera);
  camera->width = 800;
  camera->height = 600;
  camera->roll_deg = 83;
  scene_camera_aim (camera, &roll->drill, 0.42);
  camera->shot = 0.003;
  camera->read = 0.0005;
  camera->tilt_deg = 0.2;
  roll->far = 12;
  roll->pivot = 24;
  for (guint i = 0; i < roll->n; i++)
  {
    const SceneRollFrame frame = { .turn_deg = 21.5 * i + scene_rng_uniform (&rng, -6, 6),
                                   .across = 0.001 * scene_rng_normal (&rng),
                                   .along = 0.001 * scene_rng_normal (&rng),
                                   .wobble_deg = 0.002 * scene_rng_normal (&rng),
                                   .dust = i % 4 };
    roll->frame[i] = frame;
  }
}

static void
put (GString *json, const char *name, double value)
{
  char text[G_ASCII_DTOSTR_BUF_SIZE];
  g_string_append_printf (json, "\"%s\": %s, ", name, g_ascii_dtostr (text, sizeof text, value));
}

char *
scene_roll_json (const SceneRoll *roll, const SceneRollTruth *truth)
{
  GString *json = g_string_new ("{\"view\": \"drill-roll\", ");
  g_string_append_printf (json, "\"pictures\": %u, ", roll->n);
  put (json, "mm_per_px", roll->camera.mm_per_px);
  put (json, "run_out_point_mm", truth->run_out_point_mm);
  put (json, "run_out_far_mm", truth->run_out_far_mm);
  put (json, "bend_tilt_deg", truth->bend_tilt_deg);
  put (json, "bend_direction_deg", truth->bend_direction_deg);
  put (json, "lead_mm", truth->lead_mm);
  put (json, "helix_deg", truth->helix_deg);
  put (json, "point_angle_deg", truth->point.point_angle_deg);
  put (json, "lip_height_difference_mm", truth->point.lip_height_difference_mm);
  put (json, "point_offset_mm", truth->point.point_offset_mm);
  put (json, "diameter_mm", truth->point.diameter_mm);
  g_string_truncate (json, json->len - 2);
  g_string_append (json, "}");
  return g_string_free (json, FALSE);
}
