/*
 * A nominal profile laid on an outline by the best rigid motion.
 *
 * First guess: both are split into lines and arcs by the same rules (edge/chain.h); every pair of
 * pieces of one that looks like a pair of the other gives a motion, and the motion that brings most
 * of the profile near the outline wins.  Refined by Gauss and Newton on the distances of outline
 * points from their closest places on the profile (Besl & McKay, IEEE PAMI 14, 1992, with the
 * normals' distances of Chen & Medioni, Image Vis. Comput. 10, 1992), weighted by Tukey's biweight
 * whose reach shrinks from a part of the profile's size to the edge's own scatter: a segment that
 * is off doesn't pull the others along.
 */
#ifndef WS_TOOL_FORM_FIT_H
#define WS_TOOL_FORM_FIT_H

#include <whetsight/contour.h>

#include "edge/outline.h"

G_BEGIN_DECLS

/* One outline point beside its place on the profile; picture px. */
typedef struct
{
  WsPoint at, foot;
  WsPoint normal;     /* of the profile at the foot, toward the ground */
  double along;       /* of the foot, along the profile from its start, px */
  double deviation;   /* of `at`, along the normal, px; positive: too much metal */
  double length;      /* of outline that the point stands for, px */
  double misfit;      /* of its scan line, of the step */
  double weight;      /* in the fit */
  double curvature;   /* of the profile, 1 / px, positive for a bulge of the tool */
  guint number;       /* of the drawn segment */
  gboolean at_corner; /* within the blur's reach of a corner: no part of the map */
  gboolean is_veiled; /* something beside the edge moves it: no part of the map either */
} WsFormPoint;

typedef struct
{
  double scale;         /* px per mm */
  WsPoint origin;       /* of the profile, in the picture */
  double angle;         /* of its x axis, rad, counter-clockwise as people see the picture */
  WsPoint pivot;        /* the mean of the points that count, px */
  double covariance[9]; /* of a shift (x, y) and a turn about the pivot, px and rad */
  gboolean forward;     /* the outline runs along the profile, not against it */
  gboolean turn_held;   /* by the caller */
  GArray *points;       /* of WsFormPoint, by `along` */
  double covered;       /* share of the profile with outline beside it, 0 .. 1 */
  double scatter;       /* robust standard deviation of the deviations, px */
  double rms;           /* of all of them, px */
} WsFormFit;

typedef struct
{
  const WsContour *nominal;
  const WsOutline *outline;
  double px_per_mm;
  double guard;      /* the blur's reach from a corner, px */
  double scatter;    /* px: as WsChainRules */
  double noise;      /* standard deviation of one outline point, px */
  double held_angle; /* rad, or NAN: the profile's direction is free */
} WsFormTask;

/* NULL when no motion brings the profile near the outline.  Free with wsi_form_fit_free(). */
WsFormFit *wsi_form_fit (const WsFormTask *task);

/* The same profile with another scale, from a fit that is near: what an error of the scale does. */
WsFormFit *wsi_form_refit (const WsFormTask *task, const WsFormFit *near);

/* Standard uncertainty of the deviation at a foot that the motion's uncertainty makes, px. */
double wsi_form_fit_u (const WsFormFit *fit, const WsFormPoint *point);

/* A place of the drawing, mm, in the picture. */
WsPoint wsi_form_fit_place (const WsFormFit *fit, WsPoint mm);

void wsi_form_fit_free (WsFormFit *fit);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsFormFit, wsi_form_fit_free)

G_END_DECLS

#endif
