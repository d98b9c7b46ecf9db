#include "tool/face/face.h"

#include "base/geometry.h"
#include "maths/stats.h"
#include "result/build.h"
#include "tool/face/nothing.h"

#include <string.h>

/* A face's edge takes up this many px at least. */
#define MIN_LENGTH_PX 80

/* Steel against ground, in colour distance, below which there is no edge to find. */
#define MIN_CONTRAST 5.0

/* Columns of the edge in which it must be found. */
#define MIN_FOUND 0.4

/* A step from a tenth to nine tenths takes 2.56 standard deviations, from two tenths to eight
 * 1.68. */
#define WIDTHS_PER_BLUR 1.68

/* The edge may lie so far from its line before that is damage and the line counts, px. */
#define MAX_LIFT_PX 8.0

/* Steel this bright is burnt out. */
#define MAX_CLIPPED_SHARE 0.85

/* The picture turned so that the tool comes in from below: v grows into the tool. */
typedef struct
{
  const WsCoarse *coarse;
  double width, height; /* px */
  guint side;           /* where the tool comes in: 0 top, 1 right, 2 bottom, 3 left */
} Upright;

static WsPoint
to_picture (const Upright *upright, double u, double v)
{
  switch (upright->side)
  {
  case 0:
    return wsi_point (upright->width - 1 - u, upright->height - 1 - v);
  case 1:
    return wsi_point (v, upright->height - 1 - u);
  case 3:
    return wsi_point (upright->width - 1 - v, u);
  default:
    return wsi_point (u, v);
  }
}

static WsPoint
direction (const Upright *upright, double u, double v)
{
  return wsi_point_sub (to_picture (upright, u, v), to_picture (upright, 0, 0));
}

static gboolean
is_sideways (const Upright *upright)
{
  return upright->side == 1 || upright->side == 3;
}

static gboolean
is_tool (const Upright *upright, double u, double v)
{
  return wsi_coarse_is_tool (upright->coarse, to_picture (upright, u, v));
}

/* First tool from above in a column, px; NAN without. */
static double
coarse_top (const Upright *upright, double u)
{
  const double across = is_sideways (upright) ? upright->width : upright->height;
  const double step = upright->coarse->factor;
  for (double v = 0; v < across; v += step)
    if (is_tool (upright, u, v) && is_tool (upright, u, v + step))
      return v;
  return NAN;
}

static GArray *
coarse_tops (const Upright *upright)
{
  GArray *tops = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  const double along = is_sideways (upright) ? upright->height : upright->width;
  for (double u = 0.5 * upright->coarse->factor; u < along; u += upright->coarse->factor)
  {
    const double v = coarse_top (upright, u);
    if (isfinite (v))
    {
      const WsPoint top = { u, v };
      g_array_append_val (tops, top);
    }
  }
  return tops;
}

/* Columns whose top lies near the edge's line: the edge from end to end. */
static gboolean
edge_span (const Upright *upright, const GArray *tops, const WsLineFit *line, double *from,
           double *to)
{
  const double near = 4.0 * upright->coarse->factor;
  *from = HUGE_VAL;
  *to = -HUGE_VAL;
  for (guint i = 0; i < tops->len; i++)
  {
    const WsPoint top = g_array_index (tops, WsPoint, i);
    if (fabs (wsi_line_distance (line, top)) > near)
      continue;
    *from = MIN (*from, top.x);
    *to = MAX (*to, top.x);
  }
  return *to - *from >= MIN_LENGTH_PX;
}

static double
line_v (const WsLineFit *line, double u)
{
  return line->centre.y + (u - line->centre.x) * line->direction.y / line->direction.x;
}

typedef struct
{
  GArray *points; /* of WsPoint, ideal picture */
  GArray *widths; /* of double */
} Edge;

static void
trace_edge (const WsSampler *sampler, const Upright *upright, const WsOptics *optics,
            const WsLineFit *line, double from, double to, Edge *edge)
{
  const double before = 4.0 * upright->coarse->factor + 8, reach = 2 * before;
  for (double u = ceil (from); u <= to; u += 1)
  {
    const WsPoint start = to_picture (upright, u, line_v (line, u) - before);
    double contrast, width;
    const double at = wsi_coarse_crossing (sampler, start, direction (upright, 0, 1), reach,
                                           MIN_CONTRAST, &contrast, &width);
    if (isnan (at))
      continue;
    WsPoint p = wsi_point_along (start, at, direction (upright, 0, 1));
    if (optics->lens != NULL)
      p = ws_lens_to_ideal (optics->lens, p);
    g_array_append_val (edge->points, p);
    if (isfinite (width) && width > 0)
      g_array_append_val (edge->widths, width);
  }
}

static double
edge_blur (const Edge *edge)
{
  if (edge->widths->len == 0)
    return HUGE_VAL;
  return wsi_median ((double *)(void *)edge->widths->data, edge->widths->len) / WIDTHS_PER_BLUR;
}

/* Where the edge really is in each column: the median of near points, the line where it is
 * damaged or unseen. */
static double *
lift_of (const WsStrip *strip, const GArray *points)
{
  const gint reach = 4;
  double *lift = g_new0 (double, strip->length);
  g_autofree double *found = g_new (double, strip->length);
  for (guint s = 0; s < strip->length; s++)
    found[s] = NAN;
  for (guint i = 0; i < points->len; i++)
  {
    const WsPoint off = wsi_point_sub (g_array_index (points, WsPoint, i), strip->origin);
    const double s = wsi_point_dot (off, strip->along), d = wsi_point_dot (off, strip->inward);
    if (s >= 0 && s < strip->length && fabs (d) <= MAX_LIFT_PX)
      found[(guint)s] = d;
  }
  for (gint s = 0; s < (gint)strip->length; s++)
  {
    double near[9];
    guint n = 0;
    for (gint i = MAX (s - reach, 0); i <= MIN (s + reach, (gint)strip->length - 1); i++)
      if (isfinite (found[i]))
        near[n++] = found[i];
    lift[s] = n >= 3 ? wsi_median (near, n) : 0;
  }
  return lift;
}

/* How far the tool goes on under the middle of the edge, px. */
static double
depth_below (const WsFace *face, const WsOptics *optics)
{
  const double middle = 0.5 * face->strip.length;
  double d = 2 * face->coarse->factor;
  while (d < 2.0 * face->strip.length &&
         wsi_coarse_is_tool (face->coarse,
                             wsi_strip_picture (optics, wsi_strip_place (&face->strip, middle, d))))
    d += face->coarse->factor;
  return d;
}

/* Cells beyond this are never needed: memory. */
#define MAX_CELLS 3000
#define MAX_DEPTH_SHARE 0.9

static void
lay_strip (WsFace *face, const Upright *upright, const WsOptics *optics, WsPoint first,
           WsPoint last, const GArray *points)
{
  WsPoint along = face->line.direction;
  if (wsi_point_dot (along, wsi_point_sub (last, first)) < 0)
    along = wsi_point (-along.x, -along.y);
  WsPoint inward = wsi_point (-along.y, along.x);
  if (wsi_point_dot (inward, direction (upright, 0, 1)) < 0)
    inward = wsi_point (-inward.x, -inward.y);
  const double from = wsi_point_dot (wsi_point_sub (first, face->line.centre), along),
               to = wsi_point_dot (wsi_point_sub (last, face->line.centre), along);
  face->strip.origin = wsi_point_along (face->line.centre, from, along);
  face->strip.along = along;
  face->strip.inward = inward;
  face->strip.length = (guint)CLAMP (to - from, 1, MAX_CELLS);
  face->strip.lift = lift_of (&face->strip, points);
  const double depth = MIN (depth_below (face, optics), MAX_DEPTH_SHARE * face->strip.length);
  face->strip.depth = (guint)CLAMP (depth, 1, MAX_CELLS);
}

static double
clipped_share (const WsCoarse *coarse)
{
  guint clipped = 0;
  for (gsize i = 0; i < (gsize)coarse->width * coarse->height; i++)
    clipped += coarse->tool[i] && coarse->lab[3 * i] > 98.5F;
  return (double)clipped / MAX (coarse->area, 1);
}

static gboolean
gate_coarse (const WsSampler *sampler, const WsCoarse *coarse, WsResult *result)
{
  if (coarse == NULL)
    return wsi_face_tell_nothing (sampler->image, result);
  if (coarse->several)
    return wsi_result_retake (result, WS_RETAKE_SEVERAL_TOOLS, NULL);
  if (clipped_share (coarse) > MAX_CLIPPED_SHARE)
    return wsi_result_retake (result, WS_RETAKE_OVER_EXPOSED, "%.0f %% of the tool is burnt out",
                              100 * clipped_share (coarse));
  return TRUE;
}

/* A thing that takes so much of three sides of the picture is its ground, or comes from no side. */
#define MANY_SIDES 0.15

static guint
sides_taken (const WsCoarse *coarse)
{
  guint n = 0;
  for (guint k = 0; k < 4; k++)
    n += coarse->touching[k] > MANY_SIDES * (k % 2 == 0 ? coarse->width : coarse->height);
  return n;
}

/* The side that the tool comes in from; the opposite one must be free. */
static gboolean
find_side (const WsCoarse *coarse, guint *side, WsResult *result)
{
  *side = 0;
  for (guint k = 1; k < 4; k++)
    if (coarse->touching[k] > coarse->touching[*side])
      *side = k;
  if (sides_taken (coarse) > 2)
    return wsi_result_retake (result, WS_RETAKE_WRONG_VIEW,
                              "what is seen takes %u sides of the picture: no tool's end before a "
                              "plain ground",
                              sides_taken (coarse));
  if (coarse->touching[(*side + 2) % 4] == 0)
    return TRUE;
  return wsi_result_retake (result, WS_RETAKE_CUT_BY_FRAME, "the edge is not inside the picture");
}

static gboolean
gate_edge (const Edge *edge, double span, WsResult *result)
{
  if (edge->points->len < MAX (WS_LINE_MIN_POINTS, MIN_FOUND * span))
    return wsi_result_retake (result, WS_RETAKE_LOW_CONTRAST,
                              "the edge shows in %.0f %% of its length",
                              100 * edge->points->len / span);
  return TRUE;
}

/* An end so near the picture's border isn't known to be one. */
#define BORDER_CELLS 2.0

static gboolean
is_at_border (const Upright *upright, WsPoint picture)
{
  const double near = BORDER_CELLS * upright->coarse->factor;
  return picture.x < near || picture.y < near || picture.x > upright->width - 1 - near ||
         picture.y > upright->height - 1 - near;
}

static gboolean
find_edge (const WsSampler *sampler, const WsOptics *optics, const Upright *upright, Edge *edge,
           WsFace *face, WsResult *result)
{
  g_autoptr (GArray) tops = coarse_tops (upright);
  g_autofree guint8 *used = g_new0 (guint8, MAX (tops->len, 1));
  WsLineFit rough;
  double from, to;
  if (!wsi_line_fit ((WsPoint *)(void *)tops->data, tops->len, used, &rough) ||
      fabs (rough.direction.x) < 0.7)
    return wsi_result_retake (result, WS_RETAKE_WRONG_VIEW,
                              "the tool doesn't end in a straight edge");
  if (!edge_span (upright, tops, &rough, &from, &to))
    return wsi_result_retake (result, WS_RETAKE_TOO_SMALL, "the edge takes up fewer than %d px",
                              MIN_LENGTH_PX);
  trace_edge (sampler, upright, optics, &rough, from, to, edge);
  face->blur_px = edge_blur (edge);
  if (!gate_edge (edge, to - from, result))
    return FALSE;
  g_autofree guint8 *sound = g_new0 (guint8, edge->points->len);
  if (!wsi_line_fit ((WsPoint *)(void *)edge->points->data, edge->points->len, sound, &face->line))
    return wsi_result_retake (result, WS_RETAKE_WRONG_VIEW, "the edge is not straight");
  WsPoint first = to_picture (upright, from, line_v (&rough, from)),
          last = to_picture (upright, to, line_v (&rough, to));
  face->in_part = is_at_border (upright, first) || is_at_border (upright, last);
  if (optics->lens != NULL)
  {
    first = ws_lens_to_ideal (optics->lens, first);
    last = ws_lens_to_ideal (optics->lens, last);
  }
  lay_strip (face, upright, optics, first, last, edge->points);
  return TRUE;
}

/* Shallower flanks show neither land nor clean steel. */
#define MIN_DEPTH_SHARE 0.1

gboolean
wsi_face_goes_on (const WsFace *face)
{
  guint sides = 0;
  for (guint k = 0; k < 4; k++)
    sides += face->coarse->touching[k] > 0 ? 1 : 0;
  return sides > 1;
}

gboolean
wsi_face_find (const WsSampler *sampler, const WsOptics *optics, WsFace *face, WsResult *result)
{
  memset (face, 0, sizeof *face);
  face->coarse = wsi_coarse_find (sampler, TRUE);
  Upright upright = { face->coarse, sampler->image->width, sampler->image->height, 0 };
  if (!gate_coarse (sampler, face->coarse, result) ||
      !find_side (face->coarse, &upright.side, result))
    return FALSE;
  Edge edge = { g_array_new (FALSE, FALSE, sizeof (WsPoint)),
                g_array_new (FALSE, FALSE, sizeof (double)) };
  gboolean found = find_edge (sampler, optics, &upright, &edge, face, result);
  g_array_unref (edge.points);
  g_array_unref (edge.widths);
  if (found && face->strip.depth < MIN_DEPTH_SHARE * face->strip.length)
  {
    wsi_result_retake (result, WS_RETAKE_CUT_BY_FRAME,
                       wsi_face_goes_on (face) ? "the edge goes on beyond the picture"
                                               : "hardly any flank shows under the edge");
    found = FALSE;
  }
  return found;
}

void
wsi_face_clear (WsFace *face)
{
  g_clear_pointer (&face->coarse, wsi_coarse_free);
  g_clear_pointer (&face->strip.lift, g_free);
}

typedef struct
{
  const WsFace *face;
  const WsOptics *optics;
} Inside;

/* Near the edge cells of the reduced picture are too large to tell; the edge itself does. */
static gboolean
inside_face (WsPoint picture, gpointer data)
{
  const Inside *inside = data;
  const WsFace *face = inside->face;
  const WsPoint p =
    inside->optics->lens != NULL ? ws_lens_to_ideal (inside->optics->lens, picture) : picture;
  const double d = wsi_point_dot (wsi_point_sub (p, face->strip.origin), face->strip.inward);
  const double near = 2.0 * face->coarse->factor;
  if (d < near)
    return wsi_coarse_is_tool (face->coarse,
                               wsi_point_along (picture, near - d + 1, face->strip.inward));
  return wsi_coarse_is_tool (face->coarse, picture);
}

WsBand *
wsi_face_band (const WsFace *face, const WsSampler *sampler, const WsOptics *optics)
{
  Inside inside = { face, optics };
  return wsi_strip_sample (&face->strip, sampler, optics, inside_face, &inside);
}

WsBand *
wsi_face_deep_band (const WsFace *face, double depth, const WsSampler *sampler,
                    const WsOptics *optics)
{
  Inside inside = { face, optics };
  WsStrip strip = face->strip;
  strip.depth = (guint)CLAMP (depth, 1, MAX_CELLS);
  return wsi_strip_sample (&strip, sampler, optics, inside_face, &inside);
}
