/*
 * Where a nominal profile lies in the picture.
 */
#ifndef WS_TOOL_FORM_MOTION_H
#define WS_TOOL_FORM_MOTION_H

#include "base/geometry.h"

/* Profile to picture: turn by `angle` (from x toward y, y down), then shift.  `forward` tells
 * whether the outline runs along the profile or against it. */
typedef struct
{
  double angle;
  WsPoint shift;
  gboolean forward;
} WsFormMotion;

/* A turn, for many points. */
typedef struct
{
  double cosine, sine;
} WsFormTurn;

static inline WsFormTurn
wsi_form_turn (double angle)
{
  return (WsFormTurn){ cos (angle), sin (angle) };
}

static inline WsPoint
wsi_form_turned_by (WsPoint p, const WsFormTurn *turn)
{
  return wsi_point (turn->cosine * p.x - turn->sine * p.y, turn->sine * p.x + turn->cosine * p.y);
}

static inline WsPoint
wsi_form_turned (WsPoint p, double angle)
{
  const WsFormTurn turn = wsi_form_turn (angle);
  return wsi_form_turned_by (p, &turn);
}

static inline WsPoint
wsi_form_moved (const WsFormMotion *motion, WsPoint p)
{
  return wsi_point_add (wsi_form_turned (p, motion->angle), motion->shift);
}

/* -pi .. pi. */
static inline double
wsi_form_wrapped (double angle)
{
  return remainder (angle, 2 * G_PI);
}

#endif
