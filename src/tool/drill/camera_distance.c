#include "tool/drill/camera_distance.h"

/* A body in parallel projection looks asymmetric by less than this, px, as do those that a camera
 * farther than two metres sees (own trials on rendered drills: 0.005 to 0.045). */
#define SUSPICIOUS_PX 0.06

/* Asymmetry, px, over radius squared and distance: 0.1 to 0.25 on rendered drills. */
#define ASYMMETRY_RATIO 0.25

/* The first looks, in parts of the likely nearness: the wrong hand settles for far cameras only.
 * Mostly the first few tell. */
#define N_FIRST_LOOKS 4
#define FEW_LOOKS 2
static const double first_looks[N_FIRST_LOOKS] = { 0.25, 0.5, 1.0, 1.5 };

/* By how much one of them must help; and by how much one does harm that needs no nearer look (own
 * trials on rendered drills: 1.2 times and more with the wrong hand). */
#define HELPS 0.93
#define HARMS 1.1

/* A distance explains a body's asymmetry that leaves less than this part of it, of all heights or
 * of the sound ones. */
#define EXPLAINS_ALL 0.45
#define EXPLAINS_SOUND 0.55

/* Ladder of nearness tried, in parts of the likely one: from the rung next to where the first
 * looks point, either way, until it has been getting worse for two steps, or once by so much that
 * no noise does it (beside the least, a step is some 0.2 of the asymmetry that there was). */
#define LADDER_FROM 0.35
#define LADDER_RUNGS 12
#define LADDER_STEP 1.25
#define WORSE_BY_FAR 1.3

/* Golden-section search: what so many rounds leave of two ladder steps is 2 %. */
#define GOLDEN_ROUNDS 5
#define GOLDEN 0.6180339887498949

/* Standard uncertainty of the distance, relative: the least, and what the asymmetry left over adds
 * to it (own trials on rendered drills). */
#define U_LEAST 0.02
#define U_LEFT_OVER 0.12

/* How near a look has to come to what it looks for, as wsi_perspective_follow() says: where rungs
 * are told apart, and between them. */
#define ROUGHLY 10.0
#define FINELY 1.0

typedef struct
{
  WsPerspective *perspective;
  WsOutline *outline;
  const WsPoint *seen;
  WsDrillPoint *point; /* of the last look, or NULL */
  gboolean closely;    /* each look takes all the time it needs */
} Search;

/* Asymmetry, px. */
typedef struct
{
  double all;   /* of all heights, smooth in the distance */
  double sound; /* of those that agree with one axis, counting the others as 1 px: sharper */
} Left;

static Left
left_of (const WsDrillPoint *point)
{
  return (Left){ point != NULL ? point->mirror.spread_px : HUGE_VAL,
                 wsi_perspective_asymmetry (point) };
}

static void
start_again (Search *search)
{
  WsRefusal refusal;
  wsi_drill_point_free (search->point);
  wsi_perspective_restore (search->outline, search->seen);
  search->point = wsi_drill_point_locate (search->outline, &refusal);
}

static WsDrillPoint *
undo_at (Search *search, double distance)
{
  WsRefusal refusal;
  search->perspective->distance = distance;
  return wsi_perspective_undone (search->perspective, search->outline, search->seen, &refusal);
}

/* The asymmetry left when the camera's nearness, 1 / distance, is taken for `nearness`: nearly,
 * since it goes on from the last look, or closely. */
static Left
look (Search *search, double nearness, double settled)
{
  if (search->closely)
  {
    wsi_drill_point_free (search->point);
    search->point = undo_at (search, 1 / nearness);
    return left_of (search->point);
  }
  search->perspective->distance = 1 / nearness;
  if (search->point == NULL)
    start_again (search);
  if (search->point != NULL &&
      !wsi_perspective_follow (search->perspective, search->point, search->seen, settled))
    g_clear_pointer (&search->point, wsi_drill_point_free);
  return left_of (search->point);
}

/* Where the ladder was found to be least. */
typedef struct
{
  double part; /* of the likely nearness, or NAN */
  Left left;
  int at; /* on the ladder */
} Rung;

/* From rung i on, up or down; whether that one was found. */
static gboolean
climb (Search *search, double likely, const double parts[], int i, int step, Rung *least)
{
  const int first = i;
  gboolean found = FALSE;
  for (guint worse = 0; i >= 0 && i < LADDER_RUNGS && worse < 2; i += step)
  {
    const Left left = look (search, parts[i] * likely, ROUGHLY);
    found = found || (i == first && isfinite (left.all));
    if (left.all < least->left.all)
    {
      *least = (Rung){ parts[i], left, i };
      worse = 0;
    }
    else if (isfinite (least->left.all))
      worse += left.all > WORSE_BY_FAR * least->left.all ? 2 : 1;
  }
  return found;
}

/* Farther first: a nearer camera's perspective is the one that may lose the point. */
static Rung
find_rung (Search *search, double likely, double from)
{
  double parts[LADDER_RUNGS] = { LADDER_FROM };
  Rung least = { NAN, left_of (NULL), 0 };
  int nearest = 0;
  for (int i = 0; i < LADDER_RUNGS; i++)
  {
    parts[i] = i == 0 ? LADDER_FROM : parts[i - 1] * LADDER_STEP;
    if (fabs (log (parts[i] / from)) < fabs (log (parts[nearest] / from)))
      nearest = i;
  }
  /* One that was lost at first may be found from the rung beside it. */
  const gboolean found = climb (search, likely, parts, nearest, -1, &least);
  climb (search, likely, parts, found || isnan (least.part) ? nearest + 1 : least.at + 1, 1,
         &least);
  return least;
}

/* Golden-section search about a rung for the least asymmetry of the sound heights. */
static double
refine (Search *search, double rung, Left *least)
{
  double low = rung / LADDER_STEP, high = rung * LADDER_STEP, best = rung;
  double at[2] = { high - GOLDEN * (high - low), low + GOLDEN * (high - low) };
  Left left[2] = { look (search, at[0], FINELY), look (search, at[1], FINELY) };
  for (guint i = 0;; i++)
  {
    const guint k = left[0].sound < left[1].sound ? 0 : 1;
    if (left[k].sound < least->sound)
    {
      *least = left[k];
      best = at[k];
    }
    if (i == GOLDEN_ROUNDS)
      return best;
    *(k == 0 ? &high : &low) = at[1 - k];
    at[1 - k] = at[k];
    left[1 - k] = left[k];
    at[k] = k == 0 ? high - GOLDEN * (high - low) : low + GOLDEN * (high - low);
    left[k] = look (search, at[k], FINELY);
  }
}

/* The nearness that leaves the least asymmetry for flutes of the perspective's hand. */
static double
find_nearness (Search *search, double likely, double from)
{
  Rung rung = find_rung (search, likely, from);
  return isfinite (rung.part) ? refine (search, rung.part * likely, &rung.left) : (double)NAN;
}

/* The asymmetry that the first looks with one hand left, px. */
typedef struct
{
  double left[N_FIRST_LOOKS];
  guint n;
} Looks;

/* Nearer than one that does harm is worse still. */
static gboolean
do_harm (const Looks *looks, double before)
{
  const double last = looks->n > 0 ? looks->left[looks->n - 1] : HUGE_VAL;
  return isfinite (last) && last > HARMS * before;
}

/* Up to n; from where it was, since a long step may lose the point. */
static void
look_first (Search *search, double likely, double before, guint n, Looks *looks)
{
  g_clear_pointer (&search->point, wsi_drill_point_free);
  if (looks->n > 0 && !do_harm (looks, before))
    look (search, first_looks[looks->n - 1] * likely, ROUGHLY);
  while (looks->n < n && !do_harm (looks, before))
  {
    const guint i = looks->n++;
    looks->left[i] = look (search, first_looks[i] * likely, ROUGHLY).all;
  }
}

static guint
best_look (const Looks *looks)
{
  guint best = 0;
  for (guint i = 1; i < looks->n; i++)
    if (looks->left[i] < looks->left[best])
      best = i;
  return best;
}

/* One hand does harm at once and the other one helps: no nearer look changes that. */
static gboolean
is_plain (const Looks looks[2], double before)
{
  for (guint k = 0; k < 2; k++)
    if (looks[k].n == 1 && do_harm (&looks[k], before) &&
        looks[1 - k].left[best_look (&looks[1 - k])] <= HELPS * before)
      return TRUE;
  return FALSE;
}

/* Where the asymmetry, which falls in proportion to the nearness, would be gone by the first two
 * looks; else the best one. */
static double
promising_part (const Looks *looks)
{
  const double fall = looks->left[0] - looks->left[1];
  if (looks->n == FEW_LOOKS && fall > 0)
    return first_looks[1] + looks->left[1] / fall * (first_looks[1] - first_looks[0]);
  return first_looks[best_look (looks)];
}

/* Sets the hand that they favour, 0 where neither helps; where to begin with it. */
static double
likely_hand (Search *search, double likely, double before)
{
  Looks looks[2] = { 0 };
  for (guint n = FEW_LOOKS; n <= N_FIRST_LOOKS && !is_plain (looks, before);
       n += N_FIRST_LOOKS - FEW_LOOKS)
    for (guint k = 0; k < 2; k++)
    {
      search->perspective->hand = k == 0 ? 1 : -1;
      look_first (search, likely, before, n, &looks[k]);
    }
  const double least[2] = { looks[0].left[best_look (&looks[0])],
                            looks[1].left[best_look (&looks[1])] };
  const guint k = least[0] < least[1] ? 0 : 1;
  search->perspective->hand = least[k] > HELPS * before ? 0 : k == 0 ? 1 : -1;
  return promising_part (&looks[k]);
}

/* What a farther camera would have made of it; the outline and all that was found of the nearer
 * one stay. */
static gboolean
look_farther (Search *search, double distance)
{
  WsPerspective *perspective = search->perspective;
  const WsPerspective kept = *perspective;
  g_autofree WsPoint *moved = wsi_perspective_snapshot (search->outline);
  g_autoptr (WsDrillPoint) farther = undo_at (search, distance);
  *perspective = kept;
  wsi_perspective_restore (search->outline, moved);
  if (farther == NULL)
    return FALSE;
  perspective->otherwise = wsi_drill_lines_of (farther);
  return TRUE;
}

/* Below 1: explained. */
static double
share_left (const Left *left, const Left *before)
{
  return MIN (left->all / before->all / EXPLAINS_ALL, left->sound / before->sound / EXPLAINS_SOUND);
}

/* The point as a camera of that nearness saw it; NULL where there is none. */
static WsDrillPoint *
point_at (Search *search, double nearness)
{
  g_clear_pointer (&search->point, wsi_drill_point_free);
  return isfinite (nearness) ? undo_at (search, 1 / nearness) : NULL;
}

/* The likeliest nearness, NAN where none is, and the point as that camera saw it, or NULL. */
static WsDrillPoint *
seek (Search *search, double before, double radius, double *nearness)
{
  const double likely = before / (ASYMMETRY_RATIO * radius * radius);
  const double from = likely_hand (search, likely, before);
  const gboolean has_hand = fabs (search->perspective->hand) > 0;
  /* Light from the front has an asymmetry of its own, which leads first looks astray. */
  const double begin = search->outline->front_lit ? LADDER_FROM : from;
  *nearness = has_hand ? find_nearness (search, likely, begin) : (double)NAN;
  WsDrillPoint *found = point_at (search, *nearness);
  if (found != NULL || !isfinite (*nearness))
    return found;
  /* It can't be looked at closely: one beside it may. */
  search->closely = TRUE;
  *nearness = find_nearness (search, likely, *nearness / likely);
  return point_at (search, *nearness);
}

WsCameraDistance
wsi_camera_distance_seek (WsPerspective *perspective, WsDrillPoint **point)
{
  const Left before = left_of (*point);
  if (before.all < SUSPICIOUS_PX)
    return WS_CAMERA_FAR;
  g_autofree WsPoint *seen = wsi_perspective_snapshot ((*point)->outline);
  const double stated = perspective->hand;
  Search search = { perspective, (*point)->outline, seen, NULL, FALSE };
  double nearness;
  g_autoptr (WsDrillPoint) found = seek (&search, before.all, (*point)->radius, &nearness);
  const Left left = left_of (found);
  const double share = share_left (&left, &before);
  if (share < 1 && perspective->hand_stated && perspective->hand * stated < 0)
  {
    perspective->hand = stated;
    return WS_CAMERA_WRONG_HAND;
  }
  perspective->in_doubt = found != NULL;
  if (share < 1 && look_farther (&search, (1 + U_LEAST + U_LEFT_OVER * share) / nearness))
  {
    perspective->hand_seen = TRUE;
    wsi_drill_point_free (*point);
    *point = g_steal_pointer (&found);
    return WS_CAMERA_NEAR;
  }
  /* The camera may be near nevertheless. */
  if (found != NULL)
    perspective->otherwise = wsi_drill_lines_of (found);
  wsi_perspective_restore ((*point)->outline, seen);
  return WS_CAMERA_UNCLEAR;
}
