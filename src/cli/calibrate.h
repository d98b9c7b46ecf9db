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

G_END_DECLS

#endif
