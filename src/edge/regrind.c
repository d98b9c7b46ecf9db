#include "edge/regrind.h"

#include <math.h>

#include "base/geometry.h"
#include "base/language.h"
#include "edge/even_run.h"
#include "edge/laid.h"
#include "edge/outline.h"

/* Points that an outline is taken by. */
#define N_EVEN 1200
#define CLOSE 0.4 /* px */

/* Points to either side that a normal is taken over: few where a side ends, many where noise would
 * make straight sides look rough, as if they told how far one lies along the other. */
#define SHARP 2
#define SMOOTH 12

/* px: what two pictures make of a side's form beside noise: lens, light, focus.  (own choice) */
#define SYSTEMATIC 0.1

/* An edge that looks forward by more than this (the sine of its normal above the square to the
 * tool), over so much of the outline, is one that was ground: with flutes, lips of point angles of
 * 86 degrees and more, since what lies beside flutes looks forward by less, and a grain of dust is
 * no end of a side; without, whatever no longer runs along. */
#define LOOKS_FORWARD 0.68
#define AS_LONG_AS 12
#define LOOKS_FORWARD_STRAIGHT 0.3
#define AS_LONG_AS_STRAIGHT 4

/* How far the tool may be shorter, mm and of its length in the picture; how far the sides may lie
 * elsewhere across, mm, and be turned, rad, from what their ends say. */
#define MOST_SHORTER 4.0
#define MOST_SHARE 0.4
#define MOST_ACROSS 0.15
#define MOST_TURN 0.012

/* mm: about so far an edge's errors of form go together. */
#define CORRELATED 0.5

/* mm: what isn't known better than this isn't known by the sides. */
#define KNOWN_SLIDE 0.15

/* At least so many points, and so much, of the sides has to have its like on the other outline, and
 * to agree. */
#define LEAST_SIDE 30
#define LEAST_MATCHED 0.6
#define MOST_SCATTER 6.0 /* times what it should be */

/* An outline's sides: they end before the first of its points and begin behind the second. */
typedef struct
{
  guint left, right;
  WsPoint middle; /* between both corners */
  double way;     /* that the sides point, rad */
} Sides;

typedef struct
{
  const WsEvenRun *before, *after;
  const WsRegrindRules *rules;
  Sides old, new;
  WsLaid laid;
  double most; /* px, that the tool may be shorter */
} Pair;

/* ---- The sides ---------------------------------------------------------------------------------
 */

/* Points before the first stretch that looks forward. */
static guint
side_length (const WsEvenRun *run, gboolean has_flutes, gboolean from_the_end)
{
  guint forward = 0;
  const guint enough = has_flutes ? AS_LONG_AS : AS_LONG_AS_STRAIGHT;
  const double limit = has_flutes ? LOOKS_FORWARD : LOOKS_FORWARD_STRAIGHT;
  for (guint i = 0; i < run->n; i++)
  {
    const guint at = from_the_end ? run->n - 1 - i : i;
    forward = -wsi_even_run_normal (run, at, SHARP).y > limit ? forward + 1 : 0;
    if (forward == enough)
      return i + 1 > 2 * enough ? i + 1 - 2 * enough : 0;
  }
  return 0;
}

/* Both sides together, each from its rear to its front: what tapers alike cancels. */
static double
way_of (const WsEvenRun *run, const Sides *sides)
{
  const WsPoint left = wsi_point_sub (run->points[sides->left], run->points[0]);
  const WsPoint right = wsi_point_sub (run->points[sides->right], run->points[run->n - 1]);
  const double l = wsi_point_length (left), r = wsi_point_length (right);
  const WsPoint way = wsi_point (left.x / l + right.x / r, left.y / l + right.y / r);
  return atan2 (way.y, way.x);
}

static gboolean
find_sides (const WsEvenRun *run, gboolean has_flutes, Sides *sides)
{
  const guint left = side_length (run, has_flutes, FALSE);
  const guint right = side_length (run, has_flutes, TRUE);
  if (left < LEAST_SIDE || right < LEAST_SIDE || left + right >= run->n)
    return FALSE;
  sides->left = left;
  sides->right = run->n - 1 - right;
  const WsPoint both = wsi_point_add (run->points[sides->left], run->points[sides->right]);
  sides->middle = wsi_point (both.x / 2, both.y / 2);
  sides->way = way_of (run, sides);
  return TRUE;
}

/* ---- Laying the sides on each other ------------------------------------------------------------
 */

static void
add_edge (WsPoint at, WsPoint normal, GArray *edges)
{
  const WsEdgePoint edge = { .x = at.x, .y = at.y, .nx = (float)normal.x, .ny = (float)normal.y };
  g_array_append_val (edges, edge);
}

/* So close that each point has one beside it. */
static void
add_close (const WsEvenRun *run, guint i, GArray *edges)
{
  const WsPoint way = wsi_point_sub (run->points[i + 1], run->points[i]);
  const guint n = (guint)(wsi_point_length (way) / CLOSE) + 1;
  for (guint k = 0; k < n; k++)
    add_edge (wsi_point_along (run->points[i], (double)k / n, way),
              wsi_even_run_normal (run, i, SMOOTH), edges);
}

/* Not beside a corner, whose rounding smooth normals would take for a taper. */
static gboolean
is_side (const Pair *pair, guint i)
{
  return i + SMOOTH < pair->new.left || i > pair->new.right + SMOOTH;
}

/* Of the outline after its sides, of the one before all. */
static gboolean
lay_sides (Pair *pair)
{
  const double mm = pair->rules->mm_per_px;
  g_autoptr (GArray) points = g_array_new (FALSE, FALSE, sizeof (WsEdgePoint));
  g_autoptr (GArray) onto = g_array_new (FALSE, FALSE, sizeof (WsEdgePoint));
  for (guint i = 0; i < pair->after->n; i++)
    if (is_side (pair, i))
      add_edge (pair->after->points[i], wsi_even_run_normal (pair->after, i, SMOOTH), points);
  for (guint i = 0; i + 1 < pair->before->n; i++)
    add_close (pair->before, i, onto);
  const WsLaying laying = {
    .points = points,
    .onto = onto,
    .start = { .from = pair->new.middle,
               .to = wsi_point (pair->old.middle.x, pair->old.middle.y + pair->most / 2),
               .turn = pair->old.way - pair->new.way,
               .scale = 1 },
    .along = wsi_point (0, -1),
    .reach_along = pair->most / 2,
    .reach_across = MOST_ACROSS / mm,
    .reach_turn = MOST_TURN,
    .alike = fmax (1, CORRELATED / mm / pair->after->spacing),
  };
  return wsi_lay (&laying, &pair->laid);
}

static WsPoint
lay_point (const Pair *pair, guint i)
{
  return wsi_motion_of (&pair->laid.motion, pair->after->points[i]);
}

/* Root mean square of how much the sides look forward or back: what a size that is off slides them
 * by is that much greater. */
static double
taper (const Pair *pair)
{
  double sum = 0;
  guint n = 0;
  for (guint i = 0; i < pair->after->n; i++)
    if (is_side (pair, i))
    {
      sum += pow (wsi_even_run_normal (pair->after, i, SMOOTH).y, 2);
      n++;
    }
  return sqrt (sum / MAX (n, 1));
}

static double
u_slide (const Pair *pair)
{
  const double width = wsi_even_run_width (pair->after);
  const double by_scale = pair->rules->u_scale * width / 2 / fmax (taper (pair), 1e-9);
  const double by_form = SYSTEMATIC / fmax (taper (pair), 1e-9);
  const double by_sides = wsi_laid_u (&pair->laid, wsi_point (0, 0), wsi_point (0, 1));
  return hypot (hypot (by_scale, by_form), hypot (by_sides, pair->rules->u_slide));
}

static double
scatter_of (const Pair *pair)
{
  return fmax (pair->rules->sigma, pair->laid.scatter);
}

/* ---- Grinding only takes off -------------------------------------------------------------------
 */

#define MAY_STAND_OUT 0.004 /* share of the front: a grain of dust */
#define SIGMAS 3.0
#define N_SLIDES 60 /* steps in which it is sought, so many of them ahead */
#define N_AHEAD 4
#define HALVINGS 30

/* Does the front lie inside the tool before, but for a little? */
static gboolean
is_inside (const Pair *pair)
{
  guint n = 0, out = 0;
  for (guint i = pair->new.left; i <= pair->new.right; i++)
  {
    WsEvenNear near;
    if (!wsi_even_run_near (pair->before, lay_point (pair, i), &near))
      continue;
    n++;
    out += near.inside < -SIGMAS * scatter_of (pair);
  }
  return out <= MAY_STAND_OUT * n;
}

/* The least slide with nothing outside, from a little ahead on, since a waist farther back is
 * narrower again; FALSE when there is none. */
static gboolean
slide_least (Pair *pair)
{
  WsPoint *to = &pair->laid.motion.to;
  const double step = pair->most / N_SLIDES;
  const double begin = to->y - lay_point (pair, pair->after->foremost).y - N_AHEAD * step;
  double low = begin, high = begin;
  for (guint i = 0; i <= N_SLIDES; i++)
  {
    to->y = high = begin + i * step;
    if (is_inside (pair))
      break;
    low = high;
  }
  if (!is_inside (pair))
    return FALSE;
  for (guint i = 0; i < HALVINGS && high > low; i++)
  {
    to->y = (low + high) / 2;
    if (is_inside (pair))
      high = to->y;
    else
      low = to->y;
  }
  to->y = high;
  return TRUE;
}

/* ---- What was taken ----------------------------------------------------------------------------
 */

/* px; a least amount is told without what slides. */
static double
u_at (const Pair *pair, WsPoint p, WsPoint normal, gboolean is_least)
{
  const WsPoint across = wsi_point (normal.x, is_least ? 0 : normal.y);
  const double slide = is_least ? 0 : normal.y * u_slide (pair);
  const double size = pair->rules->u_scale * wsi_point_length (p);
  const double laid = wsi_laid_u (&pair->laid, p, across);
  return sqrt (laid * laid + slide * slide + size * size + pow (scatter_of (pair), 2));
}

typedef struct
{
  WsRegrindPlace place;
  gboolean is_open;
} Going;

static WsPoint
in_mm (const Pair *pair, WsPoint p)
{
  return wsi_point (pair->rules->mm_per_px * p.x, pair->rules->mm_per_px * p.y);
}

static void
end_place (const Pair *pair, Going *going, GArray *places)
{
  const double least_length = fmax (4 * pair->after->spacing, 6 * pair->rules->sigma);
  if (going->is_open && going->place.length >= least_length * pair->rules->mm_per_px)
    g_array_append_val (places, going->place);
  going->is_open = FALSE;
}

static void
go_on (const Pair *pair, Going *going, const WsEvenNear *near, WsPoint p, double u)
{
  WsRegrindPlace *place = &going->place;
  const double mm = pair->rules->mm_per_px, depth = mm * fabs (near->inside);
  if (!going->is_open)
    *place = (WsRegrindPlace){ .from = in_mm (pair, p), .stands_out = near->inside < 0 };
  going->is_open = TRUE;
  place->to = in_mm (pair, p);
  place->length += mm * pair->after->spacing;
  place->area += mm * pair->after->spacing * depth;
  if (depth <= place->depth)
    return;
  place->depth = depth;
  place->U = 2 * mm * u;
  place->deepest = in_mm (pair, p);
  place->opposite = in_mm (pair, near->at);
}

static void
find_places (const Pair *pair, WsRegrind *regrind)
{
  Going going = { .is_open = FALSE };
  const guint first = regrind->is_least ? pair->new.left : 0;
  const guint last = regrind->is_least ? pair->new.right : pair->after->n - 1;
  for (guint i = first; i <= last; i++)
  {
    WsEvenNear near;
    const WsPoint p = lay_point (pair, i);
    const gboolean seen = wsi_even_run_near (pair->before, p, &near);
    const double u = seen ? u_at (pair, p, near.normal, regrind->is_least) : 0;
    const gboolean differs = seen && fabs (near.inside) > SIGMAS * u;
    if (going.is_open && (!differs || going.place.stands_out != (near.inside < 0)))
      end_place (pair, &going, regrind->places);
    if (differs)
      go_on (pair, &going, &near, p, u);
  }
  end_place (pair, &going, regrind->places);
}

/* NULL when the end after fits nowhere into the one before. */
static WsRegrind *
tell (Pair *pair)
{
  const double mm = pair->rules->mm_per_px, u = u_slide (pair);
  const gboolean is_least = !(u * mm < KNOWN_SLIDE);
  if (is_least && !slide_least (pair))
    return NULL;
  WsRegrind *regrind = g_new0 (WsRegrind, 1);
  regrind->is_least = is_least;
  regrind->turn = pair->laid.motion.turn;
  regrind->shorter = mm * lay_point (pair, pair->after->foremost).y;
  regrind->U = 2 * mm * (regrind->is_least ? scatter_of (pair) : u);
  if (regrind->is_least)
    regrind->shorter = fmax (0, regrind->shorter - regrind->U);
  regrind->agreement = mm * pair->laid.scatter;
  regrind->places = g_array_new (FALSE, FALSE, sizeof (WsRegrindPlace));
  regrind->before = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  regrind->after = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  for (guint i = 0; i < pair->before->n; i++)
  {
    const WsPoint p = in_mm (pair, pair->before->points[i]);
    g_array_append_val (regrind->before, p);
  }
  const guint first = regrind->is_least ? pair->new.left : 0;
  const guint last = regrind->is_least ? pair->new.right : pair->after->n - 1;
  for (guint i = first; i <= last; i++)
  {
    const WsPoint p = in_mm (pair, lay_point (pair, i));
    g_array_append_val (regrind->after, p);
  }
  find_places (pair, regrind);
  return regrind;
}

/* ---- Both together -----------------------------------------------------------------------------
 */

WsRegrind *
wsi_regrind_lay (const WsRegrindOutline *before, const WsRegrindOutline *after,
                 const WsRegrindRules *rules, const char **what)
{
  g_auto (WsEvenRun) old = { 0 };
  g_auto (WsEvenRun) new = { 0 };
  Pair pair = { .before = &old, .after = &new, .rules = rules };
  *what = N_ ("too little of the tool behind its ground end is in the pictures");
  if (!wsi_even_run_make (&old, before->points, before->n, N_EVEN) ||
      !wsi_even_run_make (&new, after->points, after->n, N_EVEN) ||
      !find_sides (&old, rules->has_flutes, &pair.old) ||
      !find_sides (&new, rules->has_flutes, &pair.new))
    return NULL;
  pair.most = fmin (MOST_SHORTER / rules->mm_per_px, MOST_SHARE * wsi_even_run_height (&old));
  *what =
    N_ ("the sides of both pictures don't agree: another tool, another view, or another scale");
  if (!lay_sides (&pair) || !(pair.laid.scatter <= MOST_SCATTER * rules->sigma) ||
      pair.laid.share < LEAST_MATCHED)
    return NULL;
  g_autoptr (WsRegrind) regrind = tell (&pair);
  *what = N_ ("the end after it fits nowhere into the one before: dirt, or another tool");
  if (regrind == NULL)
    return NULL;
  *what = N_ ("the tool is longer than it was before: another tool, or pictures mixed up");
  if (regrind->shorter < -regrind->U)
    return NULL;
  *what = NULL;
  return g_steal_pointer (&regrind);
}

void
wsi_regrind_free (WsRegrind *regrind)
{
  if (regrind == NULL)
    return;
  g_array_unref (regrind->before);
  g_array_unref (regrind->after);
  g_array_unref (regrind->places);
  g_free (regrind);
}
