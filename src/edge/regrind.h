/*
 * What a regrind took off: the outline of a tool before it and the one after, laid on each other.
 *
 * They are laid on each other (edge/laid.h) by what grinding didn't touch, the sides behind the
 * working end.  Where the sides' form tells how far one slides along the other (a drill's flutes, a
 * blade's taper) it is known by how much shorter the tool is.  Sides that run straight and parallel
 * tell nothing of it.  Then there is one more thing to go by: grinding only takes off.  The outline
 * after lies nowhere outside of the one before, so that the least by which the tool is shorter
 * follows, and all amounts are least ones.
 */
#ifndef WS_EDGE_REGRIND_H
#define WS_EDGE_REGRIND_H

#include <glib.h>
#include <whetsight/point.h>

G_BEGIN_DECLS

/* An outline's stretch that holds the working end, in order, tool on the right-hand side; px of the
 * picture before, y down, the working end toward smaller y.  Borrowed. */
typedef struct
{
  const WsPoint *points;
  guint n;
} WsRegrindOutline;

typedef struct
{
  double mm_per_px;    /* of the picture before */
  double sigma;        /* px: standard deviation of an untouched edge's place, picture to picture */
  double u_scale;      /* of one picture's scale against the other's, as a share */
  double u_slide;      /* px: along the tool, that no outline shows: of a drill's flutes, how it is
                          rolled about its axis */
  gboolean has_flutes; /* its sides look forward and back; else they run straight, and what looks
                          forward was ground */
} WsRegrindRules;

/* Where the outlines differ. */
typedef struct
{
  WsPoint from, deepest, to; /* mm, on the outline after, as it is laid */
  WsPoint opposite;          /* of `deepest`: on the outline before */
  double depth, U;           /* mm, square to the outline before; U with k = 2 */
  double length;             /* mm, along the outline after */
  double area;               /* mm^2 */
  gboolean stands_out; /* the tool is more there than it was: dirt, a wire edge, another tool */
} WsRegrindPlace;

typedef struct
{
  GArray *before, *after; /* of WsPoint, mm: both outlines, evenly spaced, y down, with the foremost
                             point of the one before at (0,0); where the sides don't tell, of
                             the one after what lies before them */
  double turn;            /* of the outline after to lie on the one before, rad */
  double shorter;    /* mm, of the foremost point along the tool; at least so much, see below */
  double U;          /* of `shorter`, k = 2; of the least one, without what wasn't seen */
  gboolean is_least; /* the sides don't tell: no less was taken, but maybe more */
  double agreement;  /* mm: robust standard deviation of the sides about each other */
  GArray *places;    /* of WsRegrindPlace, in order along the outline */
} WsRegrind;

/* NULL when too little of the sides is seen on both, or they don't agree; `what` tells, static.
 * Free with wsi_regrind_free(). */
WsRegrind *wsi_regrind_lay (const WsRegrindOutline *before, const WsRegrindOutline *after,
                            const WsRegrindRules *rules, const char **what);
void wsi_regrind_free (WsRegrind *regrind);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsRegrind, wsi_regrind_free)

G_END_DECLS

#endif
