#include "tool/drill/camera_distance.h"

/* A body in parallel projection looks asymmetric by less than this, px, as do those that a camera
 * farther than two metres sees (own trials on rendered drills: 0.005 to 0.045). */
#define SUSPICIOUS_PX 0.06

/* Asymmetry, px, over radius squared and distance: 0.1 to 0.25 on rendered drills. */
#define ASYMMETRY_RATIO 0.25

/* The first looks, in parts of the likely nearness: the wrong hand settles for far cameras only. */
static const double first_looks[] = { 0.25, 0.5, 1.0, 1.5 };

/* By how much one of them must help; and by how much one does harm that needs no nearer look (own
 * trials on rendered drills: 1.2 times and more with the wrong hand). */
#define HELPS 0.93
#define HARMS 1.1

/* A distance explains a body's asymmetry that leaves less than this part of it, of all heights or
 * of the sound ones. */
#define EXPLAINS_ALL 0.45
#define EXPLAINS_SOUND 0.55

/* Ladder of nearness tried, in parts of the likely one. */
#define LADDER_FROM 0.35
#define LADDER_TO 5.0
#define LADDER_STEP 1.25

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

/* Up the ladder until it has been getting worse for two steps. */
static double
climb (Search *search, double likely, Left *least)
{
  double best = NAN;
  guint worse = 0;
  *least = left_of (NULL);
  for (double part = LADDER_FROM; part < LADDER_TO && worse < 2; part *= LADDER_STEP)
  {
    const Left left = look (search, part * likely, ROUGHLY);
    worse = left.all < least->all || !isfinite (left.all) ? 0 : worse + 1;
    if (left.all < least->all)
    {
      *least = left;
      best = part * likely;
    }
  }
  return best;
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
find_nearness (Search *search, double likely)
{
  Left least;
  const double rung = climb (search, likely, &least);
  return isfinite (rung) ? refine (search, rung, &least) : (double)NAN;
}

/* The least that the first looks leave with the perspective's hand; nearer than one that does harm
 * is worse still. */
static double
first_look (Search *search, double likely, double before)
{
  double least = HUGE_VAL, left = 0;
  g_clear_pointer (&search->point, wsi_drill_point_free);
  for (guint i = 0; i < G_N_ELEMENTS (first_looks) && !(isfinite (left) && left > HARMS * before);
       i++)
  {
    left = look (search, first_looks[i] * likely, ROUGHLY).all;
    least = MIN (least, left);
  }
  return least;
}

/* The hand that they favour; 0 where neither helps. */
static double
likely_hand (Search *search, double likely, double before)
{
  double left[2];
  for (guint k = 0; k < 2; k++)
  {
    search->perspective->hand = k == 0 ? 1 : -1;
    left[k] = first_look (search, likely, before);
  }
  if (MIN (left[0], left[1]) > HELPS * before)
    return 0;
  return left[0] < left[1] ? 1 : -1;
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

/* The likeliest nearness, and the point as that camera saw it; NULL where there is none. */
static WsDrillPoint *
seek_point (Search *search, double before, double radius, double *nearness)
{
  const double likely = before / (ASYMMETRY_RATIO * radius * radius);
  *nearness = NAN;
  search->perspective->hand = likely_hand (search, likely, before);
  if (fabs (search->perspective->hand) > 0)
    *nearness = find_nearness (search, likely);
  g_clear_pointer (&search->point, wsi_drill_point_free);
  return isfinite (*nearness) ? undo_at (search, 1 / *nearness) : NULL;
}

static WsDrillPoint *
seek (Search *search, double before, double radius, double *nearness)
{
  WsDrillPoint *found = seek_point (search, before, radius, nearness);
  if (found != NULL || !isfinite (*nearness))
    return found;
  /* It can't be looked at closely: another one may. */
  search->closely = TRUE;
  return seek_point (search, before, radius, nearness);
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
