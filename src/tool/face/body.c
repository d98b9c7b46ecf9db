#include "tool/face/body.h"

#include "base/geometry.h"
#include "maths/stats.h"
#include "result/build.h"
#include "tool/face/grain.h"

#include <math.h>

/* Bodies are looked at so deep, as part of the edge's length: taper shows, and holders don't; and
 * so deep at most for borders on them. */
#define DEEP 1.0
#define DEEPEST 1.6

/* Rows in which a side is looked for, at most. */
#define ROWS 160

/* Steel against ground, in colour distance, below which there is no side to find. */
#define MIN_CONTRAST 5.0

/* A step from two tenths to eight takes 1.68 standard deviations. */
#define WIDTHS_PER_BLUR 1.68

/* Of a side's places, px, and as a part of the edge's length: ground sides are straight. */
#define STRAIGHT_PX 1.5
#define STRAIGHT_SHARE 0.006

typedef struct
{
  const WsFace *face;
  const WsSampler *sampler;
  const WsOptics *optics;
} Look;

static WsPoint
place (const Look *look, double s, double d)
{
  const WsStrip *strip = &look->face->strip;
  return wsi_strip_picture (
    look->optics,
    wsi_point_along (wsi_point_along (strip->origin, s, strip->along), d, strip->inward));
}

static gboolean
is_inside (const Look *look, WsPoint at)
{
  const double near = look->face->coarse->factor;
  return at.x >= near && at.y >= near && at.x <= look->sampler->image->width - 1 - near &&
         at.y <= look->sampler->image->height - 1 - near;
}

static gboolean
is_tool (const Look *look, double s, double d)
{
  return wsi_coarse_is_tool (look->face->coarse, place (look, s, d));
}

/* How far the tool, and the picture, go on below the edge's middle. */
static double
depth_of (const Look *look)
{
  const WsStrip *strip = &look->face->strip;
  const double middle = 0.5 * strip->length, step = look->face->coarse->factor;
  double d = 2 * step;
  while (d < DEEPEST * strip->length && is_inside (look, place (look, middle, d)) &&
         is_tool (look, middle, d))
    d += step;
  return d;
}

/* ---- Sides ------------------------------------------------------------------------ */

typedef struct
{
  double s[ROWS], d[ROWS], width[ROWS];
  guint n, n_rows;
} Side;

/* Sides are looked for so far beyond the edge's ends, as part of its length. */
#define BEYOND 0.35

/* From outside inward to where the reduced picture has tool, since flanks may be as dark as the
 * ground in places; NAN where the tool is cut by the picture's border. */
static double
coarse_side (const Look *look, double d, int sign)
{
  const double length = look->face->strip.length, step = 0.5 * look->face->coarse->factor;
  const double end = 0.5 * (1 + sign) * length;
  gboolean on_ground = FALSE;
  for (double off = BEYOND * length; off > -0.5 * length; off -= step)
  {
    const double s = end + sign * off;
    if (!is_inside (look, place (look, s, d)))
      continue;
    if (is_tool (look, s, d) && is_tool (look, s - 2 * sign * step, d))
      return on_ground ? s : (double)NAN;
    on_ground = TRUE;
  }
  return NAN;
}

/* Finely, from the ground inward. */
static void
add_row (const Look *look, double d, int sign, Side *side)
{
  const double rough = coarse_side (look, d, sign);
  if (isnan (rough))
    return;
  const double before = 4.0 * look->face->coarse->factor + 8;
  const WsPoint start = place (look, rough + sign * before, d), on = place (look, rough, d);
  const double distance = wsi_point_distance (start, on);
  const WsPoint inward = wsi_point ((on.x - start.x) / distance, (on.y - start.y) / distance);
  double contrast, width;
  const double at =
    wsi_coarse_crossing (look->sampler, start, inward, 2 * before, MIN_CONTRAST, &contrast, &width);
  if (isnan (at))
    return;
  side->s[side->n] = rough + sign * (before - at);
  side->d[side->n] = d;
  side->width[side->n++] = width;
}

/* Least absolute slope: the median of the slopes between places half the side apart. */
static double
median_slope (const Side *side)
{
  double slopes[ROWS];
  const guint half = side->n / 2;
  for (guint i = 0; i < half; i++)
    slopes[i] = (side->s[i + half] - side->s[i]) / (side->d[i + half] - side->d[i]);
  return wsi_median (slopes, half);
}

#define LEAST_ROWS 8

static void
judge_side (const Look *look, const Side *side, guint k, WsFaceBody *body)
{
  const double length = look->face->strip.length;
  double offsets[ROWS];
  body->found[k] = (double)side->n / MAX (side->n_rows, 1);
  body->straight[k] = 0;
  body->corner[k] = body->lean[k] = NAN;
  if (side->n < LEAST_ROWS)
    return;
  const double slope = median_slope (side);
  for (guint i = 0; i < side->n; i++)
    offsets[i] = side->s[i] - slope * side->d[i];
  double sorted[ROWS];
  for (guint i = 0; i < side->n; i++)
    sorted[i] = offsets[i];
  const double offset = wsi_median (sorted, side->n);
  const double near = MAX (STRAIGHT_PX, STRAIGHT_SHARE * length);
  for (guint i = 0; i < side->n; i++)
    body->straight[k] += (fabs (offsets[i] - offset) <= near) / (double)side->n;
  body->corner[k] = k == 0 ? offset : length - offset;
  body->lean[k] = k == 0 ? slope : -slope;
}

static double
median_width (const Side sides[2])
{
  double widths[2 * ROWS];
  guint n = 0;
  for (guint k = 0; k < 2; k++)
    for (guint i = 0; i < sides[k].n; i++)
      if (isfinite (sides[k].width[i]) && sides[k].width[i] > 0)
        widths[n++] = sides[k].width[i];
  return n > 0 ? wsi_median (widths, n) : (double)NAN;
}

static double
sides_end (const Look *look, const WsFaceBody *body)
{
  return MIN (body->depth, DEEP * look->face->strip.length);
}

static void
look_at_sides (const Look *look, WsFaceBody *body)
{
  Side sides[2] = { { .n = 0 } };
  const double first = 3.0 * look->face->coarse->factor, last = sides_end (look, body);
  const double step = MAX ((last - first) / ROWS, 1);
  for (double d = first; d < last && sides[0].n_rows < ROWS; d += step)
    for (int k = 0; k < 2; k++)
    {
      sides[k].n_rows++;
      add_row (look, d, k == 0 ? -1 : 1, &sides[k]);
    }
  for (guint k = 0; k < 2; k++)
    judge_side (look, &sides[k], k, body);
  body->blur_px = median_width (sides) / WIDTHS_PER_BLUR;
}

/* ---- Areas ------------------------------------------------------------------------ */

static double
side_at (const Look *look, const WsFaceBody *body, guint k, double d)
{
  const double length = look->face->strip.length;
  const double lean = isfinite (body->lean[k]) ? body->lean[k] : 0,
               corner = isfinite (body->corner[k]) ? body->corner[k] : 0;
  return k == 0 ? corner + lean * d : length - corner - lean * d;
}

/* Cells so near to edge and sides are neither in nor out. */
#define NEAR_CELLS 2.5

static void
look_at_areas (const Look *look, WsFaceBody *body)
{
  const double cell = look->face->coarse->factor, near = NEAR_CELLS * cell,
               length = look->face->strip.length;
  guint within = 0, filled = 0, beside = 0, before = 0, plain = 0;
  for (double d = -0.5 * length; d < sides_end (look, body); d += cell)
    for (double s = -length; s < 2 * length; s += cell)
    {
      if (!is_inside (look, place (look, s, d)))
        continue;
      const double left = side_at (look, body, 0, MAX (d, 0)),
                   right = side_at (look, body, 1, MAX (d, 0));
      const gboolean tool = is_tool (look, s, d);
      if (d > near && s > left + near && s < right - near)
      {
        within++;
        filled += tool ? 1 : 0;
      }
      else if (d < -near || s < left - near || s > right + near)
        beside += tool ? 1 : 0;
      if (d < -near && s > 0 && s < length)
      {
        before++;
        plain += wsi_coarse_is_thing (look->face->coarse, place (look, s, d)) ? 0 : 1;
      }
    }
  body->filled = (double)filled / MAX (within, 1);
  body->beside = (double)beside / MAX (within, 1);
  body->plain = before > 0 ? (double)plain / before : 0;
}

void
wsi_face_body_look (const WsFace *face, const WsSampler *sampler, const WsOptics *optics,
                    WsFaceBody *body)
{
  const Look look = { face, sampler, optics };
  *body = (WsFaceBody){ .depth = depth_of (&look) };
  look_at_sides (&look, body);
  look_at_areas (&look, body);
  wsi_face_grain (face, sampler, optics, body->depth, body->sharp);
}

/* ---- Judging ---------------------------------------------------------------------- */

/* An edge blurred over more hides a land; of the edge's length. */
#define MAX_BLUR_SHARE 0.012
#define MIN_BLUR_LIMIT_PX 4.0

/* What moves smears the edges that it moves across, and leaves the others. */
#define MOVED_TIMES 2.0

gboolean
wsi_face_focus_check (const WsFace *face, const WsFaceBody *body, WsResult *result)
{
  const double limit = MAX (MIN_BLUR_LIMIT_PX, MAX_BLUR_SHARE * face->strip.length);
  const double sides = isfinite (body->blur_px) ? body->blur_px : face->blur_px;
  const double most = MAX (face->blur_px, sides), least = MIN (face->blur_px, sides);
  if (!(most > limit))
    return TRUE;
  /* The edge is smeared by what moves away from it, the sides by what moves along it. */
  const gboolean by_edge = face->blur_px > sides;
  if (most > MOVED_TIMES * least && body->sharp[by_edge ? 1 : 0])
    return wsi_result_retake (result, WS_RETAKE_OUT_OF_FOCUS,
                              "%s blurred over %.1f px while the flank's grain is sharp: the tool "
                              "leans",
                              by_edge ? "the edge is" : "the sides are", most);
  if (most > MOVED_TIMES * least)
    return wsi_result_retake (result, WS_RETAKE_MOTION_BLUR,
                              "%s smeared over %.1f px, %s over %.1f px",
                              face->blur_px > sides ? "the edge is" : "the sides are", most,
                              face->blur_px > sides ? "its sides" : "the edge", least);
  return wsi_result_retake (result, WS_RETAKE_OUT_OF_FOCUS, "the edge is blurred over %.1f px",
                            face->blur_px);
}

/* Shallower flanks show neither land nor clean steel: of the edge's length. */
#define MIN_DEPTH_SHARE 0.3

/* Where steel has the ground's own light sides show in part. */
#define MIN_FOUND 0.4
#define MIN_STRAIGHT 0.8

/* Corners may be broken or burnt away, of the edge's length. */
#define MAX_CORNER_SHARE 0.1

/* Sides fall back by some degrees of clearance and never lean out. */
#define MAX_LEAN_IN 0.2
#define MAX_LEAN_OUT 0.06

/* Of an edge along a side of the picture, the cosine: farther aslant its sides may pass for it. */
#define LEAST_UPRIGHT 0.9

#define MIN_FILLED 0.75
#define MAX_BESIDE 0.1
#define MIN_PLAIN 0.8

gboolean
wsi_face_body_check (const WsFace *face, const WsFaceBody *body, WsResult *result)
{
  const double length = face->strip.length;
  const WsPoint along = face->strip.along;
  if (face->in_part && MAX (fabs (along.x), fabs (along.y)) < LEAST_UPRIGHT)
    return wsi_result_retake (result, WS_RETAKE_WRONG_VIEW,
                              "the tool lies aslant: let its edge run along a side of the picture");
  if (face->in_part)
    return wsi_result_retake (result, WS_RETAKE_CUT_BY_FRAME,
                              "the edge goes on beyond the picture");
  if (body->depth < MIN_DEPTH_SHARE * length)
    return wsi_result_retake (result, WS_RETAKE_CUT_BY_FRAME,
                              wsi_face_goes_on (face) ? "the edge goes on beyond the picture"
                                                      : "hardly any flank shows under the edge");
  for (guint k = 0; k < 2; k++)
    if (!(body->found[k] >= MIN_FOUND && body->straight[k] >= MIN_STRAIGHT &&
          fabs (body->corner[k]) <= MAX_CORNER_SHARE * length && body->lean[k] <= MAX_LEAN_IN &&
          body->lean[k] >= -MAX_LEAN_OUT))
      return wsi_result_retake (result, WS_RETAKE_WRONG_VIEW,
                                "no straight side of a tool goes down from the edge's end");
  if (body->filled < MIN_FILLED || body->beside > MAX_BESIDE)
    return wsi_result_retake (result, WS_RETAKE_WRONG_VIEW,
                              "what is seen doesn't fill what lies between the edge and two sides");
  if (body->plain < MIN_PLAIN)
    return wsi_result_retake (result, WS_RETAKE_SEVERAL_TOOLS,
                              "the ground beyond the edge isn't plain");
  return TRUE;
}
