/*
 * What checks say in the course of time.
 */
#ifndef WS_OPTICS_CHECK_SERIES_H
#define WS_OPTICS_CHECK_SERIES_H

#include <whetsight/checks.h>

#include "maths/control.h"

G_BEGIN_DECLS

/* The same size in one run after another: the mean of a run's deviations. */
typedef struct
{
  char time[WS_CHECK_TIME_SIZE];
  double deviation;
  double U, U_reference; /* the greatest of the run's */
  gboolean pass;         /* all of the run's */
  guint signals;         /* WsControlSignal flags */
} WsCheckPoint;

typedef struct
{
  char *quantity;
  double reference;
  GArray *points;    /* of WsCheckPoint, in the order of time */
  WsControl control; /* from the passed points before the newest, which is judged by it */
} WsCheckSeries;

/* Of WsCheckSeries for each quantity and reference of the calibration, in the order in which
 * they came.  Free with g_ptr_array_unref(). */
GPtrArray *wsi_check_series (const GPtrArray *checks, const char *calibration);

G_END_DECLS

#endif
