#include "tool/regrind_shots.h"

#include <math.h>

#include "base/geometry.h"
#include "base/language.h"

/* px: from picture to picture an untouched edge lies elsewhere by its own noise, focus and the
 * ground's light. */
#define SIGMA_PX 0.15

/* Scales that are told as exact are still two pictures' own. */
#define LEAST_U_SCALE 1e-4

/* Of a drill's flutes where nobody tells: a helix of 30 degrees (common practice), lead = pi D /
 * tan (helix). */
#define LEAD_PER_DIAMETER 5.44

/* Degrees, where a picture doesn't tell how far the lips are turned out of it. */
#define UNKNOWN_TURN 3.0

/* What of an outline's ends shows which way the tool points. */
#define END_SHARE 0.15
#define LEAST_POINTS 200

/* Views whose outline comes in at the border by its sides, what is ground between them. */
gboolean
wsi_regrind_sees (const char *view)
{
  static const char *const views[] = { "drill-side", "blade-plan", "form-plan", NULL };
  return g_strv_contains (views, view);
}

/* ---- The stretch that holds the working end -------------------------------------------------- */

/* Stretches whose ends lie so near are one: the outline was begun there. */
#define SAME_PLACE 3.0 /* px */

static WsPoint
last_of (const GArray *points)
{
  return g_array_index (points, WsPoint, points->len - 1);
}

/* The stretch that goes on where this one ends, or NULL. */
static const GArray *
next_of (const WsResult *result, const GArray *one)
{
  for (guint i = 0; i < result->marks->len; i++)
  {
    const WsMark *mark = g_ptr_array_index (result->marks, i);
    if (mark->role == WS_MARK_OUTLINE && mark->points != one &&
        wsi_point_distance (g_array_index (mark->points, WsPoint, 0), last_of (one)) < SAME_PLACE)
      return mark->points;
  }
  return NULL;
}

/* px: at the picture's border an outline bends aside.  (O10) */
#define CLEAR_OF_BORDER 8.0

static void
cut_ends (GArray *points)
{
  guint first = 0, end = points->len;
  while (first < end && wsi_point_distance (g_array_index (points, WsPoint, first),
                                            g_array_index (points, WsPoint, 0)) < CLEAR_OF_BORDER)
    first++;
  const WsPoint last = end > 0 ? last_of (points) : wsi_point (0, 0);
  while (end > first &&
         wsi_point_distance (g_array_index (points, WsPoint, end - 1), last) < CLEAR_OF_BORDER)
    end--;
  g_array_set_size (points, end);
  g_array_remove_range (points, 0, first);
}

/* px of the picture; free with g_array_unref(). */
static GArray *
longest_outline (const WsResult *result)
{
  GArray *longest = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  for (guint i = 0; i < result->marks->len; i++)
  {
    const WsMark *mark = g_ptr_array_index (result->marks, i);
    const GArray *next = mark->role == WS_MARK_OUTLINE ? next_of (result, mark->points) : NULL;
    if (mark->role != WS_MARK_OUTLINE ||
        mark->points->len + (next != NULL ? next->len : 0) <= longest->len)
      continue;
    g_array_set_size (longest, 0);
    g_array_append_vals (longest, mark->points->data, mark->points->len);
    if (next != NULL)
      g_array_append_vals (longest, next->data, next->len);
  }
  cut_ends (longest);
  return longest;
}

static WsPoint
unit (WsPoint way)
{
  const double length = wsi_point_length (way);
  return length > 0 ? wsi_point (way.x / length, way.y / length) : wsi_point (0, -1);
}

/* Toward the working end: by the axis that was marked, else by the sides, which come in at the
 * picture's border. */
static WsPoint
forward_of (const WsResult *result, const WsPoint *points, guint n)
{
  for (guint i = 0; i < result->marks->len; i++)
  {
    const WsMark *mark = g_ptr_array_index (result->marks, i);
    if (mark->role == WS_MARK_AXIS && mark->points->len == 2)
      return unit (wsi_point_sub (g_array_index (mark->points, WsPoint, 1),
                                  g_array_index (mark->points, WsPoint, 0)));
  }
  const guint in = (guint)(END_SHARE * n);
  return unit (wsi_point_add (unit (wsi_point_sub (points[in], points[0])),
                              unit (wsi_point_sub (points[n - 1 - in], points[n - 1]))));
}

/* In pixels of `mm_per_px`, forward is -y; the order stays, since turning mirrors nothing. */
static GArray *
outline_of (const WsRegrindShot *shot, double mm_per_px)
{
  g_autoptr (GArray) marked = longest_outline (shot->result);
  GArray *outline = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  for (guint i = 0; i < marked->len; i++)
  {
    const WsPoint seen = g_array_index (marked, WsPoint, i);
    const WsPoint p =
      shot->optics->lens != NULL ? ws_lens_to_ideal (shot->optics->lens, seen) : seen;
    if (isfinite (p.x) && isfinite (p.y))
      g_array_append_val (outline, p);
  }
  if (outline->len < LEAST_POINTS)
    return outline;
  WsPoint *points = (WsPoint *)(void *)outline->data;
  const WsPoint forward = forward_of (shot->result, points, outline->len);
  const double scale = shot->optics->mm_per_px / mm_per_px;
  for (guint i = 0; i < outline->len; i++)
    points[i] = wsi_point (scale * (-forward.y * points[i].x + forward.x * points[i].y),
                           -scale * wsi_point_dot (forward, points[i]));
  return outline;
}

/* ---- What is known of both ------------------------------------------------------------------- */

/* mm: a turn about the axis moves flutes along it by lead / 360 a degree. */
static double
slide_of (const WsToolCard *card, const WsRegrindShot *const shots[2])
{
  double square = 0;
  for (guint i = 0; i < 2; i++)
  {
    const WsResult *result = shots[i]->result;
    const gboolean told = isfinite (result->turn_deg) && isfinite (result->u_turn_deg);
    square +=
      told ? pow (result->turn_deg, 2) + pow (result->u_turn_deg, 2) : UNKNOWN_TURN * UNKNOWN_TURN;
  }
  return LEAD_PER_DIAMETER * card->diameter_mm / 360 * sqrt (square);
}

static WsRegrindRules
rules_of (const WsToolCard *card, const WsRegrindShot *const shots[2])
{
  double square = LEAST_U_SCALE * LEAST_U_SCALE, largest = 0;
  const double mm_per_px = shots[0]->optics->mm_per_px;
  for (guint i = 0; i < 2; i++)
  {
    square += pow (shots[i]->optics->u_mm_per_px / shots[i]->optics->mm_per_px, 2);
    largest = fmax (largest, shots[i]->optics->mm_per_px / mm_per_px);
  }
  const gboolean has_flutes = card->kind == WS_KIND_TWIST_DRILL && card->diameter_mm > 0;
  return (WsRegrindRules){ .mm_per_px = mm_per_px,
                           .sigma = SIGMA_PX * largest,
                           .u_scale = sqrt (square),
                           .has_flutes = has_flutes,
                           .u_slide = has_flutes ? slide_of (card, shots) / mm_per_px : 0 };
}

WsRegrind *
wsi_regrind_of_shots (const WsToolCard *card, const WsRegrindShot *before,
                      const WsRegrindShot *after, const char **what)
{
  const WsRegrindShot *const shots[] = { before, after };
  if (!before->optics->has_scale || !after->optics->has_scale)
  {
    *what = N_ ("a picture was measured without a scale");
    return NULL;
  }
  g_autoptr (GArray) old = outline_of (before, before->optics->mm_per_px);
  g_autoptr (GArray) new = outline_of (after, before->optics->mm_per_px);
  if (old->len < LEAST_POINTS || new->len < LEAST_POINTS)
  {
    *what = N_ ("a picture shows no outline that could be laid on the other's");
    return NULL;
  }
  const WsRegrindOutline outlines[] = { { (WsPoint *)(void *)old->data, old->len },
                                        { (WsPoint *)(void *)new->data, new->len } };
  const WsRegrindRules rules = rules_of (card, shots);
  return wsi_regrind_lay (&outlines[0], &outlines[1], &rules, what);
}
