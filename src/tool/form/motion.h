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

static inline WsPoint
wsi_form_turned (WsPoint p, double angle)
{
  const double c = cos (angle), s = sin (angle);
  return wsi_point (c * p.x - s * p.y, s * p.x + c * p.y);
}

static inline WsPoint
wsi_form_moved (const WsFormMotion *motion, WsPoint p)
{
  return wsi_point_add (wsi_form_turned (p, motion->angle), motion->shift);
}

static inline WsPoint
wsi_form_moved_back (const WsFormMotion *motion, WsPoint p)
{
  return wsi_form_turned (wsi_point_sub (p, motion->shift), -motion->angle);
}

/* -pi .. pi. */
static inline double
wsi_form_wrapped (double angle)
{
  return remainder (angle, 2 * G_PI);
}

#endif
