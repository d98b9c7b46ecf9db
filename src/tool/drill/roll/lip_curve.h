/*
 * The curves that lips are, in the drill's frame, and their fit to the pictures that show them:
 * docs/methods/drill-roll.md, (R12).
 */
#ifndef WS_TOOL_DRILL_ROLL_LIP_CURVE_H
#define WS_TOOL_DRILL_ROLL_LIP_CURVE_H

#include "tool/drill/lip.h"
#include "tool/drill/roll/series.h"

G_BEGIN_DECLS

/* Along a lip lengths count from there, radii. */
#define WS_LIP_MIDDLE (0.5 * (WS_LIP_FROM + WS_LIP_TO))

/* Unknowns, lengths in radii: for each lip its slope along the axis, its bow, its place behind the
 * axis and the slope and bow of that; then a's height over b's, the lean, and the height of both.
 */
enum
{
  WS_LIP_SLOPE,
  WS_LIP_BOW,
  WS_LIP_BEHIND,
  WS_LIP_BEHIND_SLOPE,
  WS_LIP_BEHIND_BOW,
  WS_LIP_N
};

enum
{
  WS_LIP_HEIGHT = 2 * WS_LIP_N,
  WS_LIP_LEAN,
  WS_LIP_COMMON, /* height of both */
  WS_LIP_N_UNKNOWNS
};

typedef struct
{
  WsPoint at; /* across, as if on the right, and along, in radii */
  guint frame, lip;
  double weight;
} WsLipSample;

/* A frame that is used. */
typedef struct
{
  const WsRollFrame *frame;
  double turn;       /* from where the lips are taken to lie across, rad */
  double right;      /* the lip that is on the right: b = 1, a = 0 */
  double lean;       /* of the drill's own axis beside the line's */
  double c, s;       /* of the turn */
  gboolean shows[2]; /* lip a, b */
} WsLipSeen;

typedef struct
{
  const WsRoll *roll;
  double across;  /* turn at which lip b is on the right */
  GArray *seen;   /* of WsLipSeen */
  GArray *points; /* of WsLipSample */
  double x[WS_LIP_N_UNKNOWNS];
  double sigma; /* radii */
  double cost;
  gint left_out;  /* a frame that doesn't count, or -1 */
  guint n_points; /* taken of a side, about */
} WsLipFit;

/* Where along x a lip is seen at `across`. */
double wsi_lip_x_at (const double *lip, const WsLipSeen *seen, double across);

/* Height of lip k at x. */
double wsi_lip_height (const double *x, guint k, double at);

/* Height at which the model sees a sample, less the frame's own slide along the axis. */
double wsi_lip_seen_height (const WsLipFit *fit, const double *x, const WsLipSample *sample);

/* A range of places across, in radii. */
typedef struct
{
  double from, to;
  gboolean
    on_lip; /* of the lip that is seen there, by the model so far, not of the outline itself */
} WsLipRange;

extern const WsLipRange wsi_lip_whole;

/* From the tip outward every so many-th point of lip k's side in a frame, within the range. */
void wsi_lip_take_side (const WsLipFit *fit, guint index, guint k, const WsLipRange *range,
                        GArray *points);

/* Frames within the range about `across`, degrees, or about half a turn from it. */
void wsi_lip_take_frames (WsLipFit *fit, const double range[2]);

/* What is usual of lips, to start from. */
void wsi_lip_fit_start (WsLipFit *fit);

/* So many rounds of least squares; FALSE where they lead nowhere. */
gboolean wsi_lip_fit_run (WsLipFit *fit, guint rounds);

G_END_DECLS

#endif
