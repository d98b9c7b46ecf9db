#include "colour/colour.h"

#include "base/geometry.h"

double
wsi_colour_from_code (double code)
{
  return code <= 0.04045 ? code / 12.92 : pow ((code + 0.055) / 1.055, 2.4);
}

double
wsi_colour_to_code (double light)
{
  return light <= 0.0031308 ? 12.92 * light : 1.055 * pow (light, 1 / 2.4) - 0.055;
}

WsXyz
wsi_colour_xyz (WsLight c)
{
  return (WsXyz){ 0.4124 * c.r + 0.3576 * c.g + 0.1805 * c.b,
                  0.2126 * c.r + 0.7152 * c.g + 0.0722 * c.b,
                  0.0193 * c.r + 0.1192 * c.g + 0.9505 * c.b };
}

/* CIE 15:2004, 8.2.1.1: a cube root, and a line where that would be too steep. */
static double
lightness_root (double t)
{
  const double epsilon = 216.0 / 24389.0, kappa = 24389.0 / 27.0;
  return t > epsilon ? cbrt (t) : (kappa * t + 16) / 116;
}

WsLab
wsi_colour_lab_of_xyz (WsXyz xyz)
{
  static const WsXyz white = { 0.9505, 1.0, 1.0890 }; /* the matrix' rows summed */
  const double x = lightness_root (xyz.x / white.x), y = lightness_root (xyz.y / white.y),
               z = lightness_root (xyz.z / white.z);
  return (WsLab){ 116 * y - 16, 500 * (x - y), 200 * (y - z) };
}

WsLab
wsi_colour_lab (WsLight light)
{
  return wsi_colour_lab_of_xyz (wsi_colour_xyz (light));
}

double
wsi_colour_chroma (WsLab lab)
{
  return hypot (lab.a, lab.b);
}

static double
hue_deg (double a, double b)
{
  const double hue = wsi_degrees (atan2 (b, a));
  return hue < 0 ? hue + 360 : hue;
}

double
wsi_colour_hue_deg (WsLab lab)
{
  return hue_deg (lab.a, lab.b);
}

static double
seventh_power_share (double chroma)
{
  const double c7 = pow (chroma, 7);
  return sqrt (c7 / (c7 + 6103515625.0)); /* 25^7 */
}

/* Opposite hues to this, degrees: which way round they are apart is then left to rounding, and
 * the published value takes the way that doesn't turn over. */
#define OPPOSITE 1e-9

/* Equations (10) and (14): the difference of two hues and their mean; either chroma may be 0. */
static void
compare_hues (double h1, double h2, gboolean grey, double *difference, double *mean)
{
  const double d = h2 - h1;
  *difference = d;
  *mean = 0.5 * (h1 + h2);
  if (grey)
  {
    *difference = 0;
    *mean = h1 + h2;
  }
  else if (fabs (d) > 180 + OPPOSITE)
  {
    *difference = d > 0 ? d - 360 : d + 360;
    *mean += h1 + h2 < 360 ? 180 : -180;
  }
}

typedef struct
{
  double chroma, hue;
} Polar;

/* Equations (4) to (7): a stretched so that near-neutral differences come out even. */
static Polar
stretched (WsLab lab, double g)
{
  const double a = (1 + g) * lab.a;
  return (Polar){ hypot (a, lab.b), hue_deg (a, lab.b) };
}

/* Equation (15). */
static double
hue_weight (double hue)
{
  return 1 - 0.17 * cos (wsi_radians (hue - 30)) + 0.24 * cos (wsi_radians (2 * hue)) +
         0.32 * cos (wsi_radians (3 * hue + 6)) - 0.20 * cos (wsi_radians (4 * hue - 63));
}

double
wsi_colour_difference (WsLab one, WsLab other)
{
  const double chroma_mean = 0.5 * (wsi_colour_chroma (one) + wsi_colour_chroma (other));
  const double g = 0.5 * (1 - seventh_power_share (chroma_mean));
  const Polar p = stretched (one, g), q = stretched (other, g);
  double dh, hue;
  compare_hues (p.hue, q.hue, p.chroma <= 0 || q.chroma <= 0, &dh, &hue);

  const double L = 0.5 * (one.L + other.L) - 50, C = 0.5 * (p.chroma + q.chroma);
  const double s_l = 1 + 0.015 * L * L / sqrt (20 + L * L);
  const double s_c = 1 + 0.045 * C, s_h = 1 + 0.015 * C * hue_weight (hue);
  const double turn = (hue - 275) / 25, theta = 30 * exp (-turn * turn);
  const double r_t = -2 * seventh_power_share (C) * sin (wsi_radians (2 * theta));

  const double l = (other.L - one.L) / s_l, c = (q.chroma - p.chroma) / s_c;
  const double h = 2 * sqrt (p.chroma * q.chroma) * sin (wsi_radians (0.5 * dh)) / s_h;
  return sqrt (l * l + c * c + h * h + r_t * c * h);
}

WsLab
wsi_colour_lab_beside (WsLight light, WsLight white)
{
  return wsi_colour_lab ((WsLight){ light.r / white.r, light.g / white.g, light.b / white.b });
}
