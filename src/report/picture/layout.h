/*
 * Where labels stand: clear of edges, of each other and of the picture's border.  Knows boxes and
 * polylines only.
 */
#ifndef WS_REPORT_PICTURE_LAYOUT_H
#define WS_REPORT_PICTURE_LAYOUT_H

#include <whetsight/point.h>

#include "report/picture/picture_area.h"

G_BEGIN_DECLS

/* What labels keep clear of. */
typedef struct
{
  const WsPoint *points;
  guint n;
  double reach;      /* half the width of the line that is drawn */
  gboolean is_area;  /* closed, and what lies within is kept clear, too */
  gboolean may_give; /* is crossed where nothing else is free */
} WsKeepClear;

typedef struct
{
  WsArea area; /* labels stay inside */
  double unit; /* of all distances below */
  const WsKeepClear *lines;
  guint n_lines;
  const WsArea *boxes; /* taken already */
  guint n_boxes;
} WsLabelField;

typedef struct
{
  double width, height;
  WsPoint from;      /* what it speaks of */
  WsPoint away;      /* length 1: where it would stand best, seen from there */
  double gap;        /* least distance between the two */
  gboolean is_loose; /* speaks of the whole picture: needs no leader */
} WsLabelWish;

typedef struct
{
  gboolean is_placed; /* FALSE: there is no room */
  WsArea box;
  gboolean has_leader; /* it stands off: a line leads to what it speaks of */
  WsPoint leader[2];   /* from there to the box */
} WsLabelPlace;

/* Places labels one after the other, the first ones best. */
void wsi_labels_place (const WsLabelField *field, const WsLabelWish *wishes, guint n,
                       WsLabelPlace *places);

/* Does a line with that reach touch the box? */
gboolean wsi_box_meets_line (const WsArea *box, const WsKeepClear *line);

gboolean wsi_boxes_meet (const WsArea *a, const WsArea *b, double margin);

G_END_DECLS

#endif
