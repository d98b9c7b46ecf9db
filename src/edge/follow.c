/*
 * Following an outline: docs/methods/following.md.
 */
#include <whetsight/follow.h>

#include "base/geometry.h"
#include "edge/boundary.h"
#include "edge/find/exposure.h"
#include "edge/outline.h"
#include "image/light.h"
#include "maths/stats.h"

#include <math.h>

/* So many scan lines find the border again. */
#define SAMPLES 128

/* So far to both sides of the last outline it is looked for, px. */
#define SEARCH_PX 32

/* Fewer of them than this part that find it: lost. */
#define LEAST_FOUND 0.25

/* The edge is said to have moved by this quantile of what its points did: an edge that moves along
 * itself doesn't seem to, and on a drill that moves along its axis only the lips do. */
#define MOVED_QUANTILE 0.9

/* Light of ground and tool is read so many blurs off the edge, and so many px. */
#define LEVEL_BLURS 4.5
#define LEVEL_PX 2

/* A border that encloses another area by this part is another thing's, or something covers the
 * tool. */
#define MAX_GROWTH 0.1

/* As for a silhouette that is measured (src/tool/silhouette.c). */
#define MAX_NOISE 0.12
#define MAX_CLIPPED 0.05

/* Starts that are tried before the border counts as lost. */
#define STARTS 5

typedef struct
{
  double ground, tool;
} Levels;

struct WsFollow
{
  WsSegment segment;    /* as found by the last search, its threshold that of the last frame */
  WsField threshold;    /* of the frame that was searched */
  Levels levels;        /* of that frame */
  WsOutline *outline;   /* of the last frame; NULL before the first */
  gboolean has_last;    /* the last frame had an outline that can be followed */
  gboolean has_outline; /* the last frame had one */
  double area_px;       /* that the last border encloses */
  guint width, height;  /* that there is room for */
  GArray *cracks;
  WsOutlineRoom room;
  WsFollowPoint *points;
  WsFollowed seen;
};

WsFollow *
ws_follow_new (void)
{
  return g_new0 (WsFollow, 1);
}

static void
give_room_back (WsFollow *follow)
{
  wsi_segment_clear (&follow->segment);
  g_clear_pointer (&follow->outline, wsi_outline_free);
  g_clear_pointer (&follow->cracks, g_array_unref);
  g_clear_pointer (&follow->points, g_free);
  wsi_outline_room_clear (&follow->room);
}

void
ws_follow_free (WsFollow *follow)
{
  if (follow == NULL)
    return;
  give_room_back (follow);
  g_free (follow);
}

/* For the longest border that a frame of this size may have: pages that are never touched cost
 * nothing. */
static void
take_room (WsFollow *follow, const WsImage *frame)
{
  if (follow->width == frame->width && follow->height == frame->height)
    return;
  const guint most = wsi_boundary_limit (frame) + 1;
  give_room_back (follow);
  follow->has_last = follow->has_outline = FALSE;
  follow->width = frame->width;
  follow->height = frame->height;
  follow->cracks = g_array_sized_new (FALSE, FALSE, sizeof (WsCrack), most);
  follow->outline = wsi_outline_new (most);
  follow->points = g_new (WsFollowPoint, most);
  wsi_outline_room_init (&follow->room, most);
}

/* ---- Light beside the outline -------------------------------------------------------- */

static gboolean
is_within (const WsImage *frame, int x, int y)
{
  return x >= 0 && y >= 0 && (guint)x < frame->width && (guint)y < frame->height;
}

static double
light_at (const WsImage *frame, int x, int y)
{
  return wsi_image_light_at (frame, (guint)x, (guint)y) * (1.0 / WS_IMAGE_FULL_SCALE);
}

static const WsEdgePoint *
sample_of (const WsOutline *outline, guint k)
{
  const guint i = (guint)((guint64)outline->points->len * k / SAMPLES);
  return &g_array_index (outline->points, WsEdgePoint, i);
}

/* Median, or NAN. */
static double
level_beside (const WsImage *frame, const WsOutline *outline, double off)
{
  double light[SAMPLES];
  guint n = 0;
  for (guint k = 0; k < SAMPLES; k++)
  {
    const WsEdgePoint *p = sample_of (outline, k);
    const int x = (int)lround (p->x + off * (double)p->nx);
    const int y = (int)lround (p->y + off * (double)p->ny);
    if (!p->on_frame && is_within (frame, x, y))
      light[n++] = light_at (frame, x, y);
  }
  return n > 0 ? wsi_median (light, n) : NAN;
}

static Levels
levels_beside (const WsImage *frame, const WsOutline *outline)
{
  const double off = LEVEL_BLURS * outline->blur_px + LEVEL_PX;
  return (Levels){ level_beside (frame, outline, off), level_beside (frame, outline, -off) };
}

/* ---- Where the border is now --------------------------------------------------------- */

/* The step from tool to ground along the point's row or column that is nearest to the point. */
static gboolean
find_crack (const WsImage *frame, const WsSegment *segment, const WsEdgePoint *p, WsCrack *crack,
            double *moved)
{
  const double nx = (double)p->nx, ny = (double)p->ny;
  const gboolean across = fabs (nx) >= fabs (ny);
  const int dx = across ? (nx > 0 ? 1 : -1) : 0, dy = across ? 0 : (ny > 0 ? 1 : -1);
  const int x0 = (int)lround (p->x - 0.5 * dx), y0 = (int)lround (p->y - 0.5 * dy);
  const double place = (p->x - x0) * dx + (p->y - y0) * dy;
  for (int k = 0; k <= 2 * SEARCH_PX; k++)
  {
    const int t = k % 2 == 0 ? k / 2 : -(k + 1) / 2;
    const int x = x0 + t * dx, y = y0 + t * dy;
    if (!is_within (frame, x, y) || !is_within (frame, x + dx, y + dy))
      continue;
    const double a = light_at (frame, x, y) - wsi_level_at (&segment->threshold, frame, x, y);
    const double b =
      light_at (frame, x + dx, y + dy) - wsi_level_at (&segment->threshold, frame, x + dx, y + dy);
    if ((a < 0) != segment->tool_is_dark || (b < 0) == segment->tool_is_dark)
      continue;
    *crack = (WsCrack){ x, y, (gint8)dx, (gint8)dy };
    *moved = fabs ((t + a / (a - b) - place) * (across ? nx : ny));
    return TRUE;
  }
  return FALSE;
}

/* Sets moved_px and returns how many starts were found; 0 when too little of the border was. */
static guint
find_starts (WsFollow *follow, const WsImage *frame, WsCrack starts[SAMPLES])
{
  double moved[SAMPLES];
  guint n = 0, tried = 0;
  for (guint k = 0; k < SAMPLES; k++)
  {
    const WsEdgePoint *p = sample_of (follow->outline, k);
    tried += p->on_frame ? 0 : 1;
    if (!p->on_frame && find_crack (frame, &follow->segment, p, &starts[n], &moved[n]))
      n++;
  }
  if (n == 0 || n < LEAST_FOUND * tried)
    return 0;
  follow->seen.moved_px = wsi_quantile (moved, n, MOVED_QUANTILE);
  return n;
}

/* The light may have changed: the threshold does with it. */
static gboolean
move_threshold (WsFollow *follow, const WsImage *frame)
{
  const Levels now = levels_beside (frame, follow->outline);
  const Levels then = follow->levels;
  if (!(fabs (now.ground - now.tool) > 0) || (now.ground > now.tool) != (then.ground > then.tool))
    return FALSE;
  const double factor = (now.ground + now.tool) / (then.ground + then.tool);
  for (guint k = 0; k < WS_FIELD_TERMS; k++)
    follow->segment.threshold.c[k] = factor * follow->threshold.c[k];
  return TRUE;
}

static gboolean
walk_border (WsFollow *follow, const WsImage *frame)
{
  WsCrack starts[SAMPLES];
  const guint n = find_starts (follow, frame, starts);
  for (guint k = 0; k < MIN (n, STARTS); k++)
    if (wsi_boundary_follow (frame, &follow->segment, &starts[k * n / MIN (n, STARTS)],
                             follow->cracks) &&
        fabs (wsi_boundary_area (follow->cracks) - follow->area_px) <= MAX_GROWTH * follow->area_px)
      return TRUE;
  return FALSE;
}

static gboolean
follow_last (WsFollow *follow, const WsImage *frame)
{
  if (!follow->has_last || !move_threshold (follow, frame) || !walk_border (follow, frame))
    return FALSE;
  const gboolean found =
    wsi_outline_retrace (frame, &follow->segment, follow->cracks, &follow->room, follow->outline);
  follow->area_px = wsi_boundary_area (follow->cracks);
  return found && follow->outline->noise <= MAX_NOISE;
}

/* ---- A search ------------------------------------------------------------------------ */

static gboolean
lose (WsFollow *follow, WsRetake reason, const char *detail)
{
  follow->seen.ground = follow->segment.ground_level;
  follow->seen.tool = follow->segment.tool_level;
  follow->seen.how = WS_FOLLOW_LOST;
  follow->seen.reason = reason;
  g_strlcpy (follow->seen.detail, detail, sizeof follow->seen.detail);
  return FALSE;
}

/* Places of an outline that will be written over. */
typedef struct
{
  WsPoint at[SAMPLES], normal[SAMPLES];
  guint n;
} Places;

static void
keep_places (const WsFollow *follow, Places *places)
{
  places->n = 0;
  for (guint k = 0; follow->has_outline && k < SAMPLES; k++)
  {
    const WsEdgePoint *p = sample_of (follow->outline, k);
    if (p->on_frame)
      continue;
    places->at[places->n] = (WsPoint){ p->x, p->y };
    places->normal[places->n++] = (WsPoint){ (double)p->nx, (double)p->ny };
  }
}

/* How far a place's edge moved along its normal, to the nearest point; NAN where none is near. */
static double
moved_from (const WsOutline *outline, WsPoint at, WsPoint normal)
{
  double least = SEARCH_PX * SEARCH_PX, moved = NAN;
  for (guint i = 0; i < outline->points->len; i++)
  {
    const WsEdgePoint *p = &g_array_index (outline->points, WsEdgePoint, i);
    const double dx = p->x - at.x, dy = p->y - at.y, square = dx * dx + dy * dy;
    if (p->on_frame || square >= least)
      continue;
    least = square;
    moved = fabs (dx * normal.x + dy * normal.y);
  }
  return moved;
}

/* What is searched anew in every frame may stand still all the same. */
static double
moved_since (const WsOutline *outline, const Places *places)
{
  double moved[SAMPLES];
  guint n = 0;
  for (guint k = 0; k < places->n; k++)
  {
    moved[n] = moved_from (outline, places->at[k], places->normal[k]);
    n += isnan (moved[n]) ? 0 : 1;
  }
  return n > 0 && n >= LEAST_FOUND * places->n ? wsi_quantile (moved, n, MOVED_QUANTILE)
                                               : (double)NAN;
}

/* A ground at full scale does harm only beside the outline. */
static gboolean
search (WsFollow *follow, const WsImage *frame)
{
  Places before;
  keep_places (follow, &before);
  wsi_segment_clear (&follow->segment);
  WsSegment seen = wsi_segment_find (frame);
  const gboolean clipped = seen.trouble == WS_RETAKE_OVER_EXPOSED;
  follow->segment = clipped ? wsi_segment_find_clipped (frame) : seen;
  if (clipped)
    wsi_segment_clear (&seen);
  if (follow->segment.trouble != WS_RETAKE_NONE)
    return lose (follow, follow->segment.trouble, follow->segment.detail);
  g_autoptr (GArray) cracks = wsi_boundary_trace (frame, &follow->segment);
  if (cracks == NULL ||
      !wsi_outline_retrace (frame, &follow->segment, cracks, &follow->room, follow->outline))
    return lose (follow, WS_RETAKE_OUT_OF_FOCUS, "no sharp outline could be followed");
  if (clipped && wsi_exposure_clipped (frame, follow->outline) > MAX_CLIPPED)
    return lose (follow, WS_RETAKE_OVER_EXPOSED, seen.detail);
  follow->area_px = wsi_boundary_area (cracks);
  follow->threshold = follow->segment.threshold;
  follow->levels = levels_beside (frame, follow->outline);
  follow->seen.moved_px = moved_since (follow->outline, &before);
  return TRUE;
}

/* ---- What is told -------------------------------------------------------------------- */

static void
tell_room (const WsFollow *follow, double room[4], double cut[4])
{
  for (guint k = 0; k < 4; k++)
    room[k] = INFINITY;
  for (guint i = 0; i < follow->outline->points->len; i++)
  {
    const WsEdgePoint *p = &g_array_index (follow->outline->points, WsEdgePoint, i);
    const double from[4] = { p->y, follow->width - 1 - p->x, follow->height - 1 - p->y, p->x };
    const double out[4] = { -(double)p->ny, (double)p->nx, (double)p->ny, -(double)p->nx };
    for (guint k = 0; k < 4; k++)
    {
      cut[k] += p->on_frame && out[k] > 0.5 ? 1 : 0;
      room[k] = MIN (room[k], from[k]);
    }
  }
  for (guint k = 0; k < 4; k++)
    room[k] = cut[k] > 0 ? INFINITY : room[k];
}

static void
tell (WsFollow *follow, const WsImage *frame)
{
  WsFollowed *seen = &follow->seen;
  const WsOutline *outline = follow->outline;
  const Levels levels = levels_beside (frame, outline);
  for (guint i = 0; i < outline->points->len; i++)
  {
    const WsEdgePoint *p = &g_array_index (outline->points, WsEdgePoint, i);
    follow->points[i] = (WsFollowPoint){ .at = { p->x, p->y },
                                         .normal = { (double)p->nx, (double)p->ny },
                                         .noise = (double)p->noise,
                                         .on_frame = p->on_frame };
  }
  seen->points = follow->points;
  seen->n = outline->points->len;
  seen->blur_px = outline->blur_px;
  seen->noise = outline->noise;
  seen->area_px = follow->area_px;
  seen->ground = levels.ground;
  seen->tool = levels.tool;
  tell_room (follow, seen->room_px, seen->cut_px);
}

const WsFollowed *
ws_follow_frame (WsFollow *follow, const WsImage *frame)
{
  take_room (follow, frame);
  follow->seen = (WsFollowed){ .how = WS_FOLLOW_FOLLOWED, .reason = WS_RETAKE_NONE };
  if (!follow_last (follow, frame))
  {
    follow->seen.how = WS_FOLLOW_SEARCHED;
    if (!search (follow, frame))
    {
      follow->has_last = follow->has_outline = FALSE;
      return &follow->seen;
    }
  }
  follow->has_outline = follow->outline->points->len >= SAMPLES;
  /* A mask is that of one frame alone. */
  follow->has_last = follow->segment.mask == NULL && follow->outline->points->len >= SAMPLES;
  tell (follow, frame);
  return &follow->seen;
}
