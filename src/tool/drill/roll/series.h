/*
 * A drill rolled about its axis before a fixed camera: what is kept of each picture, and what
 * follows from all of them.  Definitions and equations: docs/methods/drill-roll.md.
 *
 * Pixels and radians.  All is told of a right-hand drill that turns by `turn` counter-clockwise, as
 * its point is seen: parallel projection shows the mirror picture of it, a left-hand drill turned
 * the other way, just so.
 */
#ifndef WS_TOOL_DRILL_ROLL_SERIES_H
#define WS_TOOL_DRILL_ROLL_SERIES_H

#include "base/refusal.h"
#include "edge/axis.h"
#include "edge/outline.h"

G_BEGIN_DECLS

/* Heights at which the body is sampled. */
#define WS_ROLL_HEIGHTS 160

/* Of one picture. */
typedef struct
{
  guint picture; /* in the series, from 0 */
  WsAxis axis;   /* of the body; its origin lies abreast of the series' */
  double u_angle, u_offset;
  GArray *uz;           /* of WsPoint in the axis' frame, off the border; x NAN between stretches */
  double low, high;     /* of the body, seen on both sides */
  double tip;           /* z of the foremost point, */
  guint tip_at;         /* and which it is */
  double half_width;    /* of the body, roughly */
  double blur, noise;   /* of its outline */
  double point_u;       /* standard deviation of one of its points, px */
  double offset, slope; /* of the axis in the series' frame */

  double half[WS_ROLL_HEIGHTS];   /* half the body's width at each height; NAN: not seen */
  double middle[WS_ROLL_HEIGHTS]; /* and its middle, off the axis */

  double phase;  /* of the body's profile, in periods of half a turn, not wrapped */
  double turn;   /* rad */
  double misfit; /* median |half - profile|, px */
} WsRollFrame;

#define WS_ROLL_BINS 240

/* Half the body's width against the phase, over one period of half a turn. */
typedef struct
{
  double half[WS_ROLL_BINS];
  gboolean seen[WS_ROLL_BINS];
} WsRollProfile;

typedef struct
{
  WsAxis axis;       /* of the first picture's body: the series' frame */
  GPtrArray *frames; /* of WsRollFrame */
  double low, high;  /* heights of the samples */
  WsRollProfile profile;
  double lead, u_lead; /* of the flutes */
  double radius;       /* of the envelope */
  double sigma;        /* robust standard deviation of the body's half width about the profile */
  double lean, u_lean; /* of the line turned about: its far side is seen higher */
  double near, u_near; /* by how much that grows in a radius along the axis: a near camera's */
  double slope_x, slope_y; /* of the drill's own axis against that line, in the drill's frame */
} WsRoll;

/* Free with wsi_roll_free(). */
WsRoll *wsi_roll_new (void);
void wsi_roll_free (WsRoll *roll);

/* Takes the outline of one picture in; FALSE with the reason when it shows no body. */
gboolean wsi_roll_add (WsRoll *roll, guint picture, const WsOutline *outline, WsRefusal *refusal);

/* Height number k. */
double wsi_roll_height (const WsRoll *roll, guint k);

/* Samples the body of all frames at the same heights, those that all share; FALSE with the reason
 * when there is too little. */
gboolean wsi_roll_sample (WsRoll *roll, WsRefusal *refusal);

/* By how much the middles of the body's heights stand off one axis, robust deviation, mean of all
 * frames, px: a body of three flutes has none. */
double wsi_roll_middle_rms (const WsRoll *roll);

static inline WsRollFrame *
wsi_roll_frame (const WsRoll *roll, guint i)
{
  return (WsRollFrame *)g_ptr_array_index (roll->frames, i);
}

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsRoll, wsi_roll_free)

G_END_DECLS

#endif
