/*
 * An outline as a chain of straight lines and circular arcs, without knowing its nominal form.
 *
 * 1. Splitting.  Among all ways to cut the run of points into pieces, the one of least
 *
 *        sum over pieces of  squares / (scatter^2 c) + parameters ln (n / c)
 *
 *    is found by dynamic programming (Bellman, CACM 4(6), 1961): `squares` are the squared
 *    distances from the piece's line or circle, c the number of points whose errors go together,
 *    and `parameters` 3 for a line (two, and where it ends) and 4 for an arc: the criterion of
 *    Schwarz (Ann. Statist. 6, 1978) for n / c independent points.  An arc is taken where it
 *    saves more than one ln (n / c) against a line and rises above its chord by more than a ground
 *    edge's own bow.  Squares about the best line and circle come
 *    from moments: the least eigenvalue of the scatter, and Taubin's (IEEE PAMI 13, 1991) first
 *    order mean squared distance.
 * 2. Corners.  The blur's reach is left out at both ends of every piece; pieces that are then too
 *    short for a fit (fillets, worn tips, dust) belong to none.
 * 3. Merging.  Neighbours that one line or circle fits as well as two (a bump, a notch between
 *    them) become one, by the same criterion.
 * 4. Fitting.  Lines by wsi_line_fit(), arcs by the geometric circle; damage inside a piece is left
 *    out; standard uncertainties by jackknife over ten blocks.
 */
#ifndef WS_EDGE_CHAIN_H
#define WS_EDGE_CHAIN_H

#include "edge/circle.h"
#include "edge/line.h"

G_BEGIN_DECLS

typedef enum
{
  WS_CHAIN_LINE,
  WS_CHAIN_ARC
} WsChainKind;

typedef struct
{
  WsChainKind kind;
  guint from, to;     /* points from .. to - 1 of the run are meant by it */
  WsPoint start, end; /* on the fitted curve, beside the first and last of them */
  WsLineFit line;     /* of a line; its direction runs from start to end */
  WsCircle circle;    /* of an arc */
  double turn;        /* of an arc: change of direction from start to end, rad, positive to the
                         right, as on a bulge of a tool that lies on the right-hand side */
  double u_radius;    /* standard uncertainty of the radius, px; of an arc */
  double scatter;     /* robust standard deviation of the points about it, px */
  double used;        /* share of the points that count, 0 .. 1 */
} WsChainPiece;

typedef struct
{
  double scatter;    /* px: standard deviation that a sound edge has about its form */
  double correlated; /* points whose errors go together, >= 1 */
  double least_rise; /* px: an arc that rises less than this above its chord is taken for a line */
  guint guard;       /* points left out at a piece's ends */
} WsChainRules;

/* Points in order along the run.  Returns an array of WsChainPiece in the same order, maybe
 * empty; free with g_array_unref(). */
GArray *wsi_chain_split (const WsPoint *points, guint n, const WsChainRules *rules);

/* Fits points `from` .. `to` - 1 as what `piece->kind` says and fills the rest.  FALSE when they
 * are too few (WS_LINE_MIN_POINTS) or less than half of them agree. */
gboolean wsi_chain_fit (const WsPoint *points, guint from, guint to, WsChainPiece *piece);

typedef struct
{
  guint before, after; /* the two lines, by their index in the chain */
  WsPoint where;       /* where they meet */
  double angle;        /* included, rad, 0 .. pi */
  double u_angle;      /* standard uncertainty, rad */
  gboolean is_convex;  /* the angle lies in what is on the right-hand side of the run */
} WsChainCorner;

/*
 * Corners of neighbouring lines with nothing between them but a fillet or a worn tip: no more than
 * one arc, and no more of the outline than the shorter of both.  Returns an array of
 * WsChainCorner; free with g_array_unref().
 */
GArray *wsi_chain_corners (const GArray *pieces, const WsPoint *points);

G_END_DECLS

#endif
