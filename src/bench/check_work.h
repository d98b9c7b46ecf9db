/*
 * Does a calibration hold?  Told of a picture by a process that measures.
 */
#ifndef WS_BENCH_CHECK_WORK_H
#define WS_BENCH_CHECK_WORK_H

#include "bench/crew_line.h"

G_BEGIN_DECLS

/*
 * JSON: "checks", one a size with the members of WsCheck, and "made_it"; or "why", where the
 * picture can't be measured.  Free with g_free().  Errors: those of loading the calibration and the
 * picture; WS_ERROR_DATA when the picture isn't of the calibration's camera.
 */
char *wsi_check_work (const WsCrewTask *task, GError **error);

G_END_DECLS

#endif
