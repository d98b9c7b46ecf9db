/*
 * How the program ends, and how it says what is wrong.
 */
#ifndef WS_CLI_FAIL_H
#define WS_CLI_FAIL_H

#include <whetsight/error.h>

G_BEGIN_DECLS

/* Exit statuses that aren't errors; errors are those of WsErrorCode. */
enum
{
  WS_EXIT_ACCEPT = 0,
  WS_EXIT_REJECT = 1,
  WS_EXIT_UNDECIDED = 2,
  WS_EXIT_RETAKE = 3
};

/* Sets `error` to what printf makes of `format` and returns FALSE; the second with
 * WS_ERROR_USAGE. */
gboolean wsi_refuse (GError **error, WsErrorCode code, const char *format, ...)
  G_GNUC_PRINTF (3, 4);
gboolean wsi_refuse_usage (GError **error, const char *format, ...) G_GNUC_PRINTF (2, 3);

/* Prints the error as one line on standard error, takes it over, returns its status. */
int wsi_fail (GError *error);

G_END_DECLS

#endif
