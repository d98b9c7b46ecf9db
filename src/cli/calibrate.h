/*
 * The ways to calibrate a camera, and what they share.
 */
#ifndef WS_CLI_CALIBRATE_H
#define WS_CLI_CALIBRATE_H

#include <whetsight/step.h>

#include "cli/command.h"

G_BEGIN_DECLS

extern const WsCommand wsi_method_pin, wsi_method_disc, wsi_method_target;

/* ---- What they share (calibrate_output.c) ------------------------------------------------ */

/* Wear and temperature change a set-up; a year is common practice, no source. */
#define WS_CALIBRATE_VALID_DAYS 365

extern const WsOptionCheck wsi_check_days; /* of --valid-days */
extern const WsOptionCheck wsi_check_mm;   /* a size */
extern const WsOptionCheck wsi_check_mm_or_0;

/* A WsStepFunc: names each picture on a terminal. */
gboolean wsi_calibrate_tell (const WsStep *step, gpointer data);

/* "shelf/bench" for "shelf/bench.calib".  Free with g_free(). */
char *wsi_calibrate_stem (const char *out);

/* Whether both paths name one place. */
gboolean wsi_calibrate_same_file (const char *a, const char *b);

/* Refuses an output in a folder that isn't there, or that would overwrite an input. */
gboolean wsi_calibrate_check_folder (const char *path, GError **error);
gboolean wsi_calibrate_check_input (const char *path, const char *input, GError **error);

G_END_DECLS

#endif
