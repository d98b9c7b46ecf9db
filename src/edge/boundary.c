#include "edge/boundary.h"

#include "base/geometry.h"
#include "image/light.h"

#include <math.h>

/* The direction of the outline is taken over this many boundary steps each way: long
 * enough to smooth the staircase, short against any edge worth measuring. */
#define TANGENT_STEPS 9

typedef struct
{
  const WsImage *image;
  const WsSegment *segment;
  double sx, sy; /* 1 / width, 1 / height */
} Tracer;

static inline gboolean
is_tool (const Tracer *t, int x, int y)
{
  if (x < 0 || y < 0 || (guint)x >= t->image->width || (guint)y >= t->image->height)
    return FALSE;
  if (t->segment->mask != NULL)
    return t->segment->mask[(gsize)y * t->image->width + (gsize)x];
  const double threshold =
    wsi_field_at (&t->segment->threshold, (x + 0.5) * t->sx, (y + 0.5) * t->sy);
  WsLightRange range;
  if (wsi_image_light_between (t->image, (guint)x, (guint)y, &range) &&
      (range.most * (1.0 / WS_IMAGE_FULL_SCALE) < threshold ||
       range.least * (1.0 / WS_IMAGE_FULL_SCALE) >= threshold))
    return (range.most * (1.0 / WS_IMAGE_FULL_SCALE) < threshold) == t->segment->tool_is_dark;
  const double light =
    wsi_image_light_at (t->image, (guint)x, (guint)y) * (1.0 / WS_IMAGE_FULL_SCALE);
  return (light < threshold) == t->segment->tool_is_dark;
}

/* Right, down, left, up. */
static const int STEP_X[4] = { 1, 0, -1, 0 };
static const int STEP_Y[4] = { 0, 1, 0, -1 };

guint
wsi_boundary_limit (const WsImage *image)
{
  return 16 * (image->width + image->height);
}

/*
 * Follows the boundary once round, tool on the right-hand side, from the lattice corner
 * (x, y) in direction d; corner (x, y) is the upper left corner of pixel (x, y).  FALSE when
 * it does not close within its limit.
 */
static gboolean
follow_into (const Tracer *t, int x0, int y0, guint d0, GArray *cracks)
{
  const guint limit = wsi_boundary_limit (t->image);
  g_array_set_size (cracks, 0);
  int x = x0, y = y0;
  guint d = d0;
  do
  {
    /* Pixel ahead on the right of direction d, seen from the corner. */
    const int rx = x + (d == 1 || d == 2 ? -1 : 0), ry = y + (d == 2 || d == 3 ? -1 : 0);
    const guint left = (d + 3) % 4;
    const WsCrack crack = { rx, ry, (gint8)STEP_X[left], (gint8)STEP_Y[left] };
    g_array_append_val (cracks, crack);
    x += STEP_X[d];
    y += STEP_Y[d];

    const int ax = rx + STEP_X[d], ay = ry + STEP_Y[d];
    if (is_tool (t, ax + STEP_X[left], ay + STEP_Y[left]) && is_tool (t, ax, ay))
      d = left;
    else if (!is_tool (t, ax, ay))
      d = (d + 1) % 4;
    if (cracks->len > limit)
      return FALSE;
  } while (x != x0 || y != y0 || d != d0);
  return TRUE;
}

static GArray *
follow (const Tracer *t, int x, int y, guint d)
{
  g_autoptr (GArray) cracks = g_array_new (FALSE, FALSE, sizeof (WsCrack));
  return follow_into (t, x, y, d, cracks) ? g_steal_pointer (&cracks) : NULL;
}

/* By the shoelace formula on tool pixels. */
double
wsi_boundary_area (const GArray *cracks)
{
  double twice = 0;
  for (guint i = 0; i < cracks->len; i++)
  {
    const WsCrack a = g_array_index (cracks, WsCrack, i);
    const WsCrack b = g_array_index (cracks, WsCrack, (i + 1) % cracks->len);
    twice += (double)a.x * b.y - (double)b.x * a.y;
  }
  return twice / 2;
}

/* Walks from inside the tool to the right until the ground, skipping boundaries of holes and
 * bright spots within the tool, and of specks, which enclose too little. */
static GArray *
boundary (const Tracer *t)
{
  const int y = (int)t->segment->inside.y;
  for (int x = (int)t->segment->inside.x; x < (int)t->image->width; x++)
  {
    if (!is_tool (t, x, y) || is_tool (t, x + 1, y))
      continue;
    /* The crack's right-hand side is the tool when walking down along its right border. */
    g_autoptr (GArray) cracks = follow (t, x + 1, y, 1);
    if (cracks == NULL)
      return NULL;
    if (wsi_boundary_area (cracks) > 0.5 * t->segment->area_px)
      return g_steal_pointer (&cracks);
  }
  return NULL;
}

/* Walks from inside the hole to the right until the tool, skipping specks in the hole. */
static GArray *
hole_boundary (const Tracer *t, WsPoint inside)
{
  const int y = (int)inside.y;
  for (int x = (int)inside.x; x + 1 < (int)t->image->width; x++)
  {
    if (is_tool (t, x, y) || !is_tool (t, x + 1, y))
      continue;
    /* Up along the tool pixel's left border, tool on the right-hand side. */
    g_autoptr (GArray) cracks = follow (t, x + 1, y + 1, 3);
    if (cracks == NULL || wsi_boundary_area (cracks) < 0)
      return g_steal_pointer (&cracks);
  }
  return NULL;
}

static WsPoint
crack_middle (const GArray *cracks, gint64 i)
{
  const gint64 n = cracks->len;
  const WsCrack c = g_array_index (cracks, WsCrack, (guint)(((i % n) + n) % n));
  return wsi_point (c.x + 0.5 * c.dx, c.y + 0.5 * c.dy);
}

/* The tangent turned to the left-hand side. */
WsPoint
wsi_boundary_normal (const GArray *cracks, guint i)
{
  const WsPoint t = wsi_point_sub (crack_middle (cracks, (gint64)i + TANGENT_STEPS),
                                   crack_middle (cracks, (gint64)i - TANGENT_STEPS));
  const double length = MAX (wsi_point_length (t), 1e-9);
  return wsi_point (t.y / length, -t.x / length);
}

gboolean
wsi_crack_touches_frame (const WsImage *image, const WsCrack *c)
{
  const int gx = c->x + c->dx, gy = c->y + c->dy;
  return gx < 0 || gy < 0 || (guint)gx >= image->width || (guint)gy >= image->height;
}

gboolean
wsi_crack_matches (const WsCrack *c, WsPoint normal)
{
  return fabs (normal.x) >= fabs (normal.y) ? normal.x * c->dx > 0 : normal.y * c->dy > 0;
}

double
wsi_crack_cosine (const WsCrack *c, WsPoint normal)
{
  return MAX (fabs (c->dx * normal.x + c->dy * normal.y), 0.5);
}

gboolean
wsi_boundary_find_crossing (const WsImage *image, const GArray *cracks, guint first, guint n,
                            guint *found)
{
  for (guint i = first; i < MIN (first + n, cracks->len); i++)
  {
    const WsCrack *c = &g_array_index (cracks, WsCrack, i);
    if (wsi_crack_touches_frame (image, c) ||
        !wsi_crack_matches (c, wsi_boundary_normal (cracks, i)))
      continue;
    *found = i;
    return TRUE;
  }
  return FALSE;
}

GArray *
wsi_boundary_trace (const WsImage *image, const WsSegment *segment)
{
  const Tracer tracer = { image, segment, 1.0 / image->width, 1.0 / image->height };
  return boundary (&tracer);
}

GArray *
wsi_boundary_trace_hole (const WsImage *image, const WsSegment *segment, WsPoint inside)
{
  if (!(inside.x >= 0 && inside.y >= 0 && inside.x < image->width && inside.y < image->height))
    return NULL;
  const Tracer tracer = { image, segment, 1.0 / image->width, 1.0 / image->height };
  return hole_boundary (&tracer, inside);
}

gboolean
wsi_boundary_follow (const WsImage *image, const WsSegment *segment, const WsCrack *start,
                     GArray *cracks)
{
  const Tracer tracer = { image, segment, 1.0 / image->width, 1.0 / image->height };
  guint d = 0;
  while (STEP_X[(d + 3) % 4] != start->dx || STEP_Y[(d + 3) % 4] != start->dy)
    d++;
  return follow_into (&tracer, start->x + (d == 1 || d == 2), start->y + (d == 2 || d == 3), d,
                      cracks);
}
