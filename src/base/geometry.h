/*
 * Plane geometry in pixel coordinates: x right, y down.
 */
#ifndef WS_BASE_GEOMETRY_H
#define WS_BASE_GEOMETRY_H

#include <math.h>
#include <whetsight/point.h>

static inline WsPoint
wsi_point (double x, double y)
{
  return (WsPoint){ x, y };
}

static inline WsPoint
wsi_point_add (WsPoint a, WsPoint b)
{
  return (WsPoint){ a.x + b.x, a.y + b.y };
}

static inline WsPoint
wsi_point_sub (WsPoint a, WsPoint b)
{
  return (WsPoint){ a.x - b.x, a.y - b.y };
}

/* a + t b */
static inline WsPoint
wsi_point_along (WsPoint a, double t, WsPoint b)
{
  return (WsPoint){ a.x + t * b.x, a.y + t * b.y };
}

static inline double
wsi_point_dot (WsPoint a, WsPoint b)
{
  return a.x * b.x + a.y * b.y;
}

static inline double
wsi_point_cross (WsPoint a, WsPoint b)
{
  return a.x * b.y - a.y * b.x;
}

static inline double
wsi_point_length (WsPoint a)
{
  return hypot (a.x, a.y);
}

static inline double
wsi_point_distance (WsPoint a, WsPoint b)
{
  return hypot (a.x - b.x, a.y - b.y);
}

static inline double
wsi_degrees (double radians)
{
  return radians * (180.0 / G_PI);
}

static inline double
wsi_radians (double degrees)
{
  return degrees * (G_PI / 180.0);
}

#endif
