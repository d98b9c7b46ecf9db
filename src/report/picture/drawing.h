/*
 * What all marks are drawn with.
 */
#ifndef WS_REPORT_PICTURE_DRAWING_H
#define WS_REPORT_PICTURE_DRAWING_H

#include <whetsight/report.h>

#include "report/canvas.h"
#include "report/picture/layout.h"

G_BEGIN_DECLS

/* Turns a picture's places about the picture's origin, which lies at `origin` of the sheet:
 * (x, y) becomes (c x - s y, s x + c y). */
typedef struct
{
  gboolean is_turned;
  double c, s;
  WsPoint origin;
} WsTurn;

/* Where the picture lies on the sheet. */
typedef struct
{
  cairo_t *cr;
  double factor;              /* sheet px a picture px */
  double x, y, width, height; /* sheet px */
  double unit;                /* sheet px of a line of normal width */
  WsTurn turn;                /* in place of x and y, where it is turned */
} WsSheet;

typedef struct
{
  const WsSheet *sheet;
  const WsReport *report;
  WsPoint inside;  /* a place within the tool, on the sheet */
  GArray *labels;  /* of WsLabel: written last, when all that they keep clear of is known */
  GArray *symbols; /* of WsArea: rings and the like, kept clear of labels */
} WsDrawing;

/* Draws a mark of one role. */
typedef void (*WsDrawMark) (const WsDrawing *drawing, const WsMark *mark);

/* A line's look. */
typedef struct
{
  WsColour colour;
  double width; /* units */
  const double *dashes;
  int n_dashes;
} WsPen;

/* A place of the picture, and the i-th one of a mark, on the sheet. */
WsPoint wsi_sheet_place (const WsSheet *sheet, WsPoint point);
WsPoint wsi_drawing_place (const WsDrawing *drawing, const WsMark *mark, guint i);

WsPoint wsi_drawing_towards (WsPoint from, WsPoint to, double distance);

/* The path through all of a mark's places; strokes the current path, casing first. */
void wsi_drawing_path (const WsDrawing *drawing, const WsMark *mark);
void wsi_sheet_stroke (const WsSheet *sheet, const WsPen *line);

/* A ring, and that labels keep clear of it. */
void wsi_drawing_ring (const WsDrawing *drawing, const WsPen *pen, WsPoint middle, double radius);
void wsi_drawing_keep_clear (const WsDrawing *drawing, WsPoint middle, double reach);

/* By name or stem; NULL when it isn't known. */
const WsQuantity *wsi_drawing_quantity (const WsResult *result, const char *name);

/* Rejected or undecided. */
gboolean wsi_drawing_is_amiss (const WsQuantity *quantity);

/* "0.208 mm", "118.05°": to be read from afar; the table has all figures.  Free with g_free(). */
char *wsi_drawing_value_words (const WsQuantity *quantity);

G_END_DECLS

#endif
