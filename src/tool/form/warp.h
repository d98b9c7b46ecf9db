/*
 * What a picture that is no true one does to a profile: how far the outline's deviations follow
 * given motions.
 */
#ifndef WS_TOOL_FORM_WARP_H
#define WS_TOOL_FORM_WARP_H

#include "tool/form/fit.h"

G_BEGIN_DECLS

#define WS_FORM_WARP_MAX 6

/* How far each of the motions moves the point along the profile's normal, px. */
typedef void (*WsFormWarpRow) (const WsFormPoint *point, const void *frame,
                               double row[WS_FORM_WARP_MAX]);

typedef struct
{
  WsFormWarpRow row;
  const void *frame; /* of the rows */
  guint n;           /* motions, the first of the row's */
} WsFormWarp;

typedef struct
{
  double terms[WS_FORM_WARP_MAX];
  double u_last; /* standard uncertainty of the last of them */
  double rms;    /* px, of what they leave */
} WsFormWarped;

/* The motions by least squares, away from corners, without what lies beyond three times the rest.
 * FALSE where the outline doesn't hold them. */
gboolean wsi_form_warp_fit (const WsFormFit *fit, const WsFormWarp *warp, WsFormWarped *warped);

/* Segments of the profile that the outline shows away from corners. */
guint wsi_form_warp_segments (const WsFormFit *fit);

G_END_DECLS

#endif
