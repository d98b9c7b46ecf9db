#include "tool/form/extent.h"

#include "base/geometry.h"
#include "base/number.h"
#include "edge/chain.h"
#include "result/build.h"
#include "tool/form/runs.h"

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

/* Sum of the profile's gaps, px, and the segment beside the widest of them. */
static double
gaps_of (const WsFormComparison *work, guint *number)
{
  const WsFormFit *fit = work->fit;
  const double least = wsi_form_gap_px (work->outline);
  const double end = wsi_form_profile_px (work->task.nominal, fit->scale);
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

/* The sides' ways must agree by so much: a plate that goes through the picture from border to
 * border has none. */
#define SIDES_AGREE 0.7

/* The way into the picture along the tool's two sides where it comes in; zero where it doesn't. */
static WsPoint
way_in (const WsFormComparison *work)
{
  const WsEdgePoint *points = (const WsEdgePoint *)(void *)work->outline->points->data;
  const guint n = work->outline->points->len;
  WsPoint sum = { 0, 0 };
  guint counted = 0;
  for (guint i = 0; i < n; i++)
    for (guint k = 1; k <= SIDE_POINTS && !points[i].on_frame; k++)
    {
      /* The outline has the tool on its right-hand side, the ground's normal on its left. */
      const WsPoint heading = { -(double)points[i].ny, (double)points[i].nx };
      const gboolean after = points[(i + n - k % n) % n].on_frame,
                     before = points[(i + k) % n].on_frame;
      if (after)
        sum = wsi_point_add (sum, heading);
      if (before)
        sum = wsi_point_sub (sum, heading);
      counted += (guint)after + (guint)before;
    }
  const double length = wsi_point_length (sum);
  if (counted == 0 || length < SIDES_AGREE * counted)
    return wsi_point (0, 0);
  return wsi_point (sum.x / length, sum.y / length);
}

/* Out of the tool, square to the chord of an open profile; zero where that is too short. */
static WsPoint
way_out (const WsFormComparison *work)
{
  const WsPoint from = place_of (work, FALSE), to = place_of (work, TRUE);
  const WsPoint chord = wsi_point_sub (to, from);
  const double length = wsi_point_length (chord);
  if (length < LEAST_CHORD * wsi_form_profile_px (work->task.nominal, work->fit->scale))
    return wsi_point (0, 0);
  const double sign = work->fit->forward ? 1 / length : -1 / length;
  return wsi_point (sign * chord.y, -sign * chord.x);
}

static gboolean
is_known (WsPoint direction)
{
  return wsi_point_length (direction) > 0;
}

/* Degrees between the two; 0 where either isn't known. */
static double
turn_of (const WsFormComparison *work)
{
  const WsPoint out = way_out (work), in = way_in (work);
  return is_known (in) && is_known (out)
           ? wsi_degrees (fabs (atan2 (wsi_point_cross (in, out), wsi_point_dot (in, out))))
           : 0;
}

/* The outline's longest straight line, if it is longer than the profile: a plate's back. */
static WsPoint
way_along_back (const WsFormComparison *work)
{
  const WsFormTask *task = &work->task;
  const WsChainRules rules = { task->scatter, 4, 1.5, (guint)ceil (task->guard) };
  double longest = wsi_form_profile_px (task->nominal, work->fit->scale);
  WsPoint along = { 0, 0 };
  g_autoptr (GPtrArray) runs = wsi_form_runs (work->outline);
  for (guint i = 0; i < runs->len; i++)
  {
    const WsFormRun *run = g_ptr_array_index (runs, i);
    g_autoptr (GArray) pieces = wsi_chain_split (run->points, run->n, &rules);
    for (guint k = 0; k < pieces->len; k++)
    {
      const WsChainPiece *piece = &g_array_index (pieces, WsChainPiece, k);
      const double length = wsi_point_distance (piece->start, piece->end);
      if (piece->kind != WS_CHAIN_LINE || length <= longest)
        continue;
      longest = length;
      along = piece->line.direction;
    }
  }
  return along;
}

/* Degrees that the drawing's axes lie turned against the tool's sides or back, by the nearest
 * quarter turn; 0 where it shows none. */
static double
slant_of (const WsFormComparison *work)
{
  const WsPoint in = way_in (work), along = is_known (in) ? in : way_along_back (work);
  if (!is_known (along))
    return 0;
  const double turn = work->fit->angle - atan2 (-along.y, along.x);
  return wsi_degrees (fabs (remainder (turn, 0.5 * G_PI)));
}

/* ---- What else cuts ------------------------------------------------------------------------ */

/* Outline that isn't judged belongs to the cutting edge where it lies as far out of the tool as the
 * profile does, less this part of the profile's height, and doesn't run along the tool as its sides
 * do (sine of that angle).  More of it than the second share of what is judged is no crumb. */
#define LOW_PART 0.2
#define ALONG_SINE 0.2
#define MOST_BESIDE 0.15

/* The unit vector out of the tool; zero where nothing tells it. */
static WsPoint
outward_of (const WsFormComparison *work)
{
  const WsPoint in = way_in (work);
  return is_known (in) ? in : way_out (work);
}

/* Sorted by x, so that an outline's point is found among those that were laid beside the profile.
 */
static int
by_x (gconstpointer a, gconstpointer b)
{
  const double p = ((const WsPoint *)a)->x, q = ((const WsPoint *)b)->x;
  return p < q ? -1 : p > q;
}

static gboolean
is_judged (const GArray *judged, const WsEdgePoint *p)
{
  guint low = 0, high = judged->len;
  while (low < high)
  {
    const guint middle = (low + high) / 2;
    if (g_array_index (judged, WsPoint, middle).x < p->x)
      low = middle + 1;
    else
      high = middle;
  }
  for (; low < judged->len && g_array_index (judged, WsPoint, low).x <= p->x; low++)
    if (fabs (g_array_index (judged, WsPoint, low).y - p->y) <= 0)
      return TRUE;
  return FALSE;
}

/* Length of such outline, px. */
static double
cutting_beside (const WsFormComparison *work)
{
  const WsFormFit *fit = work->fit;
  const WsPoint out = outward_of (work);
  g_autoptr (GArray) judged = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  double low = HUGE_VAL, high = -HUGE_VAL, length = 0;
  for (guint i = 0; i < fit->points->len; i++)
  {
    const WsFormPoint *p = wsi_form_fit_point (fit, i);
    g_array_append_val (judged, p->at);
    low = MIN (low, wsi_point_dot (p->at, out));
    high = MAX (high, wsi_point_dot (p->at, out));
  }
  g_array_sort (judged, by_x);
  for (guint i = 0; i < work->outline->points->len; i++)
  {
    const WsEdgePoint *p = &g_array_index (work->outline->points, WsEdgePoint, i);
    const WsPoint at = { p->x, p->y }, normal = { (double)p->nx, (double)p->ny };
    const gboolean is_far_out = wsi_point_dot (at, out) >= low + LOW_PART * (high - low) &&
                                fabs (wsi_point_dot (normal, out)) > ALONG_SINE;
    if (!p->on_frame && (is_far_out || !is_known (out)) && !is_judged (judged, p))
      length += work->outline->spacing_px;
  }
  return length;
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
  if (all - judged < wsi_form_gap_px (work->outline))
    return;
  g_autofree char *with = say_mm (work, judged), *without = say_mm (work, all - judged);
  wsi_result_add_finding (
    work->result, "beyond-profile",
    g_strdup_printf ("Judged are %s mm of the outline, beside the profile; the "
                     "other %s mm in the picture are not.",
                     with, without),
    NULL);
}

/* Whoever drew one tooth of many, or laid a profile on another tool, hasn't had the tool judged. */
static void
hold_beside (WsFormComparison *work)
{
  const double beside = cutting_beside (work), judged = judged_length (work->fit);
  if (beside < MAX (MOST_BESIDE * judged, wsi_form_gap_px (work->outline)))
    return;
  g_autofree char *length = say_mm (work, beside);
  wsi_result_hold (
    work->result, WS_HOLD_TOOL, "not-compared",
    "%s mm of the outline lie as far out as the profile and aren't on it: more teeth, or another "
    "tool. Have all that cuts in the profile, or in the picture only what it shows.",
    length);
}

/* Tools are held by eye, and sides may taper: more than this no profile drawn upright lies turned.
 */
#define MOST_SLANT_DEG 20.0

static void
hold_slanted (WsFormComparison *work)
{
  const double slant = slant_of (work);
  if (!work->card->form.by_dovetail && slant > MOST_SLANT_DEG)
    wsi_result_hold (work->result, WS_HOLD_VERDICT, "card-mismatch",
                     "The card's profile fits only slanted, %.0f° off upright. Check that card and "
                     "profile are this tool's and drawn upright, and hold the tool upright.",
                     slant);
}

void
wsi_form_extent_report (WsFormComparison *work)
{
  guint number = 0;
  const double gaps = gaps_of (work, &number), turn = turn_of (work);
  tell_beyond (work);
  hold_beside (work);
  if (turn > MOST_TURN_DEG)
    wsi_result_hold (
      work->result, WS_HOLD_VERDICT, "card-mismatch",
      "The card's profile fits only turned by some %.0f° against the tool. Check that "
      "card and profile are this tool's, check the scale, and show all of the cutting "
      "profile.",
      turn);
  else
    hold_slanted (work);
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
