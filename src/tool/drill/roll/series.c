#include "tool/drill/roll/series.h"

#include "base/geometry.h"
#include "edge/mirror.h"
#include "maths/stats.h"
#include "tool/drill/first_axis.h"

/* The body begins this far behind the foremost point, in radii: points of 90 degrees and more are
 * shorter. */
#define BODY_BEGINS 1.12

/* Less of it, in radii, tells no phase. */
#define LEAST_BODY 1.0

#define ROUNDS 3

WsRoll *
wsi_roll_new (void)
{
  WsRoll *roll = g_new0 (WsRoll, 1);
  roll->frames = g_ptr_array_new ();
  return roll;
}

static void
frame_free (WsRollFrame *frame)
{
  if (frame != NULL && frame->uz != NULL)
    g_array_unref (frame->uz);
  g_free (frame);
}

void
wsi_roll_free (WsRoll *roll)
{
  if (roll == NULL)
    return;
  for (guint i = 0; i < roll->frames->len; i++)
    frame_free (wsi_roll_frame (roll, i));
  g_ptr_array_unref (roll->frames);
  g_free (roll);
}

double
wsi_roll_height (const WsRoll *roll, guint k)
{
  return roll->low + (roll->high - roll->low) * k / (WS_ROLL_HEIGHTS - 1);
}

/* ---- One picture ------------------------------------------------------------------- */

static const WsEdgePoint *
points_of (const WsOutline *outline)
{
  return (const WsEdgePoint *)(const void *)outline->points->data;
}

/* The body's axis, from a guess on. */
static gboolean
refine_axis (const WsOutline *outline, const WsAxis *guess, WsMirror *mirror, WsDrillExtent *extent)
{
  WsAxis axis = *guess;
  gboolean found = FALSE;
  for (guint round = 0; round < ROUNDS; round++)
  {
    *extent = wsi_drill_extent (outline, &axis);
    const double top = extent->z_high - BODY_BEGINS * extent->half_width;
    found = top - extent->z_low > LEAST_BODY * extent->half_width &&
            wsi_mirror_fit (points_of (outline), outline->points->len, &axis, extent->z_low, top,
                            outline->spacing_px, mirror);
    if (!found)
      return FALSE;
    axis = mirror->axis;
  }
  return found;
}

/* The body lies where it did in the pictures before; else it is sought. */
static gboolean
find_axis (const WsRoll *roll, const WsOutline *outline, WsMirror *mirror, WsDrillExtent *extent,
           WsRefusal *refusal)
{
  WsAxis guesses[2], best;
  if (roll->frames->len > 0 && refine_axis (outline, &roll->axis, mirror, extent))
    return TRUE;
  const guint n = wsi_drill_axis_guesses (outline, guesses, refusal);
  if (n == 0)
    return FALSE;
  if (n == 1 && wsi_drill_axis_search (outline, &guesses[0], &best) &&
      refine_axis (outline, &best, mirror, extent))
    return TRUE;
  return wsi_refusal_set (refusal, WS_RETAKE_WRONG_VIEW,
                          "no drill's body that leaves the picture is seen behind a point");
}

/* Abreast of the series' origin. */
static WsAxis
moved_abreast (const WsAxis *axis, const WsAxis *series)
{
  const WsPoint d = wsi_point_sub (series->origin, axis->origin);
  const double along =
    wsi_point_dot (d, series->direction) / wsi_point_dot (axis->direction, series->direction);
  return (WsAxis){ wsi_point_along (axis->origin, along, axis->direction), axis->direction };
}

static void
keep_points (const WsOutline *outline, WsRollFrame *frame)
{
  const WsEdgePoint *points = points_of (outline);
  const guint n = outline->points->len;
  const WsPoint gap = { NAN, NAN };
  guint start = 0;
  while (start < n && !points[start].on_frame)
    start++;
  frame->uz = g_array_sized_new (FALSE, FALSE, sizeof (WsPoint), n);
  for (guint k = 0; k < n; k++)
  {
    const WsEdgePoint *p = &points[(start + k) % n];
    if (p->on_frame || p->after_gap)
      g_array_append_val (frame->uz, gap);
    if (p->on_frame)
      continue;
    const WsPoint uz = wsi_axis_to_tool (&frame->axis, wsi_point (p->x, p->y));
    g_array_append_val (frame->uz, uz);
  }
}

gboolean
wsi_roll_add (WsRoll *roll, guint picture, const WsOutline *outline, WsRefusal *refusal)
{
  WsMirror mirror;
  WsDrillExtent extent;
  if (!find_axis (roll, outline, &mirror, &extent, refusal))
    return FALSE;
  if (roll->frames->len == 0)
    roll->axis = mirror.axis;
  WsRollFrame *frame = g_new0 (WsRollFrame, 1);
  frame->picture = picture;
  frame->axis = moved_abreast (&mirror.axis, &roll->axis);
  frame->u_angle = mirror.u_angle;
  frame->u_offset = mirror.u_offset;
  frame->half_width = extent.half_width;
  frame->blur = outline->blur_px;
  frame->noise = outline->noise;
  keep_points (outline, frame);
  frame->low = HUGE_VAL;
  frame->tip = -HUGE_VAL;
  for (guint i = 0; i < frame->uz->len; i++)
  {
    const WsPoint p = g_array_index (frame->uz, WsPoint, i);
    if (isnan (p.x))
      continue;
    if (p.y > frame->tip)
      frame->tip_at = i;
    frame->tip = MAX (frame->tip, p.y);
    frame->low = MIN (frame->low, p.y);
  }
  frame->high = frame->tip - BODY_BEGINS * frame->half_width;
  g_ptr_array_add (roll->frames, frame);
  return TRUE;
}

/* ---- All of them ------------------------------------------------------------------- */

/* Outermost crossings of every height, left and right. */
static void
cross_heights (const WsRoll *roll, const WsRollFrame *frame, double *left, double *right)
{
  const double step = (roll->high - roll->low) / (WS_ROLL_HEIGHTS - 1);
  for (guint i = 1; i < frame->uz->len; i++)
  {
    const WsPoint p = g_array_index (frame->uz, WsPoint, i - 1);
    const WsPoint q = g_array_index (frame->uz, WsPoint, i);
    if (isnan (p.x) || isnan (q.x) || !(fabs (p.y - q.y) > 0))
      continue;
    const double from = (MIN (p.y, q.y) - roll->low) / step;
    const double to = (MAX (p.y, q.y) - roll->low) / step;
    for (double k = MAX (ceil (from), 0); k <= to && k < WS_ROLL_HEIGHTS; k++)
    {
      const double z = roll->low + step * k;
      const double u = p.x + (q.x - p.x) * (z - p.y) / (q.y - p.y);
      double *side = u < 0 ? &left[(guint)k] : &right[(guint)k];
      *side = isnan (*side) || fabs (u) > fabs (*side) ? u : *side;
    }
  }
}

static void
sample_frame (const WsRoll *roll, WsRollFrame *frame)
{
  double left[WS_ROLL_HEIGHTS], right[WS_ROLL_HEIGHTS];
  for (guint k = 0; k < WS_ROLL_HEIGHTS; k++)
    left[k] = right[k] = NAN;
  cross_heights (roll, frame, left, right);
  for (guint k = 0; k < WS_ROLL_HEIGHTS; k++)
  {
    frame->half[k] = 0.5 * (right[k] - left[k]);
    frame->middle[k] = 0.5 * (right[k] + left[k]);
  }
  const WsPoint d = frame->axis.direction, s = roll->axis.direction;
  frame->offset = wsi_axis_to_tool (&roll->axis, frame->axis.origin).x;
  frame->slope = wsi_point_cross (s, d) / wsi_point_dot (s, d);
}

gboolean
wsi_roll_sample (WsRoll *roll, WsRefusal *refusal)
{
  roll->low = -HUGE_VAL;
  roll->high = HUGE_VAL;
  double width = 0;
  for (guint i = 0; i < roll->frames->len; i++)
  {
    const WsRollFrame *frame = wsi_roll_frame (roll, i);
    roll->low = MAX (roll->low, frame->low);
    roll->high = MIN (roll->high, frame->high);
    width = MAX (width, frame->half_width);
  }
  if (!(roll->high - roll->low > LEAST_BODY * width))
    return wsi_refusal_set (refusal, WS_RETAKE_CUT_BY_FRAME,
                            "too little of the body is in all pictures");
  for (guint i = 0; i < roll->frames->len; i++)
    sample_frame (roll, wsi_roll_frame (roll, i));
  return TRUE;
}

double
wsi_roll_middle_rms (const WsRoll *roll)
{
  double sum = 0;
  for (guint i = 0; i < roll->frames->len; i++)
  {
    double off[WS_ROLL_HEIGHTS];
    guint n = 0;
    for (guint k = 0; k < WS_ROLL_HEIGHTS; k++)
    {
      const double middle = fabs (wsi_roll_frame (roll, i)->middle[k]);
      if (isfinite (middle))
        off[n++] = middle;
    }
    sum += n > 0 ? wsi_absolute_sigma (off, n) : 0;
  }
  return sum / MAX (roll->frames->len, 1);
}
