#include "tool/blade/side_bow.h"

#include "base/geometry.h"
#include "tool/blade/lines.h"

/* Of equally good points all along, over that of the line's own coefficient: the root of 5 / 3 of
 * Legendre's terms. */
#define BOW_OVER_TURN 1.291

/* A bow is sure from so many deviations on, and px: as rough as ground edges are. */
#define SURE 3.0
#define ROUGH_PX 0.03

/* A bow's middle lies under its ends by so many of its Legendre term. */
#define DEPTH_PER_TERM 1.5

/* Of the turn where the bow is no part of a circle; own choice. */
#define SHAPE_SHARE 0.1

/* A bow lies no farther off its tangent over what counts as straight, px. */
#define NEARLY_PX 0.15

/* The bow at a place along the line. */
typedef struct
{
  double half; /* of the stretch, px */
  double t;    /* of the tip along the line, px */
  double s;    /* the same in halves from the stretch's middle */
} At;

static At
at_tip (const WsBlade *blade, guint edge, guint tip)
{
  const WsLineFit *line = &blade->edges[edge].line;
  At at = { .half = MAX (0.5 * (line->t_high - line->t_low), 1) };
  at.t = wsi_point_dot (wsi_point_sub (blade->corners[tip].place, line->centre), line->direction);
  at.s = (at.t - 0.5 * (line->t_high + line->t_low)) / at.half;
  return at;
}

static double
term_u (const WsBladeEdge *edge, const At *at)
{
  return BOW_OVER_TURN * edge->u_angle * at->half;
}

WsSideBow
wsi_side_bow (const WsBlade *blade, guint edge, guint tip, const WsImage *image,
              const WsOptics *optics)
{
  const WsBladeEdge *e = &blade->edges[edge];
  const At at = at_tip (blade, edge, tip);
  const double u = hypot (term_u (e, &at), ROUGH_PX);
  const double lens = wsi_blade_lens_bow (e, image, optics) / DEPTH_PER_TERM;
  const double per_term = 3 * at.s / at.half;
  return (WsSideBow){
    .depth = -DEPTH_PER_TERM * e->line.bow,
    .turn = atan (per_term * e->line.bow),
    .u_turn = hypot (fabs (per_term) * hypot (u, lens), SHAPE_SHARE * per_term * e->line.bow),
    .is_sure = fabs (e->line.bow) > SURE * hypot (u, lens),
  };
}

void
wsi_side_bow_take (WsBlade *blade, guint edge, guint tip, const WsSideBow *bow)
{
  WsBladeEdge *e = &blade->edges[edge];
  WsLineFit *line = &e->line;
  const At at = at_tip (blade, edge, tip);
  const double off = 0.5 * (3 * at.s * at.s - 1); /* of the bow's term */
  const WsPoint normal = wsi_point (-line->direction.y, line->direction.x);
  e->u_place = hypot (hypot (e->u_place, e->u_angle * at.t), term_u (e, &at) * off);
  e->u_angle = hypot (e->u_angle, bow->u_turn);
  line->centre = wsi_point_along (wsi_point_along (line->centre, at.t, line->direction),
                                  line->bow * off, normal);
  const double c = cos (bow->turn), s = sin (bow->turn);
  line->direction =
    wsi_point (c * line->direction.x + s * normal.x, c * line->direction.y + s * normal.y);
  line->t_low -= at.t;
  line->t_high -= at.t;
  const double straight =
    2 * at.half * sqrt (NEARLY_PX / (4 * MAX (DEPTH_PER_TERM * fabs (line->bow), NEARLY_PX)));
  if (at.s > 0)
    line->t_low = MAX (line->t_low, line->t_high - straight);
  else
    line->t_high = MIN (line->t_high, line->t_low + straight);
  line->bow = 0;
}
