#include "edge/outline.h"

#include "base/geometry.h"
#include "edge/profile.h"
#include "maths/stats.h"

#include <math.h>
#include <stdlib.h>

/* The direction of the outline is taken over this many boundary steps each way: long
 * enough to smooth the staircase, short against any edge worth measuring. */
#define TANGENT_STEPS 9

/* About so many points have their blur fitted too. */
#define BLUR_POINTS 300

/* And so many for its first guess. */
#define ROUGH_POINTS 60

/* Twice this many points or more a noise-limited outline does not need. */
#define ENOUGH_POINTS 3500

/* Window half-length in blurs; beyond it samples only tell the levels. */
#define WINDOW_BLURS 4.5

/* The same into a front-lit tool, whose levels vary. */
#define INSIDE_BLURS 1.5

/* And where that is no step: a dark line along a bright margin. */
#define INSIDE_BLURS_SHORT 0.8

/* A front-lit edge is sound where tool and ground differ by this part of the brighter one, and the
 * scan line is a step but for this part of it; own trials. */
#define MIN_STEP 0.08
#define MAX_MISFIT 0.2

/* This is a step at first sight. */
#define CLEAR_STEP 0.2

/* The mask is this good, px. */
#define MASK_REACH 4

/* Fewer crossings left out in a row are no gap. */
#define GAP_CROSSINGS 3

/* Between gaps fewer points are no edge, and beside gaps so many may be off it. */
#define LEAST_RUN 20
#define BESIDE_GAP 3

#define SECTORS 8

/* A shorter boundary is a speck's. */
#define MIN_CRACKS 40

/* One step of the boundary between a tool pixel and the ground pixel beside it. */
typedef struct
{
  int x, y;     /* the tool pixel */
  gint8 dx, dy; /* toward the ground pixel */
} Crack;

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
  const double *c = t->segment->threshold.c;
  const double u = (x + 0.5) * t->sx, v = (y + 0.5) * t->sy;
  const double threshold = c[0] + u * (c[1] + u * c[3] + v * c[4]) + v * (c[2] + v * c[5]);
  const double light =
    t->image->linear[(gsize)y * t->image->width + (gsize)x] * (1.0 / WS_IMAGE_FULL_SCALE);
  return (light < threshold) == t->segment->tool_is_dark;
}

/* Right, down, left, up. */
static const int STEP_X[4] = { 1, 0, -1, 0 };
static const int STEP_Y[4] = { 0, 1, 0, -1 };

/*
 * Follows the boundary once round, tool on the right-hand side, from the lattice corner
 * (x, y) in direction d; corner (x, y) is the upper left corner of pixel (x, y).  NULL when
 * it does not close within `limit` steps.
 */
static GArray *
follow (const Tracer *t, int x0, int y0, guint d0, guint limit)
{
  g_autoptr (GArray) cracks = g_array_new (FALSE, FALSE, sizeof (Crack));
  int x = x0, y = y0;
  guint d = d0;
  do
  {
    /* Pixel ahead on the right of direction d, seen from the corner. */
    const int rx = x + (d == 1 || d == 2 ? -1 : 0), ry = y + (d == 2 || d == 3 ? -1 : 0);
    const guint left = (d + 3) % 4;
    const Crack crack = { rx, ry, (gint8)STEP_X[left], (gint8)STEP_Y[left] };
    g_array_append_val (cracks, crack);
    x += STEP_X[d];
    y += STEP_Y[d];

    const int ax = rx + STEP_X[d], ay = ry + STEP_Y[d];
    if (is_tool (t, ax + STEP_X[left], ay + STEP_Y[left]) && is_tool (t, ax, ay))
      d = left;
    else if (!is_tool (t, ax, ay))
      d = (d + 1) % 4;
    if (cracks->len > limit)
      return NULL;
  } while (x != x0 || y != y0 || d != d0);
  return g_steal_pointer (&cracks);
}

/* The area that the boundary encloses, by the shoelace formula on tool pixels; positive when
 * the tool is inside, negative for a hole's boundary. */
static double
enclosed_area (const GArray *cracks)
{
  double twice = 0;
  for (guint i = 0; i < cracks->len; i++)
  {
    const Crack a = g_array_index (cracks, Crack, i);
    const Crack b = g_array_index (cracks, Crack, (i + 1) % cracks->len);
    twice += (double)a.x * b.y - (double)b.x * a.y;
  }
  return twice / 2;
}

/* Walks from inside the tool to the right until the ground, skipping boundaries of holes and
 * bright spots within the tool, and of specks, which enclose too little. */
static GArray *
boundary (const Tracer *t)
{
  const guint limit = 16 * (t->image->width + t->image->height);
  const int y = (int)t->segment->inside.y;
  for (int x = (int)t->segment->inside.x; x < (int)t->image->width; x++)
  {
    if (!is_tool (t, x, y) || is_tool (t, x + 1, y))
      continue;
    /* The crack's right-hand side is the tool when walking down along its right border. */
    g_autoptr (GArray) cracks = follow (t, x + 1, y, 1, limit);
    if (cracks == NULL)
      return NULL;
    if (enclosed_area (cracks) > 0.5 * t->segment->area_px)
      return g_steal_pointer (&cracks);
  }
  return NULL;
}

/* Walks from inside the hole to the right until the tool, skipping specks in the hole. */
static GArray *
hole_boundary (const Tracer *t, WsPoint inside)
{
  const guint limit = 16 * (t->image->width + t->image->height);
  const int y = (int)inside.y;
  for (int x = (int)inside.x; x + 1 < (int)t->image->width; x++)
  {
    if (is_tool (t, x, y) || !is_tool (t, x + 1, y))
      continue;
    /* Up along the tool pixel's left border, tool on the right-hand side. */
    g_autoptr (GArray) cracks = follow (t, x + 1, y + 1, 3, limit);
    if (cracks == NULL || enclosed_area (cracks) < 0)
      return g_steal_pointer (&cracks);
  }
  return NULL;
}

static WsPoint
crack_middle (const GArray *cracks, gint64 i)
{
  const gint64 n = cracks->len;
  const Crack c = g_array_index (cracks, Crack, (guint)(((i % n) + n) % n));
  return ws_point (c.x + 0.5 * c.dx, c.y + 0.5 * c.dy);
}

/* Unit normal toward the ground: the tangent turned to the left-hand side. */
static WsPoint
normal_at (const GArray *cracks, guint i)
{
  const WsPoint t = ws_point_sub (crack_middle (cracks, (gint64)i + TANGENT_STEPS),
                                  crack_middle (cracks, (gint64)i - TANGENT_STEPS));
  const double length = MAX (ws_point_length (t), 1e-9);
  return ws_point (t.y / length, -t.x / length);
}

static gboolean
touches_frame (const WsImage *image, const Crack *c)
{
  const int gx = c->x + c->dx, gy = c->y + c->dy;
  return gx < 0 || gy < 0 || (guint)gx >= image->width || (guint)gy >= image->height;
}

typedef struct
{
  float samples[WS_PROFILE_MAX_SAMPLES];
  guint n;
  guint middle; /* index of the tool pixel of the crack */
} Scan;

/* Pixels from `inside` px within the tool to `outside` px beyond it along the crack's direction,
 * cut short at the picture's border. */
static void
read_scan (const WsImage *image, const Crack *c, guint inside, guint outside, Scan *scan)
{
  scan->n = 0;
  for (int k = -(int)inside; k <= (int)outside + 1; k++)
  {
    const int x = c->x + k * c->dx, y = c->y + k * c->dy;
    if (x < 0 || y < 0 || (guint)x >= image->width || (guint)y >= image->height)
      continue;
    if (k == 0)
      scan->middle = scan->n;
    scan->samples[scan->n++] =
      (float)image->linear[(gsize)y * image->width + (gsize)x] / WS_IMAGE_FULL_SCALE;
  }
}

typedef struct
{
  const WsImage *image;
  gboolean front_lit;
  WsStepTable table;
} Fitter;

/* Of a window, in blurs. */
typedef struct
{
  double inside, outside;
} Reach;

/* Fits the scan across crack `c`; `blur` is along the scan line. */
static gboolean
fit_reach (const Fitter *fitter, const Crack *c, Reach reach, double blur, gboolean fit_blur,
           WsProfile *profile)
{
  Scan scan;
  const guint most = (WS_PROFILE_MAX_SAMPLES - 2) / 2;
  read_scan (fitter->image, c, MIN ((guint)ceil (reach.inside * blur) + 2, most),
             MIN ((guint)ceil (reach.outside * blur) + 2, most), &scan);
  if (scan.n < 6)
    return FALSE;
  const double low = (double)scan.samples[0], high = (double)scan.samples[scan.n - 1];
  *profile = (WsProfile){ scan.middle + 0.5, blur, low, high - low, 0 };
  if (!ws_profile_fit (&fitter->table, scan.samples, scan.n, fit_blur, profile))
    return FALSE;
  profile->place -= scan.middle;
  return TRUE;
}

static gboolean
fit_crack (const Fitter *fitter, const Crack *c, double blur, gboolean fit_blur, WsProfile *profile)
{
  const Reach reach = { fitter->front_lit ? INSIDE_BLURS : WINDOW_BLURS, WINDOW_BLURS };
  return fit_reach (fitter, c, reach, blur, fit_blur, profile);
}

static gboolean
matches_direction (const Crack *c, WsPoint normal)
{
  return fabs (normal.x) >= fabs (normal.y) ? normal.x * c->dx > 0 : normal.y * c->dy > 0;
}

static double
direction_cosine (const Crack *c, WsPoint normal)
{
  return MAX (fabs (c->dx * normal.x + c->dy * normal.y), 0.5);
}

/* The first of `n` cracks from `first` on that has a scan line of its own.  A staircase repeats,
 * and steps of constant length through it may meet nothing else than cracks without one: at 45
 * degrees every other is. */
static gboolean
find_crossing (const WsImage *image, const GArray *cracks, guint first, guint n, guint *found)
{
  for (guint i = first; i < MIN (first + n, cracks->len); i++)
  {
    const Crack *c = &g_array_index (cracks, Crack, i);
    if (touches_frame (image, c) || !matches_direction (c, normal_at (cracks, i)))
      continue;
    *found = i;
    return TRUE;
  }
  return FALSE;
}

/* First guess of the blur: the share of the step that lies between neighbouring pixels
 * at the crack, widened until the window holds the whole edge. */
static double
rough_blur (const Fitter *fitter, const GArray *cracks)
{
  const guint stride = MAX (1, cracks->len / ROUGH_POINTS);
  double found[2 * ROUGH_POINTS];
  guint n = 0;
  for (guint first = 0; first < cracks->len && n < G_N_ELEMENTS (found); first += stride)
  {
    guint i;
    if (!find_crossing (fitter->image, cracks, first, stride, &i))
      continue;
    const Crack *c = &g_array_index (cracks, Crack, i);
    const WsPoint normal = normal_at (cracks, i);
    for (double blur = 1.5; blur < 14; blur *= 2)
    {
      WsProfile p;
      if (!fit_crack (fitter, c, blur, TRUE, &p) || p.blur > 1.5 * blur)
        continue;
      found[n++] = p.blur * direction_cosine (c, normal);
      break;
    }
  }
  return n >= 8 ? ws_median (found, n) : 0;
}

typedef struct
{
  GArray *all;
  GArray *by_sector[SECTORS];
} Blurs;

static double
median_of (GArray *values)
{
  return ws_median ((double *)(void *)values->data, values->len);
}

/* Refits a thin sample of points with free blur, sorted by the normal's direction (mod 180
 * degrees): motion blurs one direction only. */
static void
measure_blur (const Fitter *fitter, const GArray *cracks, double rough, WsOutline *outline)
{
  Blurs blurs = { g_array_new (FALSE, FALSE, sizeof (double)), { NULL } };
  for (guint k = 0; k < SECTORS; k++)
    blurs.by_sector[k] = g_array_new (FALSE, FALSE, sizeof (double));
  const guint stride = MAX (1, cracks->len / BLUR_POINTS);
  for (guint first = 0; first < cracks->len; first += stride)
  {
    guint i;
    if (!find_crossing (fitter->image, cracks, first, stride, &i))
      continue;
    const Crack *c = &g_array_index (cracks, Crack, i);
    const WsPoint normal = normal_at (cracks, i);
    WsProfile p;
    if (!fit_crack (fitter, c, rough / direction_cosine (c, normal), TRUE, &p))
      continue;
    const double blur = p.blur * direction_cosine (c, normal);
    const double turn = atan2 (normal.y, normal.x) / G_PI + 1;
    g_array_append_val (blurs.all, blur);
    g_array_append_val (blurs.by_sector[(guint)(turn * SECTORS) % SECTORS], blur);
  }

  outline->blur_px = blurs.all->len > 0 ? median_of (blurs.all) : rough;
  outline->blur_min_px = outline->blur_max_px = outline->blur_px;
  for (guint k = 0; k < SECTORS; k++)
  {
    /* Too few points tell nothing: a corner, a speck. */
    if (blurs.by_sector[k]->len >= 8)
    {
      const double blur = median_of (blurs.by_sector[k]);
      outline->blur_min_px = MIN (outline->blur_min_px, blur);
      outline->blur_max_px = MAX (outline->blur_max_px, blur);
    }
    g_array_unref (blurs.by_sector[k]);
  }
  g_array_unref (blurs.all);
}

static WsEdgePoint
frame_point (const Crack *c)
{
  return (WsEdgePoint){ .x = c->x, .y = c->y, .nx = c->dx, .ny = c->dy, .on_frame = TRUE };
}

/* Noise makes the boundary cross a scan line to and fro: one point is enough. */
static gboolean
repeats (const GArray *points, const WsEdgePoint *p)
{
  if (points->len == 0)
    return FALSE;
  const WsEdgePoint *last = &g_array_index (points, WsEdgePoint, points->len - 1);
  return !last->on_frame && fabs (last->x - p->x) + fabs (last->y - p->y) < 0.4;
}

/* A front-lit edge, looked for about the mask's border, and again where it was found: the window
 * inside is short. */
static gboolean
fit_within (const Fitter *fitter, const Crack *c, double inside, double blur, WsProfile *profile)
{
  const Reach reach = { inside, WINDOW_BLURS };
  Crack at = *c;
  int moved = 0;
  for (guint round = 0; round < 3; round++)
  {
    if (!fit_reach (fitter, &at, reach, blur, FALSE, profile))
      return FALSE;
    const int shift = (int)floor (profile->place);
    if (shift == 0)
      break;
    moved += shift;
    if (abs (moved) > MASK_REACH)
      return FALSE;
    at.x += shift * c->dx;
    at.y += shift * c->dy;
    profile->place -= shift;
  }
  profile->place += moved;
  const double brighter = MAX (profile->low, profile->low + profile->step);
  return fabs (profile->step) > MIN_STEP * brighter &&
         profile->rms < MAX_MISFIT * fabs (profile->step);
}

/* The boundary between pixels, where narrow notches blur into no step, if a step there is. */
static gboolean
is_step (const WsImage *image, const Crack *c)
{
  Scan scan;
  read_scan (image, c, 2, 2, &scan);
  if (scan.n < 6)
    return FALSE;
  const float inside = (scan.samples[0] + scan.samples[1]) / 2;
  const float outside = (scan.samples[scan.n - 1] + scan.samples[scan.n - 2]) / 2;
  return fabs ((double)(outside - inside)) > CLEAR_STEP * (double)MAX (outside, inside);
}

static gboolean
fit_front_lit (const Fitter *fitter, const Crack *c, double blur, WsProfile *profile)
{
  if (fit_within (fitter, c, INSIDE_BLURS, blur, profile) ||
      fit_within (fitter, c, INSIDE_BLURS_SHORT, blur, profile))
    return TRUE;
  *profile = (WsProfile){ .place = 0.5, .step = 1, .rms = 1 };
  return is_step (fitter->image, c);
}

/* FALSE: no point there. */
static gboolean
fit_point (const Fitter *fitter, const Crack *c, double blur, WsProfile *profile)
{
  if (fitter->front_lit)
    return fit_front_lit (fitter, c, blur, profile);
  /* A narrow notch is no blurred step; its boundary between pixels still tells its depth. */
  if (!fit_crack (fitter, c, blur, FALSE, profile))
    *profile = (WsProfile){ .place = 0.5, .step = 1, .rms = 1 };
  return TRUE;
}

static void
fit_points (const Fitter *fitter, const GArray *cracks, WsOutline *outline)
{
  const guint stride = MAX (1, cracks->len / ENOUGH_POINTS);
  guint crossings = 0, tried = 0, failed = 0, since = 0;
  outline->spacing_px = stride;
  for (guint i = 0; i < cracks->len; i++)
  {
    const Crack *c = &g_array_index (cracks, Crack, i);
    if (touches_frame (fitter->image, c))
    {
      const WsEdgePoint p = frame_point (c);
      g_array_append_val (outline->points, p);
      continue;
    }
    const WsPoint normal = normal_at (cracks, i);
    if (!matches_direction (c, normal) || crossings++ % stride != 0)
      continue;
    WsProfile p;
    tried++;
    if (!fit_point (fitter, c, outline->blur_px / direction_cosine (c, normal), &p))
    {
      failed++;
      since++;
      continue;
    }
    const WsEdgePoint point = { .x = c->x + p.place * c->dx,
                                .y = c->y + p.place * c->dy,
                                .nx = (float)normal.x,
                                .ny = (float)normal.y,
                                .noise = (float)(p.rms / MAX (fabs (p.step), 1e-9)),
                                .step = (float)fabs (p.step),
                                .after_gap = since >= GAP_CROSSINGS };
    since = 0;
    if (!repeats (outline->points, &point))
      g_array_append_val (outline->points, point);
  }
  outline->left_out = tried > 0 ? (double)failed / tried : 0;
}

/* The points from `from` on, up to the frame or a gap. */
static guint
run_end (const GArray *points, guint from)
{
  guint end = from + 1;
  while (end < points->len && !g_array_index (points, WsEdgePoint, end).on_frame &&
         !g_array_index (points, WsEdgePoint, end).after_gap)
    end++;
  return end;
}

/* Leaves out scraps between gaps, where the boundary runs through the tool, and ends beside
 * gaps. */
static void
trim_gaps (WsOutline *outline)
{
  const GArray *all = outline->points;
  GArray *kept = g_array_sized_new (FALSE, FALSE, sizeof (WsEdgePoint), all->len);
  gboolean gap = FALSE;
  guint dropped = 0;
  for (guint from = 0; from < all->len;)
  {
    const WsEdgePoint *first = &g_array_index (all, WsEdgePoint, from);
    const guint end = first->on_frame ? from + 1 : run_end (all, from);
    const gboolean before = first->after_gap;
    const gboolean after = end < all->len && g_array_index (all, WsEdgePoint, end).after_gap;
    const guint start = from + (before ? BESIDE_GAP : 0), stop = end - (after ? BESIDE_GAP : 0);
    const gboolean scrap = (before || after) && end - from < LEAST_RUN;
    gap = gap || before;
    for (guint i = start; i < stop && !scrap; i++)
    {
      WsEdgePoint p = g_array_index (all, WsEdgePoint, i);
      p.after_gap = gap && !p.on_frame;
      gap = gap && p.on_frame;
      g_array_append_val (kept, p);
    }
    if (scrap)
    {
      gap = TRUE;
      dropped += end - from;
    }
    from = end;
  }
  outline->left_out += (double)dropped / MAX (all->len, 1);
  g_array_unref (outline->points);
  outline->points = kept;
}

static void
measure_gaps (WsOutline *outline)
{
  const guint n = outline->points->len;
  for (guint i = 0; i < n; i++)
  {
    const WsEdgePoint *p = &g_array_index (outline->points, WsEdgePoint, i);
    const WsEdgePoint *before = &g_array_index (outline->points, WsEdgePoint, (i + n - 1) % n);
    if (p->after_gap)
      outline->widest_gap_px =
        MAX (outline->widest_gap_px, hypot (p->x - before->x, p->y - before->y));
  }
}

static double
median_noise (const GArray *points)
{
  g_autofree double *noise = g_new (double, points->len + 1);
  gsize n = 0;
  for (guint i = 0; i < points->len; i++)
  {
    const WsEdgePoint *p = &g_array_index (points, WsEdgePoint, i);
    if (!p->on_frame)
      noise[n++] = (double)p->noise;
  }
  return n > 0 ? ws_median (noise, n) : 0;
}

/* `cracks` may be NULL. */
static WsOutline *
refine (const WsImage *image, const WsSegment *segment, const GArray *cracks)
{
  if (cracks == NULL || cracks->len < MIN_CRACKS)
    return NULL;
  const gboolean front_lit = segment->mask != NULL;
  Fitter fitter = { .image = image, .front_lit = front_lit };
  ws_step_table_fill (&fitter.table);
  const double rough = rough_blur (&fitter, cracks);
  if (!(rough > 0))
    return NULL;

  g_autoptr (WsOutline) outline = g_new0 (WsOutline, 1);
  outline->front_lit = segment->is_front_lit;
  outline->points = g_array_sized_new (FALSE, FALSE, sizeof (WsEdgePoint), cracks->len);
  measure_blur (&fitter, cracks, rough, outline);
  fit_points (&fitter, cracks, outline);
  if (front_lit)
  {
    trim_gaps (outline);
    measure_gaps (outline);
  }
  outline->noise = median_noise (outline->points);
  return g_steal_pointer (&outline);
}

WsOutline *
ws_outline_trace (const WsImage *image, const WsSegment *segment)
{
  const Tracer tracer = { image, segment, 1.0 / image->width, 1.0 / image->height };
  g_autoptr (GArray) cracks = boundary (&tracer);
  return refine (image, segment, cracks);
}

WsOutline *
ws_outline_trace_hole (const WsImage *image, const WsSegment *segment, WsPoint inside)
{
  if (!(inside.x >= 0 && inside.y >= 0 && inside.x < image->width && inside.y < image->height))
    return NULL;
  const Tracer tracer = { image, segment, 1.0 / image->width, 1.0 / image->height };
  g_autoptr (GArray) cracks = hole_boundary (&tracer, inside);
  return refine (image, segment, cracks);
}

void
ws_outline_free (WsOutline *outline)
{
  if (outline == NULL)
    return;
  g_clear_pointer (&outline->points, g_array_unref);
  g_free (outline);
}
