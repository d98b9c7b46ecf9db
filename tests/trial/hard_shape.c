/* Silhouettes of things that are no such tool.  Drawn as half profiles, point up, in parts of the
 * width; what is given as 0 high begins at the point. */
#include <math.h>

#include "hard.h"

#define MOST_POINTS 400

typedef struct
{
  ScenePoint points[MOST_POINTS]; /* half width, depth below the point */
  guint n;
} Half;

static void
to (Half *half, double width, double depth)
{
  if (half->n < MOST_POINTS)
    half->points[half->n++] = (ScenePoint){ width, depth };
}

/* Its picture; clears the outline, mm. */
static SceneImage *
take_shape (HardShot *shot, ScenePolygon *shape)
{
  scene_camera_project (&shot->camera, shape);
  shot->mm_per_px = shot->camera.mm_per_px;
  SceneImage *image = scene_render_polygons (shape, 1, &shot->camera);
  scene_polygon_clear (shape);
  return image;
}

/* Either side of the axis, the other side's depths moved by `shift`, down to `bottom`. */
static SceneImage *
draw (HardShot *shot, const Half *half, double shift)
{
  const SceneCamera *camera = &shot->camera;
  const double size = 0.35 * MIN (camera->width, camera->height) * camera->mm_per_px;
  const double bottom = 2.0 * hypot (camera->width, camera->height) * camera->mm_per_px;
  ScenePolygon shape = { g_new (ScenePoint, 2 * half->n + 2), 0, 1.0 };
  const double last = half->points[half->n - 1].x;
  shape.points[shape.n++] = (ScenePoint){ -last * size, -bottom };
  for (guint i = half->n; i-- > 0;)
    shape.points[shape.n++] = (ScenePoint){ -half->points[i].x * size, -half->points[i].y * size };
  for (guint i = 0; i < half->n; i++)
    shape.points[shape.n++] =
      (ScenePoint){ half->points[i].x * size, -(half->points[i].y + (i > 0 ? shift : 0.0)) * size };
  shape.points[shape.n++] = (ScenePoint){ last * size, -bottom };
  return take_shape (shot, &shape);
}

/* A thread behind a cone. */
static SceneImage *
draw_screw (HardShot *shot)
{
  Half half = { .n = 0 };
  const double pitch = hard_between (shot, 0.08, 0.35), depth = 0.6 * pitch;
  to (&half, 0.02, 0.0);
  for (double z = 0.5; z < 12.0; z += pitch)
  {
    const double width = 0.5 * MIN (1.0, z / 0.8);
    to (&half, width - depth * 0.5, z);
    to (&half, width, z + 0.5 * pitch);
  }
  return draw (shot, &half, 0.5 * pitch);
}

/* Cylinder and cone: a punch, a nail, a pencil, by the cone's angle. */
static SceneImage *
draw_cone (HardShot *shot)
{
  Half half = { .n = 0 };
  const double half_angle = hard_between (shot, 70.0, 8.0) * G_PI / 180.0;
  const double blunt = scene_rng_uniform (&shot->rng, 0.0, 0.05);
  to (&half, blunt, 0.0);
  to (&half, 0.5, (0.5 - blunt) / tan (half_angle));
  to (&half, 0.5, 6.0);
  return draw (shot, &half, 0.0);
}

/* A pilot, a cone of 60 degrees, a body. */
static SceneImage *
draw_centre_drill (HardShot *shot)
{
  Half half = { .n = 0 };
  const double pilot = hard_between (shot, 0.3, 0.12);
  to (&half, 0.0, 0.0);
  to (&half, pilot, pilot / tan (59.0 * G_PI / 180.0));
  to (&half, pilot, 4.0 * pilot);
  to (&half, 0.5, 4.0 * pilot + (0.5 - pilot) / tan (30.0 * G_PI / 180.0));
  to (&half, 0.5, 6.0);
  return draw (shot, &half, 0.0);
}

/* A broad point on a thin shank. */
static SceneImage *
draw_spade (HardShot *shot)
{
  Half half = { .n = 0 };
  const double length = hard_between (shot, 0.4, 1.2);
  to (&half, 0.0, 0.0);
  to (&half, 0.5, 0.5 / tan (59.0 * G_PI / 180.0));
  to (&half, 0.5, length);
  to (&half, 0.22, length + 0.3);
  to (&half, 0.22, 6.0);
  return draw (shot, &half, 0.0);
}

/* Smaller steps in front of larger ones. */
static SceneImage *
draw_steps (HardShot *shot)
{
  Half half = { .n = 0 };
  const guint n = 2 + (guint)(4.0 * shot->strength);
  double depth = 0.0, width = 0.5 / n;
  to (&half, 0.0, depth);
  for (guint k = 1; k <= n; k++)
  {
    depth += 0.5 / n / tan (59.0 * G_PI / 180.0);
    width = 0.5 * k / n;
    to (&half, width, depth);
    depth += 0.4;
    to (&half, width, depth);
  }
  to (&half, width, 6.0);
  return draw (shot, &half, 0.0);
}

/* Cuts of a key along one side. */
static SceneImage *
draw_key (HardShot *shot)
{
  Half half = { .n = 0 };
  to (&half, 0.1, 0.0);
  to (&half, 0.4, 0.25);
  for (double z = 0.4; z < 8.0; z += 0.35)
  {
    const double cut = 0.3 * shot->strength * scene_rng_uniform (&shot->rng, 0.0, 1.0);
    to (&half, 0.5 - cut, z);
    to (&half, 0.5 - cut, z + 0.15);
  }
  return draw (shot, &half, 0.17);
}

/* Three flutes: a lip at its full reach on one side; on the other the land between two lips, lower
 * and not as far out.  Strength narrows the land. */
static SceneImage *
draw_three_flutes (HardShot *shot)
{
  const SceneCamera *camera = &shot->camera;
  const double size = 0.35 * MIN (camera->width, camera->height) * camera->mm_per_px;
  const double bottom = 2.0 * hypot (camera->width, camera->height) * camera->mm_per_px;
  const double reach = 0.5 * cos (hard_between (shot, 5.0, 40.0) * G_PI / 180.0);
  const double slope = 1.0 / tan (scene_rng_uniform (&shot->rng, 55.0, 75.0) * G_PI / 180.0);
  const double fall = scene_rng_uniform (&shot->rng, 0.0, 0.08);
  const ScenePoint corners[] = { { -0.5 * size, -bottom },
                                 { -0.5 * size, -0.5 * slope * size },
                                 { 0.0, 0.0 },
                                 { reach * size, -(reach * slope + fall) * size },
                                 { reach * size, -bottom } };
  ScenePolygon shape = { g_memdup2 (corners, sizeof corners), G_N_ELEMENTS (corners), 1.0 };
  return take_shape (shot, &shape);
}

/* A wire, bent, cut square or slanting, from a tenth to two thirds as thick as a tool. */
static SceneImage *
draw_wire (HardShot *shot)
{
  const SceneCamera *camera = &shot->camera;
  const double size = 0.35 * MIN (camera->width, camera->height) * camera->mm_per_px;
  const double half = 0.5 * hard_between (shot, 0.1, 0.65) * size;
  const double bend = scene_rng_uniform (&shot->rng, -0.25, 0.25) / size;
  const double slant = scene_rng_uniform (&shot->rng, -0.8, 0.8);
  const guint n = 40;
  ScenePolygon shape = { g_new (ScenePoint, 2 * n), 2 * n, 1.0 };
  for (guint i = 0; i < n; i++)
  {
    const double y = -8.0 * size * i / (n - 1), x = bend * y * y;
    const double end = i == 0 ? slant * half : 0.0;
    shape.points[i] = (ScenePoint){ x + half, y + end };
    shape.points[2 * n - 1 - i] = (ScenePoint){ x - half, y - end };
  }
  return take_shape (shot, &shape);
}

/* A head on a thin shaft: a nail upside down. */
static SceneImage *
draw_nail_head (HardShot *shot)
{
  Half half = { .n = 0 };
  const double crown = hard_between (shot, 0.0, 0.25);
  to (&half, 0.0, 0.0);
  to (&half, 0.35, 0.4 * crown);
  to (&half, 0.5, crown);
  to (&half, 0.5, crown + 0.12);
  to (&half, scene_rng_uniform (&shot->rng, 0.15, 0.3), crown + 0.2);
  to (&half, half.points[half.n - 1].x, 6.0);
  return draw (shot, &half, 0.0);
}

void
hard_screw (HardShot *shot)
{
  shot->render = draw_screw;
}

void
hard_cone (HardShot *shot)
{
  shot->render = draw_cone;
}

void
hard_centre_drill (HardShot *shot)
{
  shot->render = draw_centre_drill;
}

void
hard_spade (HardShot *shot)
{
  shot->render = draw_spade;
}

void
hard_steps (HardShot *shot)
{
  shot->render = draw_steps;
}

void
hard_key (HardShot *shot)
{
  shot->render = draw_key;
}

void
hard_three_flutes (HardShot *shot)
{
  shot->render = draw_three_flutes;
}

void
hard_wire (HardShot *shot)
{
  shot->render = draw_wire;
}

void
hard_nail_head (HardShot *shot)
{
  shot->render = draw_nail_head;
}
