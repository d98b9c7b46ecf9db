/*
 * Labels on the picture: asked for while marks are drawn, written when all marks are.
 */
#ifndef WS_REPORT_PICTURE_LABELS_H
#define WS_REPORT_PICTURE_LABELS_H

#include "report/picture/drawing.h"
#include "report/picture/layout.h"

G_BEGIN_DECLS

/* Which labels choose their places first. */
typedef enum
{
  WS_LABEL_EDGE, /* small, and looked for first */
  WS_LABEL_FAULT,
  WS_LABEL_REGION,
  WS_LABEL_VALUE,
  WS_LABEL_NUMBER
} WsLabelRank;

typedef struct
{
  char *text;
  WsColour colour; /* of letters, or of the disc they stand on */
  gboolean on_disc;
  WsLabelRank rank;
  WsPoint from, away; /* as in WsLabelWish */
  double gap;         /* units */
  gboolean is_loose;
  /* Set when it is written. */
  double size; /* part of the usual size of letters */
  WsLabelPlace place;
} WsLabel;

/* For WsDrawing. */
GArray *wsi_labels_new (void);

/* Takes `text` over. */
void wsi_drawing_add_label (const WsDrawing *drawing, const WsLabel *label);

/* Beyond `from` in the direction of the unit vector `away`, clear of it; copies `text`. */
void wsi_drawing_label_beyond (const WsDrawing *drawing, WsLabelRank rank, WsColour colour,
                               WsPoint from, WsPoint away, const char *text);

/* Of the whole picture: in its upper left corner, where that is clear; copies `text`. */
void wsi_drawing_label_sheet (const WsDrawing *drawing, const char *text);

/* Vermilion for what is rejected, orange for what is undecided, else white. */
WsColour wsi_label_colour (const WsQuantity *quantity);

/* What labels keep clear of: the marks' lines on the sheet (WsKeepClear), and how far they reach.
 * Free with wsi_sheet_lines_free(). */
GArray *wsi_sheet_lines (const WsSheet *sheet, const WsReport *report);
void wsi_sheet_lines_free (GArray *lines);

/* Places all labels, then writes them.  Those there is no room for are left out: what they say
 * stands in the table. */
void wsi_drawing_write_labels (const WsDrawing *drawing);

G_END_DECLS

#endif
