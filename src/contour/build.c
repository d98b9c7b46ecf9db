#include "contour/build.h"

#include <whetsight/error.h>

#include "base/geometry.h"

/* Ends as far apart as this are one point: drawings round to microns and better, mm. */
#define SAME_POINT_MM 2e-3

/* Shorter is nothing, mm: its ends are one point, and its neighbours join. */
#define NO_LENGTH_MM SAME_POINT_MM

/* An arc that rises less than this above its chord is a line, mm. */
#define NO_RISE_MM 1e-6

gboolean
wsi_contour_add_line (GArray *segments, WsPoint from, WsPoint to)
{
  const WsContourSegment segment = { .from = from, .to = to };
  if (wsi_point_distance (from, to) < NO_LENGTH_MM)
    return FALSE;
  g_array_append_val (segments, segment);
  return TRUE;
}

gboolean
wsi_contour_add_arc (GArray *segments, WsPoint centre, WsPoint from, double sweep)
{
  WsContourSegment segment = { .from = from, .sweep = sweep, .centre = centre };
  segment.radius = wsi_point_distance (from, centre);
  if (segment.radius * fabs (sweep) < NO_LENGTH_MM)
    return FALSE;
  segment.to = ws_contour_point (&segment, 1);
  g_array_append_val (segments, segment);
  return TRUE;
}

gboolean
wsi_contour_add_bulge (GArray *segments, WsPoint from, WsPoint to, double bulge)
{
  const WsPoint chord = wsi_point_sub (to, from);
  const double length = wsi_point_length (chord);
  if (0.5 * fabs (bulge) * length < NO_RISE_MM)
    return wsi_contour_add_line (segments, from, to);
  /* The centre lies (1 - b^2) / (4 b) chords to the left of the chord's middle. */
  const double off = (1 - bulge * bulge) / (4 * bulge);
  const WsPoint middle = wsi_point_along (from, 0.5, chord);
  const WsPoint centre = wsi_point_along (middle, off, wsi_point (-chord.y, chord.x));
  if (!wsi_contour_add_arc (segments, centre, from, 4 * atan (bulge)))
    return FALSE;
  g_array_index (segments, WsContourSegment, segments->len - 1).to = to;
  return TRUE;
}

static WsContourSegment
reversed (const WsContourSegment *segment)
{
  WsContourSegment back = *segment;
  back.from = segment->to;
  back.to = segment->from;
  back.sweep = -segment->sweep;
  return back;
}

static gboolean
same_point (WsPoint a, WsPoint b)
{
  return wsi_point_distance (a, b) < SAME_POINT_MM;
}

/* How many segments end at `p`. */
static guint
ends_at (const GArray *segments, WsPoint p)
{
  guint n = 0;
  for (guint i = 0; i < segments->len; i++)
  {
    const WsContourSegment *s = &g_array_index (segments, WsContourSegment, i);
    n += (same_point (s->from, p) ? 1U : 0U) + (same_point (s->to, p) ? 1U : 0U);
  }
  return n;
}

static gboolean
refuse_at (const char *name, const char *what, WsPoint at, GError **error)
{
  g_set_error (error, WS_ERROR, WS_ERROR_DATA, "%s: %s at x %.4g, y %.4g mm", name, what, at.x,
               at.y);
  return FALSE;
}

/* An end that nothing joins to first; else the first segment's start. */
static gboolean
find_start (GArray *segments, const char *name, GError **error)
{
  for (guint i = 0; i < segments->len; i++)
  {
    WsContourSegment *s = &g_array_index (segments, WsContourSegment, i);
    const guint from = ends_at (segments, s->from), to = ends_at (segments, s->to);
    if (from > 2 || to > 2)
      return refuse_at (name, "the profile branches or doubles back", from > 2 ? s->from : s->to,
                        error);
  }
  for (guint i = 0; i < segments->len; i++)
  {
    WsContourSegment *s = &g_array_index (segments, WsContourSegment, i);
    const gboolean from_open = ends_at (segments, s->from) == 1;
    if (!from_open && ends_at (segments, s->to) != 1)
      continue;
    const WsContourSegment first = from_open ? *s : reversed (s);
    *s = g_array_index (segments, WsContourSegment, 0);
    g_array_index (segments, WsContourSegment, 0) = first;
    return TRUE;
  }
  return TRUE;
}

/* Brings each next segment to its place behind the one before. */
static gboolean
order (GArray *segments, const char *name, GError **error)
{
  for (guint i = 1; i < segments->len; i++)
  {
    const WsPoint end = g_array_index (segments, WsContourSegment, i - 1).to;
    guint j = i;
    while (j < segments->len &&
           !same_point (g_array_index (segments, WsContourSegment, j).from, end) &&
           !same_point (g_array_index (segments, WsContourSegment, j).to, end))
      j++;
    if (j == segments->len)
      return refuse_at (name, "the profile has a gap", end, error);
    const WsContourSegment next = g_array_index (segments, WsContourSegment, j);
    g_array_index (segments, WsContourSegment, j) = g_array_index (segments, WsContourSegment, i);
    g_array_index (segments, WsContourSegment, i) =
      same_point (next.from, end) ? next : reversed (&next);
  }
  return TRUE;
}

void
wsi_contour_turn_round (GArray *segments)
{
  const guint n = segments->len;
  for (guint i = 0; i < (n + 1) / 2; i++)
  {
    WsContourSegment *a = &g_array_index (segments, WsContourSegment, i);
    WsContourSegment *b = &g_array_index (segments, WsContourSegment, n - 1 - i);
    const WsContourSegment first = reversed (b);
    *b = reversed (a);
    *a = first;
  }
}

WsContour *
wsi_contour_join (GArray *segments, const char *name, GError **error)
{
  g_autoptr (WsContour) contour = g_new0 (WsContour, 1);
  contour->segments = segments;
  if (segments->len == 0)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_DATA, "%s: there is no line or arc in it", name);
    return NULL;
  }
  if (!find_start (segments, name, error) || !order (segments, name, error))
    return NULL;
  const WsPoint start = g_array_index (segments, WsContourSegment, 0).from;
  const WsPoint end = g_array_index (segments, WsContourSegment, segments->len - 1).to;
  contour->is_closed = segments->len > 1 && same_point (start, end);
  if (!contour->is_closed && start.x > end.x)
    wsi_contour_turn_round (segments);
  for (guint i = 0; i < segments->len; i++)
    g_array_index (segments, WsContourSegment, i).number = i + 1;
  contour->n_numbers = segments->len;
  return g_steal_pointer (&contour);
}

void
ws_contour_mirror (WsContour *contour)
{
  for (guint i = 0; i < contour->segments->len; i++)
  {
    WsContourSegment *s = &g_array_index (contour->segments, WsContourSegment, i);
    s->from.x = -s->from.x;
    s->to.x = -s->to.x;
    s->centre.x = -s->centre.x;
    s->sweep = -s->sweep;
  }
  wsi_contour_turn_round (contour->segments);
}
