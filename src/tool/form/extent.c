#include "tool/form/extent.h"

#include "base/geometry.h"
#include "base/number.h"
#include "result/build.h"

/* Points beside the profile are no farther apart than this unless something is missing between
 * them: two of them may be lost to a crumb, and blur rounds a sharp corner off over this many of
 * its deviations.  Own trials on rendered profiles. */
#define GAP_PX 4.0
#define GAP_BLURS 6.0

/* The way out of the tool, by the profile, and the way in by its sides differ by up to 60 degrees
 * on a profile that is all on one corner; one that fits on a side is 90 degrees off.  Own choice.
 */
#define MOST_TURN_DEG 75.0

/* So many points next to the frame show a side's way. */
#define SIDE_POINTS 20

/* Chords shorter than this part of the profile's size tell no direction. */
#define LEAST_CHORD 0.3

/* ---- What has no counterpart ------------------------------------------------------------ */

static double
outline_length (const WsOutline *outline)
{
  const WsEdgePoint *p = (const WsEdgePoint *)(void *)outline->points->data;
  const guint n = outline->points->len;
  double length = 0;
  for (guint i = 0; i < n; i++)
  {
    const WsEdgePoint *next = &p[(i + 1) % n];
    if (!p[i].on_frame && !next->on_frame)
      length += MIN (hypot (next->x - p[i].x, next->y - p[i].y), 4 * outline->spacing_px);
  }
  return length;
}

static double
judged_length (const WsFormFit *fit)
{
  double length = 0;
  for (guint i = 0; i < fit->points->len; i++)
    length += wsi_form_fit_point (fit, i)->length;
  return length;
}

static double
profile_length (const WsContour *nominal, double scale)
{
  double length = 0;
  for (guint i = 0; i < nominal->segments->len; i++)
    length += ws_contour_length (&g_array_index (nominal->segments, WsContourSegment, i));
  return length * scale;
}

/* Sum of the profile's gaps, px, and the segment beside the widest of them. */
static double
gaps_of (const WsFormComparison *work, guint *number)
{
  const WsFormFit *fit = work->fit;
  const double least = GAP_PX + GAP_BLURS * work->outline->blur_px;
  const double end = profile_length (work->task.nominal, fit->scale);
  double sum = 0, widest = 0, last = 0;
  for (guint i = 0; i <= fit->points->len; i++)
  {
    const gboolean is_point = i < fit->points->len;
    const double along = is_point ? wsi_form_fit_point (fit, i)->along : end;
    const double gap = along - last;
    last = along;
    sum += gap > least ? gap : 0;
    if (gap <= MAX (widest, least))
      continue;
    widest = gap;
    *number = wsi_form_fit_point (fit, MIN (i, fit->points->len - 1))->number;
  }
  return sum;
}

/* ---- Which way round -------------------------------------------------------------------- */

static WsPoint
place_of (const WsFormComparison *work, gboolean last)
{
  const GArray *segments = work->task.nominal->segments;
  const WsContourSegment *s =
    &g_array_index (segments, WsContourSegment, last ? segments->len - 1 : 0);
  return wsi_form_fit_place (work->fit, last ? s->to : s->from);
}

/* The way into the picture along the tool's two sides where it comes in; zero where it doesn't. */
static WsPoint
way_in (const WsFormComparison *work)
{
  const WsEdgePoint *points = (const WsEdgePoint *)(void *)work->outline->points->data;
  const guint n = work->outline->points->len;
  WsPoint sum = { 0, 0 };
  for (guint i = 0; i < n; i++)
    for (guint k = 1; k <= SIDE_POINTS && !points[i].on_frame; k++)
    {
      /* The outline has the tool on its right-hand side, the ground's normal on its left. */
      const WsPoint heading = { -(double)points[i].ny, (double)points[i].nx };
      if (points[(i + n - k % n) % n].on_frame)
        sum = wsi_point_add (sum, heading);
      if (points[(i + k) % n].on_frame)
        sum = wsi_point_sub (sum, heading);
    }
  return sum;
}

/* Degrees between the two; 0 where either isn't known. */
static double
turn_of (const WsFormComparison *work)
{
  const WsPoint from = place_of (work, FALSE), to = place_of (work, TRUE);
  const WsPoint chord = wsi_point_sub (to, from), in = way_in (work);
  const double length = wsi_point_length (chord);
  if (length < LEAST_CHORD * profile_length (work->task.nominal, work->fit->scale) ||
      !(wsi_point_length (in) > 0))
    return 0;
  const double sign = work->fit->forward ? 1 : -1;
  const WsPoint out = wsi_point (sign * chord.y, -sign * chord.x);
  return wsi_degrees (fabs (atan2 (wsi_point_cross (in, out), wsi_point_dot (in, out))));
}

/* ---- What is said of it --------------------------------------------------------------------- */

static char *
say_mm (const WsFormComparison *work, double px)
{
  return wsi_number_format (px * work->optics->mm_per_px, 2);
}

/* Of the outline that goes on beyond the profile nothing is known, and nobody shall think so. */
static void
tell_beyond (const WsFormComparison *work)
{
  const double judged = judged_length (work->fit), all = outline_length (work->outline);
  if (all - judged < GAP_PX + GAP_BLURS * work->outline->blur_px)
    return;
  g_autofree char *with = say_mm (work, judged), *without = say_mm (work, all - judged);
  wsi_result_add_finding (
    work->result, "beyond-profile",
    g_strdup_printf ("Judged are %s mm of the outline, beside the profile; the "
                     "other %s mm in the picture are not.",
                     with, without),
    NULL);
}

void
wsi_form_extent_report (WsFormComparison *work)
{
  guint number = 0;
  const double gaps = gaps_of (work, &number), turn = turn_of (work);
  tell_beyond (work);
  if (turn > MOST_TURN_DEG)
    wsi_result_hold (
      work->result, WS_HOLD_VERDICT, "card-mismatch",
      "The card's profile fits only turned by some %.0f° against the tool. Check that "
      "card and profile are this tool's, check the scale, and show all of the cutting "
      "profile.",
      turn);
  if (!(gaps > 0))
    return;
  g_autofree char *missing = say_mm (work, gaps);
  wsi_result_hold (
    work->result, WS_HOLD_ACCEPT, "not-seen",
    "%s mm of the profile, most of it at segment %u, have no outline beside them: the "
    "tool is far off there, broken, or hidden. Look at it, and measure again with all "
    "of the profile clean and in the picture.",
    missing, number);
}

typedef struct
{
  WsPoint low, high;
} Box;

static void
grow (Box *box, WsPoint p)
{
  box->low = wsi_point (MIN (box->low.x, p.x), MIN (box->low.y, p.y));
  box->high = wsi_point (MAX (box->high.x, p.x), MAX (box->high.y, p.y));
}

/* "14.00 mm x 6.20 mm". */
static char *
say_box (const Box *box, double mm)
{
  g_autofree char *width = wsi_number_format (mm * (box->high.x - box->low.x), 2);
  g_autofree char *height = wsi_number_format (mm * (box->high.y - box->low.y), 2);
  return g_strdup_printf ("%s mm x %s mm", width, height);
}

void
wsi_form_extent_hold (const WsFormComparison *work)
{
  const GArray *segments = work->task.nominal->segments;
  Box profile = { { HUGE_VAL, HUGE_VAL }, { -HUGE_VAL, -HUGE_VAL } }, seen = profile;
  for (guint i = 0; i < segments->len; i++)
    for (double t = 0; t <= 1; t += 0.25)
      grow (&profile, ws_contour_point (&g_array_index (segments, WsContourSegment, i), t));
  for (guint i = 0; i < work->outline->points->len; i++)
  {
    const WsEdgePoint *p = &g_array_index (work->outline->points, WsEdgePoint, i);
    grow (&seen, wsi_point (p->x, p->y));
  }
  g_autofree char *told = say_box (&profile, 1), *shown = say_box (&seen, work->optics->mm_per_px);
  wsi_result_hold (
    work->result, WS_HOLD_VERDICT, "card-mismatch",
    "The picture shows a tool of %s, and the card's profile, %s, is nowhere on its "
    "outline. Check that card and profile are this tool's, check the scale, and show "
    "all of the cutting profile.",
    shown, told);
}
