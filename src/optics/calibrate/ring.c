#include "optics/calibrate/ring.h"

#include <string.h>

#include "base/geometry.h"
#include "edge/circle.h"
#include "edge/outline.h"
#include "maths/stats.h"
#include "optics/correct.h"
#include "optics/lens.h"
#include "optics/propagate.h"

/* Equal steps of the angle that the border is cut into: a median of about four points each, at
 * most half a degree. */
#define MAX_STEPS 720
#define MIN_STEPS 60
#define POINTS_A_STEP 4

/* The form of a turned or ground ring is smooth over this part of the turn; dust is not.  Own
 * trials on photographs of ground rings. */
#define SMOOTH_PART 24

/* Farther from the smoothed border than this is dust: robust standard deviations, and px at
 * least. */
#define DUST_SIGMAS 4.0
#define MIN_DUST_PX 0.2

/* Part of the border that must be clean. */
#define MIN_CLEAN 0.6

/* Smaller borders tell little; own trials. */
#define MIN_RADIUS_PX 40.0

/* Something that isn't round: peak to valley as part of the radius.  Common practice, no
 * source: a hundred times what ground rings have. */
#define MAX_ROUNDNESS 0.05

#define MAX_BLUR_PX 4.0
#define MAX_BLUR_SHARE 0.012

/* As for pins (pin.c). */
#define EDGE_BIAS_PX 0.001

/* A reference measurement touches about so many places, which sample the form: what the
 * diameter of a body that isn't round can differ by.  Common practice, no source. */
#define REFERENCE_POINTS 16

static gboolean trouble (WsRing *ring, WsRetake reason, const char *what, ...) G_GNUC_PRINTF (3, 4);

static gboolean
trouble (WsRing *ring, WsRetake reason, const char *what, ...)
{
  va_list arguments;
  va_start (arguments, what);
  ring->trouble = reason;
  g_vsnprintf (ring->detail, sizeof ring->detail, what, arguments);
  va_end (arguments);
  return FALSE;
}

/* ---- The border at equal steps of the angle ------------------------------------------ */

typedef struct
{
  guint n;
  WsPoint centre;
  double radius[MAX_STEPS]; /* from the centre; NAN where nothing was seen */
  double smooth[MAX_STEPS];
  gboolean dusty[MAX_STEPS];
  guint n_dusty;
  WsPoint place[MAX_STEPS];
} Steps;

typedef struct
{
  guint step;
  double radius;
} Polar;

static gint
compare_polar (gconstpointer a, gconstpointer b)
{
  const Polar *p = a, *q = b;
  if (p->step != q->step)
    return p->step < q->step ? -1 : 1;
  return (p->radius > q->radius) - (p->radius < q->radius);
}

static guint
step_of (guint n, WsPoint from_centre)
{
  const double turn = 0.5 * atan2 (from_centre.y, from_centre.x) / G_PI + 1;
  return (guint)(turn * n) % n;
}

/* Median distance from the centre in each step. */
static void
fill_steps (const WsPoint *points, guint n, WsPoint centre, Steps *steps)
{
  steps->centre = centre;
  g_autofree Polar *polar = g_new (Polar, n);
  for (guint i = 0; i < n; i++)
  {
    const WsPoint d = wsi_point_sub (points[i], centre);
    polar[i] = (Polar){ step_of (steps->n, d), wsi_point_length (d) };
  }
  qsort (polar, n, sizeof *polar, compare_polar);
  for (guint k = 0; k < steps->n; k++)
    steps->radius[k] = NAN;
  for (guint from = 0, to; from < n; from = to)
  {
    for (to = from + 1; to < n && polar[to].step == polar[from].step; to++)
      ;
    steps->radius[polar[from].step] =
      0.5 * (polar[(from + to - 1) / 2].radius + polar[(from + to) / 2].radius);
  }
}

/* Running median over SMOOTH_PART of the turn. */
static void
smooth_steps (Steps *steps)
{
  const guint half = MAX (2, steps->n / (2 * SMOOTH_PART));
  double window[MAX_STEPS];
  for (guint k = 0; k < steps->n; k++)
  {
    guint found = 0;
    for (guint j = 0; j <= 2 * half; j++)
    {
      const double r = steps->radius[(k + steps->n + j - half) % steps->n];
      if (!isnan (r))
        window[found++] = r;
    }
    steps->smooth[k] = found > 0 ? wsi_median (window, found) : (double)NAN;
  }
}

/* What stands off the smoothed border, and its neighbours, which it blurs into. */
static void
find_dust (Steps *steps)
{
  double off[MAX_STEPS];
  guint found = 0;
  for (guint k = 0; k < steps->n; k++)
    if (!isnan (steps->radius[k]))
      off[found++] = steps->radius[k] - steps->smooth[k];
  const double reach =
    found > 0 ? MAX (DUST_SIGMAS * wsi_mad_sigma (off, found), MIN_DUST_PX) : MIN_DUST_PX;
  memset (steps->dusty, 0, sizeof steps->dusty);
  for (guint k = 0; k < steps->n; k++)
    if (!(fabs (steps->radius[k] - steps->smooth[k]) < reach))
      for (guint j = 0; j < 3; j++)
        steps->dusty[(k + steps->n + j - 1) % steps->n] = TRUE;
  steps->n_dusty = 0;
  for (guint k = 0; k < steps->n; k++)
    steps->n_dusty += steps->dusty[k] ? 1 : 0;
}

/* Points at the steps' middles; the smoothed border stands in for dust, so that a gap does not
 * turn the form into an error of the diameter. */
static gboolean
place_steps (Steps *steps)
{
  for (guint k = 0; k < steps->n; k++)
  {
    const double angle = 2 * G_PI * (k + 0.5) / steps->n;
    const double r = steps->dusty[k] ? steps->smooth[k] : steps->radius[k];
    if (isnan (r))
      return FALSE;
    steps->place[k] = wsi_point_along (steps->centre, r, wsi_point (cos (angle), sin (angle)));
  }
  return TRUE;
}

static gboolean
fit_steps (const WsPoint *points, guint n, Steps *steps, WsCircle *circle)
{
  steps->n = CLAMP (n / POINTS_A_STEP, MIN_STEPS, MAX_STEPS);
  if (!wsi_circle_fit (points, n, circle))
    return FALSE;
  /* Twice: the first centre holds the dust. */
  for (guint round = 0; round < 2; round++)
  {
    fill_steps (points, n, circle->centre, steps);
    smooth_steps (steps);
    find_dust (steps);
    if (!place_steps (steps) || !wsi_circle_fit (steps->place, steps->n, circle))
      return FALSE;
  }
  return TRUE;
}

/* (C6): the form as a reference would sample it, and noise that differs from step to step. */
static double
u_radius (const Steps *steps, const WsCircle *circle)
{
  double form = 0, noise = 0;
  for (guint k = 0; k < steps->n; k++)
  {
    const double angle = 2 * G_PI * (k + 0.5) / steps->n;
    const WsPoint smooth =
      wsi_point_along (steps->centre, steps->smooth[k], wsi_point (cos (angle), sin (angle)));
    const double off = wsi_point_distance (smooth, circle->centre) - circle->radius;
    const double rest = steps->dusty[k] ? 0 : steps->radius[k] - steps->smooth[k];
    form += off * off / steps->n;
    noise += rest * rest / steps->n;
  }
  return sqrt (form / REFERENCE_POINTS + noise / MAX (steps->n - steps->n_dusty, 1));
}

/* ---- A border ------------------------------------------------------------------------- */

/* (C5): a blur of s draws the border of a disc or a hole inward by s^2 / (2 R). */
static void
describe (const Steps *steps, const WsCircle *circle, double blur, WsRingBorder *border)
{
  double least = HUGE_VAL, most = -HUGE_VAL;
  for (guint k = 0; k < steps->n; k++)
  {
    const double r = wsi_point_distance (steps->place[k], circle->centre);
    least = MIN (least, r);
    most = MAX (most, r);
  }
  border->diameter_px = 2 * circle->radius + blur * blur / circle->radius;
  border->u_diameter_px = 2 * hypot (u_radius (steps, circle), EDGE_BIAS_PX);
  border->centre = circle->centre;
  border->roundness_px = most - least;
  border->residual_px = sqrt (circle->squares / steps->n);
  border->left_out = (double)steps->n_dusty / steps->n;
}

/* The circle's places as the picture showed them. */
static void
keep_samples (const WsOptics *optics, WsRingBorder *border)
{
  for (guint i = 0; i < WS_RING_SAMPLES; i++)
  {
    const double angle = 2 * G_PI * i / WS_RING_SAMPLES;
    const WsPoint out = wsi_point (cos (angle), sin (angle));
    WsPoint seen = wsi_point_along (border->centre, 0.5 * border->diameter_px, out);
    if (optics->lens != NULL)
      seen = wsi_point_along (ws_lens_to_picture (optics->lens, seen),
                              -border->outward * optics->lens->parameters[WS_LENS_EDGE_SHIFT], out);
    border->seen[i] = seen;
  }
}

static gboolean
check_border (const WsRingBorder *border, WsRing *ring)
{
  if (border->diameter_px < 2 * MIN_RADIUS_PX)
    return trouble (ring, WS_RETAKE_TOO_SMALL, "a circle has only %.0f px across",
                    border->diameter_px);
  if (border->left_out > 1 - MIN_CLEAN)
    return trouble (ring, WS_RETAKE_DIRTY_EDGE, "only %.0f %% of a circle is clean",
                    100 * (1 - border->left_out));
  if (border->roundness_px > MAX_ROUNDNESS * border->diameter_px)
    return trouble (ring, WS_RETAKE_WRONG_VIEW, "not round, by %.1f px", border->roundness_px);
  return TRUE;
}

static gboolean
measure_border (const WsOutline *outline, const WsOptics *optics, WsRingBorder *border,
                WsRing *ring)
{
  g_autoptr (GArray) points = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  for (guint i = 0; i < outline->points->len; i++)
  {
    const WsEdgePoint *p = &g_array_index (outline->points, WsEdgePoint, i);
    const WsPoint place = wsi_point (p->x, p->y);
    if (p->on_frame)
      return trouble (ring, WS_RETAKE_CUT_BY_FRAME, "it must be whole in the picture");
    g_array_append_val (points, place);
  }
  g_autofree Steps *steps = g_new0 (Steps, 1);
  WsCircle circle;
  if (points->len < MIN_STEPS ||
      !fit_steps ((const WsPoint *)(void *)points->data, points->len, steps, &circle))
    return trouble (ring, WS_RETAKE_WRONG_VIEW, "no circle");
  describe (steps, &circle, outline->blur_px, border);
  keep_samples (optics, border);
  return check_border (border, ring);
}

/* ---- The measurement ------------------------------------------------------------------ */

/* Rough centre of an outline, px of the picture. */
static WsPoint
middle_of (const WsOutline *outline)
{
  WsPoint low = { HUGE_VAL, HUGE_VAL }, high = { -HUGE_VAL, -HUGE_VAL };
  for (guint i = 0; i < outline->points->len; i++)
  {
    const WsEdgePoint *p = &g_array_index (outline->points, WsEdgePoint, i);
    low = wsi_point (MIN (low.x, p->x), MIN (low.y, p->y));
    high = wsi_point (MAX (high.x, p->x), MAX (high.y, p->y));
  }
  return wsi_point (0.5 * (low.x + high.x), 0.5 * (low.y + high.y));
}

static gboolean
is_bright (const WsImage *image, const WsSegment *segment, WsPoint at)
{
  if (!(at.x >= 0 && at.y >= 0 && at.x < image->width && at.y < image->height))
    return FALSE;
  const gsize i = (gsize)at.y * image->width + (gsize)at.x;
  return (double)image->linear[i] / WS_IMAGE_FULL_SCALE >
         wsi_level_at (&segment->threshold, image, at.x, at.y);
}

/* A speck may lie in the very middle of the hole: most of these places must be bright. */
static gboolean
shows_hole (const WsImage *image, const WsSegment *segment, WsPoint middle, WsPoint *inside)
{
  const double reach = 0.5 * MIN_RADIUS_PX;
  guint bright = 0;
  for (int j = -1; j <= 1; j++)
    for (int i = -1; i <= 1; i++)
    {
      const WsPoint at = wsi_point_along (middle, reach, wsi_point (i, j));
      if (!is_bright (image, segment, at))
        continue;
      bright++;
      *inside = at;
    }
  return bright >= 5;
}

gboolean
wsi_ring_measure (const WsImage *image, const WsOptics *optics, WsRing *ring)
{
  memset (ring, 0, sizeof *ring);
  ring->outer.outward = 1;
  ring->inner.outward = -1;
  const WsSegment segment = wsi_segment_find_backlit (image);
  ring->is_clipped = wsi_segment_is_clipped (&segment);
  if (segment.trouble != WS_RETAKE_NONE)
    return trouble (ring, segment.trouble, "%s", segment.detail);
  g_autoptr (WsOutline) outer = wsi_outline_trace (image, &segment);
  if (outer == NULL)
    return trouble (ring, WS_RETAKE_OUT_OF_FOCUS, "no sharp outline");
  ring->blur_px = outer->blur_px;
  WsPoint inside;
  ring->has_hole = shows_hole (image, &segment, middle_of (outer), &inside);
  g_autoptr (WsOutline) inner =
    ring->has_hole ? wsi_outline_trace_hole (image, &segment, inside) : NULL;
  if (ring->has_hole && inner == NULL)
    return trouble (ring, WS_RETAKE_OUT_OF_FOCUS, "no sharp outline of the hole");
  wsi_optics_correct (optics, outer);
  if (!measure_border (outer, optics, &ring->outer, ring))
    return FALSE;
  if (ring->blur_px > MAX (MAX_BLUR_PX, MAX_BLUR_SHARE * ring->outer.diameter_px))
    return trouble (ring, WS_RETAKE_OUT_OF_FOCUS, "edge blur %.1f px", ring->blur_px);
  if (inner == NULL)
    return TRUE;
  wsi_optics_correct (optics, inner);
  return measure_border (inner, optics, &ring->inner, ring);
}

/* ---- Through a lens ------------------------------------------------------------------- */

double
wsi_ring_diameter_through (const WsRingBorder *border, const WsLens *lens)
{
  WsPoint ideal[WS_RING_SAMPLES];
  const double shift = border->outward * lens->parameters[WS_LENS_EDGE_SHIFT];
  for (guint i = 0; i < WS_RING_SAMPLES; i++)
  {
    const double angle = 2 * G_PI * i / WS_RING_SAMPLES;
    const WsPoint out = wsi_point (cos (angle), sin (angle));
    ideal[i] = ws_lens_to_ideal (lens, wsi_point_along (border->seen[i], shift, out));
  }
  WsCircle circle;
  return wsi_circle_fit (ideal, WS_RING_SAMPLES, &circle) ? 2 * circle.radius : (double)NAN;
}

static double
diameter_through (const WsLens *lens, gconstpointer data)
{
  return wsi_ring_diameter_through (data, lens) * ws_lens_mm_per_px (lens);
}

double
wsi_ring_diameter_mm (const WsRingBorder *border, const WsOptics *optics, double *u_mm)
{
  const WsLens *lens = optics->lens;
  const double edges = border->u_diameter_px * optics->mm_per_px;
  /* (C7): the calibration's points lay off its model by residual_px, in the radius as here; what
   * edges do is in that already. */
  const double rest = lens != NULL ? 2 * lens->residual_px * optics->mm_per_px : 0;
  const double scale = lens != NULL ? wsi_lens_propagate (lens, diameter_through, border)
                                    : border->diameter_px * optics->u_mm_per_px;
  *u_mm = hypot (MAX (edges, rest), scale);
  return border->diameter_px * optics->mm_per_px;
}
