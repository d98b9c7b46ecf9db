#include "tool/form/nominal.h"

#include "base/geometry.h"

/* Neighbours whose directions differ by less join smoothly: chords of a curve, tangent arcs. */
#define SMOOTH_RAD 0.03

static WsPoint
run_of (const WsContourSegment *s)
{
  const WsPoint d = wsi_point_sub (s->to, s->from);
  const double length = MAX (wsi_point_length (d), 1e-12);
  return wsi_point (d.x / length, d.y / length);
}

WsPoint
wsi_form_nominal_direction (const WsFormNominal *profile, guint i, double t)
{
  const WsContourSegment *s = &profile->segments[i];
  if (!(fabs (s->sweep) > 0))
    return profile->runs[i];
  const WsPoint r = wsi_point_sub (ws_contour_point (s, t), s->centre);
  const double sign = s->sweep > 0 ? 1 : -1;
  return wsi_point (-sign * r.y / s->radius, sign * r.x / s->radius);
}

void
wsi_form_nominal_clear (WsFormNominal *profile)
{
  g_free (profile->segments);
  g_free (profile->start);
  g_free (profile->lengths);
  g_free (profile->runs);
  g_free (profile->corner);
}

WsPoint
wsi_form_px (WsPoint mm, double scale)
{
  return wsi_point (mm.x * scale, -mm.y * scale);
}

static void
find_corners (WsFormNominal *profile)
{
  for (guint i = 0; i < profile->n; i++)
  {
    const guint before = i > 0 ? i - 1 : profile->n - 1;
    const WsPoint a = wsi_form_nominal_direction (profile, before, 1),
                  b = wsi_form_nominal_direction (profile, i, 0);
    const double turn = fabs (atan2 (wsi_point_cross (a, b), wsi_point_dot (a, b)));
    const gboolean joint = profile->segments[before].number != profile->segments[i].number;
    profile->corner[i] = turn > SMOOTH_RAD || joint || (i == 0 && !profile->is_closed);
  }
}

void
wsi_form_nominal_init (WsFormNominal *profile, const WsContour *contour, double scale)
{
  profile->n = contour->segments->len;
  profile->segments = g_new (WsContourSegment, profile->n);
  profile->start = g_new (double, profile->n);
  profile->lengths = g_new (double, profile->n);
  profile->runs = g_new (WsPoint, profile->n);
  profile->corner = g_new0 (gboolean, profile->n);
  profile->is_closed = contour->is_closed;
  profile->length = 0;
  WsPoint low = { HUGE_VAL, HUGE_VAL }, high = { -HUGE_VAL, -HUGE_VAL };
  for (guint i = 0; i < profile->n; i++)
  {
    WsContourSegment s = g_array_index (contour->segments, WsContourSegment, i);
    s.from = wsi_form_px (s.from, scale);
    s.to = wsi_form_px (s.to, scale);
    s.centre = wsi_form_px (s.centre, scale);
    s.radius *= scale;
    s.sweep = -s.sweep;
    profile->segments[i] = s;
    profile->start[i] = profile->length;
    profile->lengths[i] = ws_contour_length (&s);
    profile->runs[i] = run_of (&s);
    profile->length += profile->lengths[i];
    low = wsi_point (MIN (low.x, MIN (s.from.x, s.to.x)), MIN (low.y, MIN (s.from.y, s.to.y)));
    high = wsi_point (MAX (high.x, MAX (s.from.x, s.to.x)), MAX (high.y, MAX (s.from.y, s.to.y)));
  }
  profile->size = hypot (high.x - low.x, high.y - low.y);
  find_corners (profile);
}

/* Part of the arc at which the direction from its centre is that of p; clamped to its ends. */
static double
arc_part (const WsContourSegment *s, WsPoint p)
{
  const WsPoint a = wsi_point_sub (s->from, s->centre), b = wsi_point_sub (p, s->centre);
  double ahead = atan2 (wsi_point_cross (a, b), wsi_point_dot (a, b));
  /* Directions beyond the arc's middle by half a circle belong to the nearer end. */
  const double middle = 0.5 * s->sweep;
  ahead = middle + remainder (ahead - middle, 2 * G_PI);
  return CLAMP (ahead / s->sweep, 0, 1);
}

static double
line_part (const WsContourSegment *s, WsPoint p)
{
  const WsPoint run = wsi_point_sub (s->to, s->from);
  const double squares = MAX (wsi_point_dot (run, run), 1e-18);
  return CLAMP (wsi_point_dot (wsi_point_sub (p, s->from), run) / squares, 0, 1);
}

/* Whether a line of length `d` is surely longer than `than`: without a root, which nearly all are
 * spared so. */
static gboolean
is_longer (WsPoint d, double than)
{
  return wsi_point_dot (d, d) > 1.000001 * than * than;
}

static gboolean
may_be_nearer (const WsContourSegment *s, WsPoint p, double than)
{
  if (fabs (s->sweep) > 0)
  {
    const WsPoint d = wsi_point_sub (p, s->centre);
    return !is_longer (d, s->radius + than) && fabs (wsi_point_length (d) - s->radius) < than;
  }
  return p.x > MIN (s->from.x, s->to.x) - than && p.x < MAX (s->from.x, s->to.x) + than &&
         p.y > MIN (s->from.y, s->to.y) - than && p.y < MAX (s->from.y, s->to.y) + than;
}

/* Of two segments as near, as at the corner between them, the first counts, in whatever order they
 * are asked. */
static void
try_segment (const WsFormNominal *profile, guint i, const WsFormQuery *query, WsFormFoot *best)
{
  const WsContourSegment *s = &profile->segments[i];
  const double limit = MIN (best->distance, query->reach);
  if (!may_be_nearer (s, query->at, 1.000001 * limit))
    return;
  const double t = fabs (s->sweep) > 0 ? arc_part (s, query->at) : line_part (s, query->at);
  const WsPoint foot = ws_contour_point (s, t);
  if (is_longer (wsi_point_sub (foot, query->at), limit))
    return;
  const double distance = wsi_point_distance (foot, query->at);
  const gboolean comes_first = distance <= best->distance && i < best->segment;
  if (!(distance < query->reach) || !(distance < best->distance || comes_first) ||
      wsi_point_dot (wsi_form_nominal_direction (profile, i, t), query->heading) < 0.8)
    return;
  *best = (WsFormFoot){ distance, i, t, foot };
}

WsFormFoot
wsi_form_nominal_nearest (const WsFormNominal *profile, const WsFormQuery *query)
{
  WsFormFoot best = { .distance = HUGE_VAL };
  try_segment (profile, query->likely, query, &best);
  for (guint i = 0; i < profile->n; i++)
    if (i != query->likely)
      try_segment (profile, i, query, &best);
  return best;
}

gboolean
wsi_form_nominal_near_corner (const WsFormNominal *profile, const WsFormFoot *foot, double reach)
{
  double run = foot->t * profile->lengths[foot->segment];
  for (guint i = foot->segment; run < reach; i--)
  {
    if (profile->corner[i])
      return TRUE;
    if (i == 0)
      break;
    run += profile->lengths[i - 1];
  }
  run = (1 - foot->t) * profile->lengths[foot->segment];
  for (guint i = foot->segment + 1; run < reach && i < profile->n; i++)
  {
    if (profile->corner[i])
      return TRUE;
    run += profile->lengths[i];
  }
  return run < reach && profile->corner[0];
}

gboolean
wsi_form_nominal_beyond_ends (const WsFormNominal *profile, const WsFormFoot *foot)
{
  if (profile->is_closed)
    return FALSE;
  return (foot->segment == 0 && !(foot->t > 0)) ||
         (foot->segment == profile->n - 1 && !(foot->t < 1));
}
