#include "optics/calibrate/pin.h"

#include <string.h>

#include "base/geometry.h"
#include "edge/line.h"
#include "edge/outline.h"
#include "maths/jackknife.h"
#include "maths/least_squares.h"
#include "optics/correct.h"
#include "optics/lens.h"
#include "optics/propagate.h"

/* Normals within this of the sides' own count as theirs; they are good to 3 degrees. */
#define NORMAL_REACH_DEG 12.0

/* Bins of the normals' directions over half a turn. */
#define DIRECTIONS 180

/* Nearer to the picture's border than this, outline normals see the corner with it, px. */
#define RIM_PX 12.0

/* What the outline of a side may be off by from one picture to the next, beyond what all have
 * alike, which a calibration takes for edge shift.  Own trials on rendered pins. */
#define EDGE_BIAS_PX 0.001

/* A narrower pin tells little of the scale; own trials. */
#define MIN_WIDTH_PX 40.0

/* And a shorter stretch little of its direction: px, and part of the width. */
#define MIN_LENGTH_PX 60.0
#define MIN_LENGTH_SHARE 0.25

/* Part of a side that must be free of dust; as for lips (docs/methods/drill.md, D54). */
#define MIN_SOUND 0.6

/* A ground pin's sides are straighter and more parallel than this; common practice, no source.
 * Lenses without a calibration bend them, though. */
#define MAX_SCATTER_PX 0.5
#define MAX_TAPER_RAD 0.006

/* Blur from which a pin is out of focus, px and part of its width (docs/methods/common.md, K46). */
#define MAX_BLUR_PX 4.0
#define MAX_BLUR_SHARE 0.012

#define UNKNOWNS 3

typedef struct
{
  GArray *points; /* of WsPoint, in order along the side */
  guint8 *used;
  WsLineFit line;
} Side;

typedef struct
{
  Side side[2];
  WsPoint normal; /* unit, from side 0 to side 1 */
} Sides;

static void
sides_clear (Sides *sides)
{
  for (guint k = 0; k < 2; k++)
  {
    g_clear_pointer (&sides->side[k].points, g_array_unref);
    g_clear_pointer (&sides->side[k].used, g_free);
  }
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Sides, sides_clear)

static gboolean trouble (WsPin *pin, WsRetake reason, const char *what, ...) G_GNUC_PRINTF (3, 4);

static gboolean
trouble (WsPin *pin, WsRetake reason, const char *what, ...)
{
  va_list arguments;
  va_start (arguments, what);
  pin->trouble = reason;
  g_vsnprintf (pin->detail, sizeof pin->detail, what, arguments);
  va_end (arguments);
  return FALSE;
}

static const WsEdgePoint *
point_of (const WsOutline *outline, guint i)
{
  return &g_array_index (outline->points, WsEdgePoint, i);
}

/* ---- Finding the sides -------------------------------------------------------------- */

static void
drop_rim (const WsImage *image, WsOutline *outline)
{
  for (guint i = 0; i < outline->points->len; i++)
  {
    WsEdgePoint *p = &g_array_index (outline->points, WsEdgePoint, i);
    const double across = MIN (p->x, image->width - 1 - p->x);
    const double down = MIN (p->y, image->height - 1 - p->y);
    if (MIN (across, down) < RIM_PX)
      p->on_frame = TRUE;
  }
}

/* Index of the direction, mod half a turn, with most normals about it. */
static guint
fullest_direction (const WsOutline *outline)
{
  guint count[DIRECTIONS] = { 0 };
  for (guint i = 0; i < outline->points->len; i++)
  {
    const WsEdgePoint *p = point_of (outline, i);
    const double turn = atan2 ((double)p->ny, (double)p->nx) / G_PI + 1;
    if (!p->on_frame)
      count[(guint)(turn * DIRECTIONS) % DIRECTIONS]++;
  }
  guint best = 0, most = 0;
  for (guint k = 0; k < DIRECTIONS; k++)
  {
    guint sum = 0;
    for (guint j = 0; j < 5; j++)
      sum += count[(k + j) % DIRECTIONS];
    if (sum > most)
    {
      most = sum;
      best = (k + 2) % DIRECTIONS;
    }
  }
  return best;
}

static WsPoint
common_normal (const WsOutline *outline)
{
  const double angle = (fullest_direction (outline) + 0.5) * G_PI / DIRECTIONS;
  const WsPoint rough = wsi_point (cos (angle), sin (angle));
  const double reach = cos (wsi_radians (NORMAL_REACH_DEG));
  WsPoint sum = { 0, 0 };
  for (guint i = 0; i < outline->points->len; i++)
  {
    const WsEdgePoint *p = point_of (outline, i);
    const WsPoint normal = wsi_point ((double)p->nx, (double)p->ny);
    const double cosine = wsi_point_dot (normal, rough);
    if (!p->on_frame && fabs (cosine) > reach)
      sum = wsi_point_along (sum, cosine > 0 ? 1 : -1, normal);
  }
  const double length = MAX (wsi_point_length (sum), 1e-9);
  return wsi_point (sum.x / length, sum.y / length);
}

static gint
compare_along (gconstpointer a, gconstpointer b, gpointer direction)
{
  const double s = wsi_point_dot (*(const WsPoint *)a, *(const WsPoint *)direction);
  const double t = wsi_point_dot (*(const WsPoint *)b, *(const WsPoint *)direction);
  return (s > t) - (s < t);
}

/* The outline's points by the side that their normal tells, in order along the pin. */
static void
split (const WsOutline *outline, Sides *sides)
{
  sides->normal = common_normal (outline);
  const double reach = cos (wsi_radians (NORMAL_REACH_DEG));
  for (guint k = 0; k < 2; k++)
    sides->side[k].points = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  for (guint i = 0; i < outline->points->len; i++)
  {
    const WsEdgePoint *p = point_of (outline, i);
    const double cosine = wsi_point_dot (wsi_point ((double)p->nx, (double)p->ny), sides->normal);
    const WsPoint place = wsi_point (p->x, p->y);
    if (!p->on_frame && fabs (cosine) > reach)
      g_array_append_val (sides->side[cosine > 0 ? 1 : 0].points, place);
  }
  WsPoint along = wsi_point (-sides->normal.y, sides->normal.x);
  for (guint k = 0; k < 2; k++)
    g_array_sort_with_data (sides->side[k].points, compare_along, &along);
}

static gboolean
fit_side (Side *side, WsPin *pin)
{
  const guint n = side->points->len;
  if (n < WS_LINE_MIN_POINTS)
    return trouble (pin, WS_RETAKE_CUT_BY_FRAME, "only one side of the pin is in the picture");
  side->used = g_new0 (guint8, n);
  if (!wsi_line_fit ((const WsPoint *)(void *)side->points->data, n, side->used, &side->line))
    return trouble (pin, WS_RETAKE_WRONG_VIEW, "a side isn't straight");
  if (side->line.n_used < MIN_SOUND * n)
    return trouble (pin, WS_RETAKE_DIRTY_EDGE, "only %.0f %% of a side is clean",
                    100.0 * side->line.n_used / n);
  if (side->line.scatter > MAX_SCATTER_PX)
    return trouble (pin, WS_RETAKE_WRONG_VIEW, "a side isn't straight: it scatters by %.2f px",
                    side->line.scatter);
  return TRUE;
}

/* ---- Both sides as parallels -------------------------------------------------------- */

/* Unknown are the distances of both sides from the frame's origin, and their common turn. */
typedef struct
{
  WsPoint origin, along, normal;
} Frame;

typedef struct
{
  double distance[2];
  double turn;
} Parallels;

/* (along, across) in the frame. */
static WsPoint
in_frame (const Frame *frame, WsPoint p)
{
  const WsPoint d = wsi_point_sub (p, frame->origin);
  return wsi_point (wsi_point_dot (d, frame->along), wsi_point_dot (d, frame->normal));
}

static void
add_stretch (const Frame *frame, const Side *side, guint k, guint from, guint to,
             WsLeastSquares *sums)
{
  for (guint i = from; i < to; i++)
  {
    if (!side->used[i])
      continue;
    const WsPoint q = in_frame (frame, g_array_index (side->points, WsPoint, i));
    const double row[UNKNOWNS] = { k == 0, k == 1, q.x };
    wsi_least_squares_add (sums, row, q.y, 1);
  }
}

static gboolean
solve (const WsLeastSquares *sums, Parallels *out)
{
  double x[UNKNOWNS];
  if (!wsi_least_squares_solve (sums, x, NULL))
    return FALSE;
  *out = (Parallels){ { x[0], x[1] }, x[2] };
  return TRUE;
}

static double
width_of (const Parallels *p)
{
  return (p->distance[1] - p->distance[0]) / hypot (1, p->turn);
}

/* The sides are independent, so the variances by leaving out blocks of each add. */
static double
width_u (const Frame *frame, const Sides *sides, const WsLeastSquares *all)
{
  double u[2];
  for (guint k = 0; k < 2; k++)
  {
    const guint n = sides->side[k].points->len;
    double width[WS_JACKKNIFE_BLOCKS];
    for (guint b = 0; b < WS_JACKKNIFE_BLOCKS; b++)
    {
      WsLeastSquares without = *all, block;
      Parallels parallels = { { 0, 0 }, 0 };
      wsi_least_squares_init (&block, UNKNOWNS);
      add_stretch (frame, &sides->side[k], k, wsi_jackknife_from (n, b),
                   wsi_jackknife_from (n, b + 1), &block);
      wsi_least_squares_add_sums (&without, &block, -1);
      /* A block that can't be spared shows as a wild width, and makes the variance great. */
      solve (&without, &parallels);
      width[b] = width_of (&parallels);
    }
    u[k] = wsi_jackknife_u (width);
  }
  return hypot (u[0], u[1]);
}

static double
rms_of (const Frame *frame, const Sides *sides, const Parallels *parallels)
{
  double squares = 0;
  guint n = 0;
  for (guint k = 0; k < 2; k++)
    for (guint i = 0; i < sides->side[k].points->len; i++)
    {
      if (!sides->side[k].used[i])
        continue;
      const WsPoint q = in_frame (frame, g_array_index (sides->side[k].points, WsPoint, i));
      const double off = q.y - parallels->distance[k] - parallels->turn * q.x;
      squares += off * off;
      n++;
    }
  return sqrt (squares / MAX (n, 1));
}

/* Where a side begins and ends, along the frame. */
static void
reach_of (const Frame *frame, const Side *side, double *low, double *high)
{
  *low = HUGE_VAL;
  *high = -HUGE_VAL;
  for (guint i = 0; i < side->points->len; i++)
  {
    const double t = in_frame (frame, g_array_index (side->points, WsPoint, i)).x;
    *low = side->used[i] ? MIN (*low, t) : *low;
    *high = side->used[i] ? MAX (*high, t) : *high;
  }
}

/* The side's samples: on its line in the ideal picture, then as the picture showed them. */
static void
keep_samples (const Frame *frame, const Side *side, const Parallels *parallels, guint k,
              const WsOptics *optics, WsPoint samples[WS_PIN_SAMPLES])
{
  double low, high;
  reach_of (frame, side, &low, &high);
  const double outward = k == 0 ? -1 : 1;
  for (guint i = 0; i < WS_PIN_SAMPLES; i++)
  {
    const double t = low + (i + 0.5) * (high - low) / WS_PIN_SAMPLES;
    const double d = parallels->distance[k] + parallels->turn * t;
    samples[i] =
      wsi_point_along (wsi_point_along (frame->origin, t, frame->along), d, frame->normal);
    if (optics->lens != NULL)
      samples[i] =
        wsi_point_along (ws_lens_to_picture (optics->lens, samples[i]),
                         -outward * optics->lens->parameters[WS_LENS_EDGE_SHIFT], frame->normal);
  }
}

static Frame
frame_between (const Sides *sides)
{
  /* Both sides' directions by their own lines, each turned to the same sense. */
  WsPoint sum = { 0, 0 };
  const WsPoint rough = wsi_point (-sides->normal.y, sides->normal.x);
  for (guint k = 0; k < 2; k++)
  {
    const WsLineFit *line = &sides->side[k].line;
    const double sense = wsi_point_dot (line->direction, rough) > 0 ? 1 : -1;
    sum = wsi_point_along (sum, sense * (line->t_high - line->t_low), line->direction);
  }
  const double length = MAX (wsi_point_length (sum), 1e-9);
  const WsPoint along = wsi_point (sum.x / length, sum.y / length);
  const WsPoint origin =
    wsi_point_along (sides->side[0].line.centre, 0.5,
                     wsi_point_sub (sides->side[1].line.centre, sides->side[0].line.centre));
  return (Frame){ origin, along, wsi_point (along.y, -along.x) };
}

static void
place (const Frame *frame, const Sides *sides, const Parallels *parallels, WsPin *pin)
{
  double low = HUGE_VAL, high = -HUGE_VAL;
  for (guint k = 0; k < 2; k++)
  {
    double from, to;
    reach_of (frame, &sides->side[k], &from, &to);
    low = MIN (low, from);
    high = MAX (high, to);
  }
  const double length = hypot (1, parallels->turn), middle = 0.5 * (low + high);
  const double across =
    0.5 * (parallels->distance[0] + parallels->distance[1]) + parallels->turn * middle;
  pin->length_px = high - low;
  pin->middle =
    wsi_point_along (wsi_point_along (frame->origin, middle, frame->along), across, frame->normal);
  pin->direction = wsi_point_along (wsi_point (frame->along.x / length, frame->along.y / length),
                                    parallels->turn / length, frame->normal);
}

static gboolean
fit_parallels (const Sides *sides, const WsOptics *optics, WsPin *pin)
{
  const Frame frame = frame_between (sides);
  WsLeastSquares all;
  wsi_least_squares_init (&all, UNKNOWNS);
  for (guint k = 0; k < 2; k++)
    add_stretch (&frame, &sides->side[k], k, 0, sides->side[k].points->len, &all);
  Parallels parallels;
  if (!solve (&all, &parallels))
    return trouble (pin, WS_RETAKE_WRONG_VIEW, "the sides aren't parallel");
  pin->width_px = width_of (&parallels);
  pin->u_width_px = hypot (width_u (&frame, sides, &all), G_SQRT2 * EDGE_BIAS_PX);
  pin->residual_px = rms_of (&frame, sides, &parallels);
  const double sine =
    wsi_point_cross (sides->side[0].line.direction, sides->side[1].line.direction);
  pin->taper_rad = asin (CLAMP (sine, -1.0, 1.0));
  place (&frame, sides, &parallels, pin);
  for (guint k = 0; k < 2; k++)
    keep_samples (&frame, &sides->side[k], &parallels, k, optics, pin->sides[k]);
  return TRUE;
}

/* ---- The measurement ---------------------------------------------------------------- */

static gboolean
check (const Sides *sides, WsPin *pin)
{
  const double u_taper = hypot (sides->side[0].line.u_angle, sides->side[1].line.u_angle);
  const double shorter = MIN (sides->side[0].line.t_high - sides->side[0].line.t_low,
                              sides->side[1].line.t_high - sides->side[1].line.t_low);
  if (pin->width_px < MIN_WIDTH_PX)
    return trouble (pin, WS_RETAKE_TOO_SMALL, "the pin is only %.0f px wide", pin->width_px);
  if (shorter < MAX (MIN_LENGTH_PX, MIN_LENGTH_SHARE * pin->width_px))
    return trouble (pin, WS_RETAKE_CUT_BY_FRAME, "a side is seen for only %.0f px", shorter);
  if (fabs (pin->taper_rad) > MAX_TAPER_RAD + 3 * u_taper)
    return trouble (pin, WS_RETAKE_WRONG_VIEW, "the sides aren't parallel, by %.2f degrees",
                    wsi_degrees (fabs (pin->taper_rad)));
  if (pin->blur_px > MAX (MAX_BLUR_PX, MAX_BLUR_SHARE * pin->width_px))
    return trouble (pin, WS_RETAKE_OUT_OF_FOCUS, "edge blur %.1f px", pin->blur_px);
  return TRUE;
}

static gboolean
measure_outline (const WsOutline *outline, const WsOptics *optics, WsPin *pin)
{
  g_auto (Sides) sides = { 0 };
  split (outline, &sides);
  return fit_side (&sides.side[0], pin) && fit_side (&sides.side[1], pin) &&
         fit_parallels (&sides, optics, pin) && check (&sides, pin);
}

gboolean
wsi_pin_measure (const WsImage *image, const WsOptics *optics, WsPin *pin)
{
  memset (pin, 0, sizeof *pin);
  const WsSegment segment = wsi_segment_find_backlit (image);
  pin->is_clipped = wsi_segment_is_clipped (&segment);
  if (segment.trouble != WS_RETAKE_NONE)
    return trouble (pin, segment.trouble, "%s", segment.detail);
  g_autoptr (WsOutline) outline = wsi_outline_trace (image, &segment);
  if (outline == NULL)
    return trouble (pin, WS_RETAKE_OUT_OF_FOCUS, "no sharp outline");
  pin->blur_px = outline->blur_px;
  drop_rim (image, outline);
  wsi_optics_correct (optics, outline);
  return measure_outline (outline, optics, pin);
}

/* ---- Through a lens ----------------------------------------------------------------- */

/* Mean of the samples of a side, moved by the edge shift and seen through the lens. */
static WsPoint
middle_through (const WsPin *pin, const WsLens *lens, guint k, WsPoint outward)
{
  WsPoint sum = { 0, 0 };
  for (guint i = 0; i < WS_PIN_SAMPLES; i++)
  {
    const WsPoint edge =
      wsi_point_along (pin->sides[k][i], lens->parameters[WS_LENS_EDGE_SHIFT], outward);
    sum = wsi_point_along (sum, 1.0 / WS_PIN_SAMPLES, ws_lens_to_ideal (lens, edge));
  }
  return sum;
}

/* Direction of a side through the lens: the slope of its samples, first half to second. */
static WsPoint
run_through (const WsPin *pin, const WsLens *lens, guint k)
{
  WsPoint run = { 0, 0 };
  for (guint i = 0; i < WS_PIN_SAMPLES; i++)
    run = wsi_point_along (run, i - 0.5 * (WS_PIN_SAMPLES - 1),
                           ws_lens_to_ideal (lens, pin->sides[k][i]));
  return run;
}

double
wsi_pin_width_through (const WsPin *pin, const WsLens *lens)
{
  const WsPoint first = wsi_point_sub (pin->sides[0][WS_PIN_SAMPLES - 1], pin->sides[0][0]);
  const double length = wsi_point_length (first);
  WsPoint outward = wsi_point (-first.y / length, first.x / length);
  if (wsi_point_dot (outward, wsi_point_sub (pin->sides[1][0], pin->sides[0][0])) < 0)
    outward = wsi_point (-outward.x, -outward.y);
  const WsPoint from = middle_through (pin, lens, 0, wsi_point (-outward.x, -outward.y));
  const WsPoint to = middle_through (pin, lens, 1, outward);
  const WsPoint run = wsi_point_add (run_through (pin, lens, 0), run_through (pin, lens, 1));
  return fabs (wsi_point_cross (wsi_point_sub (to, from), run)) / wsi_point_length (run);
}

/* (C3): what a pinhole at this distance shows wider than it is. */
static double
diameter_of (double shown_mm, const WsLens *lens)
{
  const double distance = lens != NULL ? ws_lens_distance_mm (lens, NULL) : (double)INFINITY;
  return shown_mm / hypot (1, 0.5 * shown_mm / distance);
}

static double
diameter_through (const WsLens *lens, gconstpointer data)
{
  return diameter_of (wsi_pin_width_through (data, lens) * ws_lens_mm_per_px (lens), lens);
}

double
wsi_pin_diameter_mm (const WsPin *pin, const WsOptics *optics, double *u_mm)
{
  const WsLens *lens = optics->lens;
  const double shown = pin->width_px * optics->mm_per_px;
  const double edges = pin->u_width_px * optics->mm_per_px;
  /* (C4): the calibration's points lay off its model by residual_px; so may both sides, and what
   * edges do is in that already. */
  const double rest = lens != NULL ? 2 * lens->residual_px * optics->mm_per_px : 0;
  const double scale = lens != NULL ? wsi_lens_propagate (lens, diameter_through, pin)
                                    : pin->width_px * optics->u_mm_per_px;
  *u_mm = hypot (MAX (edges, rest), scale);
  return diameter_of (shown, lens);
}
