#include "optics/lens.h"

#include "base/geometry.h"
#include "optics/pinhole.h"

#define MAX_ITERATIONS 30
#define CONVERGED_PX 1e-9

static const char *const model_names[WS_N_LENSES] = { "telecentric", "pinhole" };

static const char *const telecentric_names[WS_LENS_T_N] = { "edge_shift_px", "mm_per_px", "k1" };

static const char *const pinhole_names[WS_LENS_P_N] = {
  "edge_shift_px", "fx_px",  "fy_px",  "cx_px", "cy_px", "k1",   "k2", "p1", "p2", "k3",
  "rx_rad",        "ry_rad", "rz_rad", "tx_mm", "ty_mm", "tz_mm"
};

const char *
ws_lens_model_name (WsLensModel model)
{
  return model_names[model];
}

guint
wsi_lens_n_parameters (WsLensModel model)
{
  return model == WS_LENS_PINHOLE ? WS_LENS_P_N : WS_LENS_T_N;
}

const char *
wsi_lens_parameter_name (WsLensModel model, guint parameter)
{
  return model == WS_LENS_PINHOLE ? pinhole_names[parameter] : telecentric_names[parameter];
}

static WsPoint
middle_of (const WsLens *lens)
{
  return wsi_point (0.5 * (lens->width - 1.0), 0.5 * (lens->height - 1.0));
}

/* ---- Telecentric ------------------------------------------------------------------ */

static WsPoint
telecentric_to_ideal (const WsLens *lens, WsPoint picture)
{
  const WsPoint c = middle_of (lens), d = wsi_point_sub (picture, c);
  const double r2 = wsi_point_dot (d, d) / wsi_point_dot (c, c);
  return wsi_point_along (c, 1 + lens->parameters[WS_LENS_T_K1] * r2, d);
}

/* ---- Pinhole ---------------------------------------------------------------------- */

/* Brown 1966: normalised coordinates as the lens shows them. */
static WsPoint
distort (const double *p, WsPoint n)
{
  const double r2 = wsi_point_dot (n, n);
  const double radial = 1 + r2 * (p[WS_LENS_P_K1] + r2 * (p[WS_LENS_P_K2] + r2 * p[WS_LENS_P_K3]));
  const double p1 = p[WS_LENS_P_P1], p2 = p[WS_LENS_P_P2];
  return wsi_point (n.x * radial + 2 * p1 * n.x * n.y + p2 * (r2 + 2 * n.x * n.x),
                    n.y * radial + p1 * (r2 + 2 * n.y * n.y) + 2 * p2 * n.x * n.y);
}

static void
distort_slopes (const double *p, WsPoint n, double slopes[4])
{
  const double r2 = wsi_point_dot (n, n);
  const double k1 = p[WS_LENS_P_K1], k2 = p[WS_LENS_P_K2], k3 = p[WS_LENS_P_K3];
  const double p1 = p[WS_LENS_P_P1], p2 = p[WS_LENS_P_P2];
  const double radial = 1 + r2 * (k1 + r2 * (k2 + r2 * k3));
  const double grow = 2 * (k1 + r2 * (2 * k2 + 3 * r2 * k3));
  slopes[0] = radial + n.x * n.x * grow + 2 * p1 * n.y + 6 * p2 * n.x;
  slopes[1] = slopes[2] = n.x * n.y * grow + 2 * p1 * n.x + 2 * p2 * n.y;
  slopes[3] = radial + n.y * n.y * grow + 6 * p1 * n.y + 2 * p2 * n.x;
}

/* Newton's method; the model is monotone where a calibration is worth its name.  NAN when it
 * doesn't converge. */
static WsPoint
undistort (const double *p, WsPoint seen)
{
  WsPoint n = seen;
  for (guint i = 0; i < MAX_ITERATIONS; i++)
  {
    const WsPoint off = wsi_point_sub (distort (p, n), seen);
    double s[4];
    distort_slopes (p, n, s);
    const double det = s[0] * s[3] - s[1] * s[2];
    if (!(det > 1e-3))
      break;
    if (wsi_point_length (off) * p[WS_LENS_P_FX] < CONVERGED_PX)
      return n;
    n.x -= (s[3] * off.x - s[1] * off.y) / det;
    n.y -= (s[0] * off.y - s[2] * off.x) / det;
  }
  return wsi_point (NAN, NAN);
}

/* Rodrigues' formula; row-major. */
static void
rotation_of (const double *p, double r[9])
{
  const double x = p[WS_LENS_P_RX], y = p[WS_LENS_P_RY], z = p[WS_LENS_P_RZ];
  const double angle = sqrt (x * x + y * y + z * z);
  const double s = angle > 1e-9 ? sin (angle) / angle : 1;
  const double c = angle > 1e-9 ? (1 - cos (angle)) / (angle * angle) : 0.5;
  const double cosine = cos (angle);
  r[0] = cosine + c * x * x;
  r[1] = c * x * y - s * z;
  r[2] = c * x * z + s * y;
  r[3] = c * x * y + s * z;
  r[4] = cosine + c * y * y;
  r[5] = c * y * z - s * x;
  r[6] = c * x * z - s * y;
  r[7] = c * y * z + s * x;
  r[8] = cosine + c * z * z;
}

/* The plane Z = 0 and the line of sight through normalised (n.x, n.y, 1) meet at (X, Y):
 * depth x n = r1 X + r2 Y + t. */
static WsPoint
onto_plane (const double r[9], const double *t, WsPoint n)
{
  const double a = r[0] - n.x * r[6], b = r[1] - n.x * r[7], e = n.x * t[2] - t[0];
  const double c = r[3] - n.y * r[6], d = r[4] - n.y * r[7], f = n.y * t[2] - t[1];
  const double det = a * d - b * c;
  return wsi_point ((e * d - b * f) / det, (a * f - e * c) / det);
}

static WsPoint
normalised (const double *p, WsPoint picture)
{
  return wsi_point ((picture.x - p[WS_LENS_P_CX]) / p[WS_LENS_P_FX],
                    (picture.y - p[WS_LENS_P_CY]) / p[WS_LENS_P_FY]);
}

/* mm on the plane for px in the picture. */
static WsPoint
pinhole_to_plane (const double *p, WsPoint picture)
{
  double r[9];
  rotation_of (p, r);
  return onto_plane (r, p + WS_LENS_P_TX, undistort (p, normalised (p, picture)));
}

/* How the ideal picture lies on the plane: plane = origin + mm_per_px M (ideal - middle), with M
 * the rotation (or reflection) that keeps directions in the middle of the picture. */
typedef struct
{
  WsPoint middle, origin;
  double mm_per_px;
  double m[4];
} Frame;

/* M and scale from the derivative J in the middle: the nearest multiple of an orthogonal matrix. */
static Frame
frame_of (const WsLens *lens)
{
  const double *p = lens->parameters;
  Frame frame = { .middle = middle_of (lens) };
  frame.origin = pinhole_to_plane (p, frame.middle);
  const double h = 0.5;
  const WsPoint right = pinhole_to_plane (p, wsi_point_along (frame.middle, h, wsi_point (1, 0)));
  const WsPoint left = pinhole_to_plane (p, wsi_point_along (frame.middle, -h, wsi_point (1, 0)));
  const WsPoint below = pinhole_to_plane (p, wsi_point_along (frame.middle, h, wsi_point (0, 1)));
  const WsPoint above = pinhole_to_plane (p, wsi_point_along (frame.middle, -h, wsi_point (0, 1)));
  const WsPoint x = wsi_point_sub (right, left), y = wsi_point_sub (below, above);
  const double det = wsi_point_cross (x, y), sign = det < 0 ? -1 : 1;
  frame.mm_per_px = sqrt (fabs (det));
  const double c = x.x + sign * y.y, s = x.y - sign * y.x, length = MAX (hypot (c, s), 1e-300);
  frame.m[0] = c / length;
  frame.m[1] = -sign * s / length;
  frame.m[2] = s / length;
  frame.m[3] = sign * c / length;
  return frame;
}

static WsPoint
pinhole_to_ideal (const WsLens *lens, WsPoint picture)
{
  const Frame frame = frame_of (lens);
  const WsPoint d = wsi_point_sub (pinhole_to_plane (lens->parameters, picture), frame.origin);
  return wsi_point_along (
    frame.middle, 1 / frame.mm_per_px,
    wsi_point (frame.m[0] * d.x + frame.m[2] * d.y, frame.m[1] * d.x + frame.m[3] * d.y));
}

WsPoint
wsi_pinhole_project (const double *parameters, WsPoint plane_mm)
{
  const double *p = parameters, *t = parameters + WS_LENS_P_TX;
  double r[9];
  rotation_of (p, r);
  const double depth = r[6] * plane_mm.x + r[7] * plane_mm.y + t[2];
  if (!(depth > 0))
    return wsi_point (NAN, NAN);
  const WsPoint n = wsi_point ((r[0] * plane_mm.x + r[1] * plane_mm.y + t[0]) / depth,
                               (r[3] * plane_mm.x + r[4] * plane_mm.y + t[1]) / depth);
  const WsPoint seen = distort (p, n);
  return wsi_point (p[WS_LENS_P_FX] * seen.x + p[WS_LENS_P_CX],
                    p[WS_LENS_P_FY] * seen.y + p[WS_LENS_P_CY]);
}

static WsPoint
pinhole_to_picture (const WsLens *lens, WsPoint ideal)
{
  const Frame f = frame_of (lens);
  const WsPoint d = wsi_point_sub (ideal, f.middle);
  return wsi_pinhole_project (
    lens->parameters,
    wsi_point_along (f.origin, f.mm_per_px,
                     wsi_point (f.m[0] * d.x + f.m[1] * d.y, f.m[2] * d.x + f.m[3] * d.y)));
}

/* ---- Both ------------------------------------------------------------------------- */

WsPoint
ws_lens_to_ideal (const WsLens *lens, WsPoint picture)
{
  return lens->model == WS_LENS_PINHOLE ? pinhole_to_ideal (lens, picture)
                                        : telecentric_to_ideal (lens, picture);
}

/* The telecentric model's inverse by fixed-point iteration: its term is a small part of one. */
WsPoint
ws_lens_to_picture (const WsLens *lens, WsPoint ideal)
{
  if (lens->model == WS_LENS_PINHOLE)
    return pinhole_to_picture (lens, ideal);
  WsPoint picture = ideal;
  for (guint i = 0; i < MAX_ITERATIONS; i++)
  {
    const WsPoint off = wsi_point_sub (ideal, telecentric_to_ideal (lens, picture));
    picture = wsi_point_add (picture, off);
    if (wsi_point_length (off) < CONVERGED_PX)
      return picture;
  }
  return wsi_point (NAN, NAN);
}

double
ws_lens_mm_per_px (const WsLens *lens)
{
  return lens->model == WS_LENS_PINHOLE ? frame_of (lens).mm_per_px
                                        : lens->parameters[WS_LENS_T_SCALE];
}

/* First order, slopes by central differences over each parameter's own deviation. */
double
ws_lens_u_mm_per_px (const WsLens *lens)
{
  const guint n = wsi_lens_n_parameters (lens->model);
  double slopes[WS_LENS_MAX] = { 0 }, variance = 0;
  for (guint i = 0; i < n; i++)
  {
    const double step = sqrt (MAX (lens->covariance[i * n + i], 0));
    WsLens more = *lens, less = *lens;
    more.parameters[i] += step;
    less.parameters[i] -= step;
    if (step > 0)
      slopes[i] = (ws_lens_mm_per_px (&more) - ws_lens_mm_per_px (&less)) / (2 * step);
  }
  for (guint i = 0; i < n; i++)
    for (guint j = 0; j < n; j++)
      variance += slopes[i] * lens->covariance[i * n + j] * slopes[j];
  return sqrt (MAX (variance, 0));
}

/* The pinhole lies at -R' t in the plane's own frame. */
double
ws_lens_distance_mm (const WsLens *lens, WsPoint *foot)
{
  if (foot != NULL)
    *foot = wsi_point (NAN, NAN);
  if (lens->model != WS_LENS_PINHOLE)
    return INFINITY;
  const double *t = lens->parameters + WS_LENS_P_TX;
  double r[9];
  rotation_of (lens->parameters, r);
  const WsPoint under = wsi_point (-(r[0] * t[0] + r[3] * t[1] + r[6] * t[2]),
                                   -(r[1] * t[0] + r[4] * t[1] + r[7] * t[2]));
  const Frame f = frame_of (lens);
  const WsPoint d = wsi_point_sub (under, f.origin);
  if (foot != NULL)
    *foot = wsi_point_along (f.middle, 1 / f.mm_per_px,
                             wsi_point (f.m[0] * d.x + f.m[2] * d.y, f.m[1] * d.x + f.m[3] * d.y));
  return fabs (r[2] * t[0] + r[5] * t[1] + r[8] * t[2]);
}

WsOptics
ws_optics_of_lens (const WsLens *lens)
{
  return (WsOptics){ .has_scale = TRUE,
                     .mm_per_px = ws_lens_mm_per_px (lens),
                     .u_mm_per_px = ws_lens_u_mm_per_px (lens),
                     .lens = lens };
}
