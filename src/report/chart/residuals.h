/*
 * A picture of a calibration's residuals: where in the field they lie, which way, how large.
 */
#ifndef WS_REPORT_CHART_RESIDUALS_H
#define WS_REPORT_CHART_RESIDUALS_H

#include <whetsight/result.h>

G_BEGIN_DECLS

/* All places and lengths are px of the calibrated picture. */
typedef struct
{
  WsPoint where;
  WsPoint off;       /* seen less expected */
  gboolean left_out; /* the calibration doesn't rest on it */
} WsResidual;

/* Borrowed. */
typedef struct
{
  const char *title;    /* one line */
  const char *subtitle; /* a few lines */
  guint width, height;  /* of the calibrated picture */
  double mm_per_px;     /* 0: unknown */
  const WsResidual *residuals;
  gsize n_residuals;
  const WsPoint *lines; /* what was seen, drawn pale: ends of straight lines, two by two */
  gsize n_lines;        /* lines, half of the points */
} WsResidualChart;

/* The chart as a PNG file's bytes, arrows magnified so that the larger ones are plain to see,
 * with a scale.  Errors: WS_ERROR_INTERNAL.  The caller owns the result. */
GBytes *wsi_report_residuals (const WsResidualChart *chart, GError **error);

G_END_DECLS

#endif
