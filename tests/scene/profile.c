#include "profile.h"

#include <math.h>

/* An arc's corners: chords miss it by 1e-6 mm or less. */
#define CHORD_MM 1e-6

typedef struct
{
  ScenePoint centre;
  double radius, start, sweep; /* rad; sweep 0: a line */
} Arc;

static Arc
arc_of (ScenePoint from, const SceneSegment *segment)
{
  Arc arc = { { 0.0, 0.0 }, 0.0, 0.0, 0.0 };
  if (!(fabs (segment->bulge) > 0.0))
    return arc;
  const double dx = segment->to.x - from.x, dy = segment->to.y - from.y;
  const double half = 2.0 * atan (fabs (segment->bulge));
  const double chord = hypot (dx, dy);
  const double side = segment->bulge > 0.0 ? 1.0 : -1.0;
  arc.radius = 0.5 * chord / sin (half);
  /* Left of the chord for a counter-clockwise arc under half a turn. */
  const double off = side * arc.radius * cos (half) / chord;
  arc.centre.x = 0.5 * (from.x + segment->to.x) - off * dy;
  arc.centre.y = 0.5 * (from.y + segment->to.y) + off * dx;
  arc.start = atan2 (from.y - arc.centre.y, from.x - arc.centre.x);
  arc.sweep = 2.0 * half * side;
  return arc;
}

static void
add_point (GArray *points, double x, double y)
{
  const ScenePoint p = { x, y };
  g_array_append_val (points, p);
}

/* Ground lies to the left of the way from left to right. */
static void
add_line (GArray *points, ScenePoint from, const SceneSegment *segment)
{
  const double dx = segment->to.x - from.x, dy = segment->to.y - from.y;
  const double length = hypot (dx, dy);
  const double nx = -dy / length * segment->error, ny = dx / length * segment->error;
  add_point (points, from.x + nx, from.y + ny);
  add_point (points, segment->to.x + nx, segment->to.y + ny);
}

/* Counter-clockwise the centre is on the ground's side: metal makes the radius less. */
static void
add_arc (GArray *points, const Arc *arc, double error)
{
  const double radius = arc->radius - (arc->sweep > 0.0 ? error : -error);
  const double step = sqrt (8.0 * CHORD_MM / radius);
  const guint n = 2 + (guint)ceil (fabs (arc->sweep) / step);
  for (guint k = 0; k <= n; k++)
  {
    const double angle = arc->start + arc->sweep * k / n;
    add_point (points, arc->centre.x + radius * cos (angle), arc->centre.y + radius * sin (angle));
  }
}

ScenePolygon
scene_profile_outline (const SceneProfile *profile)
{
  GArray *points = g_array_new (FALSE, FALSE, sizeof (ScenePoint));
  ScenePoint at = profile->start;
  double low = at.y;
  for (guint i = 0; i < profile->n; i++)
  {
    const SceneSegment *segment = &profile->segments[i];
    const Arc arc = arc_of (at, segment);
    if (fabs (arc.sweep) > 0.0)
      add_arc (points, &arc, segment->error);
    else
      add_line (points, at, segment);
    at = segment->to;
    low = MIN (low, at.y);
  }
  add_point (points, at.x, low - profile->depth);
  add_point (points, profile->start.x, low - profile->depth);
  ScenePolygon polygon = { NULL, points->len, 1.0 };
  polygon.points = (ScenePoint *)(void *)g_array_free (points, FALSE);
  return polygon;
}

static void
append_number (GString *text, const char *before, double number)
{
  char buffer[G_ASCII_DTOSTR_BUF_SIZE];
  g_string_append (text, before);
  g_string_append (text, g_ascii_formatd (buffer, sizeof buffer, "%.9f", number));
}

char *
scene_profile_text (const SceneProfile *profile)
{
  GString *text = g_string_new ("unit mm\n");
  append_number (text, "start ", profile->start.x);
  append_number (text, " ", profile->start.y);
  ScenePoint at = profile->start;
  for (guint i = 0; i < profile->n; i++)
  {
    const SceneSegment *segment = &profile->segments[i];
    const Arc arc = arc_of (at, segment);
    const gboolean round = fabs (arc.sweep) > 0.0;
    append_number (text, round ? "\narc " : "\nline ", segment->to.x);
    append_number (text, " ", segment->to.y);
    if (round)
    {
      append_number (text, " ", arc.radius);
      g_string_append (text, arc.sweep > 0.0 ? " ccw" : " cw");
    }
    at = segment->to;
  }
  g_string_append_c (text, '\n');
  return g_string_free (text, FALSE);
}

static void
append_group (GString *text, int code, double number)
{
  g_string_append_printf (text, "%3d\n", code);
  append_number (text, "", number);
  g_string_append_c (text, '\n');
}

char *
scene_profile_dxf (const SceneProfile *profile)
{
  GString *text = g_string_new ("  0\nSECTION\n  2\nENTITIES\n");
  ScenePoint at = profile->start;
  for (guint i = 0; i < profile->n; i++)
  {
    const SceneSegment *segment = &profile->segments[i];
    Arc arc = arc_of (at, segment);
    const gboolean round = fabs (arc.sweep) > 0.0;
    g_string_append_printf (text, "  0\n%s\n  8\n0\n", round ? "ARC" : "LINE");
    append_group (text, 10, round ? arc.centre.x : at.x);
    append_group (text, 20, round ? arc.centre.y : at.y);
    if (round)
    {
      /* DXF arcs run counter-clockwise. */
      const double first = arc.sweep > 0.0 ? arc.start : arc.start + arc.sweep;
      append_group (text, 40, arc.radius);
      append_group (text, 50, first * 180.0 / G_PI);
      append_group (text, 51, (first + fabs (arc.sweep)) * 180.0 / G_PI);
    }
    else
    {
      append_group (text, 11, segment->to.x);
      append_group (text, 21, segment->to.y);
    }
    at = segment->to;
  }
  g_string_append (text, "  0\nENDSEC\n  0\nEOF\n");
  return g_string_free (text, FALSE);
}

/* --- Profiles ------------------------------------------------------------ */

static void
line_to (SceneProfile *profile, double x, double y)
{
  const SceneSegment segment = { { x, y }, 0.0, 0.0 };
  profile->segments[profile->n++] = segment;
}

static void
arc_to (SceneProfile *profile, double x, double y, double bulge)
{
  const SceneSegment segment = { { x, y }, bulge, 0.0 };
  profile->segments[profile->n++] = segment;
}

/* Flat, hollow, slope up, bulge, slope down, round, flat, slope: in varied sizes. */
void
scene_profile_random (guint64 seed, SceneProfile *profile, SceneCamera *camera)
{
  SceneRng rng;
  scene_rng_init (&rng, seed);
  *profile = (SceneProfile){ { 0.0, 0.0 }, { { { 0.0, 0.0 }, 0.0, 0.0 } }, 0, 0.0 };
  double x = scene_rng_uniform (&rng, 1.0, 2.5), y = 0.0;
  line_to (profile, x, y);
  x += scene_rng_uniform (&rng, 0.8, 1.6);
  y += scene_rng_uniform (&rng, 0.3, 0.8);
  arc_to (profile, x, y, scene_rng_uniform (&rng, 0.2, 0.4));
  x += scene_rng_uniform (&rng, 0.5, 1.2);
  y += scene_rng_uniform (&rng, 0.8, 1.8);
  line_to (profile, x, y);
  x += scene_rng_uniform (&rng, 1.0, 1.8);
  y += scene_rng_uniform (&rng, -0.3, 0.3);
  arc_to (profile, x, y, -scene_rng_uniform (&rng, 0.2, 0.45));
  x += scene_rng_uniform (&rng, 0.8, 1.5);
  y -= scene_rng_uniform (&rng, 0.7, 1.4);
  line_to (profile, x, y);
  x += scene_rng_uniform (&rng, 0.8, 1.5);
  y -= scene_rng_uniform (&rng, -0.2, 0.4);
  arc_to (profile, x, y, scene_rng_uniform (&rng, 0.15, 0.4));
  x += scene_rng_uniform (&rng, 1.0, 2.0);
  line_to (profile, x, y);
  x += scene_rng_uniform (&rng, 0.5, 1.0);
  y += scene_rng_uniform (&rng, 0.5, 1.0);
  line_to (profile, x, y);
  profile->depth = scene_rng_uniform (&rng, 2.0, 20.0);

  scene_camera_init (camera);
  camera->width = 1400;
  camera->height = 1000;
  camera->roll_deg = scene_rng_uniform (&rng, -180.0, 180.0);
  camera->blur_px = scene_rng_uniform (&rng, 0.7, 1.5);
  camera->shot = scene_rng_uniform (&rng, 0.003, 0.008);
  camera->read = 0.001;
  camera->light_x = scene_rng_uniform (&rng, -0.1, 0.1);
  camera->light_y = scene_rng_uniform (&rng, -0.1, 0.1);
  camera->dust = 12;
  camera->seed = seed;
  scene_profile_aim (profile, camera, scene_rng_uniform (&rng, 0.5, 0.62));
}

void
scene_profile_fitting (SceneProfile *profile)
{
  *profile = (SceneProfile){ { -1.5, 1.2 }, { { { 0.0, 0.0 }, 0.0, 0.0 } }, 0, 25.0 };
  line_to (profile, 0.0, 1.2);
  line_to (profile, 0.0, 0.0);
  line_to (profile, 2.0, 0.0);
  for (guint barb = 0; barb < 3; barb++)
  {
    const double x = 2.0 + 2.4 * barb;
    line_to (profile, x + 2.0, 0.9);
    line_to (profile, x + 2.4, 0.0);
  }
  line_to (profile, 10.4, 0.0);
  arc_to (profile, 11.4, 1.0, 0.41421356237309503);
  line_to (profile, 11.4, 1.8);
  arc_to (profile, 12.0, 2.4, -0.41421356237309503);
  line_to (profile, 14.0, 2.4);
}

/* --- Pictures ------------------------------------------------------------ */

void
scene_profile_aim (const SceneProfile *profile, SceneCamera *camera, double share)
{
  double left = profile->start.x, right = left, low = profile->start.y, high = low;
  for (guint i = 0; i < profile->n; i++)
  {
    const ScenePoint p = profile->segments[i].to;
    left = MIN (left, p.x);
    right = MAX (right, p.x);
    low = MIN (low, p.y);
    high = MAX (high, p.y);
  }
  camera->mm_per_px = (right - left) / (share * MIN (camera->width, camera->height));
  /* The scene's origin is (0, 0); its middle is to stand in the picture's. */
  const double roll = camera->roll_deg * G_PI / 180.0;
  const double u = 0.5 * (left + right) / camera->mm_per_px;
  const double v = 0.5 * (low + high) / camera->mm_per_px;
  camera->origin_x = 0.5 * camera->width - u * cos (roll) - v * sin (roll);
  camera->origin_y = 0.5 * camera->height - u * sin (roll) + v * cos (roll);
}

SceneImage *
scene_render_profile (const SceneProfile *profile, const SceneCamera *camera)
{
  ScenePolygon outline = scene_profile_outline (profile);
  if (camera->distance_mm > 0.0)
    scene_polygon_divide (&outline, 3.0 * camera->mm_per_px);
  scene_camera_project (camera, &outline);
  SceneImage *image = scene_render_polygons (&outline, 1, camera);
  scene_polygon_clear (&outline);
  return image;
}
