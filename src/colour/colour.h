/*
 * Colour spaces and colour difference: sRGB (IEC 61966-2-1), CIELAB for D65 and the 2 degree
 * observer (CIE 15), CIEDE2000.
 */
#ifndef WS_COLOUR_COLOUR_H
#define WS_COLOUR_COLOUR_H

#include <glib.h>

G_BEGIN_DECLS

/* Linear light with sRGB's primaries, 1 for white. */
typedef struct
{
  double r, g, b;
} WsLight;

typedef struct
{
  double L, a, b; /* L 0 .. 100 */
} WsLab;

typedef struct
{
  double x, y, z; /* y 1 for white */
} WsXyz;

/* IEC 61966-2-1, 5.2: code 0 .. 1 to linear light and back. */
double wsi_colour_from_code (double code);
double wsi_colour_to_code (double light);

/* IEC 61966-2-1, 5.2, the matrix to four digits. */
WsXyz wsi_colour_xyz (WsLight light);

/* CIE 15:2004, 8.2.1; white is that of the matrix, so that neutrals have no chroma. */
WsLab wsi_colour_lab_of_xyz (WsXyz xyz);
WsLab wsi_colour_lab (WsLight light);

/* Chroma, and hue angle in degrees 0 .. 360. */
double wsi_colour_chroma (WsLab lab);
double wsi_colour_hue_deg (WsLab lab);

/* CIEDE2000 with unit weights: Sharma, Wu & Dalal, Color Res. Appl. 30 (2005) 21-30, equations
 * (2) to (22). */
double wsi_colour_difference (WsLab one, WsLab other);

/* CIELAB of light when `white` is taken for white. */
WsLab wsi_colour_lab_beside (WsLight light, WsLight white);

G_END_DECLS

#endif
