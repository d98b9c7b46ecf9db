/*
 * Errors: what comes from outside and can't be used.
 *
 * "This picture can't be measured honestly" is not an error but a result (see
 * result.h, WS_VERDICT_RETAKE).  An error's message is one line that says what
 * is wrong and what to do about it, without a trailing newline or full stop.
 */
#ifndef WHETSIGHT_ERROR_H
#define WHETSIGHT_ERROR_H

#include <glib.h>

G_BEGIN_DECLS

#define WS_ERROR (ws_error_quark ())

/* Each code is also the exit status of the program (BSD sysexits.h). */
typedef enum
{
  WS_ERROR_USAGE = 64,      /* the call itself is wrong */
  WS_ERROR_DATA = 65,       /* an input file's content is damaged or not what it claims to be */
  WS_ERROR_TOO_LARGE = 165, /* a picture beyond the limits; exits with 65 as well */
  WS_ERROR_NO_INPUT = 66,   /* an input file is missing or unreadable */
  WS_ERROR_INTERNAL = 70,   /* our own fault */
  WS_ERROR_CANCELLED = 75,  /* the caller stopped it; the program never does */
  WS_ERROR_CANT_WRITE = 73  /* an output file can't be written */
} WsErrorCode;

/* The domain of these errors; use WS_ERROR. */
GQuark ws_error_quark (void);

/* The exit status for `error`: its sysexits code; 70 for an error of a foreign domain. */
int ws_error_exit_status (const GError *error);

G_END_DECLS

#endif
