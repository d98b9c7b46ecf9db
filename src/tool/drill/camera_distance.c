#include "tool/drill/camera_distance.h"

/* A body in parallel projection looks asymmetric by less than this, px, as do those that a camera
 * farther than two metres sees (own trials on rendered drills: 0.005 to 0.045). */
#define SUSPICIOUS_PX 0.06

/* Asymmetry, px, over radius squared and distance: 0.1 to 0.25 on rendered drills. */
#define ASYMMETRY_RATIO 0.25

/* The first looks, in parts of the likely nearness: the wrong hand settles for far cameras only. */
static const double first_looks[] = { 0.25, 0.5, 1.0, 1.5 };

/* By how much one of them must help. */
#define HELPS 0.93

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

typedef struct
{
  WsPerspective *perspective;
  WsOutline *outline;
  const WsPoint *seen;
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

/* The asymmetry left when the camera's nearness, 1 / distance, is taken for `nearness`. */
static Left
look (const Search *search, double nearness)
{
  WsRefusal refusal;
  search->perspective->distance = 1 / nearness;
  g_autoptr (WsDrillPoint) point =
    wsi_perspective_undone (search->perspective, search->outline, search->seen, &refusal);
  return left_of (point);
}

/* Up the ladder until it has been getting worse for two steps. */
static double
climb (const Search *search, double likely, Left *least)
{
  double best = NAN;
  guint worse = 0;
  *least = left_of (NULL);
  for (double part = LADDER_FROM; part < LADDER_TO && worse < 2; part *= LADDER_STEP)
  {
    const Left left = look (search, part * likely);
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
refine (const Search *search, double rung, Left *least)
{
  double low = rung / LADDER_STEP, high = rung * LADDER_STEP, best = rung;
  double at[2] = { high - GOLDEN * (high - low), low + GOLDEN * (high - low) };
  Left left[2] = { look (search, at[0]), look (search, at[1]) };
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
    left[k] = look (search, at[k]);
  }
}

/* The nearness that leaves the least asymmetry for flutes of the perspective's hand. */
static double
find_nearness (const Search *search, double likely, Left *least)
{
  const double rung = climb (search, likely, least);
  return isfinite (rung) ? refine (search, rung, least) : (double)NAN;
}

/* The hand that the first look favours; 0 where neither helps. */
static double
likely_hand (Search *search, double likely, double before)
{
  double left[2] = { HUGE_VAL, HUGE_VAL };
  for (guint k = 0; k < 2; k++)
  {
    search->perspective->hand = k == 0 ? 1 : -1;
    for (guint i = 0; i < G_N_ELEMENTS (first_looks); i++)
    {
      left[k] = MIN (left[k], look (search, first_looks[i] * likely).all);
    }
  }
  if (MIN (left[0], left[1]) > HELPS * before)
    return 0;
  return left[0] < left[1] ? 1 : -1;
}

static WsDrillPoint *
undo_at (Search *search, double distance)
{
  WsRefusal refusal;
  search->perspective->distance = distance;
  return wsi_perspective_undone (search->perspective, search->outline, search->seen, &refusal);
}

/* What a farther camera would have made of it comes first: the outline must end as the found
 * distance leaves it. */
static gboolean
settle (Search *search, double nearness, double u, WsDrillPoint **point)
{
  WsPerspective *perspective = search->perspective;
  g_autoptr (WsDrillPoint) farther = undo_at (search, (1 + u) / nearness);
  g_autoptr (WsDrillPoint) found = undo_at (search, 1 / nearness);
  if (farther == NULL || found == NULL)
    return FALSE;
  perspective->in_doubt = TRUE;
  perspective->otherwise = wsi_drill_lines_of (farther);
  perspective->hand_seen = TRUE;
  wsi_drill_point_free (*point);
  *point = g_steal_pointer (&found);
  return TRUE;
}

/* The camera may be near nevertheless. */
static void
doubt (Search *search, double nearness)
{
  if (!isfinite (nearness))
    return;
  g_autoptr (WsDrillPoint) undone = undo_at (search, 1 / nearness);
  if (undone == NULL)
    return;
  search->perspective->in_doubt = TRUE;
  search->perspective->otherwise = wsi_drill_lines_of (undone);
}

/* Below 1: explained. */
static double
share_left (const Left *left, const Left *before)
{
  return MIN (left->all / before->all / EXPLAINS_ALL, left->sound / before->sound / EXPLAINS_SOUND);
}

WsCameraDistance
wsi_camera_distance_seek (WsPerspective *perspective, WsDrillPoint **point)
{
  const Left before = left_of (*point);
  if (before.all < SUSPICIOUS_PX)
    return WS_CAMERA_FAR;
  g_autofree WsPoint *seen = wsi_perspective_snapshot ((*point)->outline);
  const double stated = perspective->hand, radius = (*point)->radius;
  const double likely = before.all / (ASYMMETRY_RATIO * radius * radius);
  Search search = { perspective, (*point)->outline, seen };
  Left least = left_of (NULL);
  double nearness = NAN;
  perspective->hand = likely_hand (&search, likely, before.all);
  if (fabs (perspective->hand) > 0)
    nearness = find_nearness (&search, likely, &least);
  const double share = share_left (&least, &before);
  if (isfinite (nearness) && share < 1)
  {
    if (perspective->hand_stated && perspective->hand * stated < 0)
    {
      perspective->hand = stated;
      return WS_CAMERA_WRONG_HAND;
    }
    if (settle (&search, nearness, U_LEAST + U_LEFT_OVER * share, point))
      return WS_CAMERA_NEAR;
  }
  doubt (&search, nearness);
  wsi_perspective_restore ((*point)->outline, seen);
  return WS_CAMERA_UNCLEAR;
}
