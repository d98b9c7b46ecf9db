/*
 * The lines of a blade as numbers, and what their uncertainty makes of quantities.
 */
#ifndef WS_TOOL_BLADE_LINES_H
#define WS_TOOL_BLADE_LINES_H

#include <whetsight/image.h>
#include <whetsight/optics.h>
#include <whetsight/result.h>

#include "tool/blade/shape.h"

G_BEGIN_DECLS

/* In the order of the walk; an angle is that of the walk's direction, rad from x toward y. */
typedef struct
{
  guint n;
  WsPoint centre[WS_BLADE_MAX_EDGES];
  double angle[WS_BLADE_MAX_EDGES];
} WsBladeLines;

WsBladeLines wsi_blade_lines_of (const WsBlade *blade);

WsPoint wsi_blade_lines_direction (const WsBladeLines *lines, guint edge);

/* Where edge k meets the next one. */
WsPoint wsi_blade_lines_corner (const WsBladeLines *lines, guint k);

#define WS_BLADE_MAX_FROM_LINES 8

/* How quantities follow from the lines. */
typedef struct
{
  /* Sets the first n of `out`, px and rad. */
  void (*evaluate) (const WsBladeLines *lines, const void *how, double *out);
  const void *how;               /* handed through */
  guint n;                       /* <= WS_BLADE_MAX_FROM_LINES */
  const char *const *edge_names; /* budget lines: place and direction of each edge, static */
} WsBladeModel;

/*
 * Adds to each known one of the model's quantities what the edges' noise and form, the tonal
 * encoding and the lens, calibrated or not, make of it: central differences over each input's
 * uncertainty.
 */
void wsi_blade_lines_budget (const WsBladeModel *model, const WsBlade *blade, const WsImage *image,
                             const WsOptics *optics, WsQuantity *const *quantities);

/* How far an uncalibrated lens may bow a straight edge, px; 0 with a calibration. */
double wsi_blade_lens_bow (const WsBladeEdge *edge, const WsImage *image, const WsOptics *optics);

/* The scale, unless the calibration's line says it already (`from_lines`); then U.  Nothing for an
 * unknown quantity. */
void wsi_blade_lines_finish (WsQuantity *quantity, gboolean from_lines, const WsOptics *optics);

G_END_DECLS

#endif
