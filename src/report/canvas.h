/*
 * Colours, text and shapes for the annotated picture.
 */
#ifndef WS_REPORT_CANVAS_H
#define WS_REPORT_CANVAS_H

#include <whetsight/result.h>

#include "late/cairo.h"

G_BEGIN_DECLS

typedef struct
{
  double r, g, b;
} WsColour;

/* Okabe & Ito (2008), "Color universal design": told apart under every common form of
 * colour blindness. */
#define WS_BLACK ((WsColour){ 0.0, 0.0, 0.0 })
#define WS_ORANGE ((WsColour){ 0.902, 0.624, 0.0 })
#define WS_SKY_BLUE ((WsColour){ 0.337, 0.706, 0.914 })
#define WS_GREEN ((WsColour){ 0.0, 0.620, 0.451 })
#define WS_BLUE ((WsColour){ 0.0, 0.447, 0.698 })
#define WS_VERMILION ((WsColour){ 0.835, 0.369, 0.0 })
#define WS_PURPLE ((WsColour){ 0.8, 0.475, 0.655 })
#define WS_YELLOW ((WsColour){ 0.941, 0.894, 0.259 })

#define WS_WHITE ((WsColour){ 1.0, 1.0, 1.0 })
#define WS_PAPER ((WsColour){ 0.965, 0.961, 0.945 })
#define WS_INK ((WsColour){ 0.11, 0.12, 0.14 })
#define WS_GREY ((WsColour){ 0.42, 0.43, 0.45 })
#define WS_PALE ((WsColour){ 0.84, 0.84, 0.82 })

typedef enum
{
  WS_START,
  WS_MIDDLE,
  WS_END
} WsAnchor;

typedef struct
{
  double size; /* of the letters, px */
  gboolean bold;
  WsColour colour;
  WsAnchor across; /* which part of the text lies at x */
  WsAnchor down;   /* and at y */
  double wrap;     /* width to break lines at, px; 0 keeps one line */
  double halo;     /* width of an outline that keeps it legible on a picture, px; 0 for none */
  WsColour halo_colour;
} WsTextStyle;

void wsi_canvas_colour (cairo_t *cr, WsColour colour);

void wsi_canvas_text (cairo_t *cr, const WsTextStyle *style, double x, double y, const char *text);

/* What `text` would take, px. */
void wsi_canvas_measure (cairo_t *cr, const WsTextStyle *style, const char *text, double *width,
                         double *height);

/* A line, solid or dashed, and a filled box. */
void wsi_canvas_line (cairo_t *cr, WsColour colour, double width, WsPoint from, WsPoint to);
void wsi_canvas_dashes (cairo_t *cr, WsColour colour, double width, WsPoint from, WsPoint to);
void wsi_canvas_box (cairo_t *cr, WsColour colour, double x, double y, double width, double height);

/* Fill for a verdict, and a colour that is legible on it. */
WsColour wsi_canvas_verdict_colour (WsVerdict verdict);
WsColour wsi_canvas_verdict_ink (WsVerdict verdict);

/* The verdict as a shape of its own inside a circle of radius r. */
void wsi_canvas_verdict_shape (cairo_t *cr, WsVerdict verdict, WsPoint centre, double r,
                               WsColour colour);

G_END_DECLS

#endif
