#include "edge/outline.h"

#include "edge/edge_blur.h"
#include "edge/scan.h"
#include "maths/running.h"
#include "maths/stats.h"

#include <math.h>
#include <string.h>

/* Twice this many points or more a noise-limited outline does not need. */
#define ENOUGH_POINTS 3500

/* Fewer crossings left out in a row are no gap. */
#define GAP_CROSSINGS 3

/* Between gaps fewer points are no edge, and beside gaps so many may be off it. */
#define LEAST_RUN 20
#define BESIDE_GAP 3

/* A scan line is no step where it is off by this many times as much as the others, and by this part
 * of its step; its neighbours are steps up to so many times.  So many in a row may be stuck; own
 * trials. */
#define STUCK_NOISE 3
#define STUCK_MISFIT 0.03
#define STUCK_BESIDE 2
#define MOST_STUCK 2

/* Light that slopes by g a pixel beside the edge moves the place found by SLOPE_MOVES g s^2 px or
 * so (own trials, windows of 4.5 s).  Less than LEAST_MOVE px is left alone, and slopes of the
 * outline that are no more than SLOPE_NOISE times what noise makes of them; down to SLOPE_DOUBT
 * times that they are in doubt.  Slopes are medians of
 * so many neighbours to either side.  Blocks of a lossy compression have slopes of their own,
 * alike for all of these. */
#define SLOPE_MOVES 6.5
#define LEAST_MOVE 0.005
#define LEAST_MOVE_LOSSY 0.02
#define SLOPE_NOISE 3
#define SLOPE_DOUBT 1.5
#define SLOPE_NEIGHBOURS 8

/* The tail of an edge that is less in focus than most would be such a slope.  Blur is seen at every
 * eighth point, a median of so many; less than a sixth more of it hides nothing. */
#define BLUR_EVERY 8
#define BLUR_NEIGHBOURS 2
#define BLUR_VARIES 1.15

/* A shorter boundary is a speck's. */
#define MIN_CRACKS 40

static WsEdgePoint
frame_point (const WsCrack *c)
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

/* The first point that is no frame. */
static void
begin_after_gap (GArray *points)
{
  for (guint i = 0; i < points->len; i++)
  {
    WsEdgePoint *p = &g_array_index (points, WsEdgePoint, i);
    if (p->on_frame)
      continue;
    p->after_gap = TRUE;
    return;
  }
}

static void
fit_points (const WsScanFitter *fitter, const GArray *cracks, WsOutline *outline)
{
  const guint stride = MAX (1, cracks->len / ENOUGH_POINTS);
  guint crossings = 0, tried = 0, failed = 0, since = 0, at_start = 0;
  outline->spacing_px = stride;
  for (guint i = 0; i < cracks->len; i++)
  {
    const WsCrack *c = &g_array_index (cracks, WsCrack, i);
    if (wsi_crack_touches_frame (fitter->image, c))
    {
      const WsEdgePoint p = frame_point (c);
      g_array_append_val (outline->points, p);
      continue;
    }
    const WsPoint normal = wsi_boundary_normal (cracks, i);
    if (!wsi_crack_matches (c, normal) || crossings++ % stride != 0)
      continue;
    WsProfile p;
    tried++;
    if (!wsi_scan_fit_point (fitter, c, outline->blur_px / wsi_crack_cosine (c, normal), &p))
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
    at_start = outline->points->len == 0 ? since : at_start;
    since = 0;
    if (!repeats (outline->points, &point))
      g_array_append_val (outline->points, point);
  }
  /* A gap may go on behind the last point. */
  if (outline->points->len > 0 && since + at_start >= GAP_CROSSINGS)
    begin_after_gap (outline->points);
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

/* Makes the outline begin where a run does, if there are any: else the last run would go on in the
 * first. */
static void
begin_with_a_run (GArray *points)
{
  const WsEdgePoint *p = (const WsEdgePoint *)(void *)points->data;
  guint first = 0;
  while (first < points->len && !p[first].on_frame && !p[first].after_gap)
    first++;
  if (first == 0 || first == points->len)
    return;
  g_autofree WsEdgePoint *head = g_memdup2 (p, first * sizeof (WsEdgePoint));
  g_array_remove_range (points, 0, first);
  g_array_append_vals (points, head, first);
}

/* Leaves out scraps between gaps, where the boundary runs through the tool, and ends beside
 * gaps.  The outline is closed: its last point has the first behind it. */
static void
trim_gaps (WsOutline *outline)
{
  begin_with_a_run (outline->points);
  const GArray *all = outline->points;
  GArray *kept = g_array_sized_new (FALSE, FALSE, sizeof (WsEdgePoint), all->len);
  gboolean gap = FALSE;
  guint dropped = 0;
  for (guint from = 0; from < all->len;)
  {
    const WsEdgePoint *first = &g_array_index (all, WsEdgePoint, from);
    const guint end = first->on_frame ? from + 1 : run_end (all, from);
    const gboolean before = first->after_gap;
    const gboolean after = g_array_index (all, WsEdgePoint, end % all->len).after_gap;
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
  if (gap)
    begin_after_gap (kept);
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

/* So many doubles to work on. */
static double *
values_of (const WsOutlineRoom *room, guint n)
{
  g_array_set_size (room->values, MAX (room->values->len, n));
  return (double *)(void *)room->values->data;
}

static double
median_noise (const GArray *points, const WsOutlineRoom *room)
{
  double *noise = values_of (room, points->len + 1);
  gsize n = 0;
  for (guint i = 0; i < points->len; i++)
  {
    const WsEdgePoint *p = &g_array_index (points, WsEdgePoint, i);
    if (!p->on_frame)
      noise[n++] = (double)p->noise;
  }
  return n > 0 ? wsi_median (noise, n) : 0;
}

static gboolean
is_step (const GArray *points, guint i, double most)
{
  const WsEdgePoint *p = &g_array_index (points, WsEdgePoint, i % points->len);
  return !p->on_frame && (double)p->noise <= most;
}

/* Whether the point is one of at most MOST_STUCK that are no step between two that are. */
static gboolean
is_stuck (const GArray *points, guint i, double most, double beside)
{
  if (g_array_index (points, WsEdgePoint, i).on_frame || is_step (points, i, most))
    return FALSE;
  const guint n = points->len;
  guint run = 1;
  guint before = i + n - 1, after = i + 1;
  for (; run <= MOST_STUCK && !is_step (points, before, most); before--)
    run++;
  for (; run <= MOST_STUCK && !is_step (points, after, most); after++)
    run++;
  return run <= MOST_STUCK && is_step (points, before, beside) && is_step (points, after, beside);
}

/* Leaves out points whose scan lines alone are no steps: a pixel of the sensor that is stuck lies
 * on one scan line, damage and dirt on several. */
static void
leave_out_stuck (WsOutline *outline, const WsOutlineRoom *room)
{
  GArray *points = outline->points;
  const double beside = STUCK_BESIDE * outline->noise;
  const double most = MAX (STUCK_NOISE * outline->noise, STUCK_MISFIT);
  const guint n = points->len;
  if (n < 4 * MOST_STUCK)
    return;
  g_byte_array_set_size (room->flags, MAX (room->flags->len, n));
  guint8 *stuck = room->flags->data;
  for (guint i = 0; i < n; i++)
    stuck[i] = is_stuck (points, i, most, beside) ? 1 : 0;
  guint kept = 0;
  gboolean gap = FALSE;
  for (guint i = 0; i < n; i++)
  {
    WsEdgePoint p = g_array_index (points, WsEdgePoint, i);
    /* A gap before it is one before the next. */
    gap = gap || p.after_gap;
    if (stuck[i])
      continue;
    p.after_gap = gap;
    gap = FALSE;
    g_array_index (points, WsEdgePoint, kept++) = p;
  }
  g_array_set_size (points, kept);
}

WsCrack
wsi_outline_crack (const WsEdgePoint *p, double blur_px, double *blur)
{
  const double nx = (double)p->nx, ny = (double)p->ny;
  const gboolean across = fabs (nx) > fabs (ny);
  WsCrack c = { .dx = across ? (nx > 0 ? 1 : -1) : 0, .dy = across ? 0 : (ny > 0 ? 1 : -1) };
  c.x = (int)lround (p->x - 0.5 * c.dx);
  c.y = (int)lround (p->y - 0.5 * c.dy);
  *blur = blur_px / MAX (fabs (nx), fabs (ny));
  return c;
}

/* Whether the RMS of `smooth`, medians of `values`, is above `least` and what noise makes of it. */
static gboolean
is_more_than_noise (const double *values, const double *smooth, guint n, double times, double least)
{
  double signal = 0, noise = 0;
  guint n_signal = 0, n_noise = 0;
  for (guint i = 0; i < n; i++)
  {
    const double next = values[(i + 1) % n];
    if (isfinite (smooth[i]))
    {
      signal += smooth[i] * smooth[i];
      n_signal++;
    }
    if (isfinite (values[i]) && isfinite (next))
    {
      noise += (values[i] - next) * (values[i] - next) / 2;
      n_noise++;
    }
  }
  if (n_signal == 0 || n_noise == 0)
    return FALSE;
  const double rms = sqrt (signal / n_signal);
  /* A median of n is known to pi / 2 of a mean's variance. */
  const double by_noise = sqrt (0.5 * G_PI * noise / n_noise / (2 * SLOPE_NEIGHBOURS + 1));
  return rms > times * by_noise && rms > least;
}

static void
move_point (const WsScanFitter *fitter, double blur_px, double slope, WsEdgePoint *p)
{
  double blur;
  const WsCrack c = wsi_outline_crack (p, blur_px, &blur);
  WsProfile profile;
  if (!wsi_scan_fit_level (fitter, &c, blur, slope, &profile) || fabs (profile.place) > 2)
    return;
  p->x = c.x + profile.place * c.dx;
  p->y = c.y + profile.place * c.dy;
  p->noise = (float)(profile.rms / MAX (fabs (profile.step), 1e-9));
}

/* Of one point along the normal; NAN where the scan line is no step. */
static double
blur_at (const WsScanFitter *fitter, const WsEdgePoint *p, double blur_px)
{
  double along;
  const WsCrack c = wsi_outline_crack (p, blur_px, &along);
  return p->on_frame ? NAN : wsi_scan_blur (fitter, &c, along) * blur_px / along;
}

/* In parts of the outline's blur beside each point, no less than 1; `scratch` has room for half as
 * many. */
static void
find_blurs (const WsScanFitter *fitter, const WsOutline *outline, double *scratch, double *blurs)
{
  const guint n = outline->points->len, n_seen = (n + BLUR_EVERY - 1) / BLUR_EVERY;
  double *seen = scratch, *smooth = scratch + n_seen;
  for (guint i = 0; i < n; i++)
    blurs[i] = 1;
  if (n_seen <= 2 * BLUR_NEIGHBOURS)
    return;
  for (guint k = 0; k < n_seen; k++)
    seen[k] = blur_at (fitter, &g_array_index (outline->points, WsEdgePoint, k * BLUR_EVERY),
                       outline->blur_px);
  wsi_running_medians (seen, n_seen, BLUR_NEIGHBOURS, BLUR_NEIGHBOURS + 1, smooth);
  for (guint i = 0; i < n; i++)
  {
    const double blur = smooth[i / BLUR_EVERY] / outline->blur_px;
    if (blur > BLUR_VARIES)
      blurs[i] = blur;
  }
}

/* The slope of the ground's light beside each point, and medians of it. */
static void
find_slopes (const WsScanFitter *fitter, const WsOutline *outline, const double *blurs,
             double *values, double *smooth)
{
  const guint n = outline->points->len;
  for (guint i = 0; i < n; i++)
  {
    const WsEdgePoint *p = &g_array_index (outline->points, WsEdgePoint, i);
    double blur;
    const WsCrack c =
      wsi_outline_crack (p, outline->blur_px * (blurs == NULL ? 1 : blurs[i]), &blur);
    values[i] = p->on_frame ? NAN : wsi_scan_ground_slope (fitter, &c, blur);
  }
  wsi_running_medians (values, n, SLOPE_NEIGHBOURS, SLOPE_NEIGHBOURS + 1, smooth);
}

/* Doubles to work on, for each point. */
#define LEVEL_ROOM 3

/* Finds the points again with the ground's light made even beside each, where it is uneven enough
 * to matter: lamps behind the panel, a smear, a flicker read row by row. */
static void
level_ground (const WsScanFitter *fitter, WsOutline *outline, double *room)
{
  const guint n = outline->points->len;
  if (n <= 2 * SLOPE_NEIGHBOURS)
    return;
  const double move = fitter->image->lossy ? LEAST_MOVE_LOSSY : LEAST_MOVE;
  const double least = move / (SLOPE_MOVES * outline->blur_px * outline->blur_px);
  double *values = room, *slopes = values + n, *blurs = slopes + n;
  find_slopes (fitter, outline, NULL, values, slopes);
  if (!is_more_than_noise (values, slopes, n, SLOPE_DOUBT, least))
    return;
  gboolean is_sure = is_more_than_noise (values, slopes, n, SLOPE_NOISE, least);
  find_blurs (fitter, outline, values, blurs);
  find_slopes (fitter, outline, blurs, values, slopes);
  if (!is_more_than_noise (values, slopes, n, SLOPE_DOUBT, least))
    return;
  is_sure = is_sure && is_more_than_noise (values, slopes, n, SLOPE_NOISE, least);
  WsEdgePoint *points = (WsEdgePoint *)(void *)outline->points->data;
  double squares = 0;
  guint moved = 0;
  for (guint i = 0; i < n; i++)
    if (!points[i].on_frame && isfinite (slopes[i]))
    {
      if (is_sure)
        move_point (fitter, outline->blur_px, slopes[i], &points[i]);
      squares += slopes[i] * slopes[i];
      moved++;
    }
  outline->uneven_px =
    SLOPE_MOVES * outline->blur_px * outline->blur_px * sqrt (squares / MAX (moved, 1));
}

void
wsi_outline_room_init (WsOutlineRoom *room, guint n)
{
  room->values = g_array_sized_new (FALSE, FALSE, sizeof (double), LEVEL_ROOM * n + 2);
  room->flags = g_byte_array_sized_new (n + 1);
}

void
wsi_outline_room_clear (WsOutlineRoom *room)
{
  g_clear_pointer (&room->values, g_array_unref);
  g_clear_pointer (&room->flags, g_byte_array_unref);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (WsOutlineRoom, wsi_outline_room_clear)

WsOutline *
wsi_outline_new (guint n)
{
  WsOutline *outline = g_new0 (WsOutline, 1);
  outline->points = g_array_sized_new (FALSE, FALSE, sizeof (WsEdgePoint), n);
  return outline;
}

gboolean
wsi_outline_retrace (const WsImage *image, const WsSegment *segment, const GArray *cracks,
                     WsOutlineRoom *room, WsOutline *outline)
{
  GArray *points = outline->points;
  *outline = (WsOutline){ .points = points, .front_lit = segment->is_front_lit };
  g_array_set_size (points, 0);
  if (cracks->len < MIN_CRACKS)
    return FALSE;
  /* No threshold tells such a tool: it is brighter here and darker there. */
  const gboolean levels_vary = segment->mask != NULL;
  WsScanFitter fitter;
  wsi_scan_fitter_init (&fitter, image, levels_vary);
  const double rough = wsi_edge_blur_rough (&fitter, cracks);
  if (!(rough > 0))
    return FALSE;
  const WsEdgeBlur blur = wsi_edge_blur_measure (&fitter, cracks, rough);
  outline->blur_px = blur.median;
  outline->blur_min_px = blur.least;
  outline->blur_max_px = blur.most;
  fit_points (&fitter, cracks, outline);
  if (levels_vary)
  {
    trim_gaps (outline);
    measure_gaps (outline);
  }
  else if (segment->tool_is_dark)
    level_ground (&fitter, outline, values_of (room, LEVEL_ROOM * outline->points->len));
  outline->noise = median_noise (outline->points, room);
  leave_out_stuck (outline, room);
  return TRUE;
}

/* `cracks` may be NULL. */
static WsOutline *
refine (const WsImage *image, const WsSegment *segment, const GArray *cracks)
{
  if (cracks == NULL)
    return NULL;
  g_auto (WsOutlineRoom) room;
  wsi_outline_room_init (&room, cracks->len);
  g_autoptr (WsOutline) outline = wsi_outline_new (cracks->len);
  return wsi_outline_retrace (image, segment, cracks, &room, outline) ? g_steal_pointer (&outline)
                                                                      : NULL;
}

WsOutline *
wsi_outline_trace (const WsImage *image, const WsSegment *segment)
{
  g_autoptr (GArray) cracks = wsi_boundary_trace (image, segment);
  return refine (image, segment, cracks);
}

WsOutline *
wsi_outline_trace_hole (const WsImage *image, const WsSegment *segment, WsPoint inside)
{
  g_autoptr (GArray) cracks = wsi_boundary_trace_hole (image, segment, inside);
  return refine (image, segment, cracks);
}

void
wsi_outline_free (WsOutline *outline)
{
  if (outline == NULL)
    return;
  g_clear_pointer (&outline->points, g_array_unref);
  g_free (outline);
}
