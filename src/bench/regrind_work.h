/*
 * What a regrind took off, told of two pictures by a process that measures.
 */
#ifndef WS_BENCH_REGRIND_WORK_H
#define WS_BENCH_REGRIND_WORK_H

#include "bench/crew.h"

G_BEGIN_DECLS

/*
 * JSON: "shorter_mm", "U_mm", "is_least", "places" (with "depth_mm", "U_mm", "length_mm",
 * "area_mm2", "x_mm", "y_mm" of the deepest point from the foremost one before, y back along the
 * tool, "stands_out"), and the drawing (SVG).  Free with g_free().  Errors: those of loading cards,
 * calibrations and pictures; WS_ERROR_DATA when the pictures don't tell.
 */
char *wsi_regrind_work (const WsCrewTools *tools, const WsCrewTask *task, GBytes **drawing,
                        GError **error);

G_END_DECLS

#endif
