/*
 * The calibrations that the setup names.
 */
#ifndef WS_BENCH_CALIBRATIONS_H
#define WS_BENCH_CALIBRATIONS_H

#include <glib.h>

G_BEGIN_DECLS

typedef struct
{
  char *name; /* of its file, without the ending */
  char *path;
  char *groups; /* of the setup that name it: "view drill-side, view blade-plan" */
} WsServeCalibration;

/* Of WsServeCalibration, in the setup's order, each file once.  Free with g_ptr_array_unref(). */
GPtrArray *wsi_calibrations_list (const char *folder);

/* By its name; borrowed of the list, NULL when there is none. */
const WsServeCalibration *wsi_calibrations_find (const GPtrArray *list, const char *name);

G_END_DECLS

#endif
