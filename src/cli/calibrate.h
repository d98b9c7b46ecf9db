/*
 * The ways to calibrate a camera.  Each takes its arguments, the method's own name first, and
 * returns the exit status.
 */
#ifndef WS_CLI_CALIBRATE_H
#define WS_CLI_CALIBRATE_H

#include <glib.h>

G_BEGIN_DECLS

int ws_calibrate_pin (char ***arguments);
int ws_calibrate_disc (char ***arguments);
int ws_calibrate_target (char ***arguments);

/* ---- What they share (calibrate_output.c) ------------------------------------------------ */

/* Wear and temperature change a set-up; a year is common practice, no source. */
#define WS_CALIBRATE_VALID_DAYS "365"

/* Days by --valid-days; WS_CALIBRATE_VALID_DAYS when `text` is NULL. */
gboolean ws_calibrate_read_days (const char *text, double *days, GError **error);

/* "shelf/bench" for "shelf/bench.calib".  Free with g_free(). */
char *ws_calibrate_stem (const char *out);

/* Whether both paths name one place. */
gboolean ws_calibrate_same_file (const char *a, const char *b);

/* Refuses an output in a folder that isn't there, or that would overwrite an input. */
gboolean ws_calibrate_check_folder (const char *path, GError **error);
gboolean ws_calibrate_check_input (const char *path, const char *input, GError **error);

G_END_DECLS

#endif
