#include "tool/drill/attitude.h"

#include <string.h>

#include "base/geometry.h"
#include "edge/asymmetry.h"
#include "tool/drill/leading_edge.h"

#define SKEW (1u << WS_ASYMMETRY_SKEW)
#define LEAN (1u << WS_ASYMMETRY_LEAN)
#define NEAR (1u << WS_ASYMMETRY_NEAR)

/* Where the leading edges aren't seen, the helix angle is 28 degrees give or take 8: common
 * practice, no source. */
#define USUAL_HELIX_DEG 28.0
#define USUAL_HELIX_PART 0.3

/* Where they are, their slope tells the twist to this part. */
#define HELIX_PART 0.04

/* Flutes that aren't quite alike look like a lean or a skew: ground to some hundredths of a degree
 * (assumed, no source). */
#define LEAST_U_LEAN_DEG 0.08
#define LEAST_U_SKEW 0.0001

/* Beyond this the outline tells nothing worth having. */
#define MOST_U_LEAN_DEG 1.0
#define MOST_U_SKEW 0.005

/* Mid-points that a skew and a lean leave within this, px, or within so many times what a near
 * camera would leave besides, are explained by them. */
#define EXPLAINED_PX 0.035
#define EXPLAINED_RATIO 1.3

/* A near camera makes as much of the one term as of the other: q q' and q'^2 z.  Less of the second
 * than this part of the first is no near camera, nor is as little as LEAST_NEAR of both. */
#define NEAR_PART 0.5
#define LEAST_NEAR 0.002
#define SURE 2.0

/* A skew of fewer of its u is none. */
#define SKEW_SEEN 3.0

/* What undoing a perspective leaves of both: of a calibrated one, and of one that the drill told
 * itself, by a lens that may distort by 1 to 2 per cent (own trials on rendered drills). */
#define NEAR_U_LEAN_DEG 0.1
#define NEAR_U_SKEW 0.0005
#define SEEN_U_LEAN_DEG 0.2
#define SEEN_U_SKEW 0.003

/* Terms below this are left alone. */
#define HARMLESS_LEAN_DEG 0.05
#define HARMLESS_SKEW 0.0002

/* A far camera with square pixels shows no rigid body skewed, however both are turned.  So where
 * the body shows no skew either, as much is left as a sensor's rows lie off square to its columns
 * (common practice, no source). */
#define USUAL_SKEW 0.00001

static gboolean
fit (const WsDrillPoint *point, guint terms, WsAsymmetry *found)
{
  return wsi_asymmetry_fit ((const WsEdgePoint *)(void *)point->outline->points->data,
                            point->outline->points->len, &point->mirror, point->outline->spacing_px,
                            terms, found);
}

static double
u_of (const WsAsymmetry *found, WsAsymmetryTerm term)
{
  return sqrt (found->covariance[term][term]);
}

static WsAttitude
attitude_of (const WsDrillPoint *point, const WsAsymmetry *found)
{
  WsLeadingEdge edge;
  wsi_leading_edge_trace (point, &edge);
  const gboolean known = isfinite (edge.helix);
  const double helix = known ? edge.helix : wsi_radians (USUAL_HELIX_DEG);
  const double rate = tan (helix) / point->radius;
  const double lean = found->term[WS_ASYMMETRY_LEAN] * rate;
  const double by_rate = lean * (known ? HELIX_PART : USUAL_HELIX_PART);
  const double by_fit = hypot (u_of (found, WS_ASYMMETRY_LEAN) * rate, by_rate);
  const double u_skew = u_of (found, WS_ASYMMETRY_SKEW);
  if (!(by_fit < wsi_radians (MOST_U_LEAN_DEG)) || !(u_skew < MOST_U_SKEW))
    return (WsAttitude){ .seen = FALSE };
  return (WsAttitude){ .seen = TRUE,
                       .lean = lean,
                       .upright = lean,
                       .u_lean = hypot (by_fit, wsi_radians (LEAST_U_LEAN_DEG)),
                       .skew = -found->term[WS_ASYMMETRY_SKEW],
                       .u_skew = hypot (u_skew, LEAST_U_SKEW) };
}

/* `alone`: without a near camera; `all`: with one. */
static gboolean
is_parallel (const WsAsymmetry *alone, const WsAsymmetry *all)
{
  if (alone->left_px > MAX (EXPLAINED_PX, EXPLAINED_RATIO * all->left_px))
    return FALSE;
  const double near = fabs (all->term[WS_ASYMMETRY_NEAR]), u_near = u_of (all, WS_ASYMMETRY_NEAR);
  const double skew = fabs (alone->term[WS_ASYMMETRY_SKEW]),
               u_skew = u_of (alone, WS_ASYMMETRY_SKEW);
  return near < MAX (NEAR_PART * skew, MIN (SURE * u_near, LEAST_NEAR)) ||
         skew + SURE * u_skew < LEAST_NEAR;
}

/* Can it be no near camera? */
static gboolean
is_sure (const WsAsymmetry *alone, const WsAsymmetry *all)
{
  return fabs (all->term[WS_ASYMMETRY_NEAR]) + SURE * u_of (all, WS_ASYMMETRY_NEAR) <
         fabs (alone->term[WS_ASYMMETRY_SKEW]);
}

/* Of a body that looks symmetric enough for a far camera, though a near one isn't ruled out: what
 * of the skew isn't a near camera's. */
static void
allow_near (const WsDrillPoint *point, const WsAsymmetry *all, WsAttitude *attitude)
{
  const WsAttitude beside = attitude_of (point, all);
  const double variance = all->covariance[WS_ASYMMETRY_SKEW][WS_ASYMMETRY_SKEW] +
                          all->covariance[WS_ASYMMETRY_NEAR][WS_ASYMMETRY_NEAR] +
                          2 * all->covariance[WS_ASYMMETRY_SKEW][WS_ASYMMETRY_NEAR];
  attitude->skew = -(all->term[WS_ASYMMETRY_SKEW] + all->term[WS_ASYMMETRY_NEAR]);
  attitude->u_skew = hypot (sqrt (MAX (variance, 0)), LEAST_U_SKEW);
  attitude->u_lean = hypot (attitude->u_lean, attitude->lean - beside.lean);
  attitude->upright = 0;
}

/* Leaves all as it was when the outline, made symmetric, is no drill's any more. */
static void
make_symmetric (WsDrillPoint **point, const WsAsymmetry *found)
{
  WsOutline *outline = (*point)->outline;
  const guint n = outline->points->len;
  WsEdgePoint *points = (WsEdgePoint *)(void *)outline->points->data;
  g_autofree WsEdgePoint *before = g_memdup2 (points, sizeof *points * n);
  wsi_asymmetry_undo (points, n, &(*point)->mirror, outline->spacing_px, found);
  WsRefusal refusal;
  WsDrillPoint *undone = wsi_drill_point_locate (outline, &refusal);
  if (undone == NULL)
  {
    memcpy (points, before, sizeof *points * n);
    return;
  }
  wsi_drill_point_free (*point);
  *point = undone;
}

static void
take_for_square (WsAttitude *attitude)
{
  attitude->skew = 0;
  attitude->u_skew = USUAL_SKEW;
}

/* Of a body in parallel projection that shows no skew, the lean alone is taken out. */
static gboolean
leave_skew_out (const WsDrillPoint *point, WsAsymmetry *alone, WsAttitude *attitude)
{
  WsAsymmetry leaning;
  if (fabs (attitude->skew) > SKEW_SEEN * attitude->u_skew || !fit (point, LEAN, &leaning))
    return FALSE;
  const WsAttitude upright = attitude_of (point, &leaning);
  if (!upright.seen)
    return FALSE;
  attitude->lean = attitude->upright = upright.lean;
  attitude->u_lean = upright.u_lean;
  take_for_square (attitude);
  *alone = leaning;
  return TRUE;
}

/* Light on a tool's front moves its outline by more than a lean does, and both sides otherwise. */
gboolean
wsi_attitude_undo (WsDrillPoint **point, WsAttitude *attitude)
{
  WsAsymmetry alone, all;
  *attitude = (WsAttitude){ .seen = FALSE };
  if ((*point)->outline->front_lit)
  {
    *attitude =
      (WsAttitude){ .seen = TRUE, .u_lean = wsi_radians (SEEN_U_LEAN_DEG), .u_skew = NEAR_U_SKEW };
    return FALSE;
  }
  if (!fit (*point, SKEW | LEAN, &alone) || !fit (*point, SKEW | LEAN | NEAR, &all))
    return FALSE;
  *attitude = attitude_of (*point, &alone);
  if (!attitude->seen)
    return FALSE;
  attitude->is_sure = is_sure (&alone, &all);
  attitude->is_near = fabs (all.term[WS_ASYMMETRY_NEAR]) > SURE * u_of (&all, WS_ASYMMETRY_NEAR);
  attitude->skew_alone = alone.term[WS_ASYMMETRY_SKEW];
  if (!is_parallel (&alone, &all))
  {
    allow_near (*point, &all, attitude);
    return FALSE;
  }
  const gboolean skewed = !leave_skew_out (*point, &alone, attitude);
  if (fabs (attitude->lean) > wsi_radians (HARMLESS_LEAN_DEG) ||
      (skewed && fabs (attitude->skew) > HARMLESS_SKEW))
    make_symmetric (point, &alone);
  else
  {
    attitude->upright = 0;
    take_for_square (attitude);
  }
  return TRUE;
}

void
wsi_attitude_left (const WsDrillPoint *point, gboolean calibrated, WsAttitude *attitude)
{
  WsAsymmetry alone;
  /* What may have been a skew was undone as perspective. */
  const double doubt = attitude->seen && !attitude->is_near ? attitude->skew_alone : 0;
  *attitude = (WsAttitude){ .seen = FALSE };
  if (!fit (point, SKEW | LEAN, &alone))
    return;
  *attitude = attitude_of (point, &alone);
  if (!attitude->seen)
    return;
  attitude->is_sure = TRUE;
  attitude->upright = 0;
  attitude->u_lean =
    hypot (attitude->u_lean, wsi_radians (calibrated ? NEAR_U_LEAN_DEG : SEEN_U_LEAN_DEG));
  attitude->u_skew =
    hypot (hypot (attitude->u_skew, calibrated ? NEAR_U_SKEW : SEEN_U_SKEW), doubt);
  /* What undoing a known perspective leaves turns the axis, which has lines of its own. */
  if (calibrated && fabs (attitude->skew) <= SKEW_SEEN * attitude->u_skew)
    take_for_square (attitude);
}
