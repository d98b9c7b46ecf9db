#include "tool/form/proud.h"

#include <string.h>

#include "base/geometry.h"
#include "base/number.h"
#include "edge/burr.h"
#include "edge/line.h"
#include "edge/proud.h"
#include "result/build.h"
#include "tool/form/segments.h"

/* What stands off by less, in standard deviations of one of the map's means, is noise; px. */
#define STANDS_OFF 6.0
#define LEAST_PX 0.25

/* Of that, where it ends. */
#define ENDS 0.4

/* More of a segment than this, and its own place isn't what is left of it. */
#define MOST_HIDDEN 0.6

/* Points of a segment away from corners: a run of the map. */
typedef struct
{
  guint from, to; /* to: one beyond */
} Run;

typedef struct
{
  const WsFormComparison *work;
  const double *map;
  Run run;
  double least;   /* px */
  double *height; /* of the run's points above their segment, px */
} Search;

static double
least_of (const WsFormComparison *work, guint at)
{
  const double u = work->task.noise / sqrt (MAX (work->counts[at], 1));
  return MAX (LEAST_PX, STANDS_OFF * u);
}

/* The next run of known means of one segment from `at`; FALSE at the end. */
static gboolean
next_run (const WsFormFit *fit, const double *map, guint at, Run *run)
{
  const guint n = fit->points->len;
  while (at < n && !isfinite (map[at]))
    at++;
  run->from = at;
  for (; at < n && isfinite (map[at]); at++)
    if (wsi_form_fit_point (fit, at)->number != wsi_form_fit_point (fit, run->from)->number)
      break;
  run->to = at;
  return run->to > run->from;
}

static WsPoint
place_of (const Search *search, guint i)
{
  return wsi_point (wsi_form_fit_point (search->work->fit, i)->along, search->map[i]);
}

/* Heights above the line under all that stands proud; FALSE where there is no telling it. */
static gboolean
find_heights (const Search *search)
{
  const guint n = search->run.to - search->run.from;
  g_autofree WsPoint *places = g_new (WsPoint, n);
  g_autofree guint8 *used = g_new0 (guint8, n);
  for (guint i = 0; i < n; i++)
    places[i] = place_of (search, search->run.from + i);
  WsLineFit line;
  WsProud proud;
  if (n < WS_LINE_MIN_POINTS ||
      !wsi_line_fit_under (places, n, wsi_point (0, 1), NULL, used, &line, &proud))
    return FALSE;
  /* The line's normal may point either way. */
  const double up =
    wsi_line_distance (&line, wsi_point (line.centre.x, line.centre.y + 1)) > 0 ? 1 : -1;
  for (guint i = 0; i < n; i++)
    search->height[i] = up * wsi_line_bowed_distance (&line, places[i]);
  return !proud.unclear;
}

/* `base`: of the segment where the stretch is highest. */
static void
add_above (const Search *search, Run stretch, gboolean has_base, GArray *prouds)
{
  const WsFormFit *fit = search->work->fit;
  const double half = 0.5 * wsi_form_window_px (search->work->outline);
  guint top = stretch.from;
  for (guint i = stretch.from; i < stretch.to; i++)
    if (search->height[i - search->run.from] > search->height[top - search->run.from])
      top = i;
  const WsFormProud proud = {
    .from_mm = (wsi_form_fit_point (fit, stretch.from)->along - half) / fit->scale,
    .to_mm = (wsi_form_fit_point (fit, stretch.to - 1)->along + half) / fit->scale,
    .height = search->height[top - search->run.from],
    .base = has_base ? search->map[top] - search->height[top - search->run.from] : NAN,
    .where = wsi_form_fit_point (fit, top)->at,
    .number = wsi_form_fit_point (fit, top)->number,
  };
  g_array_append_val (prouds, proud);
}

static void
add (const Search *search, Run stretch, GArray *prouds)
{
  add_above (search, stretch, TRUE, prouds);
}

/* Stretches of the run that rise beyond `least`, from where they leave the line. */
static void
add_stretches (const Search *search, GArray *prouds)
{
  const guint n = search->run.to - search->run.from;
  const double low = ENDS * search->least;
  for (guint i = 0; i < n; i++)
  {
    if (search->height[i] < search->least)
      continue;
    guint from = i, to = i + 1;
    while (from > 0 && search->height[from - 1] > low)
      from--;
    while (to < n && search->height[to] > low)
      to++;
    add (search, (Run){ search->run.from + from, search->run.from + to }, prouds);
    i = to;
  }
}

/* Of the run's length. */
static double
hidden_share (const Search *search)
{
  const guint n = search->run.to - search->run.from;
  guint hidden = 0;
  for (guint i = 0; i < n; i++)
    hidden += search->height[i] > search->least;
  return (double)hidden / n;
}

/* How rough the run is beside a line through it, px: a ground segment that is off is straight. */
static double
roughness (const Search *search)
{
  const guint n = search->run.to - search->run.from;
  if (n < 3)
    return 0;
  g_autofree WsPoint *places = g_new (WsPoint, n);
  for (guint i = 0; i < n; i++)
    places[i] = place_of (search, search->run.from + i);
  WsLineFit line;
  if (!wsi_line_fit_total (places, n, &line))
    return 0;
  double squares = 0;
  for (guint i = 0; i < n; i++)
  {
    const double d = wsi_line_distance (&line, places[i]);
    squares += d * d;
  }
  return sqrt (squares / n);
}

/* The run stands proud of the profile, and not as ground metal would: none of it can be told. */
static void
add_if_rough (const Search *search, GArray *prouds)
{
  const guint n = search->run.to - search->run.from;
  double most = -HUGE_VAL;
  for (guint i = 0; i < n; i++)
  {
    search->height[i] = search->map[search->run.from + i];
    most = MAX (most, search->height[i]);
  }
  if (most > search->least && roughness (search) > 0.5 * search->least)
    add_above (search, search->run, FALSE, prouds);
}

/* A short segment beside a corner that something clings to is covered with it. */
static void
add_neighbours (const Search *search, GArray *prouds)
{
  const WsFormFit *fit = search->work->fit;
  const double reach = 2 * (search->work->task.guard + wsi_form_window_px (search->work->outline));
  const double from = wsi_form_fit_point (fit, search->run.from)->along,
               to = wsi_form_fit_point (fit, search->run.to - 1)->along;
  for (guint k = 0; k < prouds->len; k++)
  {
    const WsFormProud *p = &g_array_index (prouds, WsFormProud, k);
    const double start = p->from_mm * fit->scale, end = p->to_mm * fit->scale;
    if (p->number == wsi_form_fit_point (fit, search->run.from)->number)
      continue;
    if ((start <= to + reach && start > from) || (end >= from - reach && end < to))
    {
      add_if_rough (search, prouds);
      return;
    }
  }
}

static gboolean
is_covered (const WsFormFit *fit, Run run, const GArray *prouds)
{
  const guint number = wsi_form_fit_point (fit, run.from)->number;
  for (guint k = 0; k < prouds->len; k++)
    if (g_array_index (prouds, WsFormProud, k).number == number)
      return TRUE;
  return FALSE;
}

/* Where so much of a segment lies, the rest would lie if it were ground: wire edges may cover most
 * of it. */
#define LIES_SHARE 0.2

/* The points of a segment on the map, from the first to the last; FALSE where it has none. */
static gboolean
whole_of (const WsFormFit *fit, guint number, Run *whole)
{
  gboolean any = FALSE;
  for (guint i = 0; i < fit->points->len; i++)
    if (wsi_form_fit_point (fit, i)->number == number)
    {
      whole->from = any ? whole->from : i;
      whole->to = i + 1;
      any = TRUE;
    }
  return any;
}

/* Too short for a line of its own, and cut off from the rest of its segment. */
static gboolean
is_piece (const WsFormFit *fit, Run run)
{
  const guint n = run.to - run.from;
  Run whole;
  return n < WS_LINE_MIN_POINTS &&
         whole_of (fit, wsi_form_fit_point (fit, run.from)->number, &whole) &&
         whole.to - whole.from > 2 * n;
}

/* From `at` over what has no means, and over further pieces, to the next stretch of the segment
 * that is long enough to be seen: its first point. */
static guint
across_gap (const WsFormFit *fit, const double *map, guint at, gboolean forward)
{
  const guint number = wsi_form_fit_point (fit, at)->number;
  const guint end = forward ? fit->points->len - 1 : 0;
  guint reached = at, seen = 0;
  while (at != end && seen < WS_LINE_MIN_POINTS)
  {
    const guint next = forward ? at + 1 : at - 1;
    if (wsi_form_fit_point (fit, next)->number != number)
      break;
    at = next;
    seen = isfinite (map[at]) ? seen + 1 : 0;
    if (seen <= 1)
      reached = at;
  }
  return seen < WS_LINE_MIN_POINTS ? at : reached;
}

/* A hair cuts pieces off at its root: one that stands proud is its shoulder, and so may be what
 * lies between it and the next stretch that is well seen. */
static void
add_piece (const Search *search, GArray *prouds)
{
  const WsFormFit *fit = search->work->fit;
  guint top = search->run.from;
  for (guint i = search->run.from; i < search->run.to; i++)
    if (search->map[i] > search->map[top])
      top = i;
  if (search->map[top] < search->least)
    return;
  Search gap = *search;
  gap.run = (Run){ across_gap (fit, search->map, search->run.from, FALSE),
                   across_gap (fit, search->map, search->run.to - 1, TRUE) + 1 };
  for (guint i = gap.run.from; i < gap.run.to; i++)
    gap.height[i - gap.run.from] = isfinite (gap.map[i]) ? gap.map[i] : -HUGE_VAL;
  add (&gap, gap.run, prouds);
}

/* Beside what clings to a segment that lies where it should, more that stands proud is of its kind:
 * in pieces too short for a line of their own, or where the line under it was told less well. */
static void
add_rest (const WsFormComparison *work, const double *map, double *height, GArray *prouds)
{
  const WsFormFit *fit = work->fit;
  g_autofree double *left = g_memdup2 (map, sizeof *map * (fit->points->len + 1));
  wsi_form_proud_leave_out (prouds, fit, left);
  Search search = { .work = work, .map = left, .height = height };
  for (search.run.to = 0; next_run (fit, left, search.run.to, &search.run);)
  {
    search.least = least_of (work, search.run.from);
    const guint number = wsi_form_fit_point (fit, search.run.from)->number;
    if (wsi_form_level (fit, left, number, LIES_SHARE) > search.least)
      continue;
    if (is_covered (fit, search.run, prouds))
    {
      memcpy (height, left + search.run.from, sizeof *height * (search.run.to - search.run.from));
      add_stretches (&search, prouds);
    }
    else if (is_piece (fit, search.run))
      add_piece (&search, prouds);
  }
}

/* What is left of a segment that is hidden for the most part isn't its place. */
static void
add_mostly_hidden (const WsFormComparison *work, const double *map, double *height, GArray *prouds)
{
  const WsFormFit *fit = work->fit;
  g_autofree double *left = g_memdup2 (map, sizeof *map * (fit->points->len + 1));
  wsi_form_proud_leave_out (prouds, fit, left);
  for (guint number = 1; number <= work->task.nominal->n_numbers; number++)
  {
    Search search = { .work = work, .map = map, .height = height };
    guint n = 0, seen = 0;
    if (!whole_of (fit, number, &search.run))
      continue;
    for (guint i = search.run.from; i < search.run.to; i++)
    {
      n += isfinite (map[i]) ? 1 : 0;
      seen += isfinite (left[i]) ? 1 : 0;
      height[i - search.run.from] = isfinite (map[i]) ? map[i] : -HUGE_VAL;
    }
    if (seen > 0 && seen < (1 - MOST_HIDDEN) * n)
      add_above (&search, search.run, FALSE, prouds);
  }
}

GArray *
wsi_form_proud_find (const WsFormComparison *work, const double *map)
{
  GArray *prouds = g_array_new (FALSE, FALSE, sizeof (WsFormProud));
  g_autofree double *height = g_new0 (double, work->fit->points->len + 1);
  Search search = { .work = work, .map = map, .height = height };
  for (search.run.to = 0; next_run (work->fit, map, search.run.to, &search.run);)
  {
    search.least = least_of (work, search.run.from);
    if (find_heights (&search) && hidden_share (&search) < MOST_HIDDEN)
      add_stretches (&search, prouds);
    else
      add_if_rough (&search, prouds);
  }
  for (search.run.to = 0; next_run (work->fit, map, search.run.to, &search.run);)
    if (!is_covered (work->fit, search.run, prouds))
    {
      search.least = least_of (work, search.run.from);
      add_neighbours (&search, prouds);
    }
  add_rest (work, map, height, prouds);
  add_mostly_hidden (work, map, height, prouds);
  return prouds;
}

void
wsi_form_proud_leave_out (const GArray *prouds, const WsFormFit *fit, double *map)
{
  for (guint i = 0; i < fit->points->len; i++)
  {
    const WsFormPoint *p = wsi_form_fit_point (fit, i);
    const double along = p->along / fit->scale;
    for (guint k = 0; k < prouds->len; k++)
    {
      const WsFormProud *proud = &g_array_index (prouds, WsFormProud, k);
      if (p->number == proud->number && along >= proud->from_mm && along <= proud->to_mm)
        map[i] = NAN;
    }
  }
}

/* The single points under the stretch of the map, which shows means of them only. */
static GArray *
read_places (const WsFormComparison *work, const WsFormProud *proud)
{
  GArray *places = g_array_new (FALSE, FALSE, sizeof (WsBurrPlace));
  for (guint i = 0; i < work->fit->points->len; i++)
  {
    const WsFormPoint *p = wsi_form_fit_point (work->fit, i);
    const double along = p->along / work->fit->scale;
    const WsBurrPlace place = { p->along, p->deviation - proud->base };
    if (p->number == proud->number && along >= proud->from_mm && along <= proud->to_mm)
      g_array_append_val (places, place);
  }
  return places;
}

static WsBurr
read_burr (const WsFormComparison *work, const WsFormProud *proud)
{
  g_autoptr (GArray) places = read_places (work, proud);
  return wsi_burr_read ((const WsBurrPlace *)(void *)places->data, places->len,
                        work->outline->blur_px, work->task.noise, work->fit->scatter);
}

/* By their form all of them are wire edges. */
static gboolean
are_wires (const WsFormComparison *work, const GArray *prouds)
{
  for (guint k = 0; k < prouds->len; k++)
  {
    const WsFormProud *p = &g_array_index (prouds, WsFormProud, k);
    if (!isfinite (p->base) || read_burr (work, p).shape != WS_BURR_WIRE)
      return FALSE;
  }
  return TRUE;
}

/* Less of it than this is a corner's, or a speck's. */
#define LEAST_VEILED_PX 10.0

/* px, and where it begins; NULL where none is to speak of. */
static const WsFormPoint *
find_veil (const WsFormComparison *work, double *length)
{
  const WsFormPoint *first = NULL;
  *length = 0;
  for (guint i = 0; i < work->fit->points->len; i++)
  {
    const WsFormPoint *p = wsi_form_fit_point (work->fit, i);
    if (!p->is_veiled)
      continue;
    *length += p->length;
    if (first == NULL)
      first = p;
  }
  return *length > LEAST_VEILED_PX ? first : NULL;
}

static void
report_veil (const WsFormComparison *work)
{
  double length;
  const WsFormPoint *first = find_veil (work, &length);
  if (first == NULL)
    return;
  g_autofree char *mm = wsi_number_format (length * work->optics->mm_per_px, 2);
  wsi_result_add_finding (
    work->result, "dirt",
    g_strdup_printf (
      "Along %s mm of the profile, first at segment %u, something lets a part of the "
      "light through beside the edge: a film of oil, or a haze. It was left out.",
      mm, first->number),
    &first->at);
  wsi_result_hold (work->result, WS_HOLD_ACCEPT, "dirt",
                   "A film on the edge hides where the profile runs. Wipe the tool, and measure "
                   "again.");
}

static char *
words_for (const WsFormComparison *work, const WsFormProud *highest, gboolean is_wire,
           const char *others)
{
  g_autofree char *high = wsi_number_format (highest->height * work->optics->mm_per_px, 3);
  if (!is_wire)
    return g_strdup_printf (
      "Something stands proud of segment %u alone in places, by up to %s mm%s: "
      "dust, a drop, a hair or a wire edge. It was left out.",
      highest->number, high, others);
  if (read_burr (work, highest).is_smooth)
    return g_strdup_printf ("Segment %u carries something smooth, up to %s mm high%s: a wire edge "
                            "rolled over, or a film of oil. It was left out.",
                            highest->number, high, others);
  return g_strdup_printf ("Segment %u carries a wire edge, up to %s mm high%s. It was left out.",
                          highest->number, high, others);
}

/* The highest is told with its place, and how many there are. */
void
wsi_form_proud_report (const WsFormComparison *work, const GArray *prouds)
{
  report_veil (work);
  const WsFormProud *highest = NULL;
  for (guint k = 0; k < prouds->len; k++)
  {
    const WsFormProud *p = &g_array_index (prouds, WsFormProud, k);
    highest = highest == NULL || p->height > highest->height ? p : highest;
  }
  if (highest == NULL)
    return;
  const gboolean is_wire = are_wires (work, prouds);
  const char *code = is_wire ? "wire-edge" : "dirt";
  g_autofree char *others =
    prouds->len > 1 ? g_strdup_printf (", and %u more places", prouds->len - 1) : g_strdup ("");
  wsi_result_add_finding (work->result, code, words_for (work, highest, is_wire, others),
                          &highest->where);
  wsi_result_hold (work->result, WS_HOLD_ACCEPT, code,
                   "What stands on the edge hides the profile there. Clean it, hone a wire edge "
                   "off lightly, and measure again. What is still there then is metal that was "
                   "not ground.");
}

/* ---- As quantities ------------------------------------------------------------------------- */

/* How far the segment under it is off, px: as of drills. */
#define SEGMENT_PX 0.07

/* Less of the profile in the picture, and a wire edge may be where nothing is seen. */
#define LEAST_COVERED 0.95

/* Means over the map's window lower teeth: beside what shows on them, px. */
#define SURE_PX 0.7
#define SURE_TIMES 1.5

static void
set_none (const WsFormComparison *work, WsQuantity *height)
{
  double least = SURE_PX, veiled;
  for (guint i = 0; i < work->fit->points->len; i++)
    if (isfinite (work->map[i]))
      least = MAX (least, SURE_TIMES * least_of (work, i));
  if (work->fit->covered < LEAST_COVERED || find_veil (work, &veiled) != NULL)
    return;
  wsi_quantity_set_seen (height, 0, work->optics);
  wsi_quantity_set_smallest_seen (height, least, work->optics);
  wsi_quantity_add_seen_line (height, "smallest wire edge seen", WS_DISTRIBUTION_RECTANGULAR,
                              least / sqrt (3.0), work->optics);
  wsi_quantity_finish (height, work->optics);
}

static void
set_burr (const WsFormComparison *work, const WsFormProud *proud, gboolean is_alone,
          WsQuantity *height, WsQuantity *length)
{
  const WsOptics *optics = work->optics;
  const WsBurr burr = read_burr (work, proud);
  if (burr.shape != WS_BURR_WIRE || !(burr.height > 0))
    return;
  wsi_quantity_set_seen (height, burr.height, optics);
  wsi_quantity_set_place (height, proud->where);
  wsi_quantity_add_seen_line (height, "edge noise, teeth lowered by blur", WS_DISTRIBUTION_NORMAL,
                              burr.u_height, optics);
  wsi_quantity_add_seen_line (height, "segment under it", WS_DISTRIBUTION_NORMAL,
                              hypot (SEGMENT_PX, work->fit->scatter), optics);
  wsi_quantity_finish (height, optics);
  /* Of several pieces nobody knows whether they are one, nor how much of it grains are. */
  if (!is_alone || burr.is_beside_round)
    return;
  wsi_quantity_set_seen (length, burr.length, optics);
  wsi_quantity_add_seen_line (length, "where the wire edge ends", WS_DISTRIBUTION_NORMAL,
                              hypot (burr.u_length, wsi_form_window_px (work->outline)), optics);
  wsi_quantity_finish (length, optics);
}

void
wsi_form_burr_add (const WsFormComparison *work, const GArray *prouds)
{
  const WsFormProud *greatest = NULL;
  gboolean is_told = TRUE;
  WsQuantity *height = wsi_result_add_quantity (
               work->result, &wsi_form_quantities[WS_FORM_BURR_HEIGHT], work->optics->has_scale),
             *length = wsi_result_add_quantity (
               work->result, &wsi_form_quantities[WS_FORM_BURR_LENGTH], work->optics->has_scale);
  for (guint k = 0; k < prouds->len; k++)
  {
    const WsFormProud *p = &g_array_index (prouds, WsFormProud, k);
    is_told = is_told && isfinite (p->base);
    greatest = greatest == NULL || p->height > greatest->height ? p : greatest;
  }
  if (greatest == NULL)
    set_none (work, height);
  else if (is_told)
    set_burr (work, greatest, prouds->len == 1, height, length);
}
