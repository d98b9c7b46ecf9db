/*
 * A nominal profile in px, y down, about its own origin.
 */
#ifndef WS_TOOL_FORM_NOMINAL_H
#define WS_TOOL_FORM_NOMINAL_H

#include <whetsight/contour.h>

G_BEGIN_DECLS

typedef struct
{
  WsContourSegment *segments;
  double *start;    /* along the profile, px */
  double *lengths;  /* of the segments, px */
  WsPoint *runs;    /* unit vectors along the straight ones */
  gboolean *corner; /* whether the profile bends at the segment's start, or a drawn segment begins:
                       where one is off, blur draws its neighbour along */
  guint n;
  double length, size;
  gboolean is_closed;
} WsFormNominal;

/* Clear with wsi_form_nominal_clear().  `scale`: px per mm. */
void wsi_form_nominal_init (WsFormNominal *profile, const WsContour *contour, double scale);
void wsi_form_nominal_clear (WsFormNominal *profile);

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (WsFormNominal, wsi_form_nominal_clear)

/* A place of the drawing. */
WsPoint wsi_form_px (WsPoint mm, double scale);

/* Unit vector along segment i, t from 0 to 1. */
WsPoint wsi_form_nominal_direction (const WsFormNominal *profile, guint i, double t);

typedef struct
{
  double distance; /* HUGE_VAL: none */
  guint segment;
  double t; /* 0 .. 1 on it */
  WsPoint foot;
} WsFormFoot;

typedef struct
{
  WsPoint at, heading;
  double reach;
  guint likely; /* the segment to look at first, which spares most of the others */
} WsFormQuery;

/* The nearest place within the reach whose direction agrees with the heading. */
WsFormFoot wsi_form_nominal_nearest (const WsFormNominal *profile, const WsFormQuery *query);

/* Is a corner or an open end nearer than `reach` along the profile?  Chords of one curve are passed
 * through. */
gboolean wsi_form_nominal_near_corner (const WsFormNominal *profile, const WsFormFoot *foot,
                                       double reach);

/* Beyond an open profile's ends there is nothing to compare with. */
gboolean wsi_form_nominal_beyond_ends (const WsFormNominal *profile, const WsFormFoot *foot);

G_END_DECLS

#endif
